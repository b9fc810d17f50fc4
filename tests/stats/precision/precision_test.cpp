// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/precision.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <numeric>
#include <random>

namespace mk::stats {

namespace {

struct PrecisionColumns {
    std::vector<std::size_t> day;
    std::vector<std::size_t> run;
    std::vector<double> value;

    PrecisionData data() const { return { day, run, value, 0 }; }
    Precision precision() const { return nestedPrecision(data()).value(); }
};

std::vector<std::size_t> precisionNumbers(const reference::ReferenceTable& table, const std::string& column)
{
    std::vector<std::size_t> numbers;
    for (const double number : table.numbers(column))
        numbers.push_back(static_cast<std::size_t>(number) - 1);
    return numbers;
}

PrecisionColumns precisionColumns(const std::string& dataset)
{
    const bool glucose = dataset == "precision_ep05_glucose";
    const bool nist = dataset.starts_with("nist_anova_SiRstv");
    const reference::ReferenceTable table(nist ? "accuracy/nist_anova_SiRstv.csv" : "accuracy/" + dataset + ".csv");
    PrecisionColumns columns;
    columns.day = precisionNumbers(table, nist ? "treatment" : "day");
    if (glucose)
        columns.run = precisionNumbers(table, "run");
    columns.value = table.numbers(glucose ? "glucose_mg_dL" : (nist ? "response" : "value"));
    return columns;
}

/// Every parameter of precision_expected.csv by its name there.
std::map<std::string, double> precisionFigures(const Precision& p)
{
    const PrecisionComponent& day = p.betweenDay.value();
    const WithinLaboratory& within = p.withinLaboratory.value();
    const double days = static_cast<double>(p.dayMeans.size());
    std::map<std::string, double> figures = { { "n", static_cast<double>(p.n) }, { "k", days }, { "mean", p.mean },
        { "SS_error", p.repeatability.ss }, { "SSW", p.repeatability.ss }, { "MS_error", p.repeatability.ms },
        { "MSW", p.repeatability.ms }, { "var_error", p.repeatability.variance }, { "sd_repeatability", p.repeatability.sd },
        { "cv_repeatability_pct", p.repeatability.cvPercent.value() }, { "SS_day", day.ss }, { "SSB", day.ss }, { "MS_day", day.ms },
        { "MSB", day.ms }, { "var_day", day.variance }, { "var_between_raw", day.varianceRaw }, { "sd_between_day", day.sd },
        { "sd_between", day.sd }, { "F", day.ms / p.repeatability.ms }, { "n0", (day.ms - p.repeatability.ms) / day.varianceRaw },
        { "var_total", within.variance }, { "sd_within_lab", within.sd }, { "cv_within_lab_pct", within.cvPercent.value() },
        { "df_within_lab_satterthwaite", within.df.value() }, { "sd_repeatability_ci95_low", p.repeatabilitySdCi.lower },
        { "sd_repeatability_ci95_high", p.repeatabilitySdCi.upper }, { "sd_within_lab_ci95_low", within.sdCi->lower },
        { "sd_within_lab_ci95_high", within.sdCi->upper } };
    if (p.betweenRun) {
        figures["SS_run"] = p.betweenRun->ss;
        figures["MS_run"] = p.betweenRun->ms;
        figures["var_run_in_day"] = p.betweenRun->variance;
        figures["sd_between_run"] = p.betweenRun->sd;
    }
    return figures;
}

double precisionTolerance(const std::string& column)
{
    return column == "8 decimals" ? 5.1e-9 : std::stod(column);
}

/// Day 0: runs of 3, 1; day 1: runs of 2, 4, 1; day 2: one run of 2; day 3: runs of 1, 2. Its values are noise.
PrecisionColumns unbalancedPrecision()
{
    const std::vector<std::vector<int>> design = { { 3, 1 }, { 2, 4, 1 }, { 2 }, { 1, 2 } };
    std::mt19937 random(5);
    std::normal_distribution<double> noise(100, 3);
    PrecisionColumns columns;
    for (std::size_t day = 0; day < design.size(); ++day) {
        for (std::size_t run = 0; run < design[day].size(); ++run) {
            for (int i = 0; i < design[day][run]; ++i) {
                columns.day.push_back(day);
                columns.run.push_back(run);
                columns.value.push_back(noise(random));
            }
        }
    }
    return columns;
}

/// What the three estimates give together for the effects of one source with variance 1, one effect at a time: their expectations.
template <typename Effect>
std::array<double, 3> expectedComponents(PrecisionColumns columns, std::size_t effects, Effect effectOf)
{
    std::array<double, 3> sums {};
    for (std::size_t effect = 0; effect < effects; ++effect) {
        for (std::size_t i = 0; i < columns.value.size(); ++i)
            columns.value[i] = effectOf(i) == effect ? 1 : 0;
        const Precision p = columns.precision();
        sums[0] += p.betweenDay->varianceRaw;
        sums[1] += p.betweenRun ? p.betweenRun->varianceRaw : 0;
        sums[2] += p.repeatability.varianceRaw;
    }
    return sums;
}

std::string precisionFault(const PrecisionColumns& columns, double confidence = 0.95)
{
    const auto precision = nestedPrecision(columns.data(), confidence);
    return precision ? std::string() : precision.error().text;
}

} // namespace

TEST(NestedPrecision, MeetsEveryPublishedFigure)
{
    const reference::ReferenceTable expected("accuracy/precision_expected.csv");
    ASSERT_EQ(expected.size(), 49U);
    for (std::size_t row = 0; row < expected.size(); ++row) {
        const std::string dataset = expected.text(row, "dataset");
        const std::string parameter = expected.text(row, "parameter");
        const auto figures = precisionFigures(precisionColumns(dataset).precision());
        const double value = expected.number(row, "expected");
        EXPECT_NEAR(figures.at(parameter), value, precisionTolerance(expected.text(row, "tolerance_or_precision")) * (1 + std::abs(value)))
            << dataset << ' ' << parameter;
    }
}

TEST(NestedPrecision, KeepsADegreeCountWhenANegativeComponentIsLeftOut)
{
    // Analytic: what is left is the mean square of replicates, so its own degrees of freedom.
    const Precision p = precisionColumns("precision_negative_component").precision();
    EXPECT_LT(p.betweenDay->varianceRaw, 0);
    EXPECT_EQ(p.betweenDay->variance, 0);
    EXPECT_NEAR(p.withinLaboratory->df.value(), 5, 1e-12);
    EXPECT_EQ(p.withinLaboratory->sdCi->lower, p.repeatabilitySdCi.lower);
}

TEST(NestedPrecision, IsUnbiasedForAnUnbalancedDesign)
{
    // The estimates are quadratic forms, so their expectation under one source is their sum over that source's unit effects: recomputed
    // here without any coefficient of the code.
    const PrecisionColumns columns = unbalancedPrecision();
    const auto day = expectedComponents(columns, 4, [&](std::size_t i) { return columns.day[i]; });
    EXPECT_NEAR(day[0], 1, 1e-12);
    EXPECT_NEAR(day[1], 0, 1e-12);
    EXPECT_NEAR(day[2], 0, 1e-12);
    const auto run = expectedComponents(columns, 20, [&](std::size_t i) { return columns.day[i] * 5 + columns.run[i]; });
    EXPECT_NEAR(run[0], 0, 1e-12);
    EXPECT_NEAR(run[1], 1, 1e-12);
    EXPECT_NEAR(run[2], 0, 1e-12);
    const auto error = expectedComponents(columns, columns.value.size(), [](std::size_t i) { return i; });
    EXPECT_NEAR(error[0], 0, 1e-12);
    EXPECT_NEAR(error[1], 0, 1e-12);
    EXPECT_NEAR(error[2], 1, 1e-12);
    EXPECT_FALSE(columns.precision().balanced);
}

TEST(NestedPrecision, IsUnbiasedForUnequalDaysWithoutRuns)
{
    PrecisionColumns columns = unbalancedPrecision();
    columns.run.clear();
    const auto day = expectedComponents(columns, 4, [&](std::size_t i) { return columns.day[i]; });
    EXPECT_NEAR(day[0], 1, 1e-12);
    EXPECT_NEAR(day[2], 0, 1e-12);
    const auto error = expectedComponents(columns, columns.value.size(), [](std::size_t i) { return i; });
    EXPECT_NEAR(error[0], 0, 1e-12);
    EXPECT_NEAR(error[2], 1, 1e-12);
    EXPECT_FALSE(columns.precision().betweenRun);
}

TEST(NestedPrecision, GivesTheDegreesOfFreedomOfUnequalDays)
{
    // Analytic: n0 = (N - sum n^2 / N) / (k - 1); the sum is MSB / n0 + (1 - 1 / n0) MSW. Days of 2, 3 and 5 results far apart.
    const PrecisionColumns columns { { 0, 0, 1, 1, 1, 2, 2, 2, 2, 2 }, {}, { 10, 12, 21, 20, 22, 30, 31, 33, 29, 30 } };
    const Precision p = columns.precision();
    const double n0 = (10 - (4 + 9 + 25) / 10.0) / 2;
    const double msb = p.betweenDay->ms;
    const double msw = p.repeatability.ms;
    const double a = msb / n0;
    const double b = (1 - 1 / n0) * msw;
    EXPECT_NEAR(p.withinLaboratory->variance, a + b, 1e-10);
    EXPECT_NEAR(p.withinLaboratory->df.value(), (a + b) * (a + b) / (a * a / 2 + b * b / 7), 1e-10);
}

TEST(NestedPrecision, DoesNotDependOnOrderLabelsOriginOrUnit)
{
    const PrecisionColumns columns = unbalancedPrecision();
    const Precision plain = columns.precision();
    std::mt19937 random(6);
    for (int repeat = 0; repeat < 30; ++repeat) {
        std::vector<std::size_t> order(columns.value.size());
        std::iota(order.begin(), order.end(), 0U);
        std::shuffle(order.begin(), order.end(), random);
        PrecisionColumns other;
        for (const std::size_t at : order) {
            other.day.push_back(3 - columns.day[at]);
            other.run.push_back(1000000 - columns.run[at] * 17);
            other.value.push_back(columns.value[at] / 18.0156 - 2);
        }
        const Precision p = other.precision();
        EXPECT_NEAR(p.betweenDay->varianceRaw * 18.0156 * 18.0156, plain.betweenDay->varianceRaw, 1e-9);
        EXPECT_NEAR(p.betweenRun->varianceRaw * 18.0156 * 18.0156, plain.betweenRun->varianceRaw, 1e-9);
        EXPECT_NEAR(p.repeatability.sd * 18.0156, plain.repeatability.sd, 1e-11);
        EXPECT_NEAR(p.withinLaboratory->df.value(), plain.withinLaboratory->df.value(), 1e-8);
    }
}

TEST(NestedPrecision, AddsTheOriginToMeansAndCvsOnly)
{
    PrecisionColumns columns = unbalancedPrecision();
    const Precision plain = columns.precision();
    for (double& value : columns.value)
        value -= 100;
    PrecisionData data = columns.data();
    data.origin = 100;
    const Precision moved = nestedPrecision(data).value();
    EXPECT_NEAR(moved.mean, plain.mean, 1e-11);
    EXPECT_NEAR(moved.dayMeans[2], plain.dayMeans[2], 1e-11);
    EXPECT_NEAR(moved.withinLaboratory->cvPercent.value(), plain.withinLaboratory->cvPercent.value(), 1e-11);
    EXPECT_NEAR(moved.repeatability.sd, plain.repeatability.sd, 1e-11);
}

TEST(NestedPrecision, LeavesOutWhatADesignCannotTell)
{
    const Precision oneDay = PrecisionColumns { { 0, 0, 0 }, {}, { 1, 2, 3 } }.precision();
    EXPECT_FALSE(oneDay.betweenDay || oneDay.betweenRun || oneDay.withinLaboratory);
    EXPECT_EQ(oneDay.repeatability.sd, 1);
    const Precision oneDayTwoRuns = PrecisionColumns { { 0, 0, 0, 0 }, { 0, 0, 1, 1 }, { 1, 3, 11, 13 } }.precision();
    EXPECT_TRUE(oneDayTwoRuns.betweenRun);
    EXPECT_FALSE(oneDayTwoRuns.withinLaboratory);
    const Precision oneRunADay = PrecisionColumns { { 0, 0, 1, 1 }, { 7, 7, 8, 8 }, { 1, 3, 11, 13 } }.precision();
    EXPECT_FALSE(oneRunADay.betweenRun);
    EXPECT_EQ(oneRunADay.betweenDay->varianceRaw, 49); // MSB 100, MSW 2, n0 2
}

TEST(NestedPrecision, GivesNoDegreesOfFreedomWhenNothingVaries)
{
    const Precision same = PrecisionColumns { { 0, 0, 1, 1 }, {}, { 5, 5, 5, 5 } }.precision();
    EXPECT_EQ(same.withinLaboratory->sd, 0);
    EXPECT_FALSE(same.withinLaboratory->df || same.withinLaboratory->sdCi);
    EXPECT_EQ(same.repeatabilitySdCi.upper, 0);
    const Precision aroundZero = PrecisionColumns { { 0, 0, 1, 1 }, {}, { -1, 1, -1, 1 } }.precision();
    EXPECT_FALSE(aroundZero.repeatability.cvPercent);
}

TEST(NestedPrecision, SaysWhatIsMissing)
{
    EXPECT_EQ(precisionFault({ {}, {}, {} }), "there is no value; give at least one");
    EXPECT_EQ(
        precisionFault({ { 0, 1 }, {}, { 1, 2 } }), "no day holds two results, so repeatability cannot be told; give replicates of a day");
    EXPECT_EQ(precisionFault({ { 0, 0 }, { 0, 1 }, { 1, 2 } }),
        "no run holds two results, so repeatability cannot be told; give replicates, or leave the run column out");
    EXPECT_EQ(precisionFault({ { 0, 0 }, { 0 }, { 1, 2 } }), "days, runs and values differ in number; give each value its day and run");
    EXPECT_EQ(precisionFault({ { 0, 2, 2 }, {}, { 1, 2, 3 } }), "a day number has no value; number the days without gaps");
    EXPECT_EQ(precisionFault({ { 0, 0 }, {}, { 1, std::nan("") } }), "value 2 is not a finite number; correct it or leave it out");
    EXPECT_EQ(precisionFault({ { 0, 0 }, {}, { 1e308, -1e308 } }), "the values are too far apart to compute with; look for a slip in them");
    EXPECT_NE(precisionFault({ { 0, 0 }, {}, { 1, 2 } }, 1), "");
}

} // namespace mk::stats
