// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/drift.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

namespace mk::study {

using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

TEST(StudyDriftCommand, PrintsWhatTheContractNames)
{
    // Analytic and exact in binary: target 0, SD 1, EWMA weight 1 is the value itself.
    const std::string path = studyCsv("value\n0\n4.5\n1\n");
    const auto outcome = runStudies({ "drift", path, "--target", "0", "--sd", "1", "--lambda", "1", "--h", "3.5", "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out,
        R"({"format":1,"ewma":{"lower":[-3,-3,-3],"upper":[3,3,3],"values":[0,4.5,1],"signals":[2]},)"
        R"("cusum":{"high":[0,4,4.5],"low":[0,0,0],"signals":[2,3],"began":2},"trend_7t":{"signals":[]},"slope":{"per_value":0.5,"ci":null},"ignored_columns":[]})"
        "\n");
}

TEST(StudyDriftCommand, ShowsTrendAndSlope)
{
    std::string rising = "value\n";
    for (int i = 0; i < 12; ++i)
        rising += std::to_string(5 + i) + '\n';
    const auto outcome = runStudies({ "drift", studyCsv(rising), "--target", "10", "--sd", "10" });
    EXPECT_NE(outcome.out.find("7T first at no 7."), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find("Slope 1 a value, 95 % interval 1 to 1. The interval leaves out 0: the series drifts."), std::string::npos);
    const auto one = runStudies({ "drift", studyCsv("value\n5\n"), "--target", "5", "--sd", "1" });
    EXPECT_EQ(one.status, 0);
    EXPECT_NE(one.out.find("needs at least two values"), std::string::npos);
}

TEST(StudyDriftCommand, TellsSteadyLimitsFromExactOnes)
{
    auto table = exchange::parseCsv("value\n1\n", "x.csv");
    ASSERT_TRUE(table);
    const StudyFile file { "x.csv", std::move(table).value() };
    StudyDriftOptions options;
    EXPECT_DOUBLE_EQ(studyDrift(file, options).value().ewma.upper[0], 0.6);
    options.limits = stats::EwmaLimits::Steady;
    EXPECT_DOUBLE_EQ(studyDrift(file, options).value().ewma.upper[0], 1.0); // 3 sqrt(0.2 / 1.8)
}

TEST(StudyDriftCommand, TakesNegativeTargetsAndRefusesOptionsOutOfBounds)
{
    const std::string path = studyCsv("value\n-5\n");
    EXPECT_EQ(runStudies({ "drift", path, "--target", "-5", "--sd", "1" }).status, 0);
    EXPECT_EQ(runStudies({ "drift", path }).status, 2);
    for (const auto& [option, value] : std::vector<std::pair<std::string, std::string>> { { "--lambda", "0" }, { "--lambda", "1.1" },
             { "--lambda", "nan" }, { "--width", "0" }, { "--k", "-1" }, { "--h", "0" }, { "--h", "inf" }, { "--limits", "loose" } }) {
        const auto outcome = runStudies({ "drift", path, "--target", "0", "--sd", "1", option, value });
        EXPECT_EQ(outcome.status, 2) << option << ' ' << value;
        EXPECT_EQ(outcome.out, "");
    }
    EXPECT_EQ(
        runStudies({ "drift", path, "--target", "0", "--sd", "0" }).err, "--sd must be above 0; drift cannot be evaluated without an SD\n");
}

TEST(StudyDriftCommand, RefusesValuesTooFarApartToComputeWith)
{
    EXPECT_EQ(studyRefusal({ "drift", "--target", "0", "--sd", "1e-10" }, "value\n1e300\n-1e300\n1\n"),
        ".csv: the values are too far apart to compute with; look for a slip in them\n");
    EXPECT_EQ(studyRefusal({ "drift", "--target", "-1e308", "--sd", "1" }, "value\n1e308\n1\n"),
        ".csv: the values are too far apart to compute with; look for a slip in them\n");
}

} // namespace mk::study
