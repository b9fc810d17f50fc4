// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about the signed month and its patterns; expectations from handbook 16 with 7.2, 8.4, 8.5.
#include "journeys/may_hands.h"
#include "words/patterns.h"

#include "store/read/read_patterns.h"
#include "store/read/signed_months.h"

#include <QCryptographicHash>
#include <QDir>
#include <QFile>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QProcess>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::journeys {
namespace {

using namespace registry;

acts::ReviewSigned review(const WardWorld& ward, std::string_view at, const char* person = "C1")
{
    acts::ReviewSigned signature { ward.at(at), base::OperatorId(person), "2026-05" };
    signature.ward = base::WardId("W1");
    return signature;
}

std::vector<SignedReview> signatures(WardWorld& ward)
{
    auto reader = ward.reader();
    auto found = store::signedReviews(reader, base::WardId("W1"), { 2026, 5 });
    EXPECT_TRUE(found) << found.error().text;
    return found ? *found : std::vector<SignedReview> {};
}

/// Signs May on the second of June.
void signMay(WardWorld& ward)
{
    ward.goTo("2026-06-02T10:00");
    ward.record(review(ward, "2026-06-02T10:00"));
}

std::vector<Pattern> mayPatterns(WardWorld& ward)
{
    auto reader = ward.reader();
    const auto reading = store::readMonth(reader, base::WardId("W1"), { 2026, 5 }, ward.at("2026-06-02T10:00"));
    EXPECT_TRUE(reading);
    auto found = reading ? store::readPatterns(reader, *reading) : base::Result<std::vector<Pattern>>(std::vector<Pattern>());
    EXPECT_TRUE(found);
    return found ? *found : std::vector<Pattern> {};
}

std::vector<Pattern> ofCode(std::vector<Pattern> patterns, std::string_view code)
{
    std::erase_if(patterns, [&](const Pattern& pattern) { return word(pattern.code) != code; });
    return patterns;
}

} // namespace

TEST(Story, S33_ACorrectionAfterTheSignatureMarksTheReviewAndListsWhat)
{
    WardWorld ward;
    runMay(ward, 31);
    signMay(ward);
    ASSERT_EQ(signatures(ward).size(), 1U);
    EXPECT_TRUE(signatures(ward).front().asSigned);
    EXPECT_TRUE(ward.entriesOf("review.overtaken").empty());

    ward.goTo("2026-06-09T10:00"); // twenty days after 20 May
    const auto correction = ward.record(lowOf(ward, "M1-2026-05-20", "58", "59", "2026-06-09T10:00"));
    const auto after = signatures(ward);
    ASSERT_EQ(after.size(), 1U);
    EXPECT_EQ(after.front().content(), "data changed since review");
    EXPECT_TRUE(after.front().figuresConfirmed) << "what was signed can still be shown";
    const auto named = std::ranges::find(after.front().later, correction.seq, &LaterEntry::seq);
    ASSERT_NE(named, after.front().later.end());
    EXPECT_EQ(named->act, "entry.corrected");
    const auto overtaken = ward.entriesOf("review.overtaken");
    ASSERT_EQ(overtaken.size(), 1U);
    EXPECT_NE(overtaken.front().body.find("\"because\":" + std::to_string(correction.seq.value)), std::string::npos)
        << overtaken.front().body;

    ward.goTo("2026-06-09T11:00");
    ward.record(lowOf(ward, "M1-2026-05-21", "59", "60", "2026-06-09T11:00"));
    EXPECT_EQ(ward.entriesOf("review.overtaken").size(), 1U) << "told once a review";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S33_WhatConcernsAnotherMonthLeavesTheSignatureAlone)
{
    WardWorld ward;
    runMay(ward, 31);
    signMay(ward);
    ward.runSet("june", "2026-06-02T11:00", "60", "300");
    ward.goTo("2026-06-02T12:00");
    ward.record(lowOf(ward, "june", "60", "61", "2026-06-02T12:00"));
    ward.incident(IncidentKind::Soiled, "2026-06-02T11:50");
    EXPECT_TRUE(signatures(ward).front().asSigned);
    EXPECT_TRUE(signatures(ward).front().later.empty());
    EXPECT_TRUE(ward.entriesOf("review.overtaken").empty());
}

TEST(Story, S33_ALateRunAnAnnulmentAnIncidentAndAnAcceptanceMarkItToo)
{
    WardWorld ward;
    runMay(ward, 30);
    signMay(ward);
    ward.goTo("2026-06-03T10:00");
    for (const Level level : { Level::Low, Level::High }) {
        auto run = ward.aRun("forgotten", level, level == Level::Low ? "60" : "300");
        run.at = ward.at("2026-05-31T07:00");
        run.lateReason = "forgotten";
        ward.record(run);
    }
    EXPECT_EQ(signatures(ward).front().later.size(), 2U) << "both runs";
    EXPECT_FALSE(signatures(ward).front().asSigned);
    ward.record(acts::LateEntryAccepted { ward.at("2026-06-03T10:00"), base::OperatorId("C1"), base::SetId("forgotten"), "witnessed" });
    ward.record(acts::EntryAnnulled {
        ward.at("2026-06-03T10:00"), base::OperatorId("C1"), "control_runs.csv", "M1-2026-05-10/low/1", "wrong meter" });
    ward.incident(IncidentKind::Soiled, "2026-05-15T10:00");
    std::vector<std::string> acts;
    const auto held = signatures(ward);
    for (const auto& entry : held.front().later)
        acts.push_back(entry.act);
    for (const char* kind : { "control.run", "late_entry.accepted", "entry.annulled", "incident.reported" })
        EXPECT_NE(std::ranges::find(acts, kind), acts.end()) << kind;
    EXPECT_EQ(ward.entriesOf("review.overtaken").size(), 1U);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(SignedMonth, IsSignedByACoordinatorWhenItIsOverAndOnceUntilDataChange)
{
    WardWorld ward;
    runMay(ward, 30);
    EXPECT_NE(ward.refusalOf(review(ward, "2026-05-30T07:02")).find("is not over"), std::string::npos);
    ward.goTo("2026-06-02T10:00");
    EXPECT_NE(ward.refusalOf(review(ward, "2026-06-02T10:00", "N1")).find("only the coordinator"), std::string::npos);
    auto elsewhere = review(ward, "2026-06-02T10:00");
    elsewhere.ward = base::WardId("W9");
    EXPECT_NE(ward.refusalOf(elsewhere).find("W9"), std::string::npos);
    auto stale = review(ward, "2026-06-02T10:00");
    stale.cutOff = base::Seq { 3 };
    EXPECT_NE(ward.refusalOf(stale).find("something was recorded since"), std::string::npos);

    const base::Seq before = ward.head();
    ward.record(review(ward, "2026-06-02T10:00"));
    const SignedReview first = signatures(ward).front();
    EXPECT_EQ(first.signature.act.cutOff, before) << "the program filled in what the figures have seen";
    EXPECT_EQ(first.signature.act.head, ward.entries()[static_cast<std::size_t>(before.value) - 1].digest);
    EXPECT_EQ(first.signature.act.figures->size(), 64U);
    EXPECT_EQ(first.signature.act.meaning, "reviewed month");
    EXPECT_EQ(first.name, "Coordinator");
    ward.goTo("2026-06-02T11:00");
    EXPECT_NE(ward.refusalOf(review(ward, "2026-06-02T11:00")).find("nothing of it has changed since"), std::string::npos);

    ward.record(lowOf(ward, "M1-2026-05-20", "58", "59", "2026-06-02T11:00"));
    ward.record(review(ward, "2026-06-02T11:00"));
    const auto both = signatures(ward);
    ASSERT_EQ(both.size(), 2U);
    EXPECT_EQ(both[0].supersededBy, both[1].signature.seq);
    EXPECT_FALSE(both[0].asSigned) << "the old signature stays with the old content";
    EXPECT_TRUE(both[1].asSigned);
    ward.goTo("2026-06-02T12:00");
    ward.record(lowOf(ward, "M1-2026-05-22", "60", "61", "2026-06-02T12:00"));
    EXPECT_EQ(ward.entriesOf("review.overtaken").size(), 2U) << "once for each signature";
}

TEST(Story, S48_ThePrintShowsNameTimeMeaningCutOffAndHashAndAChangeShowsTheEarlierContent)
{
    WardWorld ward;
    runMay(ward, 31);
    const QTemporaryDir folder;
    const auto print = [&](const char* name, const QStringList& more) {
        const QString path = folder.filePath(QString::fromLatin1(name));
        const Ran ran = cli(ward,
            QStringList { QStringLiteral("--operator"), QStringLiteral("C1"), QStringLiteral("review"), QStringLiteral("2026-05"),
                QStringLiteral("--ward"), QStringLiteral("W1"), QStringLiteral("--out"), path }
                + more);
        EXPECT_EQ(ran.status, 0) << ran.err.toStdString();
        QProcess reader;
        reader.start(QStringLiteral("pdftotext"), { QStringLiteral("-layout"), path, QStringLiteral("-") });
        return reader.waitForFinished(30'000) ? QString::fromUtf8(reader.readAllStandardOutput()) : QString();
    };
    EXPECT_TRUE(print("before.pdf", {}).contains(QStringLiteral("Not signed in the registry")));
    const std::string head = ward.entries().back().digest;
    const QString cutOff = QString::number(ward.head().value);
    const QString text = print("signed.pdf", { QStringLiteral("--sign"), QStringLiteral("reviewed") });
    const QString year = QString::fromStdString(base::toText(ward.zone().at(store::machineClock()))).left(4);
    for (const QString& part :
        { QStringLiteral("reviewed month"), QStringLiteral("Coordinator (C1)"), year, QStringLiteral("cut-off entry ") + cutOff,
            QString::fromStdString(head).left(4) + QLatin1Char(' ') + QString::fromStdString(head).mid(4, 4),
            QStringLiteral("are those that were signed") })
        EXPECT_TRUE(text.contains(part)) << part.toStdString() << "\n" << text.toStdString();
    ward.reopen();
    const std::string now = base::toText(ward.zone().at(store::machineClock()));
    ward.goTo(now);
    ward.record(lowOf(ward, "M1-2026-05-20", "58", "59", now));
    const QString after = print("after.pdf", {});
    EXPECT_TRUE(after.contains(QStringLiteral("Data changed since review: this signature belongs"))) << after.toStdString();
    EXPECT_TRUE(after.contains(QStringLiteral("to the earlier content"))) << "on the line below";
    EXPECT_TRUE(after.contains(QStringLiteral("entry.corrected"))) << "and says what came after";
    EXPECT_TRUE(after.contains(QStringLiteral("Coordinator (C1)"))) << "the old signature stays";
    EXPECT_FALSE(after.contains(QStringLiteral("are those that were signed")));
}

TEST(Story, S49_TheSameValueOnTwelveDaysIsListedAndNobodyIsAccused)
{
    WardWorld ward;
    for (const char* meter : { "M2", "M3" })
        ward.record(acts::MeterEnrolled { base::MeterId(meter), base::ModelId("K1"), std::string("serial-") + meter, base::WardId("W1"),
            ward.at("2026-05-01T05:00"), MeterState::InService });
    // M1 shows 60 on 12 days running; the others spread with SD about 3.
    const char* const kOthers[] = { "57", "63", "60", "56", "64", "59", "62" };
    for (int day = 2; day <= 13; ++day)
        for (const char* meter : { "M1", "M2", "M3" }) {
            Setting setting;
            setting.meter = meter;
            const std::string date = "2026-05-" + std::string(day < 10 ? "0" : "") + std::to_string(day);
            const std::string low = setting.meter == "M1" ? "60"
                                                          : kOthers[static_cast<std::size_t>(day + (setting.meter == "M2" ? 0 : 3)) % 7];
            ward.runSet(setting.meter + date, date + "T0" + meter[1] + ":00", low, std::to_string(291 + (day * 5) % 19), setting);
        }
    const auto patterns = mayPatterns(ward);
    const auto same = ofCode(patterns, "same-value");
    ASSERT_EQ(same.size(), 1U);
    EXPECT_EQ(same.front().about, std::vector<std::string> { "M1" });
    EXPECT_EQ(same.front().evidence.size(), 12U);
    EXPECT_TRUE(words::patternSaid(same.front()).contains(QStringLiteral("60 was recorded 12 times running")))
        << words::patternSaid(same.front()).toStdString();
    const auto narrow = ofCode(patterns, "small-spread");
    ASSERT_EQ(narrow.size(), 1U) << "an SD of 0 against the group's 3";
    EXPECT_EQ(narrow.front().about, std::vector<std::string> { "M1" });
    EXPECT_EQ(ofCode(patterns, "only-at-mean").size(), 1U);
    for (const auto& pattern : patterns)
        for (const char* blame : { "fraud", "invent", "fake", "false", "suspicious", "cheat", "N1" })
            EXPECT_FALSE(words::patternSaid(pattern).contains(QLatin1String(blame))) << words::patternSaid(pattern).toStdString();
    EXPECT_TRUE(words::patternsNote().contains(QStringLiteral("nothing about a cause or about anybody")));
}

TEST(Patterns, PeopleWithoutAControlRunAreListedAndOthersAreNot)
{
    WardWorld ward;
    runMay(ward, 5);
    const auto idle = ofCode(mayPatterns(ward), "no-control-run");
    ASSERT_EQ(idle.size(), 1U);
    EXPECT_EQ(idle.front().about, std::vector<std::string> { "N2" }) << "N1 ran, and C1 is the coordinator";
}

TEST(Patterns, BulkEntryBackDatingAndVoidsAreListed)
{
    WardWorld ward;
    ward.goTo("2026-05-12T10:00");
    for (int day = 5; day <= 10; ++day)
        for (const Level level : { Level::Low, Level::High }) {
            auto run = ward.aRun("bulk-" + std::to_string(day), level, level == Level::Low ? "61" : std::to_string(290 + day));
            run.at = ward.at("2026-05-" + std::string(day < 10 ? "0" : "") + std::to_string(day) + "T07:00");
            run.form = "DT-0" + std::to_string(day);
            ward.record(run);
        }
    EXPECT_EQ(ofCode(mayPatterns(ward), "same-minute").size(), 1U);
    EXPECT_EQ(ofCode(mayPatterns(ward), "back-dated").size(), 1U);
    EXPECT_TRUE(ofCode(mayPatterns(ward), "voids-by-one").empty());
    for (int day = 5; day <= 7; ++day)
        ward.record(acts::EntryAnnulled { ward.at("2026-05-12T10:00"), base::OperatorId("N2"), "control_runs.csv",
            "bulk-" + std::to_string(day) + "/low/1", "typed twice" });
    const auto voids = ofCode(mayPatterns(ward), "voids-by-one");
    ASSERT_EQ(voids.size(), 1U);
    EXPECT_EQ(voids.front().about, std::vector<std::string> { "N2" });
}

TEST(Patterns, AnAmendmentFromRejectedToAcceptedIsListed)
{
    WardWorld ward;
    ward.runSet("day", "2026-05-03T07:00", "90", "300");
    ASSERT_EQ(ward.set("day").judged.verdict, Verdict::Rejected);
    EXPECT_TRUE(ofCode(mayPatterns(ward), "amended-to-accepted").empty());
    ward.goTo("2026-05-03T08:00");
    ward.record(lowOf(ward, "day", "90", "60", "2026-05-03T08:00"));
    ASSERT_EQ(ward.set("day").judged.verdict, Verdict::Accepted);
    EXPECT_EQ(ofCode(mayPatterns(ward), "amended-to-accepted").size(), 1U);
}

TEST(Patterns, ARunOnAVialThatWasDiscardedBeforeIsListed)
{
    WardWorld ward;
    ward.runSet("good", "2026-05-03T07:00", "60", "300");
    ward.goTo("2026-05-03T08:00");
    ward.record(acts::VialEnded { ward.at("2026-05-03T08:00"), "L1", base::OperatorId("N1"), VialEndKind::Discarded });
    EXPECT_TRUE(ofCode(mayPatterns(ward), "vial-not-open").empty());
    ward.runSet("after", "2026-05-03T09:00", "60", "300");
    const auto found = ofCode(mayPatterns(ward), "vial-not-open");
    ASSERT_EQ(found.size(), 1U);
    EXPECT_EQ(found.front().facts.vial, "L1");
    EXPECT_TRUE(found.front().facts.ended);
}

} // namespace mk::journeys
