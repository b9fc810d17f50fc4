// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/control_rules.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <sstream>
#include <string>

namespace mk::stats {

namespace {

RuleSettings ruleSettings(std::size_t levels, std::vector<Rule> rules = { allRules().begin(), allRules().end() })
{
    RuleSettings settings;
    settings.rules = std::move(rules);
    settings.levels = levels;
    return settings;
}

const std::vector<Rule> kSixRules = { Rule::OneTwoS, Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS, Rule::FourOneS, Rule::TenX };

/// "1-2s@0 2-2s": every fired rule, with its level where it has one.
std::string firedText(const std::vector<FiredRule>& fired)
{
    std::string text;
    for (const FiredRule& one : fired)
        text += (text.empty() ? "" : " ") + std::string(name(one.rule)) + (one.level ? '@' + std::to_string(*one.level) : "");
    return text;
}

/// Sets such as "0.5/-0.4, 2.1/0.3"; "-" for a level that is missing, HI and LO as they are.
std::vector<std::vector<LevelScore>> ruleSets(const std::string& text)
{
    std::vector<std::vector<LevelScore>> sets;
    std::istringstream all(text);
    for (std::string set; std::getline(all, set, ',');) {
        sets.emplace_back();
        std::istringstream cells(set);
        std::size_t level = 0;
        for (std::string cell; std::getline(cells, cell, '/'); ++level) {
            cell.erase(0, cell.find_first_not_of(' '));
            if (cell == "HI")
                sets.back().push_back({ level, ControlScore::aboveAll() });
            else if (cell == "LO")
                sets.back().push_back({ level, ControlScore::belowAll() });
            else if (cell != "-")
                sets.back().push_back({ level, ControlScore::ofZ(base::Decimal::parse(cell).value()) });
        }
    }
    return sets;
}

std::vector<std::string> firedBySet(const std::string& text, const RuleSettings& settings)
{
    ControlSeries series(settings);
    std::vector<std::string> fired;
    for (const auto& set : ruleSets(text))
        fired.push_back(firedText(series.add(set)));
    return fired;
}

using Texts = std::vector<std::string>;

const std::string kSlowDrift = "-0.3/0.2, 0.4/-0.5, -0.2/0.5, 0.6/0.1, 0.2/0.7, 0.7/-0.1, 0.5/0.9, 0.9/0.6, 0.8/1.1, 1.2/0.5, 0.9/1.3, "
                               "1.3/0.9, 1.1/1.4, 1.5/0.95, 1.3/1.6";

} // namespace

struct RuleVector {
    std::string name;
    std::string sets;
    Texts fired;
};

class HandbookVectors : public testing::TestWithParam<RuleVector> { };

// Handbook 6.3, cases A to J, computed there.
TEST_P(HandbookVectors, FireAsGiven)
{
    EXPECT_EQ(firedBySet(GetParam().sets, ruleSettings(2, kSixRules)), GetParam().fired);
}

INSTANTIATE_TEST_SUITE_P(ControlSeries, HandbookVectors,
    testing::Values(RuleVector { "A", "0.5/-0.4, 2.1/0.3, 2.2/0.1", { "", "1-2s@0", "1-2s@0 2-2s@0" } },
        RuleVector { "B", "0/0, 2.1/2.3", { "", "1-2s@0 1-2s@1 2-2s" } }, RuleVector { "C", "0/0, 2.1/-2.1", { "", "1-2s@0 1-2s@1 R-4s" } },
        RuleVector { "D", "0/0, 2.8/-1.3", { "", "1-2s@0" } }, RuleVector { "E", "1.1/1.2, 1.3/1.05", { "", "4-1s" } },
        RuleVector { "F", "1.1/0.2, 1.4/-0.3, 1.2/0.1, 1.6/0.4", { "", "", "", "4-1s@0" } }, RuleVector { "G", "2.0/0, 2.0/0", { "", "" } },
        RuleVector { "H", "3.0/0, -3.2/0", { "1-2s@0", "1-2s@0 1-3s@0" } },
        RuleVector { "I", "0.3/0.1, 0.2/0.4, 0.1/0.6, 0.5/0.2, 0.4/0.3", { "", "", "", "", "10x" } },
        RuleVector { "J", "0.3/0.1, 0.2/0.4, 0.0/0.6, 0.5/0.2, 0.4/0.3", { "", "", "", "", "" } }),
    [](const auto& one) { return one.param.name; });

TEST(ControlSeries, SeesSlowDriftByTheCountingRulesOnly)
{
    // Handbook 6.3, case K: set 11 10x across, set 13 10x level 1, set 15 4-1s.
    const Texts fired = firedBySet(kSlowDrift, ruleSettings(2, kSixRules));
    Texts expected(15);
    expected[10] = expected[11] = "10x";
    expected[12] = expected[13] = "10x@0 10x";
    expected[14] = "4-1s@0 10x@0 10x";
    EXPECT_EQ(fired, expected);
}

TEST(ControlSeries, ReadsR4sAsDifferenceWhenAsked)
{
    RuleSettings settings = ruleSettings(2, { Rule::RFourS });
    settings.rangeReading = RangeReading::Difference;
    // Handbook 6.3, case D; then exactly 4 apart; then one side only.
    EXPECT_EQ(firedBySet("2.8/-1.3, 2.2/-1.8, 5/0.5, HI/HI, LO/1", settings), (Texts { "R-4s", "", "R-4s", "", "R-4s" }));
    settings.onLimit = OnLimit::Out;
    EXPECT_EQ(firedBySet("2.2/-1.8, 2.2/-1.7", settings), (Texts { "R-4s", "" }));
}

TEST(ControlSeries, CountsAScoreOnTheLimitAsBeyondWhenAskedButNeverOnTheMean)
{
    RuleSettings settings = ruleSettings(2, { Rule::OneTwoS, Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS, Rule::FourOneS, Rule::SixX });
    settings.onLimit = OnLimit::Out;
    EXPECT_EQ(firedBySet("2/0, 2/0", settings), (Texts { "1-2s@0", "1-2s@0 2-2s@0" }));
    EXPECT_EQ(firedBySet("-2/2", settings), (Texts { "1-2s@0 1-2s@1 R-4s" }));
    EXPECT_EQ(firedBySet("3/0", settings), (Texts { "1-2s@0 1-3s@0" }));
    EXPECT_EQ(firedBySet("1/1, 1/1", settings), (Texts { "", "4-1s" }));
    EXPECT_EQ(firedBySet("0/0, 0/0, 0/0, 0/0", settings), (Texts { "", "", "", "" }));
}

TEST(ControlSeries, NeverPairsOneLevelWithTheOtherOfTheNextSet)
{
    EXPECT_EQ(firedBySet("2.1/0, 0/2.2", ruleSettings(2, { Rule::TwoTwoS, Rule::RFourS })), (Texts { "", "" }));
    EXPECT_EQ(firedBySet("0/2.2, 2.1/0", ruleSettings(2, { Rule::TwoTwoS, Rule::RFourS })), (Texts { "", "" }));
    EXPECT_EQ(firedBySet("2.1/0, -2.1/0", ruleSettings(2, { Rule::TwoTwoS, Rule::RFourS })), (Texts { "", "" }));
}

TEST(ControlSeries, LetsALevelGoOnWhereASetLacksItButBreaksTheCountAcross)
{
    const RuleSettings settings = ruleSettings(2, { Rule::TwoTwoS, Rule::FourOneS, Rule::TenX });
    EXPECT_EQ(firedBySet("2.1/0, -/0, 2.2/0", settings), (Texts { "", "", "2-2s@0" }));
    EXPECT_EQ(firedBySet("1.1/1.1, 1.1/-, 1.1/1.1", settings), (Texts { "", "", "" }));
    EXPECT_EQ(firedBySet("1.1/1.1, 1.1/-, 1.1/1.1, 1.1/1.1", settings), (Texts { "", "", "", "4-1s@0 4-1s" }));
    EXPECT_EQ(firedBySet("1/1, 1/1, 1/1, 1/-, 1/1, 1/1", settings), (Texts { "", "", "", "", "", "" }));
}

TEST(ControlSeries, NeverResetsACountBecauseARuleFired)
{
    ControlSeries series(ruleSettings(1, { Rule::OneThreeS, Rule::FourOneS }));
    std::vector<FiredRule> fired;
    for (int i = 0; i < 5; ++i)
        fired = series.add(std::vector<LevelScore> { { 0, ControlScore::ofZ(3.5) } });
    EXPECT_EQ(fired, (std::vector<FiredRule> { { Rule::OneThreeS, 0, 1 }, { Rule::FourOneS, 0, 5 } }));
}

TEST(ControlSeries, StartsEveryCountAgainAtASegmentBoundary)
{
    ControlSeries series(ruleSettings(2));
    const std::vector<LevelScore> set = { { 0, ControlScore::ofZ(2.1) }, { 1, ControlScore::ofZ(1.5) } };
    series.add(set);
    ControlSeries copy = series;
    series.restart();
    EXPECT_EQ(firedText(series.add(set)), "1-2s@0");
    EXPECT_EQ(firedText(copy.add(set)), "1-2s@0 2-2s@0 4-1s 2of3-2s@0");
}

TEST(ControlSeries, CountsHiAndLoOnTheirSide)
{
    EXPECT_EQ(firedBySet("HI/0, 2.1/0, LO/HI", ruleSettings(2, kSixRules)),
        (Texts { "1-2s@0 1-3s@0", "1-2s@0 2-2s@0", "1-2s@0 1-2s@1 1-3s@0 1-3s@1 R-4s" }));
}

TEST(ControlSeries, GivesTheLengthOfTheRunInItsOwnLevelAndAcross)
{
    ControlSeries series(ruleSettings(2, { Rule::SixX }));
    const std::vector<LevelScore> set = { { 0, ControlScore::ofZ(0.5) }, { 1, ControlScore::ofZ(0.1) } };
    for (int i = 0; i < 2; ++i)
        EXPECT_TRUE(series.add(set).empty());
    EXPECT_EQ(series.add(set), (std::vector<FiredRule> { { Rule::SixX, std::nullopt, 6 } }));
    for (int i = 0; i < 2; ++i)
        series.add(set);
    EXPECT_EQ(series.add(set), (std::vector<FiredRule> { { Rule::SixX, 0, 6 }, { Rule::SixX, 1, 6 }, { Rule::SixX, std::nullopt, 12 } }));
}

TEST(ControlSeries, ReadsNothingAcrossASingleLevel)
{
    EXPECT_EQ(firedBySet("2.1, 2.2", ruleSettings(1, { Rule::TwoTwoS })), (Texts { "", "2-2s@0" }));
}

// Handbook 6.2: "both levels in 2 sets". Where the results of whole sets do not come to the rule's number, more whole sets are read, so
// that the order of the levels never decides.
TEST(ControlSeries, ReadsWholeSetsAcrossTheLevelsInAnyOrder)
{
    const RuleSettings three = ruleSettings(3, { Rule::FourOneS });
    EXPECT_EQ(firedBySet("0.2/0.3/1.5, 1.2/1.3/1.4, 1.2/1.3/1.4", three), (Texts { "", "", "4-1s" }));
    EXPECT_EQ(firedBySet("1.5/0.3/0.2, 1.4/1.3/1.2, 1.4/1.3/1.2", three), (Texts { "", "", "4-1s" }));
    EXPECT_EQ(firedBySet("1.1/1.2/1.3/1.4, -1.1/-1.2/-1.3/-1.4", ruleSettings(4, { Rule::FourOneS })), (Texts { "4-1s", "4-1s" }));
    const RuleSettings nine = ruleSettings(2, { Rule::NineX });
    const std::string five = ", 0.1/0.1, 0.1/0.1, 0.1/0.1, 0.1/0.1, 0.1/0.1";
    for (const char* first : { "0.1/-0.1", "-0.1/0.1" })
        EXPECT_EQ(firedBySet(first + five, nine), (Texts { "", "", "", "", "", "9x" })) << first;
}

TEST(ControlSeries, NeedsSevenRisingOrFallingResultsOfOneLevel)
{
    const RuleSettings settings = ruleSettings(1, { Rule::SevenT });
    EXPECT_EQ(firedBySet("-3, -2, -1, 0, 1, 2, 3", settings), (Texts { "", "", "", "", "", "", "7T@0" }));
    EXPECT_EQ(firedBySet("0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.0, -0.1", settings), (Texts { "", "", "", "", "", "", "7T@0", "7T@0" }));
    EXPECT_EQ(firedBySet("0.1, 0.2, 0.3, 0.3, 0.4, 0.5, 0.6, 0.7", settings), Texts(8));
    EXPECT_EQ(firedBySet("0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.55, 0.5, 0.4, 0.3, 0.2, 0.1", settings),
        (Texts { "", "", "", "", "", "", "", "", "", "", "", "7T@0" }));
}

TEST(ControlSeries, ReadsTheRulesForThreeLevels)
{
    // rule definitions: 2of3-2s and 3-1s within a run of three and within a level, 6x over two runs of three
    const RuleSettings settings = ruleSettings(3, { Rule::ThreeOneS, Rule::TwoOfThreeTwoS, Rule::SixX });
    EXPECT_EQ(firedBySet("2.1/0/2.2, 0/-2.1/2.1", settings), (Texts { "2of3-2s", "2of3-2s@2" }));
    EXPECT_EQ(firedBySet("2.1/0/0, 0/0/0, 2.1/0/0, 0/0/0", settings), (Texts { "", "", "2of3-2s@0", "" }));
    EXPECT_EQ(firedBySet("2.1/0/0, 0/0/0, 0/0/0, 2.1/0/0", settings), (Texts { "", "", "", "" }));
    EXPECT_EQ(firedBySet("2.1/0/0, 0/0/0, -2.1/0/0", settings), (Texts { "", "", "" }));
    EXPECT_EQ(firedBySet("1.1/1.2/1.3, -1.1/1.1/-1.1", settings), (Texts { "3-1s", "" }));
    EXPECT_EQ(firedBySet("1.1/0/0, 1.1/0/0, 1.1/0/0", settings), (Texts { "", "", "3-1s@0" }));
    EXPECT_EQ(firedBySet("0.1/0.2/0.3, 0.3/0.1/0.1", settings), (Texts { "", "6x" }));
}

TEST(ControlSeries, MeetsBreakAllTheRules)
{
    // Published labels (their last value) and the recomputed column, see tests/reference/statistics/README.md.
    const reference::ReferenceTable table("statistics/break_all_rules_part1_N1.csv");
    ControlSeries series(ruleSettings(1, { Rule::OneTwoS, Rule::OneThreeS, Rule::TwoTwoS, Rule::FourOneS, Rule::EightX, Rule::TenX }));
    std::vector<std::string> fired;
    const auto mean = base::Decimal::parse("47").value();
    const auto sd = base::Decimal::parse("3").value();
    for (std::size_t row = 0; row < table.size(); ++row) {
        const auto value = base::Decimal::parse(table.text(row, "value")).value();
        const auto score = ControlScore::of(value, mean, sd).value();
        EXPECT_NEAR(score.z(), table.number(row, "pub_z"), 1e-12);
        fired.push_back(firedText(series.add(std::vector<LevelScore> { { 0, score } })));

        std::string expected;
        std::istringstream rules(table.text(row, "calc_all_rules_no_reset"));
        for (std::string rule; std::getline(rules, rule, ';');) {
            rule.erase(0, rule.find_first_not_of(' '));
            expected += (expected.empty() ? "" : " ") + rule.substr(0, rule.find(' ')) + "@0";
        }
        EXPECT_EQ(fired.back(), expected) << "value " << row + 1;
    }
    int labels = 0;
    for (std::size_t row = 0; row < table.size(); ++row) {
        std::string rule = table.text(row, "pub_rule_label");
        const std::string last = table.text(row, "pattern_last");
        if (rule.empty() || std::stoul(last) > fired.size())
            continue;
        rule = rule.find('x') == std::string::npos ? rule.replace(rule.find(':'), 1, "-") : rule.erase(rule.find(':'), 1);
        EXPECT_NE(fired[std::stoul(last) - 1].find(rule + "@0"), std::string::npos) << rule << " at " << last;
        ++labels;
    }
    EXPECT_EQ(labels, 7);
}

namespace {

/// A set of the exercise: mean 200 SD 4, and mean 250 SD 5.
std::vector<LevelScore> exerciseSet(const reference::ReferenceTable& table, std::size_t row)
{
    const auto score = [&](const char* column, const char* mean, const char* sd) {
        return ControlScore::of(
            base::Decimal::parse(table.text(row, column)).value(), base::Decimal::parse(mean).value(), base::Decimal::parse(sd).value())
            .value();
    };
    return { { 0, score("control1", "200", "4") }, { 1, score("control2", "250", "5") } };
}

/// "8x within material on 1" and the like, as the recomputed column of the exercise words it.
std::string exerciseText(const FiredRule& fired)
{
    const std::string rule(name(fired.rule));
    if (fired.rule == Rule::OneTwoS || fired.rule == Rule::OneThreeS)
        return rule;
    if (fired.level)
        return rule + " within material on " + std::to_string(*fired.level + 1);
    return rule + (fired.rule == Rule::TwoTwoS ? " within run" : " across materials");
}

} // namespace

TEST(ControlSeries, MeetsThePublishedDecisionsOfTheTwoControlExercise)
{
    const reference::ReferenceTable table("statistics/levey_jennings_exercise_2_controls.csv");
    ControlSeries series(ruleSettings(2, { Rule::OneTwoS, Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS }));
    for (std::size_t row = 0; row < table.size(); ++row) {
        const auto fired = series.add(exerciseSet(table, row));
        const bool rejected = std::ranges::any_of(fired, [](const FiredRule& one) { return one.rule != Rule::OneTwoS; });
        const std::string decision = rejected ? "R" : (fired.empty() ? "A" : "W(A)");
        EXPECT_EQ(decision, table.text(row, "pub_decision")) << "day " << row + 1;
        EXPECT_EQ(!fired.empty(), !table.text(row, "pub_12s").empty()) << "day " << row + 1;
    }
}

TEST(ControlSeries, MeetsEveryRecomputedRuleOfTheTwoControlExercise)
{
    const reference::ReferenceTable table("statistics/levey_jennings_exercise_2_controls.csv");
    const std::vector<Rule> rules = { Rule::OneTwoS, Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS, Rule::FourOneS, Rule::EightX,
        Rule::TenX };
    RuleSettings differences = ruleSettings(2, { Rule::RFourS });
    differences.rangeReading = RangeReading::Difference;
    ControlSeries series(ruleSettings(2, rules));
    ControlSeries readingB(differences);
    for (std::size_t row = 0; row < table.size(); ++row) {
        std::string text;
        const auto append = [&](const std::string& one) {
            if (text != one) // 1-2s stands once, however many levels it fires at
                text += (text.empty() ? "" : "; ") + one;
        };
        const bool firesByB = !readingB.add(exerciseSet(table, row)).empty();
        bool placedB = false;
        for (const FiredRule& fired : series.add(exerciseSet(table, row))) {
            const bool comesAfterB = fired.rule > Rule::RFourS;
            if (firesByB && comesAfterB && !placedB) {
                append("R-4s B");
                placedB = true;
            }
            append(fired.rule == Rule::RFourS ? "R-4s A" : exerciseText(fired));
        }
        if (firesByB && !placedB)
            append("R-4s B");
        EXPECT_EQ(text, table.text(row, "calc_all_rules_no_reset")) << "day " << row + 1;
    }
}

TEST(ControlSeries, FiresTheSameOnTheMirroredSeries)
{
    std::mt19937 random(20261118);
    std::normal_distribution<double> normal(0.3, 1.2);
    ControlSeries plain(ruleSettings(2));
    ControlSeries mirrored(ruleSettings(2));
    std::size_t firings = 0;
    for (int i = 0; i < 2000; ++i) {
        const double first = normal(random);
        const double second = normal(random);
        const auto fired = plain.add(std::vector<LevelScore> { { 0, ControlScore::ofZ(first) }, { 1, ControlScore::ofZ(second) } });
        EXPECT_EQ(fired, mirrored.add(std::vector<LevelScore> { { 0, ControlScore::ofZ(-first) }, { 1, ControlScore::ofZ(-second) } }));
        firings += fired.size();
    }
    EXPECT_GT(firings, 500U);
}

TEST(ControlSeries, FiresTheSameInEveryUnitAndWithEveryOffset)
{
    std::mt19937 random(7);
    std::uniform_int_distribution<int> steps(-10, 10);
    ControlSeries typed(ruleSettings(1));
    ControlSeries scaled(ruleSettings(1));
    ControlSeries shifted(ruleSettings(1));
    const auto decimal = [](const std::string& text) { return base::Decimal::parse(text).value(); };
    for (int i = 0; i < 3000; ++i) {
        const int value = 56 + steps(random); // tenths: mean 5.6, SD 0.3
        const std::string tenths = std::to_string(value / 10) + '.' + std::to_string(value % 10);
        const auto a = ControlScore::of(decimal(tenths), decimal("5.6"), decimal("0.3")).value();
        const auto b = ControlScore::of(decimal(std::to_string(value * 7)), decimal("392"), decimal("21")).value();
        const auto c = ControlScore::of(decimal("1230" + tenths), decimal("12305.6"), decimal("0.3"));
        const auto fired = typed.add(std::vector<LevelScore> { { 0, a } });
        EXPECT_EQ(fired, scaled.add(std::vector<LevelScore> { { 0, b } }));
        EXPECT_EQ(fired, shifted.add(std::vector<LevelScore> { { 0, c.value() } }));
    }
}

TEST(ControlSeries, TakesAsLongToTheFirstRejectionAsTheMarkovChainSays)
{
    // Analytic run lengths, see the README; a seeded simulation of 4000 series a cell, held to 5 standard errors.
    const reference::ReferenceTable table("statistics/westgard_single_material_arl_markov.csv");
    std::mt19937_64 random(42);
    std::normal_distribution<double> normal;
    for (std::size_t row = 0; row < table.size(); ++row) {
        std::vector<Rule> rules;
        std::istringstream names(table.text(row, "rules"));
        for (std::string rule; std::getline(names, rule, '/');)
            rules.push_back(ruleNamed(rule).value());
        ControlSeries series(ruleSettings(1, rules));
        const int runs = 4000;
        double sum = 0;
        double squares = 0;
        for (int run = 0; run < runs; ++run) {
            series.restart();
            int length = 1;
            while (series.add(std::vector<LevelScore> { { 0, ControlScore::ofZ(normal(random) + 2) } }).empty())
                ++length;
            sum += length;
            squares += static_cast<double>(length) * length;
        }
        const double mean = sum / runs;
        const double error = std::sqrt((squares / runs - mean * mean) / runs);
        EXPECT_NEAR(mean, table.number(row, "arl_shift_2"), 5 * error) << table.text(row, "rules");
    }
}

// The pass over plain numbers and the counts over exact decimals are two ways to the same rules.
TEST(RuleMasks, AreWhatASeriesOfOneLevelFires)
{
    std::mt19937 random(20261125);
    std::normal_distribution<double> normal(0.3, 1.3);
    for (const OnLimit onLimit : { OnLimit::In, OnLimit::Out }) {
        std::vector<double> z;
        std::vector<RuleMask> expected;
        RuleSettings settings = ruleSettings(1);
        settings.onLimit = onLimit;
        ControlSeries series(settings);
        for (int i = 0; i < 20'000; ++i) {
            // Half steps, so that scores stand on limits, on the mean and on each other.
            const int tenths = static_cast<int>(std::lround(normal(random) * (i % 2 == 0 ? 2 : 10))) * (i % 2 == 0 ? 5 : 1);
            const auto text = std::string(tenths < 0 ? "-" : "") + std::to_string(std::abs(tenths) / 10) + '.'
                + std::to_string(std::abs(tenths) % 10);
            z.push_back(std::stod(text));
            const LevelScore score { 0, ControlScore::ofZ(base::Decimal::parse(text).value()) };
            expected.push_back(0);
            for (const FiredRule& fired : series.add({ &score, 1 }))
                expected.back() = static_cast<RuleMask>(expected.back() | maskOf(fired.rule));
        }
        std::vector<RuleMask> masks(z.size());
        ruleMasks(z, onLimit, masks);
        EXPECT_EQ(masks, expected);
        RuleMask all = 0;
        for (const RuleMask mask : masks)
            all = static_cast<RuleMask>(all | mask);
        for (const Rule rule : allRules())
            EXPECT_EQ((all & maskOf(rule)) != 0, rule != Rule::RFourS) << name(rule);
    }
}

TEST(RuleMasks, OfNothingAreNothing)
{
    ruleMasks({}, OnLimit::In, {});
}

TEST(LevelCounts, HaveAMaskBitWhereverTheyHavePoints)
{
    std::mt19937 random(7);
    std::uniform_int_distribution<int> side(-1, 1);
    LevelCounts counts;
    for (int i = 0; i < 50'000; ++i) {
        const int two = side(random);
        counts.take({ side(random) >= 0 ? 1 : -1, i % 50 < 40 ? 1 : side(random), two, two * std::abs(side(random)) },
            i % 60 < 50 ? 1 : side(random));
        for (const Rule rule : allRules())
            ASSERT_EQ((counts.mask() & maskOf(rule)) != 0, counts.points(rule) > 0) << name(rule) << " at " << i;
    }
}

// tests/reference/statistics/rule_definitions.csv: every rule of the public lessons and worksheets that its README names.
TEST(Rule, HasEveryRuleOfTheDefinitions)
{
    const reference::ReferenceTable table("statistics/rule_definitions.csv");
    EXPECT_EQ(table.size(), allRules().size());
    for (std::size_t row = 0; row < table.size(); ++row)
        EXPECT_TRUE(ruleNamed(table.text(row, "rule"))) << table.text(row, "rule");
}

TEST(Rule, IsReadAsItIsWritten)
{
    for (const Rule rule : allRules())
        EXPECT_EQ(ruleNamed(name(rule)), rule);
    EXPECT_EQ(allRules().size(), 13U);
    EXPECT_EQ(name(Rule::SevenT), "7T");
    for (const char* other : { "", "1_2s", "1-2S", "10_x", "5x" })
        EXPECT_EQ(ruleNamed(other), std::nullopt) << other;
}

} // namespace mk::stats
