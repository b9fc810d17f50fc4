// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_commands.h"

#include "cli/study_rules.h"
#include "cli/study_series.h"
#include "study_runner.h"

#include <cmath>

namespace mk::cli {

namespace {

using testing_studies::studyCsv;

testing_studies::Outcome runStudy(const std::vector<std::string>& words)
{
    return testing_studies::runProgram(words);
}

/// The text between the last '/' of the one error line and its end: file name, line and reason.
std::string studyFaultOf(const std::string& command, const std::string& bytes)
{
    const auto outcome = runStudy({ "study", command, studyCsv(bytes) });
    EXPECT_EQ(outcome.status, 2);
    EXPECT_EQ(outcome.out, "");
    EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1);
    return outcome.err.substr(outcome.err.find(".csv") == std::string::npos ? 0 : outcome.err.find(".csv"));
}

} // namespace

TEST(StudyRulesCommand, PrintsWhatTheContractNames)
{
    const std::string path
        = studyCsv("set,level,z,note\nMon,low,2.5,x\nMon,high,0,\nTue,low,2.1,\nTue,high,-0.4,\nWed,low,0,\nWed,high,0,\n");
    const auto outcome = runStudy({ "study", "rules", path, "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out,
        R"({"format":1,"sets":[{"set":"Mon","verdict":"warned","rules":["1-2s"]},)"
        R"({"set":"Tue","verdict":"rejected","rules":["1-2s","2-2s"]},)"
        R"({"set":"Wed","verdict":"accepted","rules":[]}],)"
        R"("accepted":1,"warned":1,"rejected":1,"levels":["low","high"],"ignored_columns":["note"]})"
        "\n");
    EXPECT_EQ(runStudy({ "--json", "study", "rules", path }).out, outcome.out);
}

TEST(StudyRulesCommand, StartsEveryCountAgainAtARestart)
{
    const std::string sets = "set,level,z,restart\n1,low,2.5,\n2,low,2.5,";
    EXPECT_NE(runStudy({ "study", "rules", studyCsv(sets + "no\n"), "--json" }).out.find(R"("rules":["1-2s","2-2s"])"), std::string::npos);
    EXPECT_EQ(runStudy({ "study", "rules", studyCsv(sets + "yes\n"), "--json" }).out.find("2-2s"), std::string::npos);
    EXPECT_EQ(studyFaultOf("rules", sets + "maybe\n"), ".csv line 3: 'maybe' under 'restart' is neither yes nor no\n");
}

// One level of plain scores takes the fast pass, a restart column the counts: the same output.
TEST(StudyRulesCommand, SaysTheSameByBothWays)
{
    std::string fast = "set,level,z\n";
    std::string plain = "set,level,z,restart\n";
    for (int i = 0; i < 3000; ++i) {
        const std::string row = std::to_string(i) + ",low," + std::to_string(3.6 * std::sin(i * 0.37) + 0.01 * (i % 7)).substr(0, 5);
        fast += row + '\n';
        plain += row + ",no\n";
    }
    const std::vector<std::string> rules = { "--rules", "1-2s:warn,1-3s,2-2s,R-4s,4-1s,6x,8x,9x,10x,12x,3-1s,2of3-2s,7T", "--json" };
    for (const char* onLimit : { "in", "out" }) {
        const auto a = runStudy({ "study", "rules", studyCsv(fast), rules[0], rules[1], rules[2], "--on-limit", onLimit });
        const auto b = runStudy({ "study", "rules", studyCsv(plain), rules[0], rules[1], rules[2], "--on-limit", onLimit });
        EXPECT_EQ(a.status, 0);
        EXPECT_EQ(a.out, b.out);
        EXPECT_NE(a.out.find("7T"), std::string::npos);
    }
}

TEST(StudyRulesCommand, FindsASetThatComesBackWhateverTheNames)
{
    EXPECT_EQ(studyFaultOf("rules", "set,level,z\n1,low,0\n2,low,0\n1,high,0\n"),
        ".csv line 4: set '1' comes back after another set; keep the rows of a set together\n");
    EXPECT_EQ(studyFaultOf("rules", "set,level,z\nb,low,0\na,low,0\nc,low,0\na,high,0\n"),
        ".csv line 5: set 'a' comes back after another set; keep the rows of a set together\n");
}

TEST(StudyRulesCommand, PrintsATableForPeople)
{
    const auto outcome = runStudy({ "study", "rules", studyCsv("set,level,z\nMon,low,2.5\nTuesday,low,0\n") });
    EXPECT_EQ(
        outcome.out, "set      verdict   rules\nMon      warned    1-2s\nTuesday  accepted\n2 sets: 1 accepted, 1 warned, 0 rejected.\n");
}

TEST(StudyRulesCommand, DecidesOnTypedDecimalsNotOnDoubles)
{
    // Handbook 6.3: 6.2 with mean 5.6 and SD 0.3 lies on 2 SD, also where a program printed all 17 digits of its doubles.
    const std::string path
        = studyCsv("mean,sd,set,level,value\n5.6,0.3,1,low,6.2\n5.5999999999999996,0.29999999999999999,2,low,6.2000000000000002\n");
    EXPECT_NE(runStudy({ "study", "rules", path }).out.find("2 accepted, 0 warned"), std::string::npos);
    EXPECT_NE(runStudy({ "study", "rules", path, "--on-limit", "out" }).out.find("1 warned, 1 rejected"), std::string::npos);
}

TEST(StudyRulesCommand, TakesScoresOfSeventeenDigitsAsTheyAre)
{
    const auto outcome = runStudy({ "study", "rules", studyCsv("set,level,z\n1,low,2.0000000000000018\n2,low,1e-05\n3,low,+2.5\n") });
    EXPECT_NE(outcome.out.find("1 accepted, 2 warned"), std::string::npos) << outcome.out;
}

TEST(StudyRulesCommand, ObeysRulesRolesAndReading)
{
    const std::string path = studyCsv("set,level,z\n1,low,2.8\n1,high,-1.3\n");
    EXPECT_NE(runStudy({ "study", "rules", path, "--rules", "R-4s" }).out.find("1 accepted"), std::string::npos);
    EXPECT_NE(runStudy({ "study", "rules", path, "--rules", "R-4s", "--r4s", "range" }).out.find("1 rejected"), std::string::npos);
    EXPECT_NE(runStudy({ "study", "rules", path, "--rules", "R-4s:warn", "--r4s", "range" }).out.find("1 warned"), std::string::npos);
    EXPECT_NE(runStudy({ "study", "rules", path, "--rules", "R-4s, 1-2s" }).out.find("1 rejected"), std::string::npos);
    EXPECT_EQ(runStudy({ "study", "rules", path, "--r4s", "both" }).status, 2);
}

TEST(StudyRulesCommand, NamesTheLineOfWhatItCannotRead)
{
    EXPECT_EQ(studyFaultOf("rules", "set,level,value,mean,sd\n1,low,6.2,5.6,0.3\n2,low,6.2,5.6,0\n"),
        ".csv line 3: the SD is 0; rules cannot be evaluated without an SD above 0\n");
    EXPECT_EQ(studyFaultOf("rules", "set,level,value,mean,sd\n1,low,6.2,5.6,\n"),
        ".csv line 2: the cell under 'sd' is empty; give a number or leave the row out\n");
    EXPECT_NE(studyFaultOf("rules", "set,level,z\n1,low,nan\n").find("line 2: 'nan' under 'z' is not a number"), std::string::npos);
    EXPECT_NE(studyFaultOf("rules", "set,level,z\n1,low,1\n2,low,1\n1,high,1\n").find("line 4: set '1' comes back"), std::string::npos);
    EXPECT_NE(studyFaultOf("rules", "set,level,z\n1,low,1\n1,low,1\n").find("line 3: set '1' has level 'low' twice"), std::string::npos);
    EXPECT_NE(studyFaultOf("rules", "set,level,z\n1,,1\n").find("line 2: the cell under 'level' is empty"), std::string::npos);
    EXPECT_NE(studyFaultOf("rules", "set,z\n1,1\n").find("line 1: has no column 'level'"), std::string::npos);
    EXPECT_NE(studyFaultOf("rules", "set,level,value\n1,low,1\n").find("line 1: has no column 'mean'"), std::string::npos);
    EXPECT_NE(studyFaultOf("rules", "set,level\n1,low\n").find("line 1: has no column 'z' and no columns"), std::string::npos);
}

TEST(ParseStudyRules, SaysWhatIsWrong)
{
    const auto fault = [](const char* text) {
        const auto rules = parseStudyRules(text);
        return rules ? std::string() : rules.error().text;
    };
    EXPECT_EQ(parseStudyRules(kStudyDefaultRules).value().size(), 6U);
    EXPECT_NE(fault("1-2s,").find("'' is not a known rule"), std::string::npos);
    EXPECT_NE(fault("5-2s").find("'5-2s' is not a known rule; choose from 1-2s, 1-3s"), std::string::npos);
    EXPECT_EQ(fault("10x:off"), "--rules: 'off' is not a role; write 10x:warn or 10x:reject");
    EXPECT_EQ(fault("1-2s:warn,1-2s"), "--rules: 1-2s stands twice; keep one of them");
}

TEST(StudyDriftCommand, PrintsWhatTheContractNames)
{
    // Analytic and exact in binary: target 0, SD 1, EWMA weight 1 is the value itself.
    const std::string path = studyCsv("value\n0\n4.5\n1\n");
    const auto outcome = runStudy({ "study", "drift", path, "--target", "0", "--sd", "1", "--lambda", "1", "--h", "3.5", "--json" });
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
    const auto outcome = runStudy({ "study", "drift", studyCsv(rising), "--target", "10", "--sd", "10" });
    EXPECT_NE(outcome.out.find("7T first at no 7."), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find("Slope 1 a value, 95 % interval 1 to 1. The interval leaves out 0: the series drifts."), std::string::npos);
    const auto one = runStudy({ "study", "drift", studyCsv("value\n5\n"), "--target", "5", "--sd", "1" });
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
    EXPECT_EQ(runStudy({ "study", "drift", path, "--target", "-5", "--sd", "1" }).status, 0);
    EXPECT_EQ(runStudy({ "study", "drift", path }).status, 2);
    for (const auto& [option, value] : std::vector<std::pair<std::string, std::string>> { { "--lambda", "0" }, { "--lambda", "1.1" },
             { "--lambda", "nan" }, { "--width", "0" }, { "--k", "-1" }, { "--h", "0" }, { "--h", "inf" }, { "--limits", "loose" } }) {
        const auto outcome = runStudy({ "study", "drift", path, "--target", "0", "--sd", "1", option, value });
        EXPECT_EQ(outcome.status, 2) << option << ' ' << value;
        EXPECT_EQ(outcome.out, "");
    }
    EXPECT_EQ(runStudy({ "study", "drift", path, "--target", "0", "--sd", "0" }).err,
        "--sd must be above 0; drift cannot be evaluated without an SD\n");
}

TEST(StudySummaryCommand, PrintsWhatTheContractNames)
{
    const auto outcome = runStudy({ "study", "summary", studyCsv("n,value\n1,4\n2,6\n"), "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out.find(R"({"format":1,"n":2,"mean":5,"sd":1.4142135623730951,"cv_percent":28.2842712474619)"), 0U) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("median":5,"min":4,"max":6,"mean_ci":[)"), std::string::npos);
    EXPECT_NE(outcome.out.find(R"("ignored_columns":["n"])"), std::string::npos);
}

TEST(StudySummaryCommand, GivesNullForWhatOneValueCannotTell)
{
    const auto outcome = runStudy({ "study", "summary", studyCsv("value\n5.6"), "--json" });
    EXPECT_NE(outcome.out.find(R"("sd":null,"cv_percent":null)"), std::string::npos) << outcome.out;
    EXPECT_NE(outcome.out.find(R"("mean_ci":null,"sd_ci":null)"), std::string::npos);
    EXPECT_NE(studyFaultOf("summary", "value\n").find("has no rows below its header"), std::string::npos);
    EXPECT_NE(studyFaultOf("summary", "value\n5.6\ninf\n").find("line 3: 'inf' under 'value'"), std::string::npos);
}

TEST(StudyCommands, SayWhichFileCannotBeRead)
{
    for (const std::string& path : { testing::TempDir() + "no_such_file.csv", testing::TempDir() }) {
        const auto outcome = runStudy({ "study", "summary", path });
        EXPECT_EQ(outcome.status, 2);
        EXPECT_EQ(outcome.err, path + " cannot be read; check its name, and that you may read it\n");
    }
}

TEST(StudyCommands, HaveHelpWithAnExample)
{
    CLI::App app;
    const bool json = false;
    std::function<int()> chosen;
    addStudyCommands(app, json, chosen);
    for (const char* name : { "rules", "drift", "summary" }) {
        const std::string help = app.get_subcommand("study")->get_subcommand(name)->help();
        EXPECT_NE(help.find("Example:\n  meterkeep-cli study " + std::string(name)), std::string::npos) << help;
    }
}

} // namespace mk::cli
