// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/rules.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <cmath>

namespace mk::study {

using testing_studies::runProgram;
using testing_studies::runStudies;
using testing_studies::studyCsv;
using testing_studies::studyRefusal;

TEST(StudyRulesCommand, PrintsWhatTheContractNames)
{
    const std::string path = studyCsv(
        "set,level,z,note\nMon,low,2.5,x\nMon,high,0,\nTue,low,2.1,\nTue,high,-0.4,\nWed,low,0,\nWed,high,0,\n");
    const auto outcome = runStudies({ "rules", path, "--json" });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_EQ(outcome.out,
        R"({"format":1,"sets":[{"set":"Mon","verdict":"warned","rules":["1-2s"]},)"
        R"({"set":"Tue","verdict":"rejected","rules":["1-2s","2-2s"]},)"
        R"({"set":"Wed","verdict":"accepted","rules":[]}],)"
        R"("accepted":1,"warned":1,"rejected":1,"levels":["low","high"],"ignored_columns":["note"]})"
        "\n");
    EXPECT_EQ(runProgram({ "--json", "study", "rules", path }).out, outcome.out);
}

TEST(StudyRulesCommand, StartsEveryCountAgainAtARestart)
{
    const std::string sets = "set,level,z,restart\n1,low,2.5,\n2,low,2.5,";
    EXPECT_NE(runStudies({ "rules", studyCsv(sets + "no\n"), "--json" }).out.find(R"("rules":["1-2s","2-2s"])"), std::string::npos);
    EXPECT_EQ(runStudies({ "rules", studyCsv(sets + "yes\n"), "--json" }).out.find("2-2s"), std::string::npos);
    EXPECT_EQ(studyRefusal({ "rules" }, sets + "maybe\n"), ".csv line 3: 'maybe' under 'restart' is neither yes nor no\n");
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
        const auto a = runStudies({ "rules", studyCsv(fast), rules[0], rules[1], rules[2], "--on-limit", onLimit });
        const auto b = runStudies({ "rules", studyCsv(plain), rules[0], rules[1], rules[2], "--on-limit", onLimit });
        EXPECT_EQ(a.status, 0);
        EXPECT_EQ(a.out, b.out);
        EXPECT_NE(a.out.find("7T"), std::string::npos);
    }
}

TEST(StudyRulesCommand, FindsASetThatComesBackWhateverTheNames)
{
    EXPECT_EQ(studyRefusal({ "rules" }, "set,level,z\n1,low,0\n2,low,0\n1,high,0\n"),
        ".csv line 4: set '1' comes back after another set; keep the rows of a set together\n");
    EXPECT_EQ(studyRefusal({ "rules" }, "set,level,z\nb,low,0\na,low,0\nc,low,0\na,high,0\n"),
        ".csv line 5: set 'a' comes back after another set; keep the rows of a set together\n");
}

TEST(StudyRulesCommand, PrintsATableForPeople)
{
    const auto outcome = runStudies({ "rules", studyCsv("set,level,z\nMon,low,2.5\nTuesday,low,0\n") });
    EXPECT_EQ(
        outcome.out, "set      verdict   rules\nMon      warned    1-2s\nTuesday  accepted\n2 sets: 1 accepted, 1 warned, 0 rejected.\n");
}

TEST(StudyRulesCommand, DecidesOnTypedDecimalsNotOnDoubles)
{
    // Handbook 6.3: 6.2 with mean 5.6 and SD 0.3 lies on 2 SD, also where a program printed all 17 digits of its doubles.
    const std::string path = studyCsv(
        "mean,sd,set,level,value\n5.6,0.3,1,low,6.2\n5.5999999999999996,0.29999999999999999,2,low,6.2000000000000002\n");
    EXPECT_NE(runStudies({ "rules", path }).out.find("2 accepted, 0 warned"), std::string::npos);
    EXPECT_NE(runStudies({ "rules", path, "--on-limit", "out" }).out.find("1 warned, 1 rejected"), std::string::npos);
}

TEST(StudyRulesCommand, TakesScoresOfSeventeenDigitsAsTheyAre)
{
    const auto outcome = runStudies({ "rules", studyCsv("set,level,z\n1,low,2.0000000000000018\n2,low,1e-05\n3,low,+2.5\n") });
    EXPECT_NE(outcome.out.find("1 accepted, 2 warned"), std::string::npos) << outcome.out;
}

TEST(StudyRulesCommand, ObeysRulesRolesAndReading)
{
    const std::string path = studyCsv("set,level,z\n1,low,2.8\n1,high,-1.3\n");
    EXPECT_NE(runStudies({ "rules", path, "--rules", "R-4s" }).out.find("1 accepted"), std::string::npos);
    EXPECT_NE(runStudies({ "rules", path, "--rules", "R-4s", "--r4s", "range" }).out.find("1 rejected"), std::string::npos);
    EXPECT_NE(runStudies({ "rules", path, "--rules", "R-4s:warn", "--r4s", "range" }).out.find("1 warned"), std::string::npos);
    EXPECT_NE(runStudies({ "rules", path, "--rules", "R-4s, 1-2s" }).out.find("1 rejected"), std::string::npos);
    EXPECT_EQ(runStudies({ "rules", path, "--r4s", "both" }).status, 2);
}

TEST(StudyRulesCommand, NamesTheLineOfWhatItCannotRead)
{
    EXPECT_EQ(studyRefusal({ "rules" }, "set,level,value,mean,sd\n1,low,6.2,5.6,0.3\n2,low,6.2,5.6,0\n"),
        ".csv line 3: the SD is 0; rules cannot be evaluated without an SD above 0\n");
    EXPECT_EQ(studyRefusal({ "rules" }, "set,level,value,mean,sd\n1,low,6.2,5.6,\n"),
        ".csv line 2: the cell under 'sd' is empty; give a number or leave the row out\n");
    EXPECT_NE(studyRefusal({ "rules" }, "set,level,z\n1,low,nan\n").find("line 2: 'nan' under 'z' is not a number"), std::string::npos);
    EXPECT_NE(studyRefusal({ "rules" }, "set,level,z\n1,low,1\n2,low,1\n1,high,1\n").find("line 4: set '1' comes back"), std::string::npos);
    EXPECT_NE(
        studyRefusal({ "rules" }, "set,level,z\n1,low,1\n1,low,1\n").find("line 3: set '1' has level 'low' twice"), std::string::npos);
    EXPECT_NE(studyRefusal({ "rules" }, "set,level,z\n1,,1\n").find("line 2: the cell under 'level' is empty"), std::string::npos);
    EXPECT_NE(studyRefusal({ "rules" }, "set,z\n1,1\n").find("line 1: has no column 'level'"), std::string::npos);
    EXPECT_NE(studyRefusal({ "rules" }, "set,level,value\n1,low,1\n").find("line 1: has no column 'mean'"), std::string::npos);
    EXPECT_NE(studyRefusal({ "rules" }, "set,level\n1,low\n").find("line 1: has no column 'z' and no columns"), std::string::npos);
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

// Columns that were mixed up make one set of all rows. Each level was looked for among all before it: minutes for this file.
TEST(StudyRulesCommand, ReadsASetOfVeryManyLevelsInOnePass)
{
    std::string bytes = "level,set,z\n";
    for (int i = 0; i < 300'000; ++i)
        bytes += std::to_string(i) + ",1," + (i % 3 == 0 ? "3.5\n" : "0\n");
    const auto outcome = runStudies({ "rules", studyCsv(bytes) });
    EXPECT_EQ(outcome.status, 0);
    EXPECT_TRUE(testing_studies::holds(outcome.out, "1 set: 0 accepted, 0 warned, 1 rejected")) << outcome.out;
    EXPECT_EQ(studyRefusal({ "rules" }, "set,level,z\n1,a,0\n1,b,0\n1,a,0\n"),
        ".csv line 4: set '1' has level 'a' twice; only the first attempt of a level counts\n");
}

TEST(StudyRulesPlot, DrawsNoMoreLevelsThanAPaperHolds)
{
    std::string bytes = "set,level,z\n";
    for (int i = 0; i < 40; ++i)
        bytes += "1,level " + std::to_string(i) + ",0\n";
    const auto file = readStudyFile(studyCsv(bytes)).value();
    const auto rules = parseStudyRules(kStudyDefaultRules).value();
    const auto scene = studyRulesPlot(studyRules(file, rules, stats::OnLimit::In, stats::RangeReading::Opposite).value());
    EXPECT_EQ(scene.panels.size(), 12U);
    EXPECT_FALSE(scene.panels.back().x.title.empty());
    EXPECT_TRUE(testing_studies::holds(scene.footnote, "the first 12 of 40 levels"));
}

} // namespace mk::study
