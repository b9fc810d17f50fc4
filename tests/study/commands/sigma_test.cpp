// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/sigma.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

namespace mk::study {

namespace {

/// Standard output, or where there is none, standard error; nothing for arguments that cannot be parsed.
std::string textOfStudySigma(std::vector<std::string> words)
{
    words.insert(words.begin(), "sigma");
    const auto outcome = testing_studies::runStudies(std::move(words));
    return outcome.out + outcome.err;
}

StudySigmaReport sigmaOf(double allowable, double bias, double cv, std::size_t levels = 2)
{
    StudySigmaOptions options;
    options.allowable = allowable;
    options.bias = bias;
    options.cv = cv;
    options.levels = levels;
    return studySigma(options).value();
}

} // namespace

TEST(StudySigmaCommand, PrintsWhatTheContractNames)
{
    const std::string json = textOfStudySigma({ "--allowable", "15", "--bias", "-3", "--cv", "2", "--json" });
    EXPECT_EQ(json.find(R"({"format":1,"sigma":6,"critical_shift":4.35,"critical_random":3.061224489795918)"), 0U) << json;
    EXPECT_NE(json.find(R"("rules":"1-3s","levels":2,"sets":1,)"), std::string::npos) << json;
    // Analytic: statistics/pfr_analytic.csv and ped_at_critical_error_analytic.csv (0.9984 is its multirule; 1-3s alone 0.9922 at sigma 6).
    EXPECT_NE(json.find(R"("false_rejection":0.005392)"), std::string::npos) << json;
    EXPECT_NE(json.find(R"("critical_shift_rejection":0.9921)"), std::string::npos) << json;
    EXPECT_NE(json.find(R"("schedule":null)"), std::string::npos) << json;
}

TEST(StudySigmaCommand, GivesRulesThatStudyPowerTakes)
{
    for (const std::size_t levels : { 2U, 3U }) {
        for (const double sigma : { 1.0, 3.5, 4.5, 5.5, 7.0 }) {
            const auto report = sigmaOf(sigma, 0, 1, levels);
            EXPECT_TRUE(parseStudyRules(rulesText(report.choice.rules))) << sigma;
            EXPECT_EQ(report.choice.levels, levels);
        }
    }
}

TEST(StudySigmaCommand, SaysWhereNoRuleCanHelp)
{
    const auto hopeless = sigmaOf(10, 12, 2);
    EXPECT_EQ(hopeless.metric.sigma, -1);
    EXPECT_FALSE(hopeless.detection.has_value());
    EXPECT_NE(studySigmaTable(hopeless).find("no control rule can make this method meet the goal"), std::string::npos);
    EXPECT_NE(studySigmaJson(hopeless).find(R"("critical_shift_rejection":null)"), std::string::npos);
    EXPECT_NE(studySigmaTable(sigmaOf(10, 8, 2)).find("even without a shift"), std::string::npos);
    EXPECT_NE(studySigmaTable(sigmaOf(10, 5, 2)).find("Below 3 sigma"), std::string::npos);
    EXPECT_NE(studySigmaTable(sigmaOf(10, 1, 2)).find("A shift of 2.85 SD"), std::string::npos);
}

TEST(StudySigmaCommand, TellsAWardWhatToExpect)
{
    // Analytic: 1-3s, two levels: 0.0053923 a set; 12 meters, 3 sets a day, 30 days.
    const std::string text = textOfStudySigma({ "--allowable", "15", "--bias", "0", "--cv", "2", "--meters", "12", "--sets-per-day", "3" });
    EXPECT_NE(text.find("false alarms in 30 days  5.82369 (12 meters, 3 sets a day each)"), std::string::npos) << text;
    EXPECT_NE(text.find("days until found         0.1666"), std::string::npos) << text;
}

TEST(StudySigmaCommand, HasNoCriticalSpreadWhereTheBiasUsesUpTheAllowance)
{
    const auto outcome = testing_studies::runStudies({ "sigma", "--allowable", "5", "--bias", "20", "--cv", "3", "--json" });
    EXPECT_NE(outcome.out.find(R"("sigma":-5,)"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("critical_random":null)"), std::string::npos) << outcome.out;
}

TEST(StudySigmaCommand, RefusesWhatMeansNothing)
{
    EXPECT_EQ(textOfStudySigma({ "--allowable", "10", "--bias", "0", "--cv", "0" }),
        "the CV must be a number above 0; without spread between the results there is no sigma\n");
    EXPECT_EQ(textOfStudySigma({ "--allowable", "-1", "--bias", "0", "--cv", "2" }), "the allowable error must be a number above 0\n");
    EXPECT_EQ(textOfStudySigma({ "--allowable", "10", "--bias", "inf", "--cv", "2" }),
        "--bias: 'inf' is not a number; write digits with at most one point, such as 5.6\n");
    EXPECT_EQ(textOfStudySigma({ "--allowable", "10", "--bias", "1", "--cv", "2", "--levels", "4" }),
        "--levels must be 2 or 3: the scheme gives rules for these\n");
    EXPECT_EQ(textOfStudySigma({ "--allowable", "10", "--bias", "1" }), "--cv is required; see --help\n");
}

TEST(StudySigmaPlot, MarksTheCriticalShiftWhereItIs)
{
    const auto scene = studySigmaPlot(sigmaOf(15, 2, 3));
    ASSERT_EQ(scene.panels.size(), 1U);
    ASSERT_EQ(scene.panels[0].limits.size(), 1U);
    EXPECT_NEAR(scene.panels[0].limits[0].at, 13.0 / 3 - 1.65, 1e-12);
    EXPECT_TRUE(studySigmaPlot(sigmaOf(10, 12, 2)).panels[0].limits.empty());
    const auto far = studySigmaPlot(sigmaOf(30, 0, 2));
    EXPECT_NEAR(far.panels[0].limits[0].at, 13.35, 1e-12);
    EXPECT_NEAR(far.panels[0].curves[0].x.back(), 13.35, 1e-12);
}

} // namespace mk::study
