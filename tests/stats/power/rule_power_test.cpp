// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_power.h"

#include "reference/reference_table.h"
#include "stats/power/rule_simulation.h"
#include "stats/rule_chain_sample.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace mk::stats {

namespace {

double rejectionOf(const RuleSettings& settings, const MethodError& error, std::size_t sets = 1)
{
    const auto chances = rejectionChances(settings, std::vector { error }, sets);
    EXPECT_TRUE(chances && !chances->at(0).standardError.has_value());
    return chances ? chances->at(0).value : -1;
}

double runLengthOf(const RuleSettings& settings, double shift)
{
    const auto lengths = averageRunLengths(settings, std::vector { MethodError { shift, 1 } });
    EXPECT_TRUE(lengths && lengths->at(0) && !lengths->at(0)->standardError.has_value());
    return lengths ? lengths->at(0)->value : -1;
}

/// Columns of the power tables that our rules can say. Not 1-2.5s and 1-3.5s: our rules stand at whole SD.
struct PowerColumn {
    const char* name;
    const char* rules;
    std::size_t levels;
    RangeReading reading = RangeReading::Opposite;
};

const std::vector<PowerColumn> kPowerColumns = { { "1-2s N1", "1-2s", 1 }, { "1-2s N2", "1-2s", 2 }, { "1-3s N1", "1-3s", 1 },
    { "1-3s N2", "1-3s", 2 }, { "1-3s N4", "1-3s", 4 }, { "1-3s/2-2s N2", "1-3s/2-2s", 2 }, { "1-3s/2-2s/R-4s(A) N2", "1-3s/2-2s/R-4s", 2 },
    { "1-3s/2-2s/R-4s(B) N2", "1-3s/2-2s/R-4s", 2, RangeReading::Difference },
    { "1-3s/2-2s(any)/R-4s(A)/4-1s N4", "1-3s/2-2s/R-4s/4-1s", 4 }, { "1-3s/2of3-2s/R-4s(A)/3-1s N3", "1-3s/2of3-2s/R-4s/3-1s", 3 } };

std::string faultOfPower(const RuleSettings& settings, const MethodError& error, std::size_t sets = 1)
{
    const auto chances = rejectionChances(settings, std::vector { error }, sets);
    return chances ? std::string() : chances.error().text;
}

} // namespace

TEST(RejectionChances, MeetTheTableOfShifts)
{
    // Analytic: statistics/power_systematic_analytic.csv, six decimals.
    const reference::ReferenceTable table("statistics/power_systematic_analytic.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        for (const PowerColumn& column : kPowerColumns)
            EXPECT_NEAR(rejectionOf(powerSettings(column.rules, column.levels, column.reading), { table.number(row, "shift_in_SD"), 1 }),
                table.number(row, column.name), 6e-7)
                << column.name << " row " << row;
    }
}

TEST(RejectionChances, MeetTheTableOfRandomErrors)
{
    // Analytic: statistics/power_random_analytic.csv.
    const reference::ReferenceTable table("statistics/power_random_analytic.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        for (const PowerColumn& column : kPowerColumns)
            EXPECT_NEAR(rejectionOf(powerSettings(column.rules, column.levels, column.reading), { 0, table.number(row, "SD_factor") }),
                table.number(row, column.name), 6e-7)
                << column.name << " row " << row;
    }
}

TEST(RejectionChances, MeetTheTableAtTheCriticalError)
{
    // Analytic: statistics/ped_at_critical_error_analytic.csv, four decimals; without 1-2.5s and 1-3.5s.
    const reference::ReferenceTable table("statistics/ped_at_critical_error_analytic.csv");
    const std::vector<PowerColumn> columns = { { "ped_1-2s_N2", "1-2s", 2 }, { "ped_1-3s_N2", "1-3s", 2 },
        { "ped_1-3s/2-2s/R-4s(A)_N2", "1-3s/2-2s/R-4s", 2 }, { "ped_1-3s/2-2s(any)/R-4s(A)/4-1s_N4", "1-3s/2-2s/R-4s/4-1s", 4 },
        { "ped_1-3s/2of3-2s/R-4s(A)/3-1s_N3", "1-3s/2of3-2s/R-4s/3-1s", 3 } };
    for (std::size_t row = 0; row < table.size(); ++row) {
        for (const PowerColumn& column : columns)
            EXPECT_NEAR(rejectionOf(powerSettings(column.rules, column.levels), { table.number(row, "dSEcrit"), 1 }),
                table.number(row, column.name), 6e-5)
                << column.name << " row " << row;
    }
}

TEST(RejectionChances, MeetTheTableOfFalseRejection)
{
    // Analytic: statistics/pfr_analytic.csv, eight decimals. Not said by our rules: limits of 2.5 and 3.5 SD, six levels, and 2-2s of two
    // adjacent levels only (ControlSeries takes any two of a complete set).
    struct Row {
        const char* name;
        const char* rules;
        RangeReading reading = RangeReading::Opposite;
        bool inSets = false; // N results of one level, one a set
    };
    const std::vector<Row> rows = { { "1-2s", "1-2s" }, { "1-3s", "1-3s" }, { "2-2s (within run, both beyond the same 2s limit)", "2-2s" },
        { "R-4s A (one beyond +2s and another beyond -2s)", "R-4s" }, { "R-4s B (range > 4s)", "R-4s", RangeReading::Difference },
        { "4-1s (all 4 beyond the same 1s limit)", "4-1s" }, { "3-1s (all 3 beyond the same 1s limit)", "3-1s" },
        { "2of3-2s (2 of 3 beyond the same 2s limit)", "2of3-2s" }, { "6x (all 6 of one fixed window on one side)", "6x", {}, true },
        { "8x (all 8 of one fixed window on one side)", "8x", {}, true }, { "9x (all 9 of one fixed window on one side)", "9x", {}, true },
        { "10x (all 10 of one fixed window on one side)", "10x", {}, true },
        { "12x (all 12 of one fixed window on one side)", "12x", {}, true }, { "1-3s/2-2s", "1-3s/2-2s" },
        { "1-3s/2-2s/R-4s (R-4s A)", "1-3s/2-2s/R-4s" }, { "1-3s/2-2s/R-4s (R-4s B)", "1-3s/2-2s/R-4s", RangeReading::Difference },
        { "1-3s/2of3-2s/R-4s (R-4s A)", "1-3s/2of3-2s/R-4s" }, { "1-3s/2of3-2s/R-4s/3-1s (R-4s A)", "1-3s/2of3-2s/R-4s/3-1s" },
        { "1-3s/2-2s/R-4s (2-2s = any two of N; R-4s A)", "1-3s/2-2s/R-4s" },
        { "1-3s/2-2s/R-4s/4-1s (2-2s = any two of N; R-4s A)", "1-3s/2-2s/R-4s/4-1s" } };
    const reference::ReferenceTable table("statistics/pfr_analytic.csv");
    std::size_t checked = 0;
    for (std::size_t i = 0; i < table.size(); ++i) {
        const auto n = static_cast<std::size_t>(table.number(i, "N"));
        const auto row = std::ranges::find_if(rows, [&](const Row& one) { return one.name == table.text(i, "rule"); });
        if (row == rows.end() || (!row->inSets && n > kMostPowerLevels))
            continue;
        EXPECT_NEAR(rejectionOf(powerSettings(row->rules, row->inSets ? 1 : n, row->reading), {}, row->inSets ? n : 1),
            table.number(i, "pfr"), 6e-9)
            << row->name << ' ' << n;
        ++checked;
    }
    EXPECT_EQ(checked, 30U);
}

TEST(AverageRunLengths, MeetTheTableOfOneLevel)
{
    // Analytic: statistics/westgard_single_material_arl_markov.csv, four decimals, every line.
    const reference::ReferenceTable table("statistics/westgard_single_material_arl_markov.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        for (const auto& [column, shift] : std::vector<std::pair<std::string, double>> { { "arl_shift_0", 0 }, { "arl_shift_0.5", 0.5 },
                 { "arl_shift_1", 1 }, { "arl_shift_1.5", 1.5 }, { "arl_shift_2", 2 }, { "arl_shift_3", 3 } })
            EXPECT_NEAR(runLengthOf(powerSettings(table.text(row, "rules"), 1), shift), table.number(row, column), 6e-5)
                << table.text(row, "rules") << ' ' << shift;
    }
}

TEST(AverageRunLengths, MeetChampAndWoodall)
{
    // Champ & Woodall, Technometrics 1987, table 1 (published to two decimals), and its recomputation. C12's 2 of 3 beyond 2 SD is our
    // 2of3-2s. Not said by our rules: 4 of 5 beyond 1 SD, in C13 and C1234.
    const reference::ReferenceTable table("statistics/run_rules_arl_champ_woodall.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        for (const auto& [column, rules] :
            std::vector<std::pair<std::string, std::string>> { { "C1", "1-3s" }, { "C12", "1-3s/2of3-2s" }, { "C14", "1-3s/8x" } }) {
            const double length = runLengthOf(powerSettings(rules, 1), table.number(row, "shift_in_SD"));
            EXPECT_NEAR(length, table.number(row, "calc_" + column), 6e-5) << column << " row " << row;
            EXPECT_NEAR(length, table.number(row, "pub_" + column), 5.1e-3) << column << " row " << row;
        }
    }
}

TEST(AverageRunLengths, MeetTheSimulatedTableOfTwoLevels)
{
    // Simulated: statistics/westgard_two_material_arl_simulated.csv; within 4.5 of its standard errors (0.0005 of rounding beside).
    const reference::ReferenceTable table("statistics/westgard_two_material_arl_simulated.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const RuleSettings settings = powerSettings(table.text(row, "rules"), 2);
        const double shift = table.number(row, "shift_in_SD");
        const auto expectChance = [&](std::size_t sets, const char* column) {
            const double exact = rejectionOf(settings, { shift, 1 }, sets);
            EXPECT_NEAR(table.number(row, column), exact, 4.5 * std::sqrt(exact * (1 - exact) / table.number(row, "replicates")))
                << column << ' ' << row;
        };
        EXPECT_NEAR(runLengthOf(settings, shift), table.number(row, "arl_runs"), 4.5 * table.number(row, "standard_error") + 5e-4) << row;
        expectChance(1, "p_reject_run1");
        expectChance(2, "p_reject_by_run2");
    }
}

TEST(AverageRunLengths, AgreeWithTheHandbook)
{
    // Handbook 6.4, simulated, two levels. False signals are counted per set there, with no fresh history after one, so rules that fire on
    // in a row count more than once: 4-1s and 10x alone show more than 1 / ARL, the others agree.
    const auto perSet = [](const char* rules) { return 100 / runLengthOf(powerSettings(rules, 2), 0); };
    EXPECT_NEAR(perSet("1-2s"), 8.9, 0.05);
    EXPECT_NEAR(perSet("1-3s"), 0.55, 0.02);
    EXPECT_NEAR(perSet("2-2s"), 0.31, 0.02);
    EXPECT_NEAR(perSet("R-4s"), 0.11, 0.01);
    EXPECT_NEAR(perSet("1-3s/2-2s/R-4s"), 0.92, 0.05);
    EXPECT_LT(perSet("4-1s"), 0.37);
    EXPECT_LT(perSet("10x"), 0.57);
    // Caught in the first set at a step of 3 SD: 97 %, 74 %, 71 %, 86 %.
    EXPECT_NEAR(rejectionOf(powerSettings("1-2s", 2), { 3, 1 }), 0.97, 0.006);
    EXPECT_NEAR(rejectionOf(powerSettings("1-3s", 2), { 3, 1 }), 0.74, 0.015);
    EXPECT_NEAR(rejectionOf(powerSettings("2-2s", 2), { 3, 1 }), 0.71, 0.006);
    EXPECT_NEAR(rejectionOf(powerSettings("1-3s/2-2s/R-4s", 2), { 3, 1 }), 0.86, 0.01);
    // Median sets to find a step of 1 SD: 3, 16, 12, 9, 10, 8, 5.
    const auto median = [](const char* rules) {
        std::size_t sets = 1;
        while (rejectionOf(powerSettings(rules, 2), { 1, 1 }, sets) < 0.5)
            ++sets;
        return static_cast<double>(sets);
    };
    EXPECT_NEAR(median("1-2s"), 3, 1);
    EXPECT_NEAR(median("1-3s"), 16, 1);
    EXPECT_NEAR(median("2-2s"), 12, 1);
    EXPECT_NEAR(median("4-1s"), 9, 1);
    EXPECT_NEAR(median("10x"), 10, 1);
    EXPECT_NEAR(median("1-3s/2-2s/R-4s/4-1s/10x"), 5, 1);
}

namespace {

double firingShareOf(const RuleSettings& settings, const MethodError& error = {})
{
    const auto shares = firingShares(settings, std::vector { error });
    EXPECT_TRUE(shares && !shares->at(0).standardError.has_value());
    return shares ? shares->at(0).value : -1;
}

} // namespace

TEST(FiringShares, MeetTheHandbookWhereCountsGoOn)
{
    // Handbook 6.4: false signals per set, 400,000 simulated sets, two levels; within 3.5 of its standard errors and its rounding.
    const std::vector<std::pair<const char*, double>> rows = { { "1-2s", 8.9 }, { "1-3s", 0.55 }, { "2-2s", 0.31 }, { "R-4s", 0.11 },
        { "4-1s", 0.37 }, { "10x", 0.57 }, { "1-3s/2-2s/R-4s", 0.92 }, { "1-3s/2-2s/R-4s/4-1s/10x", 1.83 } };
    for (const auto& [rules, percent] : rows)
        EXPECT_NEAR(100 * firingShareOf(powerSettings(rules, 2)), percent,
            3.5 * std::sqrt(percent * (100 - percent) / 400'000) + (percent > 8 ? 0.05 : 0.005))
            << rules;
}

TEST(FiringShares, AreWhatControlSeriesDoesWithoutARestart)
{
    // Simulated by ControlSeries; 4.5 standard errors.
    const auto expectSame = [](const RuleSettings& settings, const MethodError& error) {
        const Simulated simulated = simulatedFiringShare(settings, error);
        EXPECT_NEAR(firingShareOf(settings, error), simulated.value, 4.5 * simulated.standardError);
    };
    expectSame(powerSettings("1-3s/2-2s/R-4s/4-1s/10x", 2), {});
    expectSame(powerSettings("1-3s/2-2s/R-4s/4-1s/8x", 2, RangeReading::Difference), { 0.7, 1.2 });
    expectSame(powerSettings("2of3-2s/3-1s", 3), { -0.4, 1 });
    expectSame(powerSettings("2of3-2s/6x", 1), { 0.5, 1 });
}

TEST(FiringShares, AreKnownForRunsOfOneLevel)
{
    // Analytic: the last n results lie on one side of the mean, or beyond one limit.
    const double beyondOne = 0.5 * std::erfc(1 / std::sqrt(2.0));
    EXPECT_NEAR(firingShareOf(powerSettings("10x", 1)), std::pow(0.5, 9), 1e-14);
    EXPECT_NEAR(firingShareOf(powerSettings("12x/6x", 1)), std::pow(0.5, 5), 1e-14);
    EXPECT_NEAR(firingShareOf(powerSettings("4-1s", 1)), 2 * std::pow(beyondOne, 4), 1e-14);
    EXPECT_EQ(firingShareOf(powerSettings("R-4s", 1)), 0);
    // Where nothing is remembered it is the chance of one set.
    EXPECT_NEAR(firingShareOf(powerSettings("1-3s/R-4s", 2), { 1, 1.5 }), rejectionOf(powerSettings("1-3s/R-4s", 2), { 1, 1.5 }), 1e-14);
    EXPECT_TRUE(firingShares(powerSettings("1-3s/2-2s/4-1s/10x", 4), std::vector { MethodError {} })->at(0).standardError.has_value());
    EXPECT_FALSE(firingShares(powerSettings("", 2), std::vector { MethodError {} }));
}

class PowerOf : public testing::TestWithParam<std::tuple<const char*, std::size_t, RangeReading>> {
protected:
    RuleSettings settings() const { return powerSettings(std::get<0>(GetParam()), std::get<1>(GetParam()), std::get<2>(GetParam())); }
};

TEST_P(PowerOf, IsSymmetricInTheSignOfTheShift)
{
    for (const double shift : { 0.3, 1.7, 4.0 })
        EXPECT_NEAR(rejectionOf(settings(), { shift, 1.3 }, 3), rejectionOf(settings(), { -shift, 1.3 }, 3), 1e-13) << shift;
}

TEST_P(PowerOf, GrowsWithTheShiftAndWithTheSets)
{
    // R-4s alone looks for spread and finds a shift of all levels less and less.
    if (std::string(std::get<0>(GetParam())) == "R-4s")
        return;
    double before = 0;
    for (double shift = 0; shift <= 6; shift += 0.25) {
        const double now = rejectionOf(settings(), { shift, 1 }, 5);
        EXPECT_GE(now, before - 1e-13) << shift;
        before = now;
    }
    before = 0;
    for (const std::size_t sets : { 1U, 2U, 3U, 5U, 8U, 13U, 21U, 200U, 1000U }) {
        const double now = rejectionOf(settings(), { 0.5, 1 }, sets);
        EXPECT_GE(now, before - 1e-13) << sets;
        EXPECT_LE(now, 1) << sets;
        before = now;
    }
}

INSTANTIATE_TEST_SUITE_P(RulePower, PowerOf,
    testing::Combine(testing::Values("1-2s", "1-3s", "2-2s", "R-4s", "4-1s", "6x", "10x", "3-1s", "2of3-2s", "1-3s/2-2s/R-4s/4-1s/10x"),
        testing::Values(1U, 2U), testing::Values(RangeReading::Opposite, RangeReading::Difference)));

TEST(RejectionChances, GrowWithTheRandomErrorForRulesThatLookForSpread)
{
    for (const auto& [rules, levels] :
        std::vector<std::pair<const char*, std::size_t>> { { "1-2s", 1 }, { "1-3s", 2 }, { "1-3s", 4 }, { "R-4s", 2 }, { "R-4s", 4 } }) {
        for (const RangeReading reading : { RangeReading::Opposite, RangeReading::Difference }) {
            double before = 0;
            for (double random = 0.25; random <= 6; random += 0.25) {
                const double now = rejectionOf(powerSettings(rules, levels, reading), { 0, random });
                EXPECT_GE(now, before) << rules << ' ' << levels << ' ' << random;
                before = now;
            }
        }
    }
}

TEST(RejectionChances, NeedNoSimulationForATrendThatIsTooLong)
{
    const auto six = rejectionChances(powerSettings("1-3s/7T", 2), std::vector { MethodError { 1, 1 } }, 6);
    EXPECT_FALSE(six->at(0).standardError.has_value());
    EXPECT_EQ(six->at(0).value, rejectionOf(powerSettings("1-3s", 2), { 1, 1 }, 6));
    const auto seven = rejectionChances(powerSettings("1-3s/7T", 2), std::vector { MethodError { 1, 1 } }, 7);
    EXPECT_TRUE(seven->at(0).standardError.has_value());
    EXPECT_TRUE(averageRunLengths(powerSettings("1-3s/7T", 2), std::vector { MethodError { 1, 1 } })->at(0)->standardError.has_value());
}

TEST(RejectionChances, AreSimulatedWhereTheLevelsHaveTooManyStates)
{
    const RuleSettings settings = powerSettings("1-3s/2-2s/4-1s/10x", 4);
    EXPECT_FALSE(rejectionChances(settings, std::vector { MethodError {} }, 1)->at(0).standardError.has_value());
    const auto ten = rejectionChances(settings, std::vector { MethodError { 1, 1 } }, 10);
    ASSERT_TRUE(ten->at(0).standardError.has_value());
    EXPECT_NEAR(ten->at(0).value, drawnRejection(settings, { 1, 1 }, 10, 20'000, 3), 0.01);
}

TEST(AverageRunLengths, AreNothingForRulesThatCannotFire)
{
    EXPECT_FALSE(averageRunLengths(powerSettings("R-4s", 1), std::vector { MethodError {} })->at(0).has_value());
}

TEST(RejectionChances, RefuseWhatCannotBeAsked)
{
    const RuleSettings settings = powerSettings("1-3s", 2);
    EXPECT_EQ(faultOfPower(powerSettings("", 2), {}), "there is no rule that rejects; name at least one");
    EXPECT_EQ(faultOfPower(powerSettings("1-3s", 5), {}), "the number of levels must be 1 to 4");
    EXPECT_EQ(faultOfPower(powerSettings("1-3s", 0), {}), "the number of levels must be 1 to 4");
    EXPECT_EQ(faultOfPower(settings, {}, 0), "the number of sets must be 1 to 1000");
    EXPECT_EQ(faultOfPower(settings, {}, 1001), "the number of sets must be 1 to 1000");
    EXPECT_EQ(faultOfPower(settings, { 11, 1 }), "a shift of 11 SD cannot be computed; give it between -10 and 10");
    EXPECT_NE(faultOfPower(settings, { std::nan(""), 1 }), "");
    EXPECT_EQ(faultOfPower(settings, { 0, 0 }), "a random error of 0 times the SD cannot be computed; give it above 0, up to 100");
    EXPECT_NE(faultOfPower(settings, { 0, INFINITY }), "");
    EXPECT_FALSE(averageRunLengths(settings, std::vector { MethodError { 0, -1 } }));
    EXPECT_TRUE(rejectionChances(settings, {}, 1)->empty());
}

TEST(ExactCombinations, SayWhatAnAnswerCosts)
{
    EXPECT_EQ(exactCombinations(powerSettings("1-3s/2-2s/4-1s/10x", 1), kAnyNumberOfSets), 115U);
    EXPECT_EQ(exactCombinations(powerSettings("1-3s/2-2s/R-4s/4-1s/10x", 2), kAnyNumberOfSets), 115U * 115U);
    EXPECT_EQ(exactCombinations(powerSettings("1-3s/7T", 2), 6), exactCombinations(powerSettings("1-3s", 2), 6));
    EXPECT_FALSE(exactCombinations(powerSettings("1-3s/7T", 2), 7).has_value());
}

TEST(DaysUntilFound, CountsFromAMomentBetweenTwoSets)
{
    // Simulated here: a shift begins at a random moment; sets stand a third of a day apart; each then rejects with chance 0.3.
    std::mt19937_64 random(11);
    std::uniform_real_distribution<double> uniform;
    double days = 0;
    constexpr int kShifts = 200'000;
    for (int i = 0; i < kShifts; ++i) {
        double wait = uniform(random) / 3;
        while (uniform(random) >= 0.3)
            wait += 1.0 / 3;
        days += wait;
    }
    EXPECT_NEAR(days / kShifts, daysUntilFound(1 / 0.3, 3), 0.01);
    EXPECT_DOUBLE_EQ(daysUntilFound(1, 1), 0.5);
}

TEST(FalseAlarms, AreOneForEachAverageRunLength)
{
    // Handbook 6.4: 1-2s as a reject rule shows a false alarm nearly every day on a ward with 10 meters and one set a day.
    EXPECT_NEAR(falseAlarms(10, 1, 30, runLengthOf(powerSettings("1-2s", 2), 0)), 26.7, 0.05);
    EXPECT_NEAR(falseAlarmsGoingOn(10, 1, 30, firingShareOf(powerSettings("1-2s", 2))), 26.7, 0.05); // it remembers nothing
}

} // namespace mk::stats
