// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/compare.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::study {

using testing_studies::holds;
using testing_studies::runProgram;
using testing_studies::runStudies;
using testing_studies::studyCsv;

namespace {

/// What the command says of a bad file or option, from the file's name on.
std::string compareFault(const std::string& bytes, std::vector<std::string> more = {})
{
    more.insert(more.begin(), "compare");
    return testing_studies::studyRefusal(std::move(more), bytes);
}

StudyCompareReport compareReport(const std::string& bytes, const StudyCompareOptions& options = {})
{
    const auto file = readStudyFile(studyCsv(bytes));
    auto report = studyCompare(*file, options);
    EXPECT_TRUE(report) << report.error().text;
    return std::move(report).value();
}

/// Thirty pairs whose test is 2 + 1.1 reference, give or take one.
std::string thirtyPairs()
{
    std::string bytes = "reference,test\n";
    for (int i = 0; i < 30; ++i)
        bytes += std::to_string(50 + 10 * i) + "," + std::to_string(57 + 11 * i + i % 3 - 1) + "\n";
    return bytes;
}

} // namespace

TEST(StudyCompareCommand, PrintsWhatTheContractNames)
{
    // Exact in binary: differences 1 everywhere, every line y = 1 + x.
    const std::string path = studyCsv("reference,test,note\n1,2,a\n2,3,\n4,5,\n8,9,\n16,17,\n");
    const auto outcome = runStudies({ "compare", path, "--at-levels", "4,0,32", "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out,
        R"({"format":1,"n":5,"excluded":[],"agreement":{"bias":1,"sd":0,"lower":1,"upper":1,"bias_ci":[1,1],"lower_ci":[1,1],"upper_ci":[1,1],)"
        R"("bias_se":0,"limit_se":0,"mean_percent":38.75,"worst":{"line":2,"sample":null,"difference":1}},)"
        R"("deming":{"slope":1,"intercept":1,"slope_ci":[1,1],"intercept_ci":[1,1],"slope_se":0,"intercept_se":0,"error_ratio":1},)"
        R"("passing_bablok":{"slope":1,"intercept":1,"slope_ci":[1,1],"intercept_ci":[1,1],"linear":true,"cusum_largest":0,"cusum_critical":0,)"
        R"("slopes_used":10},"passing_bablok_because":null,"kendall_tau":1,)"
        R"("least_squares":{"slope":1,"intercept":1,"slope_ci":[1,1],"intercept_ci":[1,1],"slope_se":0,"intercept_se":0,"r":1,"r_squared":1,)"
        R"("residual_sd":0},)"
        R"("bias_at":[{"level":4,"bias":1,"percent":25,"ci":[1,1],"outside_range":false},)"
        R"({"level":0,"bias":1,"percent":null,"ci":[1,1],"outside_range":true},)"
        R"({"level":32,"bias":1,"percent":3.125,"ci":[1,1],"outside_range":true}],"bias_from":"deming",)"
        R"("indicative":true,"confidence":0.95,"ignored_columns":["note"]})"
        "\n");
    EXPECT_EQ(runProgram({ "--json", "study", "compare", path, "--at-levels", "4, 0, 32" }).out, outcome.out);
}

TEST(StudyCompareCommand, SaysNullWhereThereIsNoAnswer)
{
    const auto outcome = runStudies({ "compare", studyCsv("reference,test\n5,6\n"), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_TRUE(holds(outcome.out, R"("agreement":{"bias":1,"sd":null,"lower":null,"upper":null,"bias_ci":null,)"));
    EXPECT_TRUE(holds(outcome.out, R"("deming":{"slope":null,"intercept":null,"slope_ci":null,"intercept_ci":null,)"));
    EXPECT_TRUE(
        holds(outcome.out, R"("passing_bablok":{"slope":null,"intercept":null,"slope_ci":null,"intercept_ci":null,"linear":null,)"));
    EXPECT_TRUE(holds(outcome.out, R"("least_squares":{"slope":null,"intercept":null,)"));
    EXPECT_TRUE(holds(outcome.out, R"({"level":70,"bias":null,"percent":null,"ci":null,)"));
    EXPECT_FALSE(holds(outcome.out, "criteria"));
    EXPECT_FALSE(holds(outcome.out, "nan"));
}

TEST(StudyCompareCommand, DrawsNoPassingBablokLineWhereTheTestDoesNotRise)
{
    const auto jsonOf = [](const std::string& rows) {
        return runStudies({ "compare", studyCsv("reference,test\n" + rows), "--json" }).out;
    };
    // Two of six pairs of points rise, four fall: the rule of 1983 alone gives a line there.
    const std::string falling = "10,14\n20,19\n30,11\n40,12\n";
    EXPECT_TRUE(compareReport("reference,test\n" + falling).passingBablok.slope.has_value());
    EXPECT_TRUE(holds(jsonOf(falling),
        R"("passing_bablok":null,"passing_bablok_because":"rank-correlation-not-positive","kendall_tau":-0.3333333333333333,)"));
    EXPECT_TRUE(holds(jsonOf("10,11\n20,12\n30,9\n40,12\n"), R"("kendall_tau":0.16666666666666666,)")); // three rise, two fall, one is tied
    EXPECT_TRUE(holds(jsonOf("10,11\n20,12\n30,9\n40,12\n"), R"("passing_bablok":{"slope":)"));
    EXPECT_TRUE(holds(jsonOf("10,5\n20,5\n30,5\n"),
        R"("passing_bablok":null,"passing_bablok_because":"rank-correlation-not-positive","kendall_tau":0,)"));
    // One pair has no order: there the figures are null, as ever.
    EXPECT_TRUE(holds(jsonOf("10,11\n"), R"("slopes_used":0},"passing_bablok_because":null,"kendall_tau":null,)"));
}

TEST(StudyCompareCommand, SaysInWordsWhyThereIsNoPassingBablokLine)
{
    std::string bytes = "reference,test\n";
    for (int i = 0; i < 25; ++i)
        bytes += std::to_string(100 + i) + "," + std::to_string(110 - i % 7 - i / 5) + "\n";
    const auto report = compareReport(bytes);
    ASSERT_TRUE(report.passingBablok.slope.has_value());
    EXPECT_TRUE(report.doesNotRise());
    EXPECT_FALSE(passingBablokLine(report).has_value());
    const auto table = studyCompareTable(report);
    EXPECT_TRUE(holds(table, "Passing-Bablok: no line, for the test does not rise with the reference (rank correlation, Kendall's tau -0."))
        << table;
    EXPECT_FALSE(holds(table, "weak evidence of a straight line"));
    EXPECT_FALSE(holds(table, "do not rely on the lines"));
    EXPECT_EQ(studyComparePlot(report).panels[1].curves.size(), 2U); // equal, Deming
    EXPECT_TRUE(holds(studyComparePlot(report).footnote, "no Passing-Bablok line"));
}

TEST(StudyCompareCommand, TellsAccuracyOnlyWithAUnit)
{
    const std::string path = studyCsv("reference,test\n60,75\n120,121\n");
    const auto with = runStudies({ "compare", path, "--unit", "mg/dL", "--json" }).out;
    EXPECT_TRUE(holds(with, R"("criteria":[{"id":)"));
    EXPECT_TRUE(holds(with, R"("consensus_grid":{"A":)"));
    EXPECT_TRUE(holds(with, R"("clarke_grid":{"A":)"));
    EXPECT_FALSE(holds(runStudies({ "compare", path, "--unit", "none", "--json" }).out, "criteria"));
    EXPECT_TRUE(holds(runStudies({ "compare", path, "--unit", "mmol/L", "--json" }).out, R"("level":3.9,)"));
    EXPECT_EQ(runStudies({ "compare", path, "--unit", "g/L" }).status, 2);
}

TEST(StudyCompareCommand, RefusesWhatIsNoGlucoseResultOnceAUnitIsGiven)
{
    const std::string bytes = "reference,test\n100,101\n100,-5\n";
    EXPECT_EQ(compareFault(bytes, { "--unit", "mg/dL" }),
        ".csv line 3: '-5' under 'test' is no glucose result; give a number from 0 to a million or leave the row out\n");
    EXPECT_TRUE(
        holds(compareFault("reference,test\n1e9,5\n", { "--unit", "mmol/L" }), ".csv line 2: '1e9' under 'reference' is no glucose"));
    EXPECT_EQ(runStudies({ "compare", studyCsv(bytes) }).status, 0); // any numbers, without a unit
    EXPECT_TRUE(holds(testing_studies::studyHelp("compare"), "With a unit every number must be a glucose result, from 0 to a million"));
}

TEST(StudyCompareCommand, ExcludesPairsByWindowAndHaematocrit)
{
    const std::string bytes
        = "sample,reference,test,minutes,haematocrit\na,100,101,15,40\nb,100,102,15.1,40\nc,100,103,,61\nd,100,104,20,61\ne,100,105,,\n";
    const auto plain = compareReport(bytes);
    ASSERT_EQ(plain.pairs.excluded.size(), 2U);
    EXPECT_EQ(plain.agreement.n, 3U);
    EXPECT_EQ(plain.pairs.excluded[0].place.line, 3U);
    EXPECT_EQ(plain.pairs.excluded[0].place.sample, "b");
    EXPECT_EQ(plain.pairs.excluded[0].reason, "15.1 minutes between the samplings, more than 15");

    StudyCompareOptions options;
    options.pairs = { 30, StudyRange { 40, 60 } };
    const auto by = compareReport(bytes, options);
    ASSERT_EQ(by.pairs.excluded.size(), 2U);
    EXPECT_EQ(by.pairs.excluded[0].reason, "haematocrit 61 is outside 40 to 60");
    EXPECT_EQ(by.agreement.bias, (1 + 2 + 5) / 3.0);
    options.pairs.windowMinutes = 5;
    EXPECT_EQ(compareReport(bytes, options).pairs.excluded[3].reason,
        "20 minutes between the samplings, more than 5; haematocrit 61 is outside 40 to 60");

    const auto json = runStudies({ "compare", studyCsv(bytes), "--haematocrit", "40-60", "--json" }).out;
    EXPECT_TRUE(holds(json,
        R"("n":2,"excluded":[{"line":3,"sample":"b","reason":"15.1 minutes between the samplings, more than 15"},{"line":4,"sample":"c",)"));
    EXPECT_TRUE(holds(json, R"("worst":{"line":6,"sample":"e","difference":5})"));
}

TEST(StudyCompareCommand, ReadsTheBiasOffDemingsLine)
{
    StudyCompareOptions options;
    options.levels = { 100 };
    const auto report = compareReport(thirtyPairs(), options);
    ASSERT_EQ(report.biasAt.size(), 1U);
    EXPECT_DOUBLE_EQ(report.biasAt[0].bias.value(), report.deming.line->at(100) - 100);
    EXPECT_NEAR(report.biasAt[0].bias.value(), 12, 0.5);
    EXPECT_LT(report.biasAt[0].ci->lower, report.biasAt[0].bias.value());
    EXPECT_GT(report.biasAt[0].ci->upper, report.biasAt[0].bias.value());
    EXPECT_FALSE(report.biasAt[0].outside);
}

TEST(StudyCompareCommand, ObeysItsOptions)
{
    const std::string path = studyCsv(thirtyPairs());
    const auto plain = runStudies({ "compare", path, "--json" }).out;
    EXPECT_NE(runStudies({ "compare", path, "--error-ratio", "4", "--json" }).out, plain);
    EXPECT_NE(runStudies({ "compare", path, "--confidence", "0.9", "--json" }).out, plain);
    EXPECT_NE(runStudies({ "compare", path, "--limit-error", "simple", "--json" }).out, plain);
    EXPECT_FALSE(holds(plain, "weighted_deming"));
    EXPECT_TRUE(holds(runStudies({ "compare", path, "--weighted", "--json" }).out, R"("weighted_deming":{"slope":1.)"));
}

TEST(StudyCompareCommand, PrintsATableForPeople)
{
    const auto table = runStudies({ "compare", studyCsv(thirtyPairs()) }).out;
    EXPECT_TRUE(holds(table, "Pairs compared: 30. A difference is test minus reference.\n"));
    EXPECT_TRUE(holds(table, "line  reference  test  difference  %\n2     50         56    6           12.00\n"));
    EXPECT_TRUE(holds(table, "Limits: bias ± 1.96 SD; standard error of a limit s sqrt(1/n + z²/(2(n-1))).\n"));
    EXPECT_TRUE(holds(table, "Indicative only: fewer than 40 pairs.\n"));
    EXPECT_TRUE(holds(table,
        "Passing-Bablok: no sign of a curve (cusum test, 5 %, conservative: weak evidence of a straight line; look at the plot).\n"));
    const auto few = runStudies({ "compare", studyCsv("reference,test\n5,6\n7,7\n0,1\n") }).out;
    EXPECT_TRUE(holds(few, "Regression and bias at levels are shown from 20 pairs on; --json has them from fewer.\n"));
    EXPECT_TRUE(holds(few, "4     0          1     1           -\n"));
    EXPECT_FALSE(holds(few, "Deming"));
}

TEST(StudyCompareCommand, SaysItsDecisionsInTheHelp)
{
    const std::string help = testing_studies::studyHelp("compare");
    EXPECT_TRUE(holds(help, "sqrt(L/l) for a point above the line and -sqrt(l/L) below it"));
    EXPECT_TRUE(holds(help, "1.36 sqrt(L + l)"));
    EXPECT_TRUE(holds(help, "no sign of a curve is weak evidence: look at the plot"));
    EXPECT_TRUE(holds(help, "Consensus grid type 1, a point on a border in the zone with less risk; Clarke 1987 by its text"));
    EXPECT_TRUE(holds(help, "at most 20000 pairs"));
    EXPECT_TRUE(holds(help, "Example:\n  meterkeep-cli study compare"));
}

TEST(StudyCompareCommand, RefusesAWeightedLineThatWouldTakeForever)
{
    std::string bytes = "reference,test\n";
    for (int i = 0; i <= 20000; ++i)
        bytes += std::to_string(50 + i % 400) + "," + std::to_string(52 + i % 397) + "\n";
    EXPECT_EQ(compareFault(bytes, { "--weighted" }),
        ".csv: --weighted takes time with the square of the pairs and is done up to 20000, not 20001; leave it out or compare fewer "
        "pairs\n");
    EXPECT_EQ(runStudies({ "compare", studyCsv(bytes) }).status, 0);
}

TEST(StudyCompareCommand, FindsTiesInDecimalAsTheyStand)
{
    // Slopes of exactly -1, which the doubles of 0.1, 0.2 and 0.3 do not have.
    EXPECT_EQ(compareReport("reference,test\n0.1,0.3\n0.2,0.2\n0.3,0.1\n").passingBablok.slopes, 0U);
    EXPECT_EQ(compareReport("reference,test\n0.1,0.3\n0.2,0.20000000000000001\n0.3,0.1\n").passingBablok.slopes, 0U);
}

TEST(StudyCompareCommand, NamesTheLineOfWhatItCannotRead)
{
    EXPECT_EQ(compareFault("reference,test\n"), ".csv has no rows below its header; give at least one pair\n");
    EXPECT_EQ(compareFault("reference\n1\n"), ".csv line 1: has no column 'test'; name it in the header\n");
    EXPECT_EQ(compareFault("test\n1\n"), ".csv line 1: has no column 'reference'; name it in the header\n");
    EXPECT_TRUE(holds(compareFault("reference,test\n1,2\n3,HI\n"), "line 3: 'HI' under 'test' is not a number"));
    EXPECT_TRUE(holds(compareFault("reference,test\n1,2\n,3\n"), "line 3: the cell under 'reference' is empty"));
    EXPECT_TRUE(holds(compareFault("reference,test\n1,nan\n"), "line 2: 'nan' under 'test' is not a number"));
    EXPECT_TRUE(holds(compareFault("reference,test\n1,inf\n"), "line 2: 'inf' under 'test' is not a number"));
    EXPECT_TRUE(holds(compareFault("reference,test,minutes\n1,2,soon\n"), "line 2: 'soon' under 'minutes' is not a number"));
    EXPECT_TRUE(holds(compareFault("reference,test,minutes\n1,2,-3\n"), "line 2: the minutes between the samplings are below 0"));
    EXPECT_TRUE(holds(compareFault("reference,test,haematocrit\n1,2,low\n"), "line 2: 'low' under 'haematocrit' is not a number"));
    EXPECT_TRUE(holds(compareFault("reference,test,minutes\n1,2,30\n"), "no pair that may be compared: 30 minutes between the samplings"));
    EXPECT_TRUE(holds(compareFault("reference,test\n1,2\n1e200,2\n2,-1e200\n"), ".csv: the values are too far apart"));
    EXPECT_TRUE(holds(compareFault("reference,test\n1,2\n-1,3\n", { "--weighted" }), ".csv: pair 2 holds a number that is not above 0"));
}

TEST(StudyCompareCommand, RefusesWhatDoublesCannotHold)
{
    const std::string tooFar = ".csv: the values are too far apart to compute with; look for a slip in them\n";
    EXPECT_EQ(compareFault("reference,test\n1,1e308\n2,1e308\n3,1e308\n"), tooFar); // 1e310 %
    EXPECT_EQ(compareFault("reference,test\n1e-300,1e10\n"), tooFar);
    EXPECT_EQ(compareFault("reference,test\n1,1e305\n2,1e305\n3,1e305\n", { "--at-levels", "0.0001" }), tooFar); // bias at the level
    const auto wide = runStudies({ "compare", studyCsv("reference,test\n1,1e300\n") }).out;                      // right, if of no use
    EXPECT_TRUE(holds(wide, "  1e+302\n"));
    EXPECT_FALSE(holds(wide, "000000000"));
}

TEST(StudyCompareCommand, SaysWhatIsWrongWithAnOption)
{
    const std::string good = "reference,test\n1,2\n";
    EXPECT_EQ(compareFault(good, { "--error-ratio", "0" }), "--error-ratio must be above 0, such as 1\n");
    EXPECT_EQ(compareFault(good, { "--error-ratio", "nan" }),
        "--error-ratio: 'nan' is not a number; write digits with at most one point, such as 5.6\n");
    EXPECT_EQ(compareFault(good, { "--confidence", "95" }), "--confidence must lie between 0 and 1, such as 0.95\n");
    EXPECT_EQ(compareFault(good, { "--window-minutes", "-1" }), "--window-minutes must be 0 or more, such as 15\n");
    EXPECT_TRUE(holds(compareFault(good, { "--haematocrit", "60-20" }), "--haematocrit: '60-20' is not a range"));
    EXPECT_TRUE(holds(compareFault(good, { "--haematocrit", "40" }), "--haematocrit: '40' is not a range"));
    EXPECT_TRUE(holds(compareFault(good, { "--at-levels", "70,,180" }), "--at-levels: '' is not a number"));
    EXPECT_TRUE(holds(compareFault(good, { "--at-levels", "70,high" }), "--at-levels: 'high' is not a number"));
    EXPECT_EQ(runStudies({ "compare", "/nowhere/pairs.csv" }).status, 2);
}

TEST(StudyComparePlot, ShowsDifferencesAndLines)
{
    StudyCompareOptions options;
    options.unit = base::GlucoseUnit::MgPerDl;
    const auto scene = studyComparePlot(compareReport(thirtyPairs(), options));
    EXPECT_TRUE(holds(scene.title, "Bias 21.5 mg/dL, limits of agreement "));
    ASSERT_EQ(scene.panels.size(), 2U);
    EXPECT_EQ(scene.panels[0].points[0].x.size(), 30U);
    EXPECT_EQ(scene.panels[0].points[0].y[0], 6);
    EXPECT_EQ(scene.panels[0].limits.size(), 10U); // zero; bias and two limits, each with both ends of its interval
    EXPECT_TRUE(scene.panels[1].sameScale);
    ASSERT_EQ(scene.panels[1].curves.size(), 3U); // equal, Deming, Passing-Bablok
    EXPECT_EQ(scene.panels[1].x.title, "Reference, mg/dL");
}

TEST(StudyComparePlot, OfOnePairHasNeitherLimitsNorLines)
{
    const auto scene = studyComparePlot(compareReport("reference,test\n5,6\n"));
    EXPECT_EQ(scene.title, "Bias 1, 1 pair");
    EXPECT_EQ(scene.panels[0].limits.size(), 2U);
    ASSERT_EQ(scene.panels[1].curves.size(), 1U);
    const report::PlotCurve& equal = scene.panels[1].curves[0]; // makes room around the point
    EXPECT_LE(equal.x.front(), 4);
    EXPECT_GE(equal.x.back(), 7);
    EXPECT_LT(scene.panels[0].y.lower.value(), 0);
    EXPECT_GT(scene.panels[0].y.upper.value(), 1.4);
}

} // namespace mk::study
