// SPDX-License-Identifier: GPL-3.0-or-later
// Taking over CSV files; every expectation is a sentence of interface.md, "What import means".
#include "journeys/ward_world.h"

#include "store/journal/canonical_json.h"

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

using namespace registry;

constexpr const char* kRunHeader = "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment\n";

Ground emptyGround()
{
    Ground ground;
    ground.empty = true;
    ground.day = "2026-06-01";
    return ground;
}

/// Ground files and a file of runs.
std::map<std::string, std::string> withRuns(const std::string& rows)
{
    auto files = groundFiles();
    files["control_runs.csv"] = kRunHeader + rows;
    return files;
}

const std::string kGoodSet = "s1,2026-05-04T07:00,M1,N1,V1,low,L1,61,mg/dL,,,\ns1,2026-05-04T07:02,M1,N1,V1,high,H1,305,mg/dL,,,\n";

} // namespace

TEST(Import, AWholeFolderBecomesARegistry)
{
    WardWorld ward(emptyGround());
    const auto report = ward.import(withRuns(kGoodSet));
    EXPECT_FALSE(report.anyRejected());
    EXPECT_EQ(reportOf(report, "control_runs.csv").added, 2U);
    EXPECT_EQ(ward.set("s1").judged.verdict, Verdict::Accepted);
    const Fitness fitness = ward.fitness("2026-05-04T12:00");
    EXPECT_TRUE(fitness.usable) << codes(fitness);
    EXPECT_EQ(fitness.until, ward.at("2026-05-05T07:02"));
    EXPECT_TRUE(ward.verification().holds());
}

TEST(Import, EveryEntryIsMarkedImportedAndCarriesTheMomentOfImport)
{
    WardWorld ward(emptyGround());
    ward.goTo("2026-06-01T09:30");
    ward.import(withRuns(kGoodSet));
    for (const auto& entry : ward.entries()) {
        if (entry.seq.value <= 2)
            continue;
        EXPECT_EQ(entry.at, ward.at("2026-06-01T09:30").utcMs);
        EXPECT_EQ(entry.person, "import");
        EXPECT_NE(entry.body.find("\"imported\":true"), std::string::npos) << entry.act;
    }
    EXPECT_FALSE(ward.asKnownThen("2026-05-04T12:00")) << "then is honestly empty before the import";
}

TEST(Import, TheSameAgainAddsNothing)
{
    WardWorld ward(emptyGround());
    const auto files = withRuns(kGoodSet);
    ward.import(files);
    const base::Seq before = ward.head();
    const auto again = ward.import(files);
    EXPECT_EQ(ward.head(), before) << "not one entry is written";
    for (const auto& file : again.files) {
        EXPECT_EQ(file.unchanged, file.rows) << file.file;
        EXPECT_EQ(file.added, 0U);
    }
}

TEST(Import, AGrownFileAddsOnlyWhatIsNew)
{
    WardWorld ward(emptyGround());
    ward.import(withRuns(kGoodSet));
    const auto report = reportOf(ward.import(withRuns(kGoodSet + "s2,2026-05-05T07:00,M1,N1,V1,low,L1,60,mg/dL,,,\n")), "control_runs.csv");
    EXPECT_EQ(report.rows, 3U);
    EXPECT_EQ(report.unchanged, 2U);
    EXPECT_EQ(report.added, 1U);
}

TEST(Import, ATruncatedFileContributesNothing)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(ward.import(withRuns(kGoodSet + "s2,2026-05-05T07:00,M1,N1,V1,lo")), "control_runs.csv");
    ASSERT_EQ(report.rejected.size(), 1U);
    EXPECT_EQ(report.rejected.front().line, 4U);
    EXPECT_EQ(report.added, 0U);
    EXPECT_EQ(ward.entriesOf("control.run").size(), 0U);
    EXPECT_EQ(ward.entriesOf("meter.enrolled").size(), 1U) << "what does not depend on it is taken over";
}

TEST(Import, AnUnclosedQuoteIsATruncatedFileToo)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(
        ward.import(withRuns(kGoodSet + "s2,2026-05-05T07:00,M1,N1,V1,low,L1,61,mg/dL,,,\"first li")), "control_runs.csv");
    EXPECT_EQ(report.rejected.size(), 1U);
    EXPECT_EQ(ward.entriesOf("control.run").size(), 0U);
}

TEST(Import, AnUnknownMeterIsRejected)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(ward.import(withRuns(kGoodSet + "s2,2026-05-05T07:00,M7,N1,V1,low,L1,60,mg/dL,,,\n")), "control_runs.csv");
    EXPECT_NE(reasonOfLine(report, 4).find("M7"), std::string::npos) << reasonOfLine(report, 4);
    EXPECT_EQ(report.rejected.size(), 1U);
    EXPECT_EQ(ward.entriesOf("control.run").size(), 0U) << "a file with a rejected row contributes nothing";
}

TEST(Import, EveryBadRowIsNamed)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(
        ward.import(withRuns("s2,2026-05-05T07:00,M7,N1,V1,low,L1,60,mg/dL,,,\n" + kGoodSet
            + "s3,2026-05-06T07:00,M1,N9,V1,low,L1,60,mg/dL,,,\n"
              "s4,2026-05-07T07:00,M1,N1,V9,low,L1,60,mg/dL,,,\ns5,2026-05-08T07:00,M1,N1,V1,low,L9,60,mg/dL,,,\n")),
        "control_runs.csv");
    ASSERT_EQ(report.rejected.size(), 4U);
    EXPECT_NE(reasonOfLine(report, 2).find("M7"), std::string::npos);
    EXPECT_NE(reasonOfLine(report, 5).find("N9"), std::string::npos);
    EXPECT_NE(reasonOfLine(report, 6).find("V9"), std::string::npos);
    EXPECT_NE(reasonOfLine(report, 7).find("L9"), std::string::npos);
}

TEST(Import, AnUnknownUnitIsRejected)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(ward.import(withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,61,mg/l,,,\n")), "control_runs.csv");
    EXPECT_NE(reasonOfLine(report, 2).find("mg/l"), std::string::npos);
}

TEST(Import, TheOtherKnownUnitIsStoredInvalidAndNeverConverted)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(
        ward.import(withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,3.4,mmol/L,,,\ns1,2026-05-04T07:02,M1,N1,V1,high,H1,305,mg/dL,,,\n")),
        "control_runs.csv");
    EXPECT_TRUE(report.rejected.empty());
    const SetRecord set = ward.set("s1");
    ASSERT_EQ(set.runs.size(), 2U);
    const auto& low = set.runs.front();
    EXPECT_EQ(toText(low.run.result), "3.4");
    EXPECT_EQ(low.run.unit, base::GlucoseUnit::MmolPerL);
    EXPECT_FALSE(low.judged.valid);
    EXPECT_EQ(low.judged.invalidBecause, std::vector<std::string> { "unit-mismatch" });
    EXPECT_FALSE(low.judged.inRange) << "not compared with a range of another unit";
    EXPECT_EQ(set.judged.verdict, Verdict::Invalid);
    EXPECT_NE(reason(ward.fitness("2026-05-04T08:00"), "unit-mismatch"), nullptr);
}

TEST(Import, AResultOutsideTheModelsRangeIsRejected)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(
        ward.import(withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,19,mg/dL,,,\ns1,2026-05-04T07:02,M1,N1,V1,high,H1,601,mg/dL,,,\n")),
        "control_runs.csv");
    EXPECT_EQ(report.rejected.size(), 2U);
}

TEST(Import, TheBoundsOfTheModelsRangeAreResults)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(
        ward.import(withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,20,mg/dL,,,\ns1,2026-05-04T07:02,M1,N1,V1,high,H1,600,mg/dL,,,\n")),
        "control_runs.csv");
    EXPECT_TRUE(report.rejected.empty());
    EXPECT_EQ(ward.set("s1").judged.verdict, Verdict::Rejected);
}

TEST(Import, AKnownSetAndLevelWithAnotherResultDiffers)
{
    WardWorld ward(emptyGround());
    ward.import(withRuns(kGoodSet));
    const std::int64_t entry = ward.entriesOf("control.run").front().seq.value;
    const base::Seq before = ward.head();
    const auto report = reportOf(ward.import(withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,62,mg/dL,,,\n")), "control_runs.csv");
    EXPECT_NE(reasonOfLine(report, 2).find("differs from entry " + std::to_string(entry) + "; record a correction"), std::string::npos)
        << reasonOfLine(report, 2);
    EXPECT_EQ(ward.head(), before);
}

TEST(Import, ASecondRowOfASetAndLevelIsAFurtherAttempt)
{
    WardWorld ward(emptyGround());
    const auto files = withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,78,mg/dL,,,\ns1,2026-05-04T07:04,M1,N1,V1,low,L1,62,mg/"
                                "dL,,s1,\ns1,2026-05-04T07:06,M1,N1,V1,high,H1,298,mg/dL,,,\n");
    EXPECT_FALSE(ward.import(files).anyRejected());
    const SetRecord set = ward.set("s1");
    EXPECT_EQ(set.judged.attempt, 2);
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_EQ(reportOf(ward.import(files), "control_runs.csv").unchanged, 3U);
}

TEST(Import, KnownKeySameContentIsUnchangedEvenIfCorrectedSince)
{
    WardWorld ward(emptyGround());
    const auto files = withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,26,mg/dL,,,\ns1,2026-05-04T07:02,M1,N1,V1,high,H1,305,mg/dL,,,\n");
    ward.import(files);
    auto corrected = files;
    corrected["corrections.csv"]
        = "at,operator,set,level,column,old,new,reason,confirmed_by\n2026-05-04T07:10,N1,s1,low,result,26,62,transposed,N2\n";
    EXPECT_FALSE(ward.import(corrected).anyRejected());
    EXPECT_EQ(ward.set("s1").judged.verdict, Verdict::Accepted);
    const base::Seq before = ward.head();
    for (const auto& file : ward.import(corrected).files)
        EXPECT_EQ(file.unchanged, file.rows) << file.file;
    EXPECT_EQ(ward.head(), before);
    EXPECT_EQ(ward.set("s1").judged.verdict, Verdict::Accepted) << "the old text does not come back";
}

TEST(Import, KnownKeySameContentIsUnchangedEvenIfAnnulledSince)
{
    WardWorld ward(emptyGround());
    auto files = withRuns(kGoodSet);
    files["incidents.csv"] = "at,noticed_at,meter,operator,kind,detail\n2026-05-04T09:00,,M1,N1,soiled,\n";
    ward.import(files);
    files["annulments.csv"]
        = "at,operator,file,key,reason\n2026-05-04T10:00,N1,incidents.csv,2026-05-04T09:00:00+02:00/M1/soiled,wrong meter\n";
    const auto report = ward.import(files);
    EXPECT_FALSE(report.anyRejected()) << reasonOfLine(reportOf(report, "annulments.csv"), 2);
    EXPECT_EQ(reason(ward.fitness("2026-05-04T11:00"), "cleaning-overdue"), nullptr);
    const base::Seq before = ward.head();
    for (const auto& file : ward.import(files).files)
        EXPECT_EQ(file.unchanged, file.rows) << file.file;
    EXPECT_EQ(ward.head(), before);
}

TEST(Import, AnAnnulmentNamesItsKeyAsTheFileWritesIt)
{
    WardWorld ward(emptyGround());
    auto files = withRuns(kGoodSet);
    files["incidents.csv"] = "at,noticed_at,meter,operator,kind,detail\n2026-05-04T09:00,,M1,N1,soiled,\n";
    files["annulments.csv"] = "at,operator,file,key,reason\n2026-05-04T10:00,N1,incidents.csv,2026-05-04T09:00/M1/soiled,wrong meter\n";
    const auto report = ward.import(files);
    EXPECT_FALSE(report.anyRejected()) << reasonOfLine(reportOf(report, "annulments.csv"), 2);
    EXPECT_TRUE(ward.fitness("2026-05-04T11:00").usable);
}

// Waits for import to append what a record names before the record, where their own times say otherwise.
TEST(Import, ARangeMayBeDatedBeforeItsLotArrived)
{
    WardWorld ward(emptyGround());
    auto files = withRuns(kGoodSet);
    files["ranges.csv"]
        = "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from\nS1,CL,low,mg/dL,48,72,60,3,established,2026-04-20\n"
          "S1,CH,high,mg/dL,255,345,300,9,established,2026-05-01\n";
    const auto report = ward.import(files);
    EXPECT_FALSE(report.anyRejected()) << reasonOfLine(reportOf(report, "ranges.csv"), 2);
    EXPECT_EQ(ward.set("s1").judged.verdict, Verdict::Accepted);
}

TEST(Import, NothingThatDependsOnARejectedFileIsTakenOver)
{
    WardWorld ward(emptyGround());
    auto files = withRuns(kGoodSet);
    files["meters.csv"] = "meter,model,serial,ward,enrolled,state\nM1,K1,serial-1,W1,2026-05-01,\nM2,K7,serial-2,W1,2026-05-01,\n";
    const auto report = ward.import(files);
    EXPECT_EQ(reportOf(report, "meters.csv").rejected.size(), 1U);
    EXPECT_EQ(ward.entriesOf("meter.enrolled").size(), 0U);
    EXPECT_EQ(ward.entriesOf("control.run").size(), 0U) << "the runs name a meter of the rejected file";
    EXPECT_FALSE(reportOf(report, "control_runs.csv").rejected.empty());
    EXPECT_EQ(ward.entriesOf("operator.enrolled").size(), 3U);
}

TEST(Import, AHeaderWithoutRowsIsAFileWithNoRows)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(ward.import({ { "annulments.csv", "at,operator,file,key,reason\n" } }), "annulments.csv");
    EXPECT_EQ(report.file, "annulments.csv");
    EXPECT_EQ(report.rows, 0U);
    EXPECT_TRUE(report.rejected.empty());
}

TEST(Import, AHeaderWithoutANeededColumnIsSaid)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(ward.import({ { "wards.csv", "name\nWard one\n" } }), "wards.csv");
    ASSERT_EQ(report.rejected.size(), 1U);
    EXPECT_NE(base::plainly(report.rejected.front().fault).find("ward"), std::string::npos) << base::plainly(report.rejected.front().fault);
}

TEST(Import, ColumnsInAnyOrderAndUnknownOnesReported)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(ward.import({ { "wards.csv", "\xEF\xBB\xBFphone,name,ward\r\n12,Ward one,W1\r\n" } }), "wards.csv");
    EXPECT_EQ(report.added, 1U);
    EXPECT_EQ(report.ignoredColumns, std::vector<std::string> { "phone" });
}

TEST(Import, AFutureTimeRejectsItsRow)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(ward.import(withRuns(kGoodSet + "s2,2026-06-01T05:01,M1,N1,V1,low,L1,60,mg/dL,,,\n")), "control_runs.csv");
    ASSERT_EQ(report.rejected.size(), 1U);
    EXPECT_NE(reasonOfLine(report, 4).find("future"), std::string::npos);
}

TEST(Import, TheMomentOfImportItselfIsNotTheFuture)
{
    WardWorld ward(emptyGround());
    EXPECT_FALSE(ward.import(withRuns("s2,2026-06-01T05:00,M1,N1,V1,low,L1,60,mg/dL,,,\n")).anyRejected());
}

TEST(Import, TimesMayCarryAnOffset)
{
    WardWorld ward(emptyGround());
    ward.import(withRuns("s1,2026-05-04T05:00Z,M1,N1,V1,low,L1,61,mg/dL,,,\ns1,2026-05-04T01:02-04:00,M1,N1,V1,high,H1,305,mg/dL,,,\n"));
    const SetRecord set = ward.set("s1");
    EXPECT_EQ(set.judged.firstAt, ward.at("2026-05-04T07:00"));
    EXPECT_EQ(set.judged.lastAt, ward.at("2026-05-04T07:02"));
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
}

TEST(Import, ActsAreAppendedInTheOrderOfTheirOwnTimes)
{
    WardWorld ward(emptyGround());
    auto files = withRuns(
        "s2,2026-05-05T07:00,M1,N1,V1,low,L1,60,mg/dL,,,\ns2,2026-05-05T07:02,M1,N1,V1,high,H1,300,mg/dL,,,\n" + kGoodSet);
    files["incidents.csv"] = "at,noticed_at,meter,operator,kind,detail\n2026-05-04T09:00,2026-05-04T09:00,M1,N1,cleaned,\n";
    ward.import(files);
    std::vector<std::string> order;
    for (const auto& entry : ward.entries()) {
        if (entry.act != "control.run" && entry.act != "incident.reported")
            continue;
        const auto body = store::Json::parse(entry.body).value();
        order.push_back(entry.act == "control.run" ? *body.find("set")->text() : "cleaned");
    }
    EXPECT_EQ(order, (std::vector<std::string> { "s1", "s1", "cleaned", "s2", "s2" }));
}

TEST(Import, AHoldTakesEffectWhenItWasNoticed)
{
    WardWorld ward(emptyGround());
    auto files = withRuns(kGoodSet);
    files["incidents.csv"] = "at,noticed_at,meter,operator,kind,detail\n2026-05-04T09:00,2026-05-04T11:00,M1,N1,dropped,\n";
    ward.import(files);
    EXPECT_EQ(ward.fitness("2026-05-04T10:00").state, MeterState::InService);
    EXPECT_EQ(codes(ward.fitness("2026-05-04T10:00")), "dropped");
    EXPECT_EQ(ward.fitness("2026-05-04T11:00").state, MeterState::OnHold);
}

TEST(Import, TheOpeningBalanceHoldsFromMidnightOfEnrolment)
{
    WardWorld ward(emptyGround());
    auto files = groundFiles();
    files["meters.csv"] = "meter,model,serial,ward,enrolled,state\nM1,K1,serial-1,W1,2026-05-01,withdrawn\nM2,K1,serial-2,W1,2026-05-01,\n";
    ward.import(files);
    EXPECT_EQ(ward.fitness("2026-05-01T00:00").state, MeterState::Withdrawn);
    EXPECT_EQ(ward.fitness("2026-05-01T00:00", "M2").state, MeterState::InService);
}

TEST(Import, WhatTheWindowWouldAskIsListedAndStoredAsWritten)
{
    WardWorld ward(emptyGround());
    const auto report = reportOf(
        ward.import(withRuns("s1,2026-05-04T07:00,M1,N1,V1,low,L1,61.5,mg/dL,,,\ns1,2026-05-04T07:02,M1,N1,V1,high,H1,61,mg/dL,,,\n")),
        "control_runs.csv");
    EXPECT_TRUE(report.rejected.empty());
    ASSERT_EQ(report.asked.size(), 2U);
    EXPECT_EQ(report.asked[0].line, 2U);
    EXPECT_EQ(report.asked[0].question.kind, QuestionKind::Decimal);
    EXPECT_EQ(report.asked[1].line, 3U);
    EXPECT_EQ(report.asked[1].question.kind, QuestionKind::OtherLevel);
    EXPECT_EQ(report.asked[1].question.other->level, Level::Low);
    const SetRecord set = ward.set("s1");
    EXPECT_EQ(toText(set.runs[0].run.result), "61.5");
    EXPECT_EQ(set.runs[1].run.level, Level::High);
    EXPECT_EQ(set.judged.verdict, Verdict::Rejected);
}

TEST(Import, ReturnStepsThatTheRecordsDoNotBearOutAreRefused)
{
    WardWorld ward(emptyGround());
    auto files = withRuns(kGoodSet);
    files["incidents.csv"] = "at,noticed_at,meter,operator,kind,detail\n2026-05-04T09:00,2026-05-04T09:00,M1,N1,dropped,\n";
    files["returns.csv"] = "at,meter,operator,step,detail\n2026-05-04T10:00,M1,N1,controls-passed,\n";
    const auto report = ward.import(files);
    EXPECT_EQ(reportOf(report, "returns.csv").rejected.size(), 1U);
    EXPECT_TRUE(reportOf(report, "control_runs.csv").rejected.empty());
    EXPECT_EQ(ward.entriesOf("return.step").size(), 0U);
    EXPECT_EQ(ward.fitness("2026-05-04T12:00").state, MeterState::OnHold);
}

} // namespace mk::journeys
