// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/anova.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::study {

using testing_studies::jsonNumber;
using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

TEST(StudyAnovaCommand, PrintsWhatTheContractNames)
{
    const auto outcome = runStudies({ "anova", studyCsv("group,value\na,1\na,3\nb,5\nb,7\n"), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out.find(R"({"format":1,"between":{"df":1,"ss":16,"ms":16},"within":{"df":2,"ss":4,"ms":2},"f":8,"r_squared":0.8,)"
                               R"("residual_sd":1.4142135623730951,"p":)"),
        0U)
        << outcome.out;
    EXPECT_NE(outcome.out.find(R"("groups":[{"group":"a","n":2,"mean":2},{"group":"b","n":2,"mean":6}])"), std::string::npos);
}

TEST(StudyAnovaCommand, ReachesEveryCertifiedFWithThirteenDigits)
{
    // NIST StRD: the decimals of the file are subtracted before they become doubles, so SmLs07 loses nothing either.
    const reference::ReferenceTable expected("accuracy/nist_expected.csv");
    for (std::size_t row = 0; row < expected.size(); ++row) {
        if (expected.text(row, "parameter") != "F" || expected.text(row, "problem") != "NIST StRD one-way ANOVA")
            continue;
        const std::string dataset = expected.text(row, "dataset");
        const auto outcome = runStudies(
            { "anova", testing_studies::referenceCsv("accuracy/" + dataset + ".csv", "group,value"), "--json" });
        EXPECT_NEAR(jsonNumber(outcome.out, "f") / expected.number(row, "certified"), 1, 1e-13) << dataset;
    }
}

TEST(StudyAnovaCommand, PrintsATableForPeople)
{
    const auto outcome = runStudies({ "anova", studyCsv("group,value,note\na,1,\na,3,\nb,5,\nb,7,\n") });
    EXPECT_NE(outcome.out.find("between groups  1   16              16           8  "), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find("Residual SD 1.41421, R squared 0.8."), std::string::npos);
    EXPECT_NE(outcome.out.find("Ignored columns: note."), std::string::npos);
}

TEST(StudyAnovaCommand, TellsMeansApartFarFromZero)
{
    const auto out = runStudies({ "anova", studyCsv("group,value\na,1000001\na,1000003\nb,1000005\nb,1000007\n") }).out;
    EXPECT_NE(out.find("a      2  1000002\nb      2  1000006\n"), std::string::npos) << out;
    const auto fine = runStudies(
        { "anova", studyCsv("group,value\na,1000000000000.3\na,1000000000000.5\nb,1000000000000.7\nb,1000000000000.7\n") })
                          .out;
    EXPECT_NE(fine.find("a      2  1000000000000.4\nb      2  1000000000000.7\n"), std::string::npos) << fine;
    const auto still = runStudies({ "anova", studyCsv("group,value\na,1000001\na,1000001\nb,1000002\nb,1000002\n") }).out;
    EXPECT_NE(still.find("a      2  1000001\nb      2  1000002\n"), std::string::npos) << still;
    const auto thirds = runStudies({ "anova", studyCsv("group,value\na,1\na,1\na,2\nb,5\nb,7\n") }).out;
    EXPECT_NE(thirds.find("a      3  1.33333\n"), std::string::npos) << thirds;
}

TEST(StudyAnovaCommand, GivesNullWhereNothingVaries)
{
    const std::string path = studyCsv("group,value\na,5\na,5\nb,5\nb,5\n");
    EXPECT_NE(runStudies({ "anova", path, "--json" }).out.find(R"("f":null,"r_squared":null,"residual_sd":0,"p":null)"), std::string::npos);
    EXPECT_NE(runStudies({ "anova", path }).out.find("No value differs from its group, so there is no F."), std::string::npos);
}

TEST(StudyAnovaCommand, NamesWhatItCannotRead)
{
    EXPECT_EQ(studyRefusal({ "anova" }, "group,value\na,1\na,2\n"), ".csv: there is only one group; give at least two to compare\n");
    EXPECT_EQ(studyRefusal({ "anova" }, "group,value\n"), ".csv: there is no value; give at least one\n");
    EXPECT_NE(studyRefusal({ "anova" }, "group,value\na,1\nb,2\n").find("no group has two values"), std::string::npos);
    EXPECT_NE(studyRefusal({ "anova" }, "group,value\na,1\n,2\n").find("line 3: the cell under 'group' is empty"), std::string::npos);
    EXPECT_NE(studyRefusal({ "anova" }, "group,value\na,x\n").find("line 2: 'x' under 'value' is not a number"), std::string::npos);
    EXPECT_EQ(studyRefusal({ "anova" }, "value\n1\n"), ".csv line 1: has no column 'group'; name it in the header\n");
    EXPECT_NE(testing_studies::studyHelp("anova").find("Example:\n  meterkeep-cli study anova"), std::string::npos);
}

TEST(StudyAnovaPlot, ShowsValuesByGroup)
{
    const auto file = readStudyFile(studyCsv("group,value\nb,5\na,1\na,3\nb,7\n")).value();
    const report::PlotPanel panel = studyAnovaPlot(studyAnova(file).value()).panels.at(0);
    EXPECT_EQ(panel.x.names, (std::vector<std::string> { "b", "a" }));
    EXPECT_EQ(panel.points[0].x, (std::vector<double> { 1, 2, 2, 1 }));
    EXPECT_EQ(panel.curves[0].y[0], 6);
    EXPECT_EQ(panel.limits[0].at, 4);
}

TEST(StudyAnovaPlot, GivesAKeyWhereNamesDoNotFit)
{
    const std::string stem(150, 'x');
    const auto file = readStudyFile(studyCsv("group,value\n" + stem + "1,5\n" + stem + "1,6\nb,1\n" + stem + "2,7\n")).value();
    const report::PlotScene scene = studyAnovaPlot(studyAnova(file).value());
    EXPECT_TRUE(scene.panels[0].x.names.empty());
    EXPECT_TRUE(scene.panels[0].x.wholeNumbers);
    EXPECT_NE(scene.footnote.find(" Groups: 1 xxx"), std::string::npos) << scene.footnote;
    EXPECT_NE(scene.footnote.find("2 b, 3 xxx"), std::string::npos) << scene.footnote;
}

} // namespace mk::study
