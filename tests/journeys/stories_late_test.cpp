// SPDX-License-Identifier: GPL-3.0-or-later
// Stories about entries after the fact, and about power that fails in the middle of one; expectations from handbook 16 with 7.2, 8.2, 10.3.
#include "journeys/ward_world.h"

#include "store/read/read_month.h"

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

/// Enters a run that somebody else did at another time.
base::Result<std::vector<store::Outcome>> enter(
    WardWorld& ward, acts::ControlRun run, std::string_view performed, const std::string& enteredBy = "N1")
{
    run.at = ward.at(performed);
    const store::NewAct one { Act(std::move(run)), {} };
    return ward.registrar().record({ &one, 1 }, { base::OperatorId(enteredBy), "test" });
}

MonthFigures mayFigures(WardWorld& ward, std::string_view cutOff, Month month = { 2026, 5 })
{
    auto reader = ward.reader();
    const auto reading = store::readMonth(reader, base::WardId("W1"), month, ward.at(cutOff));
    EXPECT_TRUE(reading) << reading.error().text;
    return reading ? reading->figures : MonthFigures {};
}

std::optional<OccasionDay> dayOf(const MonthFigures& figures, std::string_view day)
{
    for (const auto& meter : figures.meters)
        for (const auto& each : meter.days)
            if (base::toText(each.day) == day)
                return each;
    return std::nullopt;
}

acts::IncidentReported notInUse(WardWorld& ward, std::string_view day)
{
    return { ward.at(day), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::NotInUse, {} };
}

} // namespace

TEST(Story, S34_PaperRunsOfADowntimeKeepPerformerEntererFormAndBothTimes)
{
    WardWorld ward;
    ward.runSet("before", "2026-05-03T08:00", "60", "300");
    ward.goTo("2026-05-04T12:00"); // the program was away from 08:00 to 12:00
    const struct {
        Level level;
        const char* result;
        const char* performed;
    } kPaper[] = { { Level::Low, "78", "2026-05-04T07:50" }, { Level::Low, "61", "2026-05-04T07:55" },
        { Level::High, "303", "2026-05-04T07:58" } };
    for (const auto& paper : kPaper) {
        auto run = ward.aRun("paper", paper.level, paper.result);
        run.form = "DT-0017";
        const auto outcome = enter(ward, run, paper.performed, "N2");
        ASSERT_TRUE(outcome) << outcome.error().text;
    }
    const SetRecord set = ward.set("paper");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted) << "accepted after repeat, as it was on paper";
    ASSERT_EQ(set.runs.size(), 3U);
    for (std::size_t i = 0; i < set.runs.size(); ++i) {
        const RunRecord& run = set.runs[i];
        ASSERT_TRUE(run.mark);
        EXPECT_EQ(run.run.by.value, "N1") << "who ran it";
        EXPECT_EQ(run.mark->enteredBy, "N2") << "who typed it in";
        EXPECT_EQ(run.run.form, "DT-0017");
        EXPECT_EQ(run.run.at, ward.at(kPaper[i].performed));
        EXPECT_EQ(run.mark->recordedAt, ward.at("2026-05-04T12:00"));
        EXPECT_TRUE(run.mark->late);
    }
    const auto day = dayOf(mayFigures(ward, "2026-05-05T12:00"), "2026-05-04");
    ASSERT_TRUE(day);
    EXPECT_EQ(day->what, Occasion::Met) << "it counts as in time";
    EXPECT_TRUE(day->recordedLate) << "and as recorded late";
    const auto before = dayOf(mayFigures(ward, "2026-05-05T12:00"), "2026-05-03");
    ASSERT_TRUE(before);
    EXPECT_FALSE(before->recordedLate) << "what was entered at once is not";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S35_AControlClaimedADayLaterForcesAReasonAndWaitsForTheCoordinator)
{
    WardWorld ward;
    ward.runSet("sunday", "2026-05-03T07:00", "60", "300");
    // Monday 4 May: nothing. Tuesday, 10:00:
    ward.goTo("2026-05-05T10:00");
    const auto low = ward.aRun("monday", Level::Low, "60");
    const auto high = ward.aRun("monday", Level::High, "300");
    const auto refused = enter(ward, low, "2026-05-04T07:00");
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().kind, base::FaultKind::Refused);
    EXPECT_NE(refused.error().text.find("say why it is entered so late"), std::string::npos) << refused.error().text;
    for (auto run : { low, high }) {
        run.lateReason = "forgotten after the emergency";
        ASSERT_TRUE(enter(ward, run, run.level == Level::Low ? "2026-05-04T07:00" : "2026-05-04T07:02"));
    }
    const SetRecord set = ward.set("monday");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    ASSERT_TRUE(set.runs.front().mark);
    EXPECT_TRUE(set.runs.front().mark->late && set.runs.front().mark->old) << "marked";

    MonthFigures figures = mayFigures(ward, "2026-05-05T12:00");
    EXPECT_EQ(dayOf(figures, "2026-05-04")->what, Occasion::Unproven);
    EXPECT_EQ(figures.totals.unproven, 1U);
    EXPECT_EQ(figures.totals.required(), 5U) << "1 to 4 May, and the fifth, which is open: it stays in the denominator";
    EXPECT_EQ(figures.totals.open, 1U);
    EXPECT_EQ(figures.totals.met, 1U) << "and out of the numerator: Sunday only";

    const auto accept = [&](const char* person) {
        return Act(acts::LateEntryAccepted {
            ward.at("2026-05-05T10:30"), base::OperatorId(person), base::SetId("monday"), "seen on the ward's camera log" });
    };
    ward.goTo("2026-05-05T10:30");
    EXPECT_NE(ward.refusalOf(accept("N2")).find("only the coordinator"), std::string::npos);
    EXPECT_EQ(mayFigures(ward, "2026-05-05T12:00").totals.met, 1U);
    ward.record(accept("C1"));
    figures = mayFigures(ward, "2026-05-05T12:00");
    EXPECT_EQ(dayOf(figures, "2026-05-04")->what, Occasion::Met);
    EXPECT_TRUE(dayOf(figures, "2026-05-04")->recordedLate);
    EXPECT_EQ(figures.totals.met, 2U);
    EXPECT_EQ(figures.totals.unproven, 0U);
    EXPECT_NE(ward.refusalOf(accept("C1")).find("accepted already"), std::string::npos);
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Story, S35_OnlyASetThatWaitsCanBeAccepted)
{
    WardWorld ward;
    ward.runSet("in-time", "2026-05-03T07:00", "60", "300");
    const auto accept = [&](const char* set) {
        return Act(acts::LateEntryAccepted { ward.at("2026-05-03T07:02"), base::OperatorId("C1"), base::SetId(set), "as asked" });
    };
    EXPECT_NE(ward.refusalOf(accept("in-time")).find("waits for no acceptance"), std::string::npos);
    EXPECT_NE(ward.refusalOf(accept("nowhere")).find("no set is called"), std::string::npos);
}

TEST(Story, S35_AScriptsOldSetIsTakenMarkedAndSaidSo)
{
    WardWorld ward;
    ward.runSet("before", "2026-05-03T07:00", "60", "300");
    QProcess program;
    program.start(QStringLiteral(MK_CLI),
        { QStringLiteral("--registry"), QString::fromStdString(ward.path()), QStringLiteral("--operator"), QStringLiteral("N1"),
            QStringLiteral("--at"), QStringLiteral("2026-05-04T07:00"), QStringLiteral("run"), QStringLiteral("add"),
            QStringLiteral("--meter"), QStringLiteral("M1"), QStringLiteral("--strip-vial"), QStringLiteral("V1"), QStringLiteral("--run"),
            QStringLiteral("low:L1=60"), QStringLiteral("--run"), QStringLiteral("high:H1=300"), QStringLiteral("--set"),
            QStringLiteral("old") });
    ASSERT_TRUE(program.waitForFinished(60'000));
    const QByteArray said = program.readAllStandardError();
    EXPECT_EQ(program.exitCode(), 0) << said.toStdString();
    EXPECT_EQ(said.count('\n'), 1) << said.toStdString();
    EXPECT_TRUE(said.contains("until the coordinator accepts it")) << said.toStdString();
    const SetRecord set = ward.set("old");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_EQ(set.runs.front().run.lateReason, "no reason given");
    EXPECT_EQ(dayOf(mayFigures(ward, "2026-05-05T12:00"), "2026-05-04")->what, Occasion::Unproven);
}

TEST(Story, S35_AnImportNeedsNoReasonAndCountsAsInTime)
{
    Ground empty;
    empty.empty = true;
    empty.day = "2026-06-02";
    WardWorld ward(empty);
    auto files = groundFiles();
    files["control_runs.csv"] = "set,at,meter,operator,strip_vial,level,control_vial,result,unit\n"
                                "old,2026-05-04T07:00,M1,N1,V1,low,L1,60,mg/dL\nold,2026-05-04T07:02,M1,N1,V1,high,H1,300,mg/dL\n";
    ASSERT_FALSE(ward.import(files).anyRejected());
    const auto day = dayOf(mayFigures(ward, "2026-06-02T04:00"), "2026-05-04");
    ASSERT_TRUE(day);
    EXPECT_EQ(day->what, Occasion::Met);
    EXPECT_FALSE(day->recordedLate);
}

TEST(Story, S36_DaysDeclaredBeforehandLeaveTheDenominatorThoseAfterwardsAreListedApart)
{
    WardWorld ward;
    ward.goTo("2026-05-03T16:00"); // the ward closes on the 4th and 5th, and says so
    ward.record(notInUse(ward, "2026-05-04T00:00"));
    ward.record(notInUse(ward, "2026-05-05T00:00"));
    ward.goTo("2026-05-09T10:00"); // and remembers on the 9th that it was closed on the 7th as well
    ward.record(notInUse(ward, "2026-05-07T00:00"));
    const MonthFigures figures = mayFigures(ward, "2026-05-11T00:00");
    EXPECT_EQ(figures.totals.required(), 7U) << "ten days less three";
    EXPECT_EQ(figures.totals.excused, 3U);
    EXPECT_EQ(figures.totals.excusedAfterwards, 1U);
    EXPECT_EQ(dayOf(figures, "2026-05-04")->what, Occasion::Excused);
    EXPECT_EQ(dayOf(figures, "2026-05-05")->what, Occasion::Excused);
    EXPECT_EQ(dayOf(figures, "2026-05-07")->what, Occasion::ExcusedAfterwards);
    EXPECT_EQ(dayOf(figures, "2026-05-06")->what, Occasion::Missed) << "nobody excused it";
    EXPECT_TRUE(ward.verification().holds());
}

TEST(LateEntry, AFutureRunIsRefusedAndSoIsAnyOtherIncidentAhead)
{
    WardWorld ward;
    ward.goTo("2026-05-03T07:00");
    const auto ahead = enter(ward, ward.aRun("ahead", Level::Low, "60"), "2026-05-03T07:01");
    ASSERT_FALSE(ahead);
    EXPECT_EQ(ahead.error().code, "time-in-the-future");
    auto dropped = notInUse(ward, "2026-05-04T00:00");
    dropped.what = IncidentKind::Dropped;
    EXPECT_NE(ward.refusalOf(dropped).find("lies in the future"), std::string::npos) << "only days without use are declared beforehand";
    EXPECT_NE(ward.refusalOf(notInUse(ward, "2026-07-01T00:00")).find("lies in the future"), std::string::npos) << "and not without end";
}

TEST(LateEntry, TwelveHoursBackNeedNoReasonAndOneSecondMoreDoes)
{
    WardWorld ward;
    ward.goTo("2026-05-03T19:00");
    EXPECT_TRUE(enter(ward, ward.aRun("edge", Level::Low, "60"), "2026-05-03T07:00:00"));
    EXPECT_FALSE(enter(ward, ward.aRun("beyond", Level::Low, "60"), "2026-05-03T06:59:59"));
}

TEST(LateEntry, TwoEntriesOfOneMinuteKeepTheOrderInWhichTheyCame)
{
    WardWorld ward;
    ward.goTo("2026-05-03T07:00");
    ward.record(ward.aRun("minute", Level::Low, "78"));
    ward.record(ward.aRun("minute", Level::Low, "61"));
    const SetRecord set = ward.record(ward.aRun("minute", Level::High, "300")).set.value_or(SetRecord {});
    ASSERT_EQ(set.runs.size(), 3U);
    EXPECT_EQ(toText(set.runs[0].run.result), "78");
    EXPECT_EQ(toText(set.runs[1].run.result), "61");
    EXPECT_LT(set.runs[0].seq, set.runs[1].seq);
    EXPECT_EQ(set.runs[1].judged.attempt, 2);
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted) << "the repeat came second";
}

TEST(LateEntry, ACorrectedTimeNeverLiesBehindTheEntryItself)
{
    WardWorld ward;
    ward.run("set", "2026-05-03T07:00", Level::Low, "60");
    ward.goTo("2026-05-03T09:00");
    const auto move = [&](const char* to) {
        return Act(acts::EntryCorrected { ward.at("2026-05-03T09:00"), base::OperatorId("N1"), base::SetId("set"), Level::Low, "at",
            "2026-05-03T07:00", to, "clock misread", {} });
    };
    EXPECT_NE(ward.refusalOf(move("2026-05-03T07:30")).find("cannot lie behind that"), std::string::npos);
    EXPECT_EQ(ward.refusalOf(move("2026-05-03T06:50")), "");
}

TEST(Story, S50_PowerFailsWhileTheSecondLevelIsSaved)
{
    if (support::onServer())
        GTEST_SKIP() << "the bytes of a file; a server's power is cut in tests/server";
    WardWorld ward;
    ward.goTo("2026-05-03T06:50");
    ward.reopen(); // the write-ahead file begins anew
    ward.run("set", "2026-05-03T07:00", Level::Low, "60");
    const QString path = QString::fromStdString(ward.path());
    const auto bytesOf = [](const QString& name) {
        QFile file(name);
        return file.open(QIODevice::ReadOnly) ? file.readAll() : QByteArray();
    };
    const qsizetype first = bytesOf(path + QStringLiteral("-wal")).size();
    ward.goTo("2026-05-03T07:02");
    ward.record(ward.aRun("set", Level::High, "300"));
    const QByteArray main = bytesOf(path);
    const QByteArray wal = bytesOf(path + QStringLiteral("-wal"));
    ASSERT_GT(first, 0);
    ASSERT_GT(wal.size(), first) << "the second level was appended";

    // The disk as it stood when the power failed after so many bytes of the second level.
    const QTemporaryDir folder;
    std::size_t absent = 0;
    std::size_t whole = 0;
    const qsizetype step = std::max<qsizetype>(1, (wal.size() - first) / 23);
    std::vector<qsizetype> cuts;
    for (qsizetype cut = first; cut < wal.size(); cut += step)
        cuts.push_back(cut);
    cuts.insert(cuts.end(), { first + 1, wal.size() - 1, wal.size() });
    for (const qsizetype cut : cuts) {
        SCOPED_TRACE(std::to_string(cut - first) + " bytes of " + std::to_string(wal.size() - first));
        const QString copy = folder.filePath(QStringLiteral("%1.mkr").arg(cut));
        for (const auto& [name, bytes] : { std::pair(copy, main), std::pair(copy + QStringLiteral("-wal"), wal.left(cut)) }) {
            QFile file(name);
            ASSERT_TRUE(file.open(QIODevice::WriteOnly));
            ASSERT_EQ(file.write(bytes), bytes.size());
        }
        auto session = store::Session::open(copy.toStdString(), store::Session::Access::ReadWrite);
        ASSERT_TRUE(session) << session.error().text;
        auto reader = store::Reader::open(**session);
        ASSERT_TRUE(reader);
        const auto runs = reader->runs(base::SetId("set"));
        ASSERT_TRUE(runs);
        ASSERT_FALSE(runs->empty()) << "the first level was answered for";
        EXPECT_EQ(toText(runs->front().run.result), "60");
        const auto row = store::boardRow(*reader, base::MeterId("M1"), ward.at("2026-05-03T07:05"));
        ASSERT_TRUE(row);
        const auto verified = store::verify(**session, std::nullopt);
        ASSERT_TRUE(verified);
        EXPECT_TRUE(verified->holds());
        if (runs->size() == 1) {
            ++absent;
            EXPECT_FALSE(row->fitness.usable);
            EXPECT_NE(reason(row->fitness, "set-partial"), nullptr) << codes(row->fitness);
        } else {
            ++whole;
            EXPECT_EQ(runs->size(), 2U);
            EXPECT_TRUE(row->fitness.usable) << codes(row->fitness);
        }
    }
    EXPECT_GT(absent, 20U);
    EXPECT_GE(whole, 1U) << "all bytes are there";
}

TEST(DeliveredLate, IsSaidWhereverTheControlIsRead)
{
    WardWorld ward;
    ward.runSet("in time", "2026-05-04T07:00", "60", "300");
    ward.goTo("2026-05-04T12:00"); // typed at 08:00, while the server was away
    std::vector<store::NewAct> kept;
    for (const auto& [level, result] : { std::pair(Level::Low, "61"), std::pair(Level::High, "302") }) {
        auto run = ward.aRun("kept", level, result);
        run.at = ward.at("2026-05-04T07:58");
        kept.push_back({ Act(run), {}, ward.at("2026-05-04T08:00") });
    }
    const auto recorded = ward.registrar().record(kept, { base::OperatorId("N1"), "test" });
    ASSERT_TRUE(recorded) << recorded.error().text;

    const Ran meter = cli(ward,
        { QStringLiteral("meter"), QStringLiteral("M1"), QStringLiteral("--at"), QStringLiteral("2026-05-04T12:30"),
            QStringLiteral("--json") });
    ASSERT_EQ(meter.status, 0) << meter.err.toStdString();
    const QJsonArray sets = QJsonDocument::fromJson(meter.out).object().value(QStringLiteral("sets")).toArray();
    int late = 0;
    int inTime = 0;
    for (const auto& set : sets)
        for (const auto& each : set.toObject().value(QStringLiteral("runs")).toArray()) {
            const QJsonObject run = each.toObject();
            if (!run.contains(QStringLiteral("delivered_late"))) {
                ++inTime;
                continue;
            }
            ++late;
            EXPECT_TRUE(run.value(QStringLiteral("delivered_late")).toBool());
            EXPECT_EQ(run.value(QStringLiteral("kept_since")).toString().toStdString(), "2026-05-04T08:00:00+02:00");
            EXPECT_EQ(run.value(QStringLiteral("recorded_at")).toString().toStdString(), "2026-05-04T12:00:00+02:00")
                << "when the registry had it";
            EXPECT_FALSE(run.value(QStringLiteral("recorded_late")).toBool()) << "the person typed it in time";
        }
    EXPECT_EQ(late, 2) << meter.out.toStdString();
    EXPECT_EQ(inTime, 2);

    const Ran history = cli(ward, { QStringLiteral("history"), QStringLiteral("kept") });
    ASSERT_EQ(history.status, 0) << history.err.toStdString();
    EXPECT_NE(history.out.toStdString().find("delivered late, kept at the workstation since"), std::string::npos)
        << history.out.toStdString();
    const Ran other = cli(ward, { QStringLiteral("history"), QStringLiteral("in time") });
    EXPECT_EQ(other.out.toStdString().find("delivered late"), std::string::npos) << other.out.toStdString();
}

} // namespace mk::journeys
