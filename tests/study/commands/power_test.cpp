// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/power.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace mk::study {

namespace {

testing_studies::Outcome runPower(std::vector<std::string> words)
{
    words.insert(words.begin(), "power");
    return testing_studies::runStudies(std::move(words));
}

std::string faultOfStudyPower(std::vector<std::string> words)
{
    words.insert(words.begin(), "power");
    return testing_studies::studyRefusal(std::move(words));
}

StudyPowerOptions powerOptions(const char* rules, std::size_t levels)
{
    StudyPowerOptions options;
    options.rules = parseStudyRules(rules).value();
    options.levels = levels;
    return options;
}

} // namespace

TEST(StudyPowerCommand, PrintsWhatTheContractNames)
{
    // Exact in binary but for the last digits: half of all results lie beyond +3 SD at a shift of 3 SD (and hardly any below -3 SD).
    const auto outcome = runPower({ "--rules", "1-3s", "--levels", "1", "--shift", "3", "--random", "1", "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out.find(
                  R"({"format":1,"rules":"1-3s","levels":1,"sets":1,"r4s":"opposite","warn_only":[],"false_rejection":0.00269979606)"),
        0U)
        << outcome.out;
    EXPECT_NE(outcome.out.find(R"("points":[{"shift":3,"random":1,"rejection":0.50000000)"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find(R"(,"method":"exact","standard_error":null}],"average_run_length":[{"shift":3,"sets":1.999999996)"),
        std::string::npos)
        << outcome.out;
    EXPECT_NE(outcome.out.find(R"("days":null}],"schedule":null})"), std::string::npos) << outcome.out;
}

TEST(StudyPowerCommand, CountsOnlyRulesThatReject)
{
    // Analytic: 1-3s with two levels, statistics/pfr_analytic.csv.
    const auto report = studyPower(powerOptions("1-2s:warn,1-3s", 2));
    ASSERT_TRUE(report);
    EXPECT_NEAR(report->falseRejection.value, 0.0053923, 1e-8);
    EXPECT_EQ(report->warnOnly, std::vector<std::string> { "1-2s" });
    EXPECT_NE(studyPowerTable(*report).find("Left out, since they only warn: 1-2s."), std::string::npos);
    EXPECT_EQ(faultOfStudyPower({ "--rules", "1-2s:warn" }), "--rules: no rule rejects; leave out :warn behind at least one\n");
}

TEST(StudyPowerCommand, TriesEachShiftWithEachRandomError)
{
    StudyPowerOptions options = powerOptions("1-3s", 1);
    options.shifts = { 0, -2 };
    options.randoms = { 1, 2 };
    const auto report = studyPower(options);
    ASSERT_TRUE(report && report->points.size() == 4);
    EXPECT_EQ(report->points[1].error.shift, -2);
    EXPECT_EQ(report->points[2].error.random, 2);
    EXPECT_NEAR(report->points[1].rejection.value, 0.158656, 1e-6); // statistics/power_systematic_analytic.csv
    EXPECT_NEAR(report->points[2].rejection.value, 0.133614, 1e-6); // statistics/power_random_analytic.csv
}

TEST(StudyPowerCommand, ReadsR4sAsAsked)
{
    // Analytic: statistics/pfr_analytic.csv, R-4s A and B.
    EXPECT_NE(runPower({ "--rules", "1-3s,2-2s,R-4s", "--json" }).out.find(R"("false_rejection":0.0072241)"), std::string::npos);
    EXPECT_NE(runPower({ "--rules", "1-3s,2-2s,R-4s", "--r4s", "range", "--json" }).out.find(R"("false_rejection":0.0096769)"),
        std::string::npos);
    EXPECT_NE(runPower({ "--rules", "R-4s", "--levels", "1" }).out.find("with 1 level it never fires"), std::string::npos);
    EXPECT_NE(runPower({ "--rules", "R-4s", "--levels", "1", "--json" }).out.find(R"("sets":null)"), std::string::npos);
}

TEST(StudyPowerCommand, SaysWhatIsSimulated)
{
    StudyPowerOptions options = powerOptions("1-3s,7T", 1);
    options.shifts = { 1 };
    options.randoms = { 1 };
    options.sets = 7;
    const auto report = studyPower(options);
    ASSERT_TRUE(report);
    EXPECT_TRUE(report->points[0].rejection.standardError.has_value());
    EXPECT_NE(studyPowerJson(*report).find(R"("method":"simulated","standard_error":0.00)"), std::string::npos) << studyPowerJson(*report);
    EXPECT_NE(studyPowerTable(*report).find("Simulated; +- is one standard error."), std::string::npos);
    EXPECT_EQ(studyPowerJson(*report), studyPowerJson(*studyPower(options))); // the same numbers each time
    options.sets = 1;
    EXPECT_NE(studyPowerTable(*studyPower(options)).find("Chances are exact (Markov chain), numbers of sets simulated"), std::string::npos);
}

TEST(StudyPowerCommand, TellsAWardWhatToExpect)
{
    // Analytic: 1-2s, two levels: 1 / 0.08893025 sets between false alarms; 10 meters, 30 days (handbook 6.4: nearly one a day).
    const auto outcome = runPower({ "--rules", "1-2s", "--shift", "0,2", "--random", "1", "--meters", "10", "--sets-per-day", "2" });
    EXPECT_NE(outcome.out.find("10 meters, 2 sets a day each: 53.3582 false alarms in 30 days"), std::string::npos) << outcome.out;
    // 1 / 0.7500316 sets, less half, two a day.
    EXPECT_NE(outcome.out.find("2         1.33328              0.416639"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find("0         11.2448              -"), std::string::npos) << outcome.out;
    EXPECT_NE(faultOfStudyPower({ "--meters", "0" }).find("--meters must be a whole number"), std::string::npos);
    EXPECT_NE(faultOfStudyPower({ "--meters", "1.5" }).find("--meters must be a whole number"), std::string::npos);
    EXPECT_NE(faultOfStudyPower({ "--sets-per-day", "0" }).find("--sets-per-day must be above 0"), std::string::npos);
    EXPECT_NE(faultOfStudyPower({ "--sets-per-day", "nan" }).find("--sets-per-day: 'nan' is not a number"), std::string::npos);
}

TEST(StudyPowerCommand, SaysWhatHappensToCountsAfterAnAlarm)
{
    // By hand: 2-2s of one level, p beyond one limit of 2 SD. Where counts go on, the last two lie beyond the same limit with 2 p². Where
    // they start anew, E = 1 + 2 p F + (1 - 2 p) E and F = 1 + p F + (1 - 2 p) E give E = (1 + p) / (2 p²) sets from alarm to alarm.
    const double p = 0.5 * std::erfc(std::sqrt(2.0));
    const auto json = runPower(
        { "--rules", "2-2s", "--levels", "1", "--shift", "0", "--random", "1", "--meters", "12", "--sets-per-day", "1", "--json" })
                          .out;
    EXPECT_NEAR(testing_studies::jsonNumber(json, "false_alarms"), 360 * 2 * p * p / (1 + p), 1e-9) << json;
    EXPECT_NEAR(testing_studies::jsonNumber(json, "false_alarms", "counts_go_on"), 360 * 2 * p * p, 1e-9) << json;
    EXPECT_TRUE(testing_studies::holds(json, R"("counts_after_alarm":"start-anew","counts_go_on":{"false_alarms":0.37)")) << json;
    EXPECT_TRUE(testing_studies::holds(json, R"("method":"exact","standard_error":null}}})")) << json;
    // 10x of one level: once in 1,023 sets, or 2 in 1,024.
    const auto table = runPower({ "--rules", "10x", "--levels", "1", "--shift", "0", "--random", "1", "--meters", "1023" }).out;
    EXPECT_TRUE(testing_studies::holds(table,
        "1023 meters, 1 set a day each: 30 false alarms in 30 days, when each ends with fresh counts.\n"
        "59.9414 where counts go on after an alarm"))
        << table;
    EXPECT_FALSE(testing_studies::holds(runPower({ "--rules", "10x" }).out, "go on after an alarm")); // only of a ward
    const auto trend = runPower({ "--rules", "7T", "--levels", "1", "--shift", "0", "--random", "1", "--meters", "100", "--json" }).out;
    // 2 / 7! of the sets end seven in order, those that go on among them.
    EXPECT_NEAR(testing_studies::jsonNumber(trend, "false_alarms", "counts_go_on"), 3000 * 2 / 5040.0,
        4 * testing_studies::jsonNumber(trend, "standard_error", "counts_go_on"));
    EXPECT_GT(testing_studies::jsonNumber(trend, "standard_error", "counts_go_on"), 0);
}

TEST(StudyPowerCommand, RefusesWhatCannotBeAsked)
{
    EXPECT_EQ(faultOfStudyPower({ "--levels", "5" }), "the number of levels must be 1 to 4\n");
    EXPECT_EQ(faultOfStudyPower({ "--levels", "0" }), "the number of levels must be 1 to 4\n");
    EXPECT_EQ(faultOfStudyPower({ "--sets", "0" }), "the number of sets must be 1 to 1000\n");
    EXPECT_EQ(faultOfStudyPower({ "--sets", "100000" }), "the number of sets must be 1 to 1000\n");
    EXPECT_EQ(faultOfStudyPower({ "--shift", "0,11" }), "a shift of 11 SD cannot be computed; give it between -10 and 10\n");
    EXPECT_EQ(faultOfStudyPower({ "--random", "0" }), "a random error of 0 times the SD cannot be computed; give it above 0, up to 100\n");
    EXPECT_EQ(
        faultOfStudyPower({ "--random", "1,nan" }), "--random: 'nan' is not a number; write numbers separated by commas, such as 0,1,2\n");
    EXPECT_EQ(faultOfStudyPower({ "--shift", "1,,2" }), "--shift: '' is not a number; write numbers separated by commas, such as 0,1,2\n");
    EXPECT_NE(faultOfStudyPower({ "--shift", "x" }).find("'x' is not a number"), std::string::npos);
    EXPECT_NE(faultOfStudyPower({ "--rules", "1-4s" }).find("'1-4s' is not a known rule"), std::string::npos);
    EXPECT_EQ(runPower({ "--levels", "-1" }).status, 2);
    EXPECT_EQ(runPower({ "--sets", "-1" }).status, 2);
    EXPECT_EQ(runPower({ "--r4s", "both" }).status, 2);
    StudyPowerOptions many = powerOptions("1-3s", 1);
    many.shifts.assign(501, 1.0);
    many.randoms.assign(2, 1.0);
    EXPECT_EQ(studyPower(many).error().text, "ask for 1 to 1000 points: each --shift is tried with each --random");
}

TEST(StudyPowerCommand, TakesNegativeShiftsAndSpaces)
{
    const auto outcome = runPower({ "--rules", "1-3s", "--shift", "-1, +2", "--random", "1" });
    EXPECT_EQ(outcome.status, 0) << outcome.err;
    EXPECT_NE(outcome.out.find("\n-1 "), std::string::npos);
}

TEST(StudyPowerPlot, DrawsACurveForEachRandomErrorThroughThePoints)
{
    const auto report = studyPower(powerOptions("1-3s,2-2s", 2));
    const auto scene = studyPowerPlot(*report);
    ASSERT_EQ(scene.panels.size(), 2U);
    ASSERT_EQ(scene.panels[0].curves.size(), 3U);
    EXPECT_EQ(scene.panels[0].points[1].legend, "random error x 1.5"); // by its mark, which tells five apart
    const auto& curve = scene.panels[0].curves[0];
    EXPECT_EQ(curve.x.front(), 0);
    EXPECT_EQ(curve.x.back(), 4);
    EXPECT_NEAR(curve.y[20], scene.panels[0].points[0].y[1], 1e-9); // at 1 SD
    EXPECT_TRUE(scene.panels[1].y.logarithmic);
    EXPECT_EQ(scene.panels[1].points[0].y.size(), 4U);
    EXPECT_EQ(scene.panels[0].x.lower, scene.panels[1].x.lower);
}

TEST(StudyPowerPlot, LeavesOutWhatThereIsNot)
{
    EXPECT_EQ(studyPowerPlot(*studyPower(powerOptions("R-4s", 1))).panels.size(), 1U);
    StudyPowerOptions options = powerOptions("1-3s,7T", 1);
    options.shifts = { 0 };
    options.randoms = { 1 };
    options.sets = 10;
    const auto scene = studyPowerPlot(*studyPower(options));
    EXPECT_TRUE(scene.panels[0].curves.empty()); // simulated: points alone
    EXPECT_EQ(scene.panels[0].points[0].legend, "random error x 1");
}

} // namespace mk::study
