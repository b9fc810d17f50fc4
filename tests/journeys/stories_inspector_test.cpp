// SPDX-License-Identifier: GPL-3.0-or-later
// What the inspector asks: as known then and now, an export that proves itself, the history of a value; handbook 8.1, 8.4, 8.8.
#include "journeys/may_hands.h"

#include "store/copies/export.h"
#include "store/read/value_history.h"

#include <QCryptographicHash>
#include <QDir>
#include <QFile>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::journeys {

using namespace registry;

TEST(Story, S47_OneCallAnswersTheInspectorAsKnownThenAndAsKnownNow)
{
    WardWorld ward;
    ward.runSet("last", "2026-05-13T07:00", "60", "300");
    ward.goTo("2026-05-14T09:00"); // told in the morning of a fall at two in the night
    ward.incident(IncidentKind::Dropped, "2026-05-14T02:00");
    const Ran ran = cli(ward,
        { QStringLiteral("--json"), QStringLiteral("--at"), QStringLiteral("2026-05-14T03:10"), QStringLiteral("meter"),
            QStringLiteral("M1") });
    ASSERT_EQ(ran.status, 0) << ran.err.toStdString();
    const QJsonObject control = QJsonDocument::fromJson(ran.out).object()[QStringLiteral("control")].toObject();
    const QJsonObject then = control[QStringLiteral("known_then")].toObject();
    const QJsonObject now = control[QStringLiteral("known_now")].toObject();
    EXPECT_TRUE(then[QStringLiteral("in_control")].toBool(false)) << "what the nurse could see";
    EXPECT_FALSE(now[QStringLiteral("in_control")].toBool(true)) << "what is known since";
    EXPECT_LT(then[QStringLiteral("as_of")].toInteger(), now[QStringLiteral("as_of")].toInteger());
    EXPECT_EQ(now[QStringLiteral("state")].toString(), QStringLiteral("in-service")) << "the hold began when it was told";
    EXPECT_EQ(then[QStringLiteral("policy")].toInteger(), 1);
    EXPECT_EQ(then[QStringLiteral("last_accepted_set")][QStringLiteral("set")].toString(), QStringLiteral("last"));
    const QJsonObject strips = then[QStringLiteral("strips")].toObject();
    EXPECT_EQ(strips[QStringLiteral("lot")].toString(), QStringLiteral("S1"));
    EXPECT_EQ(strips[QStringLiteral("lot_expiry")].toString(), QStringLiteral("2030-12-31"));
    EXPECT_EQ(strips[QStringLiteral("opened")].toString(), QStringLiteral("2026-05-01T05:00:00+02:00"));
    EXPECT_EQ(strips[QStringLiteral("last_day")].toString(), QStringLiteral("2026-07-30")) << "ninety days after 1 May";
    EXPECT_EQ(then[QStringLiteral("controls")].toArray().size(), 2);
    const QJsonArray people = then[QStringLiteral("operators")].toArray();
    ASSERT_EQ(people.size(), 1);
    EXPECT_EQ(people[0][QStringLiteral("operator")].toString(), QStringLiteral("N1"));
    EXPECT_TRUE(people[0][QStringLiteral("competent")].toBool(false));
    EXPECT_EQ(people[0][QStringLiteral("competent_until")].toString(), QStringLiteral("2030-12-31"));
}

TEST(Story, S47_TheExportProvesItselfAndTakenOverAgainGivesTheSameFitness)
{
    WardWorld ward;
    runMay(ward, 6);
    ward.runSet("bad", "2026-05-07T07:00", "90", "300");
    ward.runSet("good", "2026-05-07T07:10", "61", "301");
    ward.goTo("2026-05-07T09:00");
    auto odd = lowOf(ward, "good", "61", "62", "2026-05-07T09:00");
    odd.reason = "a \"quoted\", odd reason ";
    ward.record(odd);
    ward.incident(IncidentKind::Soiled, "2026-05-07T08:50");
    ward.record(acts::EntryAnnulled { ward.at("2026-05-07T09:00"), base::OperatorId("C1"), "entry",
        std::to_string(ward.set("M1-2026-05-02").runs.front().seq.value), "typed twice" });
    const QTemporaryDir folder;
    const QString out = folder.filePath(QStringLiteral("out"));
    const Ran ran = cli(
        ward, { QStringLiteral("export"), QStringLiteral("--format"), QStringLiteral("all"), QStringLiteral("--out"), out });
    ASSERT_EQ(ran.status, 0) << ran.err.toStdString();
    EXPECT_EQ(
        cli(ward, { QStringLiteral("export"), QStringLiteral("--format"), QStringLiteral("csv"), QStringLiteral("--out"), out }).status, 2)
        << "the folder is not empty";

    const auto bytesOf = [&](const QString& name) {
        QFile file(QDir(out).filePath(name));
        return file.open(QIODevice::ReadOnly) ? file.readAll() : QByteArray();
    };
    const QJsonObject manifest = QJsonDocument::fromJson(bytesOf(QStringLiteral("manifest.json"))).object();
    EXPECT_EQ(manifest[QStringLiteral("head")].toString().toStdString(), ward.entries().back().digest);
    EXPECT_EQ(manifest[QStringLiteral("entries")].toInteger(), ward.head().value);
    std::map<std::string, std::string> files;
    const QJsonArray listed = manifest[QStringLiteral("files")].toArray();
    EXPECT_EQ(listed.size(), 20) << "eighteen files, the journal, the policy";
    EXPECT_EQ(QDir(out).entryList(QDir::Files).size(), listed.size() + 1) << "each file is listed, and the manifest itself";
    for (const auto& each : listed) {
        const QString name = each[QStringLiteral("file")].toString();
        const QByteArray bytes = bytesOf(name);
        EXPECT_EQ(QString::fromLatin1(QCryptographicHash::hash(bytes, QCryptographicHash::Sha256).toHex()),
            each[QStringLiteral("sha256")].toString())
            << name.toStdString();
        EXPECT_EQ(bytes.size(), each[QStringLiteral("bytes")].toInteger());
        if (name.endsWith(QStringLiteral(".csv"))) {
            EXPECT_EQ(bytes.count('\n') - 1, each[QStringLiteral("rows")].toInteger()) << name.toStdString();
            files[name.toStdString()] = bytes.toStdString();
        }
    }

    // The chain can be checked from the journal's lines alone: SHA-256 over the digest before and the line without prev and digest.
    QByteArray previous(32, '\0');
    std::int64_t entries = 0;
    for (const QByteArray& line : bytesOf(QStringLiteral("journal.ndjson")).split('\n')) {
        if (line.isEmpty())
            continue;
        const auto parsed = store::Json::parse(line.toStdString());
        ASSERT_TRUE(parsed);
        store::Json digested = store::Json::object();
        for (const auto& [key, value] : *parsed->members())
            if (key != "prev" && key != "digest")
                digested.set(key, value);
        previous = QCryptographicHash::hash(previous + QByteArray::fromStdString(digested.canonical()), QCryptographicHash::Sha256);
        EXPECT_EQ(previous.toHex().toStdString(), *parsed->find("digest")->text());
        EXPECT_EQ(*parsed->find("seq")->integer(), ++entries);
    }
    EXPECT_EQ(entries, ward.head().value);

    Ground empty;
    empty.empty = true;
    empty.day = "2026-05-20";
    WardWorld other(empty);
    const auto report = other.import(files);
    for (const auto& file : report.files)
        EXPECT_TRUE(file.rejected.empty()) << file.file << ": "
                                           << (file.rejected.empty() ? "" : base::plainly(file.rejected.front().fault));
    for (const char* time : { "2026-05-02T07:10", "2026-05-04T12:00", "2026-05-07T07:05", "2026-05-07T09:30", "2026-05-08T12:00" }) {
        const Fitness a = ward.fitness(time);
        const Fitness b = other.fitness(time);
        // A look-back after a passed repeat is a task of the site that measured; an import opens none.
        const auto withoutTask = [](std::string all) {
            const auto at = all.find(" look-back-open");
            return at == std::string::npos ? all : all.erase(at, 15);
        };
        EXPECT_EQ(withoutTask(codes(a)), withoutTask(codes(b))) << time;
        EXPECT_EQ(a.usable, b.usable) << time;
        EXPECT_EQ(a.until, b.until) << time;
    }
    EXPECT_EQ(toText(other.set("good").runs.front().run.result), "62");
}

TEST(ValueHistory, ShowsOriginalCorrectionConfirmationVerdictsAndAnnulmentInTheirOrder)
{
    WardWorld ward;
    ward.runSet("day", "2026-05-03T07:00", "90", "300");
    ward.goTo("2026-05-03T08:00");
    auto correction = lowOf(ward, "day", "90", "60", "2026-05-03T08:00");
    correction.confirmedBy.reset();
    const auto corrected = ward.record(correction).seq;
    ward.record(acts::CorrectionConfirmed { ward.at("2026-05-03T08:00"), base::OperatorId("C1"), corrected });
    ward.record(
        acts::EntryAnnulled { ward.at("2026-05-03T08:00"), base::OperatorId("C1"), "control_runs.csv", "day/low/1", "wrong meter" });
    auto reader = ward.reader();
    const auto steps = store::valueHistory(reader, "day");
    ASSERT_TRUE(steps) << steps.error().text;
    std::vector<std::string> kinds;
    for (const auto& step : *steps)
        kinds.push_back(step.act);
    EXPECT_EQ(kinds.front(), "control.run");
    for (const char* kind : { "entry.corrected", "correction.confirmed", "entry.annulled", "verdict.revised", "control.judged" })
        EXPECT_NE(std::ranges::find(kinds, kind), kinds.end()) << kind;
    const auto change = std::ranges::find(*steps, corrected, &store::HistoryStep::seq);
    ASSERT_NE(change, steps->end());
    EXPECT_EQ(change->before, "90");
    EXPECT_EQ(change->after, "60");
    EXPECT_EQ(change->reason, "digits swapped");
    const auto* first = std::get_if<acts::ControlRun>(&steps->front().said);
    ASSERT_NE(first, nullptr);
    EXPECT_EQ(first->level, Level::Low);
    EXPECT_EQ(toText(first->result), "90") << "the first value stays";
    EXPECT_TRUE(store::valueHistory(reader, std::to_string(corrected.value))) << "an entry's number leads to the same chain";
    EXPECT_FALSE(store::valueHistory(reader, "nowhere"));
    auto early = ward.reader({ corrected.value - 1 });
    const auto before = store::valueHistory(early, "day");
    ASSERT_TRUE(before);
    EXPECT_TRUE(std::ranges::none_of(*before, [](const auto& step) { return step.act == "entry.corrected"; })) << "as of an earlier entry";
}

TEST(FreeText, ALongNumberIsRefusedInAPersonsWordsAndTakenFromAnImport)
{
    WardWorld ward;
    ward.goTo("2026-05-03T07:00");
    auto run = ward.aRun("day", Level::Low, "60");
    run.comment = "patient 48120931 in bed 4";
    const std::string refusal = ward.refusalOf(run);
    EXPECT_NE(refusal.find("six or more digits"), std::string::npos) << refusal;
    EXPECT_EQ(refusal.find("48120931"), std::string::npos) << "not repeated";
    run.comment = "strip 12345 was bent";
    EXPECT_EQ(ward.refusalOf(run), "");
    acts::EntryCorrected correction { ward.at("2026-05-03T07:00"), base::OperatorId("N1"), base::SetId("day"), Level::Low, "comment",
        "strip 12345 was bent", "for 481209", "as asked", {} };
    EXPECT_NE(ward.refusalOf(correction).find("comment"), std::string::npos) << "not by way of a correction either";

    Ground empty;
    empty.empty = true;
    WardWorld other(empty);
    auto files = groundFiles();
    files["incidents.csv"] = "at,noticed_at,meter,operator,kind,detail\n2026-05-01T04:00,,M1,N1,soiled,form 20260501\n";
    EXPECT_FALSE(other.import(files).anyRejected()) << "what was recorded elsewhere is taken as it stands";
}

} // namespace mk::journeys
