// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/lots.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::study {

using testing_studies::jsonNumber;
using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

namespace {

std::string smallShiftCsv()
{
    return testing_studies::referenceCsv("accuracy/lot_example_small_shift.csv", "sample,current,candidate");
}

} // namespace

TEST(StudyLotsCommand, PrintsWhatTheContractNames)
{
    const auto outcome = runStudies(
        { "lots", studyCsv("sample,current,candidate\nA,100,102\nB,200,208\n"), "--json", "--allow-percent", "3" });
    EXPECT_EQ(outcome.status, 1);
    EXPECT_EQ(outcome.out.find(R"({"format":1,"n":2,"mean_difference":5,"percent":3,"ci":[)"), 0U) << outcome.out;
    EXPECT_NE(outcome.out.find(R"(],"met":false,"judged":"each",)"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("beyond":["B"])"), std::string::npos);
}

TEST(StudyLotsCommand, MeetsTheReferenceFigures)
{
    // lot_expected.csv
    const auto outcome = runStudies({ "lots", smallShiftCsv(), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_NEAR(jsonNumber(outcome.out, "mean_difference"), 3, 1e-12);
    EXPECT_NEAR(jsonNumber(outcome.out, "percent"), 2.02209145162767, 1e-12);
    EXPECT_NEAR(jsonNumber(outcome.out, "percent_of_means"), 1.953125, 1e-12);
    EXPECT_NE(outcome.out.find(R"("ci":[1.45465246186)"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("met":null)"), std::string::npos);
}

TEST(StudyLotsCommand, ExitsWithAFindingOnlyWhenAnAllowanceIsNotMet)
{
    const std::string path = smallShiftCsv(); // the largest difference is 4.12 %, the mean 2.02 %
    EXPECT_EQ(runStudies({ "lots", path, "--allow-percent", "5" }).status, 0);
    EXPECT_EQ(runStudies({ "lots", path, "--allow-percent", "4" }).status, 1);
    EXPECT_EQ(runStudies({ "lots", path, "--allow-percent", "4", "--judge", "mean" }).status, 0);
    EXPECT_EQ(runStudies({ "lots", path, "--allow-percent", "4", "--allow-absolute", "4" }).status, 0);
    EXPECT_EQ(runStudies({ "lots", path, "--allow-absolute", "2", "--judge", "mean" }).status, 1);
    const auto table = runStudies({ "lots", path, "--allow-percent", "4" });
    EXPECT_NE(table.out.find("Candidate less current: 3 (2.022 %); not within what is allowed, 1 of 10 samples beyond it: 4.\n"),
        std::string::npos)
        << table.out;
    EXPECT_NE(table.out.find("4       97       101        4           4.12371   3.88     no\n"), std::string::npos) << table.out;
}

TEST(StudyLotsCommand, JudgesTheMeanByThePercentageItPrints)
{
    const std::string path = studyCsv("sample,current,candidate\nA,50,60\nB,500,480\n");
    const auto met = runStudies({ "lots", path, "--judge", "mean", "--allow-percent", "5" });
    EXPECT_EQ(met.status, 0);
    EXPECT_NE(met.out.find("Candidate less current: -5 (-1.818 %); within what is allowed.\n"), std::string::npos) << met.out;
    EXPECT_NE(met.out.find("percent is of the mean of the current lot's results"), std::string::npos) << met.out;
    EXPECT_NE(met.out.find("The mean difference must lie within what is allowed of that mean: 13.75."), std::string::npos) << met.out;
    EXPECT_EQ(met.out.find("within  "), std::string::npos) << "samples are not judged";
    const auto json = runStudies({ "lots", path, "--judge", "mean", "--allow-percent", "1", "--json" });
    EXPECT_EQ(json.status, 1);
    EXPECT_DOUBLE_EQ(jsonNumber(json.out, "percent"), 8); // the mean of the percentages, as everywhere
    EXPECT_NEAR(jsonNumber(json.out, "percent_of_means"), -500.0 / 275, 1e-12);
    EXPECT_NE(
        testing_studies::studyHelp("lots").find("larger of the absolute allowance and the percentage of the mean"), std::string::npos);
}

TEST(StudyLotsCommand, NumbersSamplesWithoutNames)
{
    const auto outcome = runStudies({ "lots", studyCsv("current,candidate\n100,150\n200,201\n"), "--json", "--allow-percent", "3" });
    EXPECT_NE(outcome.out.find(R"("beyond":["1"])"), std::string::npos) << outcome.out;
}

TEST(StudyLotsCommand, NamesWhatItCannotRead)
{
    EXPECT_EQ(studyRefusal({ "lots" }, "sample,current,candidate\n"), ".csv: there is no result of the current lot; give at least one\n");
    EXPECT_EQ(studyRefusal({ "lots" }, "sample,current\nA,1\n"), ".csv line 1: has no column 'candidate'; name it in the header\n");
    EXPECT_NE(studyRefusal({ "lots" }, "sample,current,candidate\nA,1,HI\n").find("line 2: 'HI' under 'candidate' is not a number"),
        std::string::npos);
    EXPECT_NE(
        studyRefusal({ "lots" }, "sample,current,candidate\n,1,2\n").find("line 2: the cell under 'sample' is empty"), std::string::npos);
    EXPECT_EQ(studyRefusal({ "lots" }, "sample,current,candidate\nA,1,2\nB,1,2\nA,1,3\n"),
        ".csv line 4: sample 'A' stands on line 2 already; give each sample one row, with the mean of its results if it has several\n");
    EXPECT_NE(
        studyRefusal({ "lots", "--allow-percent", "5" }, "sample,current,candidate\nA,0,2\n").find("result 1 of the current lot is 0"),
        std::string::npos);
    EXPECT_EQ(studyRefusal({ "lots", "--allow-absolute", "-2" }, "sample,current,candidate\nA,1,2\n"),
        "the allowed difference must be 0 or more, in the units of the data\n");
    EXPECT_EQ(studyRefusal({ "lots", "--confidence", "95" }, "sample,current,candidate\nA,1,2\n"),
        "the confidence must lie between 0 and 1, such as 0.95\n");
    const std::string help = testing_studies::studyHelp("lots");
    EXPECT_NE(help.find("Example:\n  meterkeep-cli study lots"), std::string::npos);
    EXPECT_NE(help.find("Exit status 1"), std::string::npos);
}

TEST(StudyLotsCommand, RefusesWhatDoublesCannotHold)
{
    const std::string tooFar = ".csv: the values are too far apart to compute with; look for a slip in them\n";
    EXPECT_EQ(studyRefusal({ "lots" }, "sample,current,candidate\nA,50,1e308\nB,60,1e308\n"), tooFar);
    EXPECT_EQ(studyRefusal({ "lots" }, "sample,current,candidate\nA,1e-300,1e10\n"), tooFar);
}

TEST(StudyLotsPlot, ShowsTheMeanAgainstItsOwnLimits)
{
    const auto file = readStudyFile(studyCsv("sample,current,candidate\nA,50,60\nB,500,480\n")).value();
    const report::PlotPanel panel = studyLotsPlot(studyLots(file, { { 5, std::nullopt }, stats::LotJudgement::Mean, 0.95 }).value())
                                        .panels.at(0);
    EXPECT_EQ(panel.points[0].y, (std::vector<double> { 10, -20 })); // in units, whoever lies where
    ASSERT_EQ(panel.limits.size(), 4U);                              // 0, the mean, and what is allowed
    EXPECT_DOUBLE_EQ(panel.limits[2].at, 13.75);
    EXPECT_DOUBLE_EQ(panel.limits[3].at, -13.75);
    EXPECT_TRUE(panel.curves.empty());
}

TEST(StudyLotsPlot, IsInPercentUnlessOnlyADifferenceIsAllowed)
{
    const auto file = readStudyFile(studyCsv("sample,current,candidate\nA,100,102\nB,200,208\n")).value();
    const auto panel = [&](const stats::Allowance& allowance) {
        return studyLotsPlot(studyLots(file, { allowance, stats::LotJudgement::EachSample, 0.95 }).value()).panels.at(0);
    };
    EXPECT_EQ(panel({}).points[0].y, (std::vector<double> { 2, 4 }));
    const report::PlotPanel units = panel({ std::nullopt, 5.0 });
    EXPECT_EQ(units.points[0].y, (std::vector<double> { 2 }));
    EXPECT_EQ(units.points[1].y, (std::vector<double> { 8 })); // beyond
    EXPECT_EQ(units.curves[0].y[10], 5);
    EXPECT_DOUBLE_EQ(panel({ 3, 5.0 }).curves[0].y[0], 5); // 5 of 100 is more than 3 %
}

} // namespace mk::study
