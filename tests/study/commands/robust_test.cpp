// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/robust.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::study {

using testing_studies::jsonNumber;
using testing_studies::referenceCsv;
using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

TEST(StudyRobustCommand, PrintsWhatTheContractNames)
{
    // Analytic: 10 and 12 stand 1 from their median, and nothing is pulled in.
    const auto outcome = runStudies({ "robust", studyCsv("no,value\n1,10\n2,12\n"), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out.find(R"({"format":1,"n":2,"median":11,"mad_scaled":1.482602218505602,"algorithm_a":{"mean":11,"sd":1.60)"), 0U)
        << outcome.out;
    EXPECT_NE(outcome.out.find(R"(},"note":null,"ignored_columns":["no"]})"), std::string::npos) << outcome.out;
    EXPECT_NEAR(jsonNumber(outcome.out, "sd"), 1.134 * std::sqrt(2.0), 1e-8);
    EXPECT_GE(jsonNumber(outcome.out, "iterations"), 2);
}

TEST(StudyRobustCommand, MeetsTheCreosoteExample)
{
    const auto outcome = runStudies({ "robust", referenceCsv("statistics/algorithm_a_creosote.csv", "group,value"), "--json" });
    EXPECT_NEAR(jsonNumber(outcome.out, "mean"), 20.412143, 5.1e-7); // algorithm_a_creosote_iterations.csv, converged
    EXPECT_NEAR(jsonNumber(outcome.out, "sd"), 1.069840, 5.1e-7);
}

TEST(StudyRobustCommand, SaysWhyThereIsNoAnswer)
{
    const auto tied = runStudies({ "robust", studyCsv("value\n5\n5\n5\n9\n"), "--json" });
    EXPECT_EQ(tied.status, 0);
    EXPECT_NE(tied.out.find(R"("mad_scaled":0,"algorithm_a":null,"note":"Algorithm A has no answer: )"), std::string::npos) << tied.out;
    EXPECT_NE(runStudies({ "robust", studyCsv("value\n5\n5\n5\n9\n") }).out.find("no answer: more than half of the values are the same"),
        std::string::npos);
    EXPECT_NE(runStudies({ "robust", studyCsv("value\n5\n") }).out.find("needs at least two values"), std::string::npos);
    const auto wild = runStudies({ "robust", studyCsv("value\n1\n2\n3\n4\n5\n6\n1e9\n1e9\n1e9\n") });
    EXPECT_NE(wild.out.find("Trust the median."), std::string::npos) << wild.out;
    const auto same = runStudies({ "robust", studyCsv("value\n5\n5\n"), "--json" });
    EXPECT_NE(same.out.find(R"("algorithm_a":{"mean":5,"sd":0,"iterations":0},"note":null)"), std::string::npos) << same.out;
}

TEST(StudyRobustCommand, SaysWhichPackageItCanBeHeldAgainst)
{
    EXPECT_NE(runStudies({ "robust", studyCsv("value\n1\n2\n4\n") }).out.find("k 1.5, starts at the median and 1.483 MAD, SD factor 1.134"),
        std::string::npos);
    EXPECT_NE(testing_studies::studyHelp("robust").find("Example:\n  meterkeep-cli study robust"), std::string::npos);
}

TEST(StudyRobustCommand, NamesTheLineOfWhatItCannotRead)
{
    EXPECT_EQ(studyRefusal({ "robust" }, "value\n1\nabc\n"),
        ".csv line 3: 'abc' under 'value' is not a number; write digits with at most one point, such as 5.6\n");
    EXPECT_EQ(studyRefusal({ "robust" }, "value\n"), ".csv has no rows below its header; give at least one value\n");
    EXPECT_EQ(studyRefusal({ "robust" }, "x\n1\n"), ".csv line 1: has no column 'value'; name it in the header\n");
    EXPECT_EQ(studyRefusal({ "robust" }, "value\n1e308\n-1e308\n"),
        ".csv: the values are too far apart to compute with; look for a slip in them\n");
}

TEST(StudyRobustPlot, HasTheLinesOfItsFigures)
{
    const auto file = readStudyFile(studyCsv("value\n10\n12\n11\n")).value();
    const report::PlotScene scene = studyRobustPlot(studyRobust(file).value());
    ASSERT_EQ(scene.panels.size(), 1U);
    EXPECT_EQ(scene.panels[0].points[0].y, (std::vector<double> { 10, 12, 11 }));
    EXPECT_EQ(scene.panels[0].limits.size(), 4U);
    EXPECT_EQ(scene.panels[0].limits[0].at, 11);
    EXPECT_NE(scene.title.find("median 11, scaled MAD 1.483"), std::string::npos) << scene.title;
}

} // namespace mk::study
