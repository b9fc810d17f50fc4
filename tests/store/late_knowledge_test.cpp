// SPDX-License-Identifier: GPL-3.0-or-later
// What became known late: corrections, annulments, late runs, and every earlier view. Expectations from design.md ("Late knowledge") and
// handbook 8.4.
#include "store/store_desk.h"
#include "words/reasons.h"

#include "store/journal/act_codec.h"
#include "store/copies/verification.h"

#include <gtest/gtest.h>

namespace mk::store {
namespace {

using namespace registry;
using sample::codes;
using sample::StoreDesk;

acts::EntryCorrected correctionOf(const StoreDesk& desk, const std::string& set, const std::string& old, const std::string& newText)
{
    return { desk.now(), base::OperatorId("N1"), base::SetId(set), Level::Low, "result", old, newText, "transposed",
        base::OperatorId("N2") };
}

acts::EntryAnnulled annulmentOf(const StoreDesk& desk, const Act& act, const std::string& more = {})
{
    return { desk.now(), base::OperatorId("C1"), std::string(fileOf(act)), keyOf(act) + more, "a mistake", base::OperatorId("N2") };
}

std::string lowResult(const SetRecord& set)
{
    const auto low = std::ranges::find_if(set.runs, [](const RunRecord& run) { return run.run.level == Level::Low; });
    return low == set.runs.end() ? std::string() : toText(low->run.result);
}

/// Everything that the registry says of M1 at a moment, as one text.
std::string viewOf(StoreDesk& desk, std::string_view time, base::Seq asOf)
{
    auto reader = desk.reader(asOf);
    const base::MeterId m1("M1");
    const auto row = boardRow(reader, m1, desk.at(time));
    if (!row)
        return row.error().text;
    std::string text = std::string(word(row->fitness.state)) + (row->fitness.usable ? " usable " : " not usable ") + codes(row->fitness);
    text += row->fitness.until ? " until " + base::toText(*row->fitness.until) : std::string();
    for (const auto& reason : row->fitness.reasons)
        text += "\n" + words::reasonSaid(reason).toStdString();
    const auto sets = reader.newestSets(m1, desk.at(time), 100).value();
    for (const auto& set : sets) {
        text += "\n" + set.judged.set.value + " " + std::string(word(set.judged.verdict)) + " entry " + std::to_string(set.seq.value) + " "
            + driftText(set.judged.drift);
        for (const auto& run : set.runs)
            text += " " + toText(run.run.result) + " v" + std::to_string(run.versionSeq.value) + " "
                + std::string(word(run.judged.verdict));
    }
    for (const auto& stop : reader.stops(m1).value())
        text += "\nstop " + stop.stop.cause + (stop.endedAt ? " ended " + base::toText(*stop.endedAt) : std::string());
    for (const auto& lookback : reader.lookbacks(m1).value())
        text += "\nlook-back " + lookback.lookback.cause + " " + lookback.decision.value_or("open");
    for (const auto& incident : reader.incidents(m1).value())
        text += "\nincident " + std::string(word(incident.act.what));
    return text;
}

} // namespace

TEST(AsOf, AnyEarlierViewIsWhatItWasWhenThatEntryWasTheLast)
{
    StoreDesk desk;
    const std::string end = "2026-05-10T12:00";
    std::vector<std::pair<base::Seq, std::string>> seen;
    const auto look = [&] { seen.emplace_back(desk.head(), viewOf(desk, end, Reader::kNewest)); };
    const auto step = [&](ReturnStepKind kind, const char* person) {
        desk.record(acts::ReturnStep { desk.now(), base::MeterId("M1"), base::OperatorId(person), kind, {} });
        look();
    };
    look();
    desk.runSet("one", "2026-05-04T07:00", "26", "305"), look();
    desk.record(correctionOf(desk, "one", "26", "62")), look();
    desk.runSet("two", "2026-05-05T07:00", "61", "298"), look();
    desk.goTo("2026-05-05T12:00");
    const acts::IncidentReported dropped { desk.at("2026-05-04T15:00"), desk.now(), base::MeterId("M1"), base::OperatorId("N1"),
        IncidentKind::Dropped, {} };
    desk.record(dropped), look();
    const base::Seq lookback = desk.reader().lookbacks(base::MeterId("M1")).value().front().seq;
    step(ReturnStepKind::Inspected, "N1");
    desk.runSet("three", "2026-05-05T13:00", "60", "300"), look();
    step(ReturnStepKind::Signed, "N1");
    desk.goTo("2026-05-06T09:00");
    acts::LookbackClosed closed { desk.now(), base::OperatorId("C1"), lookback, "none in doubt" };
    closed.notUsedSays = "the ward sister";
    desk.record(closed), look();
    const acts::IncidentReported soiled { desk.now(), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::Soiled, {} };
    desk.record(soiled), look();
    desk.record(annulmentOf(desk, soiled)), look();
    desk.record(acts::LotEvent { desk.now(), "S1", base::OperatorId("C1"), LotEventKind::Quarantined, {} }), look();
    desk.record(acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, base::GlucoseUnit::MgPerDl,
        sample::decimal("40"), sample::decimal("61"), {}, {}, {}, desk.at("2026-05-05T00:00") }),
        look();
    desk.record(annulmentOf(desk, desk.aRun("three", "2026-05-05T13:00", Level::Low, "60"))), look();

    std::size_t different = 0;
    for (std::size_t i = 0; i < seen.size(); ++i) {
        EXPECT_EQ(viewOf(desk, end, seen[i].first), seen[i].second) << "as of entry " << seen[i].first.value;
        different += i > 0 && seen[i].second != seen[i - 1].second ? 1U : 0U;
    }
    EXPECT_GE(different, 10U) << "the views differ, so that comparing them says something";
    EXPECT_TRUE(verify(desk.session(), std::nullopt).value().holds());
}

TEST(AsOf, WhatTheDeskAsksIsAnsweredAsItWasKnownThen)
{
    StoreDesk desk;
    const base::MeterId m1("M1"), m2("M2");
    const auto answers = [&](base::Seq asOf) {
        auto reader = desk.reader(asOf);
        std::string text;
        for (const char* serial : { "serial-1", "serial-2" }) {
            const auto meter = reader.meterWithSerial(base::ModelId("K1"), serial).value();
            text += std::string(serial) + " " + (meter ? meter->value : "nobody") + "\n";
        }
        const auto newest = reader.newestJudged().value();
        text += "newest " + (newest ? base::toText(*newest) : std::string("none")) + "\n";
        const auto owner = reader.meterOfSet(base::SetId("typo")).value();
        text += "set of " + (owner ? owner->value : "nobody") + "\n";
        for (const auto& each : reader.corrections(base::SetId("typo")).value())
            text += std::string("corrected") + (each.confirmed ? " confirmed" : "") + "\n";
        for (const char* used : { "V1", "L1", "S1", "CL", "K1", "N1", "M1", "M2" }) {
            text += std::string(used) + ":";
            for (const auto& meter : reader.metersThatUsed(used).value())
                text += " " + meter.value;
            text += "\n";
        }
        return text;
    };
    std::vector<std::pair<base::Seq, std::string>> seen;
    const auto look = [&] { seen.emplace_back(desk.head(), answers(Reader::kNewest)); };
    look();
    const acts::MeterEnrolled enrolled { m2, base::ModelId("K1"), "serial-2", base::WardId("W1"), desk.now(), {} };
    desk.record(enrolled), look();
    desk.record(annulmentOf(desk, enrolled)), look();
    desk.runSet("typo", "2026-05-04T07:00", "26", "300"), look();
    desk.goTo("2026-05-04T07:04");
    auto late = correctionOf(desk, "typo", "26", "62");
    late.confirmedBy.reset();
    desk.record(late), look(); // it changed the verdict, so another person confirms it
    desk.record(acts::CorrectionConfirmed { desk.now(), base::OperatorId("C1"), desk.entriesOf("entry.corrected").front().seq }), look();
    desk.runSet("next", "2026-05-04T10:00", "60", "300"), look();

    for (std::size_t i = 0; i < seen.size(); ++i) {
        EXPECT_EQ(answers(seen[i].first), seen[i].second) << "as of entry " << seen[i].first.value;
        EXPECT_TRUE(i == 0 || seen[i].second != seen[i - 1].second) << "entry " << seen[i].first.value << " changes no answer";
    }
}

TEST(AsOf, ALookbackThatWasDecidedAndOpenedAgainWasDecidedThen)
{
    StoreDesk desk;
    desk.runSet("good", "2026-05-04T07:00", "60", "300");
    const base::OperatorId c1("C1");
    desk.goTo("2026-05-04T08:00");
    desk.record(acts::LookbackAsked { desk.now(), c1, base::MeterId("M1"), desk.at("2026-05-04T07:00"), desk.now(), "technique", {}, {} });
    const base::Seq opened = desk.head();
    const auto decideAt = [&](const char* time, const char* decision) {
        desk.goTo(time);
        acts::LookbackClosed closing { desk.now(), c1, opened, decision };
        closing.reviewed = sample::decimal("4"), closing.doubtful = sample::decimal("0"), closing.informed = YesNo::No,
        closing.judgedBy = "Dr Marsh";
        desk.record(closing);
    };
    decideAt("2026-05-04T09:00", "none in doubt");
    const base::Seq decided = desk.head();
    desk.goTo("2026-05-04T10:00");
    desk.record(acts::LookbackReopened { desk.now(), c1, opened, "two more results came up" });
    const base::Seq reopened = desk.head();
    const auto open = [&](const char* time, base::Seq asOf) {
        return codes(desk.fitness(time, asOf)).find("look-back-open") != std::string::npos;
    };
    EXPECT_FALSE(open("2026-05-04T09:30", decided)) << "as it was known then";
    EXPECT_FALSE(open("2026-05-04T09:30", Reader::kNewest)) << "as it is known now";
    EXPECT_TRUE(open("2026-05-04T08:30", Reader::kNewest));
    EXPECT_TRUE(open("2026-05-04T10:30", reopened));
    decideAt("2026-05-04T11:00", "two in doubt");
    EXPECT_FALSE(open("2026-05-04T11:30", Reader::kNewest));
    EXPECT_TRUE(open("2026-05-04T10:30", Reader::kNewest));
    EXPECT_TRUE(open("2026-05-04T11:30", reopened));
    const auto lookbacks = desk.reader().lookbacks(base::MeterId("M1")).value();
    ASSERT_EQ(lookbacks.size(), 1U);
    EXPECT_EQ(lookbacks.front().decision, "two in doubt");
    ASSERT_EQ(lookbacks.front().takenBack.size(), 1U);
    EXPECT_EQ(lookbacks.front().takenBack.front().decision, "none in doubt");
    EXPECT_EQ(lookbacks.front().takenBack.front().by, decided);
}

TEST(Correction, KeepsTheChain)
{
    StoreDesk desk;
    desk.runSet("typo", "2026-05-04T07:00", "26", "300");
    const base::Seq before = desk.head();
    desk.record(correctionOf(desk, "typo", "26", "62"));
    EXPECT_EQ(lowResult(desk.set("typo")), "62");
    EXPECT_EQ(desk.set("typo").judged.verdict, Verdict::Accepted);
    EXPECT_EQ(lowResult(desk.set("typo", before)), "26");
    EXPECT_EQ(desk.set("typo", before).judged.verdict, Verdict::Rejected);
    EXPECT_NE(desk.entriesOf("control.run").front().body.find("\"26\""), std::string::npos) << "the first entry is as it was";
    const auto revised = desk.entriesOf("verdict.revised");
    ASSERT_EQ(revised.size(), 1U);
    const auto body = Json::parse(revised.front().body).value();
    EXPECT_EQ(*body.find("old_verdict")->text(), "rejected");
    EXPECT_EQ(*body.find("because")->integer(), desk.entriesOf("entry.corrected").front().seq.value);
}

TEST(Correction, RefusesAStaleOldValue)
{
    StoreDesk desk;
    desk.runSet("typo", "2026-05-04T07:00", "26", "300");
    desk.record(correctionOf(desk, "typo", "26", "62"));
    const base::Seq head = desk.head();
    const auto stale = desk.tryRecord(correctionOf(desk, "typo", "26", "63"));
    ASSERT_FALSE(stale);
    EXPECT_EQ(stale.error().kind, base::FaultKind::Conflict);
    EXPECT_EQ(desk.head(), head);
    desk.goTo("2026-05-04T07:30");
    desk.record(correctionOf(desk, "typo", "62", "63"));
    EXPECT_EQ(lowResult(desk.set("typo")), "63") << "one that names the newest version is taken";
}

TEST(Correction, CorrectsTheNewestRunOfTheLevelOnly)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    desk.record(desk.aRun("s", "2026-05-04T07:00", Level::Low, "78"));
    desk.goTo("2026-05-04T07:04");
    desk.record(desk.aRun("s", "2026-05-04T07:04", Level::Low, "26"));
    desk.record(correctionOf(desk, "s", "26", "62"));
    const SetRecord set = desk.set("s");
    ASSERT_EQ(set.runs.size(), 2U);
    EXPECT_EQ(toText(set.runs[0].run.result), "78");
    EXPECT_EQ(toText(set.runs[1].run.result), "62");
}

TEST(Correction, RefusesWhatARunHasNot)
{
    StoreDesk desk;
    desk.runSet("s", "2026-05-04T07:00", "60", "300");
    auto correction = correctionOf(desk, "s", "60", "61");
    correction.column = "colour";
    EXPECT_FALSE(desk.tryRecord(correction));
    correction = correctionOf(desk, "nowhere", "60", "61");
    EXPECT_FALSE(desk.tryRecord(correction));
    correction = correctionOf(desk, "s", "60", "sixty");
    EXPECT_FALSE(desk.tryRecord(correction));
    correction = correctionOf(desk, "s", "60", "601");
    EXPECT_FALSE(desk.tryRecord(correction)) << "outside what the model can show";
    correction = correctionOf(desk, "s", "M1", "M2");
    correction.column = "meter";
    EXPECT_FALSE(desk.tryRecord(correction));
}

TEST(Correction, NeverClearsThePast)
{
    StoreDesk desk;
    desk.runSet("typo", "2026-05-04T07:00", "26", "300");
    desk.goTo("2026-05-04T09:00");
    desk.record(correctionOf(desk, "typo", "26", "62"));
    EXPECT_EQ(desk.fitness("2026-05-04T08:00").state, MeterState::OnHold) << "the hold is not taken back";
    EXPECT_TRUE(desk.fitness("2026-05-04T09:00").usable);
}

TEST(Annulment, OfARunLeavesThePartOfTheSet)
{
    StoreDesk desk;
    desk.runSet("s", "2026-05-04T07:00", "60", "300");
    const base::Seq before = desk.head();
    const Act high = desk.aRun("s", "2026-05-04T07:01", Level::High, "300");
    desk.record(annulmentOf(desk, high));
    EXPECT_EQ(desk.set("s").judged.verdict, Verdict::Partial);
    EXPECT_EQ(desk.set("s").runs.size(), 1U);
    EXPECT_EQ(codes(desk.fitness("2026-05-04T08:00")), "no-control-yet set-partial");
    EXPECT_TRUE(desk.fitness("2026-05-04T08:00", before).usable) << "as it was known before";
    EXPECT_EQ(desk.entriesOf("control.run").size(), 2U) << "struck through, not deleted";
    EXPECT_TRUE(verify(desk.session(), std::nullopt).value().holds());
}

TEST(Annulment, OfEveryRunLeavesNoSet)
{
    StoreDesk desk;
    desk.runSet("first", "2026-05-03T07:00", "60", "300");
    desk.runSet("gone", "2026-05-04T07:00", "60", "300");
    desk.record(annulmentOf(desk, desk.aRun("gone", "2026-05-04T07:00", Level::Low, "60")));
    desk.record(annulmentOf(desk, desk.aRun("gone", "2026-05-04T07:01", Level::High, "300")));
    auto reader = desk.reader();
    EXPECT_FALSE(reader.set(base::SetId("gone")).value());
    EXPECT_EQ(codes(desk.fitness("2026-05-04T08:00")), "control-overdue") << "the set before is the newest again";
    EXPECT_TRUE(verify(desk.session(), std::nullopt).value().holds());
}

TEST(Annulment, OfOneAttemptNamesItsRow)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T07:00");
    desk.record(desk.aRun("s", "2026-05-04T07:00", Level::Low, "60"));
    desk.goTo("2026-05-04T07:04");
    desk.record(desk.aRun("s", "2026-05-04T07:04", Level::Low, "78"));
    desk.record(annulmentOf(desk, desk.aRun("s", "2026-05-04T07:04", Level::Low, "78"), "/2"));
    const SetRecord set = desk.set("s");
    ASSERT_EQ(set.runs.size(), 1U);
    EXPECT_EQ(toText(set.runs.front().run.result), "60");
}

TEST(Annulment, OfAnIncidentTakesItsReasonAway)
{
    StoreDesk desk;
    desk.runSet("s", "2026-05-04T07:00", "60", "300");
    desk.goTo("2026-05-04T09:00");
    const acts::IncidentReported soiled { desk.now(), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::Soiled, {} };
    desk.record(soiled);
    const base::Seq before = desk.head();
    EXPECT_EQ(codes(desk.fitness("2026-05-04T09:30")), "cleaning-overdue");
    desk.record(annulmentOf(desk, soiled));
    EXPECT_TRUE(desk.fitness("2026-05-04T09:30").usable);
    EXPECT_EQ(codes(desk.fitness("2026-05-04T09:30", before)), "cleaning-overdue");
}

TEST(Annulment, OfAnIncidentDoesNotEndItsHold)
{
    StoreDesk desk;
    desk.runSet("s", "2026-05-04T07:00", "60", "300");
    desk.goTo("2026-05-04T09:00");
    const acts::IncidentReported dropped { desk.now(), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::Dropped, {} };
    desk.record(dropped);
    desk.record(annulmentOf(desk, dropped));
    EXPECT_EQ(desk.fitness("2026-05-04T09:30").state, MeterState::OnHold) << "an annulment never clears a meter by itself";
}

TEST(Annulment, OfARangeJudgesAgainByTheOneBefore)
{
    StoreDesk desk;
    desk.goTo("2026-05-02T08:00");
    const acts::RangeAssigned narrow { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, base::GlucoseUnit::MgPerDl,
        sample::decimal("48"), sample::decimal("61"), {}, {}, {}, desk.now() };
    desk.record(narrow);
    desk.runSet("s", "2026-05-04T07:00", "62", "300");
    EXPECT_EQ(desk.set("s").judged.verdict, Verdict::Rejected);
    const base::Seq before = desk.head();
    desk.record(annulmentOf(desk, narrow));
    EXPECT_EQ(desk.set("s").judged.verdict, Verdict::Accepted);
    EXPECT_EQ(desk.set("s").judged.oldVerdict, Verdict::Rejected);
    EXPECT_EQ(desk.set("s", before).judged.verdict, Verdict::Rejected);
    EXPECT_TRUE(verify(desk.session(), std::nullopt).value().holds());
}

TEST(Annulment, OnceAndOnlyOfWhatIsThere)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T09:00");
    const acts::IncidentReported soiled { desk.now(), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::Soiled, {} };
    const auto missing = desk.tryRecord(annulmentOf(desk, soiled));
    ASSERT_FALSE(missing);
    EXPECT_EQ(missing.error().kind, base::FaultKind::NotFound);
    desk.record(soiled);
    desk.record(annulmentOf(desk, soiled));
    desk.goTo("2026-05-04T09:01");
    const auto again = desk.tryRecord(annulmentOf(desk, soiled));
    ASSERT_FALSE(again);
    EXPECT_EQ(again.error().kind, base::FaultKind::Conflict);
}

TEST(KnownKey, IsUnchangedEvenIfCorrectedOrAnnulledSince)
{
    StoreDesk desk;
    desk.goTo("2026-05-06T09:00");
    const std::vector<Act> runs { desk.aRun("s", "2026-05-04T07:00", Level::Low, "26"),
        desk.aRun("s", "2026-05-04T07:01", Level::High, "300"), desk.aRun("t", "2026-05-05T07:00", Level::Low, "60") };
    EXPECT_EQ(desk.importFiles(runs).files.front().added, 3U);
    desk.record(correctionOf(desk, "s", "26", "62"));
    desk.record(annulmentOf(desk, runs[2]));
    const base::Seq head = desk.head();
    const auto report = desk.importFiles(runs);
    EXPECT_EQ(report.files.front().unchanged, 3U);
    EXPECT_TRUE(report.files.front().rejected.empty());
    EXPECT_EQ(desk.head(), head);
    EXPECT_EQ(lowResult(desk.set("s")), "62");
    EXPECT_FALSE(desk.reader().set(base::SetId("t")).value());
}

TEST(LateRun, RevisesTheVerdictsThatItChanges)
{
    // z of the low level: 0, then 2.2 two days later: 1-2s. A run of 2.1 on the day between turns that into 2-2s.
    StoreDesk desk(PolicyPairs { { "profile", "older" } }); // against the target
    desk.runSet("day1", "2026-05-04T07:00", "60", "300");
    desk.runSet("day3", "2026-05-06T07:00", "66.6", "300");
    desk.runSet("day4", "2026-05-07T07:00", "60", "300");
    EXPECT_EQ(desk.set("day3").judged.verdict, Verdict::Warned);
    EXPECT_EQ(desk.set("day3").judged.rules, std::vector<std::string> { "1-2s" });
    const base::Seq before = desk.head();

    desk.goTo("2026-05-08T09:00");
    const auto report = desk.importFiles(
        { desk.aRun("day2", "2026-05-05T07:00", Level::Low, "66.3"), desk.aRun("day2", "2026-05-05T07:01", Level::High, "300") });
    EXPECT_FALSE(report.anyRejected());
    EXPECT_EQ(desk.set("day2").judged.verdict, Verdict::Warned);
    EXPECT_EQ(desk.set("day3").judged.verdict, Verdict::Rejected);
    EXPECT_EQ(desk.set("day3").judged.rules, (std::vector<std::string> { "1-2s", "2-2s" }));

    const auto revised = desk.entriesOf("verdict.revised");
    ASSERT_FALSE(revised.empty());
    const auto body = Json::parse(revised.front().body).value();
    EXPECT_EQ(*body.find("set")->text(), "day3");
    EXPECT_EQ(*body.find("old_verdict")->text(), "warned");
    EXPECT_GT(*body.find("because")->integer(), before.value);
    for (const auto& entry : revised)
        EXPECT_EQ(entry.body.find("\"day1\""), std::string::npos) << "what came before it is as it was";

    EXPECT_EQ(desk.set("day3", before).judged.verdict, Verdict::Warned) << "as of then, the old verdict";
    EXPECT_EQ(desk.set("day4").judged.verdict, Verdict::Accepted);
    EXPECT_TRUE(verify(desk.session(), std::nullopt).value().holds());
}

TEST(LateRun, GivesTheSameVerdictsAsTheRunsInTheirOrder)
{
    const std::vector<std::array<const char*, 3>> days { { "a", "2026-05-04T07:00", "63.3" }, { "b", "2026-05-05T07:00", "66.3" },
        { "c", "2026-05-06T07:00", "66.6" }, { "d", "2026-05-07T07:00", "57" }, { "e", "2026-05-08T07:00", "64.2" } };
    const auto runsOf = [](StoreDesk& desk, const std::array<const char*, 3>& day) {
        return std::vector<Act> { desk.aRun(day[0], day[1], Level::Low, day[2]), desk.aRun(day[0], day[1], Level::High, "309.1") };
    };
    StoreDesk inOrder, oneByOne;
    inOrder.goTo("2026-05-10T09:00");
    oneByOne.goTo("2026-05-10T09:00");
    std::vector<Act> all;
    for (const auto& day : days)
        for (auto& act : runsOf(inOrder, day))
            all.push_back(std::move(act));
    EXPECT_FALSE(inOrder.importFiles(all).anyRejected());
    for (const std::size_t i : { 4U, 1U, 3U, 0U, 2U })
        EXPECT_FALSE(oneByOne.importFiles(runsOf(oneByOne, days[i])).anyRejected());
    for (const auto& day : days) {
        const SetRecord expected = inOrder.set(day[0]);
        const SetRecord found = oneByOne.set(day[0]);
        EXPECT_EQ(found.judged.verdict, expected.judged.verdict) << day[0];
        EXPECT_EQ(found.judged.rules, expected.judged.rules) << day[0];
        EXPECT_EQ(found.judged.drift.flags, expected.judged.drift.flags) << day[0];
    }
    EXPECT_EQ(driftText(oneByOne.set("e").judged.drift), driftText(inOrder.set("e").judged.drift)) << "the newest set carries the sums on";
}

} // namespace mk::store
