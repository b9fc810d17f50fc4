// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/linearity.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::study {

using testing_studies::jsonNumber;
using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

namespace {

std::string curvedCsv()
{
    return testing_studies::referenceCsv("accuracy/linearity_example.csv", "assigned,replicate,value");
}

const char* const kTenPercentHigh = "assigned,value\n100,110\n200,220\n400,440\n";

} // namespace

TEST(StudyLinearityCommand, PrintsWhatTheContractNames)
{
    const auto outcome = runStudies({ "linearity", studyCsv(kTenPercentHigh), "--json", "--allow-percent", "5", "--against", "assigned" });
    EXPECT_EQ(outcome.status, 1);
    EXPECT_EQ(outcome.out.find(R"({"format":1,"slope":1.1,"intercept":)"), 0U) << outcome.out;
    EXPECT_NE(
        outcome.out.find(R"("levels":[{"assigned":100,"mean":110,"recovery_percent":110,"deviation":10,"met":false,)"), std::string::npos)
        << outcome.out;
    EXPECT_NE(outcome.out.find(R"(],"met":false,"against":"assigned")"), std::string::npos);
}

TEST(StudyLinearityCommand, MeetsTheCurvedExample)
{
    // linearity_expected.csv
    const auto outcome = runStudies({ "linearity", curvedCsv(), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_NEAR(jsonNumber(outcome.out, "slope"), 0.971746031746032, 1e-12);
    EXPECT_NEAR(jsonNumber(outcome.out, "intercept"), 5.14920634920635, 1e-11);
    EXPECT_NEAR(jsonNumber(outcome.out, "recovery_percent"), 103.333333333333, 1e-10);
    EXPECT_NEAR(jsonNumber(outcome.out, "repeatability_sd"), 1.63299316185545, 1e-10);
    EXPECT_EQ(jsonNumber(outcome.out, "curved_order"), 3);
    EXPECT_NE(outcome.out.find(R"("met":null,"against":"line")"), std::string::npos);
    EXPECT_NE(outcome.out.find(R"("power":2,"t":-7.41218149251)"), std::string::npos) << outcome.out;
}

TEST(StudyLinearityCommand, ExitsWithAFindingOnlyWhenAnAllowanceIsNotMet)
{
    const std::string path = curvedCsv();
    EXPECT_EQ(runStudies({ "linearity", path }).status, 0); // nothing allowed, nothing judged
    EXPECT_EQ(runStudies({ "linearity", path, "--allow-percent", "5" }).status, 1);
    EXPECT_EQ(runStudies({ "linearity", path, "--allow-percent", "5", "--allow-absolute", "6" }).status, 0);
    const auto table = runStudies({ "linearity", path, "--allow-percent", "5" });
    EXPECT_NE(table.out.find("1 of 6 levels lies beyond 5 %. The results bend: a curve of order 3 fits better."), std::string::npos)
        << table.out;
    EXPECT_NE(table.out.find("less the least-squares line through all results; percentages are of the assigned value"), std::string::npos);
    EXPECT_EQ(runStudies({ "linearity", studyCsv(kTenPercentHigh), "--allow-percent", "5" }).status, 0); // on a line all the same
}

TEST(StudyLinearityCommand, NamesWhatItCannotRead)
{
    EXPECT_EQ(studyRefusal({ "linearity" }, "assigned,value\n1,1\n2,2\n"),
        ".csv: there are only two levels; linearity needs at least three, better five\n");
    EXPECT_EQ(studyRefusal({ "linearity" }, "assigned,value\n"), ".csv: there is no value; give at least one\n");
    EXPECT_NE(
        studyRefusal({ "linearity" }, "assigned,value\nlow,1\n").find("line 2: 'low' under 'assigned' is not a number"), std::string::npos);
    EXPECT_EQ(studyRefusal({ "linearity" }, "assigned\n1\n"), ".csv line 1: has no column 'value'; name it in the header\n");
    EXPECT_EQ(
        studyRefusal({ "linearity", "--allow-percent", "-1" }, kTenPercentHigh), "the allowed percentage must be 0 or more, such as 15\n");
    EXPECT_NE(studyRefusal({ "linearity", "--allow-percent", "5" }, "assigned,value\n0,1\n1,1\n2,2\n")
                  .find("allow an absolute difference as well"),
        std::string::npos);
    EXPECT_EQ(runStudies({ "linearity", studyCsv(kTenPercentHigh), "--against", "mean" }).status, 2);
}

TEST(StudyLinearityCommand, RefusesWhatDoublesCannotHold)
{
    const std::string tooFar = ".csv: the values are too far apart to compute with; look for a slip in them\n";
    EXPECT_EQ(studyRefusal({ "linearity" }, "assigned,value\n50,1e308\n100,100\n200,200\n"), tooFar); // recovery
    EXPECT_EQ(studyRefusal({ "linearity" }, "assigned,value\n50,50\n100,100\n200,200\n400,1e308\n"), tooFar);
    EXPECT_EQ(studyRefusal({ "linearity" }, "assigned,value\n1,1\n2,2\n3,1e308\n4,4\n"), tooFar);
}

TEST(StudyLinearityCommand, SaysItsDecisionsInTheHelp)
{
    const std::string help = testing_studies::studyHelp("linearity");
    EXPECT_NE(help.find("Example:\n  meterkeep-cli study linearity"), std::string::npos);
    EXPECT_NE(help.find("Exit status 1"), std::string::npos);
    EXPECT_NE(help.find("--against"), std::string::npos);
}

TEST(StudyLinearityPlot, DrawsWhatIsAllowedAroundWhatIsJudged)
{
    const auto file = readStudyFile(studyCsv(kTenPercentHigh)).value();
    const report::PlotScene scene = studyLinearityPlot(
        studyLinearity(file, { { 5, std::nullopt }, stats::LinearityAgainst::Assigned }).value());
    ASSERT_EQ(scene.panels.size(), 2U);
    const report::PlotPanel& results = scene.panels[0];
    EXPECT_DOUBLE_EQ(results.curves[0].y.front(), 105);
    EXPECT_DOUBLE_EQ(results.curves[1].y.back(), 380);
    EXPECT_EQ(results.points[2].x.size(), 3U); // every level is beyond
    EXPECT_DOUBLE_EQ(scene.panels[1].points[1].y[0], 10);
    EXPECT_DOUBLE_EQ(scene.panels[1].curves[0].y[7], 5);
}

} // namespace mk::study
