// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_lots.h"

#include "study_runner.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::cli {

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
    const auto outcome
        = runStudies({ "lots", studyCsv("sample,current,candidate\nA,100,102\nB,200,208\n"), "--json", "--allow-percent", "3" });
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

} // namespace mk::cli
