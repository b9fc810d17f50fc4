// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/precision.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

namespace mk::study {

using testing_studies::jsonNumber;
using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

namespace {

/// The glucose example with the columns of the contract.
std::string ep05Csv()
{
    return testing_studies::referenceCsv("accuracy/precision_ep05_glucose.csv", "day,run,replicate,value");
}

} // namespace

TEST(StudyPrecisionCommand, MeetsTheGlucoseExample)
{
    // precision_expected.csv
    const auto outcome = runStudies({ "precision", ep05Csv(), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_NEAR(jsonNumber(outcome.out, "mean"), 244.2, 1e-10);
    EXPECT_NEAR(jsonNumber(outcome.out, "sd", "repeatability"), 2.81069386451104, 1e-10);
    EXPECT_NEAR(jsonNumber(outcome.out, "cv_percent", "repeatability"), 1.15098028849756, 1e-10);
    EXPECT_EQ(jsonNumber(outcome.out, "df", "repeatability"), 40);
    EXPECT_NEAR(jsonNumber(outcome.out, "sd", "between_run"), 1.75356779167502, 1e-10);
    EXPECT_NEAR(jsonNumber(outcome.out, "sd", "between_day"), 1.3994829872417, 1e-10);
    EXPECT_NEAR(jsonNumber(outcome.out, "sd", "within_laboratory"), 3.59632487848066, 1e-10);
    EXPECT_NEAR(jsonNumber(outcome.out, "df", "within_laboratory"), 64.7773197184002, 1e-10);
    EXPECT_NE(outcome.out.find(R"("sd_ci":[3.06958989)"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("balanced":true)"), std::string::npos);
    EXPECT_NE(outcome.out.find(R"("ignored_columns":["replicate"])"), std::string::npos);
}

TEST(StudyPrecisionCommand, ShowsANegativeComponentBesideItsZero)
{
    const std::string path = testing_studies::referenceCsv("accuracy/precision_negative_component.csv", "day,replicate,value");
    const auto json = runStudies({ "precision", path, "--json" });
    EXPECT_NE(json.out.find(R"("between_run":null,"between_day":{"sd":0,)"), std::string::npos) << json.out;
    EXPECT_NEAR(jsonNumber(json.out, "variance_raw", "between_day"), -5.475, 1e-12);
    const auto table = runStudies({ "precision", path });
    EXPECT_NE(table.out.find("Between days the variance comes out below 0: its SD counts as 0."), std::string::npos) << table.out;
    EXPECT_NE(table.out.find("-5.475"), std::string::npos);
}

TEST(StudyPrecisionCommand, NestsRunLabelsInTheirDay)
{
    // Runs called 1 and 2 on both days are four runs, as are a, b, c and d.
    const auto one = runStudies(
        { "precision", studyCsv("day,run,value\n1,1,5\n1,1,6\n1,2,7\n1,2,9\n2,1,5\n2,1,5\n2,2,8\n2,2,9\n"), "--json" });
    EXPECT_EQ(jsonNumber(one.out, "runs"), 4);
    const auto other = runStudies(
        { "precision", studyCsv("day,run,value\nM,a,5\nM,a,6\nM,b,7\nM,b,9\nT,c,5\nT,c,5\nT,d,8\nT,d,9\n"), "--json" });
    EXPECT_EQ(one.out, other.out);
}

TEST(StudyPrecisionCommand, PrintsATableForPeople)
{
    const auto outcome = runStudies({ "precision", studyCsv("day,value\n1,5\n1,7\n2,15\n2,17\n") });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out.find("4 results on 2 days, mean 11, balanced.\n"), 0U) << outcome.out;
    EXPECT_NE(outcome.out.find("repeatability      1.41421"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find("degrees of freedom within laboratory by Satterthwaite"), std::string::npos);
    const auto oneDay = runStudies({ "precision", studyCsv("day,value\n1,5\n1,7\n") });
    EXPECT_NE(oneDay.out.find("All results are of one day"), std::string::npos) << oneDay.out;
}

TEST(StudyPrecisionCommand, KeepsTheDigitsOfDecimals)
{
    // Analytic: tenths on a large offset, as NIST's SmLs07; doubles alone would lose ten digits.
    const auto far = runStudies(
        { "precision", studyCsv("day,value\n1,1000000000000.1\n1,1000000000000.3\n2,1000000000000.6\n2,1000000000000.2\n"), "--json" });
    const auto near = runStudies({ "precision", studyCsv("day,value\n1,0.1\n1,0.3\n2,0.6\n2,0.2\n"), "--json" });
    EXPECT_NEAR(jsonNumber(far.out, "sd"), jsonNumber(near.out, "sd"), 1e-15);
    EXPECT_NEAR(jsonNumber(far.out, "variance_raw", "between_day"), jsonNumber(near.out, "variance_raw", "between_day"), 1e-15);
}

TEST(StudyPrecisionCommand, NamesWhatItCannotRead)
{
    EXPECT_EQ(studyRefusal({ "precision" }, "day,value\n1,5\n2,6\n"),
        ".csv: no day holds two results, so repeatability cannot be told; give replicates of a day\n");
    EXPECT_EQ(studyRefusal({ "precision" }, "day,run,value\n1,1,5\n1,2,6\n"),
        ".csv: no run holds two results, so repeatability cannot be told; give replicates, or leave the run column out\n");
    EXPECT_EQ(studyRefusal({ "precision" }, "day,value\n"), ".csv: there is no value; give at least one\n");
    EXPECT_EQ(studyRefusal({ "precision" }, "value\n5\n"), ".csv line 1: has no column 'day'; name it in the header\n");
    EXPECT_NE(studyRefusal({ "precision" }, "day,value\n1,5\n1,nan\n").find("line 3: 'nan' under 'value'"), std::string::npos);
    EXPECT_NE(studyRefusal({ "precision" }, "day,run,value\n1,,5\n").find("line 2: the cell under 'run' is empty"), std::string::npos);
    EXPECT_EQ(studyRefusal({ "precision", "--confidence", "1" }, "day,value\n1,5\n1,6\n"),
        "the confidence must lie between 0 and 1, such as 0.95\n");
    EXPECT_NE(testing_studies::studyHelp("precision").find("Example:\n  meterkeep-cli study precision"), std::string::npos);
}

TEST(StudyPrecisionPlot, ShowsRunsSideBySideAndTheMeansOfTheDays)
{
    const auto file = readStudyFile(studyCsv("day,run,value\n1,1,5\n1,1,6\n1,2,7\n1,2,9\n2,1,5\n2,1,5\n2,2,8\n2,2,9\n")).value();
    const report::PlotScene scene = studyPrecisionPlot(studyPrecision(file, 0.95).value());
    const report::PlotPanel& panel = scene.panels.at(0);
    EXPECT_EQ(panel.x.names, (std::vector<std::string> { "1", "2" }));
    EXPECT_EQ(panel.points[0].x[0], 0.875);
    EXPECT_EQ(panel.points[0].x[2], 1.125);
    EXPECT_EQ(panel.curves[0].y[0], 6.75);
    EXPECT_EQ(panel.limits[0].at, 6.75);
}

} // namespace mk::study
