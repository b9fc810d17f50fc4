// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/agreement.h"
#include "stats/compare/deming.h"
#include "stats/compare/errors_in_variables.h"
#include "stats/compare/least_squares.h"
#include "stats/compare/pair_slopes.h"
#include "stats/compare/passing_bablok.h"
#include "stats/basics/distributions.h"
#include "stats/compare/weighted_deming.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <map>

/// Every row of tests/reference/accuracy/method_comparison_expected.csv, whose columns name its sources.
namespace mk::stats {

namespace {

/// Our value for each row, under "dataset / method / parameter".
using ComparisonValues = std::map<std::string, double>;

struct ComparisonData {
    std::string name;
    std::vector<double> x;
    std::vector<double> y;
};

ComparisonData comparisonData(const std::string& name, const std::string& file, const std::string& x, const std::string& y)
{
    const reference::ReferenceTable table("accuracy/" + file);
    return { name, table.numbers(x), table.numbers(y) };
}

void addLeastSquares(ComparisonValues& values, const ComparisonData& data)
{
    const auto fit = leastSquares(data.x, data.y).value();
    const std::string key = data.name + " / OLS y on x / ";
    values[key + "slope"] = fit.line->slope;
    values[key + "intercept"] = fit.line->intercept;
    values[key + "slope_se"] = fit.uncertainty->slopeError();
    values[key + "intercept_se"] = fit.uncertainty->errorAt(0);
    values[key + "slope_ci95_low"] = fit.slopeCi->lower;
    values[key + "slope_ci95_high"] = fit.slopeCi->upper;
    values[key + "intercept_ci95_low"] = fit.interceptCi->lower;
    values[key + "intercept_ci95_high"] = fit.interceptCi->upper;
    values[key + "r"] = fit.r.value();
    values[key + "s_y.x"] = fit.residualSd.value();
}

void addDeming(ComparisonValues& values, const std::string& key, const Deming& fit)
{
    values[key + "slope"] = fit.line->slope;
    values[key + "intercept"] = fit.line->intercept;
    values[key + "slope_jackknife_se"] = fit.uncertainty->slopeError();
    values[key + "intercept_jackknife_se"] = fit.uncertainty->errorAt(0);
    values[key + "slope_ci95_low_t(n-2)"] = fit.slopeCi->lower;
    values[key + "slope_ci95_high_t(n-2)"] = fit.slopeCi->upper;
    values[key + "intercept_ci95_low_t(n-2)"] = fit.interceptCi->lower;
    values[key + "intercept_ci95_high_t(n-2)"] = fit.interceptCi->upper;
}

/// Vertical pairs that the reference takes as minus infinity: those whose first point in the file is the lower one.
double verticalDownwards(const ComparisonData& data)
{
    double count = 0;
    for (std::size_t i = 0; i < data.x.size(); ++i) {
        for (std::size_t j = i + 1; j < data.x.size(); ++j)
            count += data.x[i] == data.x[j] && data.y[i] < data.y[j] ? 1 : 0;
    }
    return count;
}

void addPassingBablok(ComparisonValues& values, const ComparisonData& data)
{
    const auto fit = passingBablok(data.x, data.y).value();
    const auto counts = countPairSlopes(onDecimalGrid(data.x, data.y));
    const std::string key = data.name + " / Passing-Bablok 1983 / ";
    values[key + "n_slopes_used_N"] = static_cast<double>(fit.slopes);
    values[key + "identical_pairs_dropped"] = static_cast<double>(counts.identical);
    values[key + "vertical_pairs"] = static_cast<double>(counts.vertical);
    values[key + "slopes_equal_-1_dropped"] = static_cast<double>(counts.minusOne);
    values[key + "offset_K"] = static_cast<double>(counts.below) + verticalDownwards(data);
    const auto n = static_cast<double>(data.x.size());
    values[key + "C_gamma"] = normalFactor(0.95) * std::sqrt(n * (n - 1) * (2 * n + 5) / 18);
    values[key + "M1"] = static_cast<double>(fit.lowerRank.value());
    values[key + "M2"] = static_cast<double>(fit.upperRank.value());
    values[key + "slope"] = fit.slope.value();
    values[key + "intercept"] = fit.intercept.value();
    values[key + "slope_ci95_low"] = fit.slopeCi->lower;
    values[key + "slope_ci95_high"] = fit.slopeCi->upper;
    values[key + "intercept_ci95_low"] = fit.interceptCi->lower;
    values[key + "intercept_ci95_high"] = fit.interceptCi->upper;
}

/// The limits of 1986: 2 SD instead of 1.96, which agreement() does not offer, with its simple standard error.
void addTwoSdLimits(ComparisonValues& values, const ComparisonData& data)
{
    const auto found = agreement(data.y, data.x, 0.95, LimitError::Simple).value(); // difference: x minus y
    const double t = studentFactor(0.95, 16);
    const double lower = found.bias - 2 * found.sd.value();
    const double upper = found.bias + 2 * found.sd.value();
    const double reach = t * found.limitError.value();
    const std::string paper = data.name + " / BA 1986, limits = mean +- 2 SD, rounded intermediates / ";
    values[paper + "n"] = static_cast<double>(found.n);
    values[paper + "mean_difference_wright_minus_mini"] = found.bias;
    values[paper + "sd_of_differences"] = found.sd.value();
    values[paper + "lower_limit_2sd"] = lower;
    values[paper + "upper_limit_2sd"] = upper;
    for (const std::string& key : { data.name + " / BA 1986, t(16)=2.12, SE(limit)=sqrt(3 s^2/n) / ",
             data.name + " / full precision, k = 2, SE(limit)=sqrt(3)*s/sqrt(n), t(n-1) / " }) {
        values[key + "mean"] = found.bias;
        values[key + "sd"] = found.sd.value();
        values[key + "se_mean"] = found.biasError.value();
        values[key + "t_16_0.975"] = t;
        values[key + "bias_ci95_low"] = found.biasCi->lower;
        values[key + "bias_ci95_high"] = found.biasCi->upper;
        values[key + "lower_limit_2sd"] = lower;
        values[key + "upper_limit_2sd"] = upper;
        values[key + "se_limit_sqrt3"] = values[key + "se_limit_sqrt(3)*s/sqrt(n)"] = found.limitError.value();
        values[key + "lower_limit_ci95_low"] = values[key + "lower_ci_low"] = lower - reach;
        values[key + "lower_limit_ci95_high"] = values[key + "lower_ci_high"] = lower + reach;
        values[key + "upper_limit_ci95_low"] = values[key + "upper_ci_low"] = upper - reach;
        values[key + "upper_limit_ci95_high"] = values[key + "upper_ci_high"] = upper + reach;
    }
}

void addAgreement(ComparisonValues& values, const ComparisonData& data)
{
    const auto found = agreement(data.y, data.x).value();
    const std::string key = data.name + " / k = 1.959964, SE(limit)=s*sqrt(1/n+k^2/(2(n-1))), t(n-1) / ";
    values[key + "bias"] = found.bias;
    values[key + "sd"] = found.sd.value();
    values[key + "se_bias"] = found.biasError.value();
    values[key + "se_limits"] = found.limitError.value();
    values[key + "bias_ci_low"] = found.biasCi->lower;
    values[key + "bias_ci_high"] = found.biasCi->upper;
    values[key + "lower_limit"] = found.lower.value();
    values[key + "lower_ci_low"] = found.lowerCi->lower;
    values[key + "lower_ci_high"] = found.lowerCi->upper;
    values[key + "upper_limit"] = found.upper.value();
    values[key + "upper_ci_low"] = found.upperCi->lower;
    values[key + "upper_ci_high"] = found.upperCi->upper;
}

/// Mean square of the differences between two readings by one meter, out of bias and SD.
double meanSquare(const Agreement& repeats)
{
    const auto n = static_cast<double>(repeats.n);
    return repeats.sd.value() * repeats.sd.value() * (n - 1) / n + repeats.bias * repeats.bias;
}

double addRepeatability(ComparisonValues& values, const std::string& meter)
{
    const auto readings = comparisonData("ba_pefr_1986", "ba_pefr_1986.csv", meter + "_1", meter + "_2");
    const auto repeats = agreement(readings.y, readings.x).value();
    const double square = meanSquare(repeats);
    const std::string key = "ba_pefr_1986 / repeatability / " + meter + "_";
    values[key + "mean_of_repeat_difference"] = repeats.bias;
    values[key + "sqrt_mean_square_difference"] = std::sqrt(square);
    values[key + "within_subject_sd = sqrt(sum d^2/(2n))"] = std::sqrt(square / 2);
    values[key + "coefficient_2*sqrt(mean d^2), rounded as in the paper"] = 2 * std::sqrt(square);
    return square;
}

std::vector<double> meanOfReadings(const std::string& meter)
{
    auto readings = comparisonData("", "ba_pefr_1986.csv", meter + "_1", meter + "_2");
    std::ranges::transform(readings.x, readings.y, readings.x.begin(), [](double a, double b) { return (a + b) / 2; });
    return readings.x;
}

void addReplicates(ComparisonValues& values)
{
    const double wright = addRepeatability(values, "wright");
    const double mini = addRepeatability(values, "mini");
    const auto found = agreement(meanOfReadings("mini"), meanOfReadings("wright")).value();
    const std::string key = "ba_pefr_1986 / replicates averaged / ";
    values[key + "mean_difference_of_averages"] = found.bias;
    values[key + "sd_of_differences_of_averages"] = found.sd.value();
    // s² of one reading is half the mean square of the differences of two; a quarter of each meter's whole mean square is meant.
    values[key + "corrected_sd = sqrt(sD^2 + s1^2/4 + s2^2/4), s^2 = mean square of repeat differences"] = std::sqrt(
        found.sd.value() * found.sd.value() + wright / 4 + mini / 4);
}

void addErrorsInVariables(ComparisonValues& values)
{
    const reference::ReferenceTable york("accuracy/mc_pearson_york.csv");
    const auto sdOf = [&york](const std::string& column) {
        auto weights = york.numbers(column);
        std::ranges::transform(weights, weights.begin(), [](double weight) { return 1 / std::sqrt(weight); });
        return weights;
    };
    const auto fit = errorsInVariables(york.numbers("x"), york.numbers("y"), sdOf("weight_x"), sdOf("weight_y")).value();
    for (const std::string key :
        { "mc_pearson_york / York 1966, errors in both / ", "mc_pearson_york / York 2004 unified equations, full precision / " }) {
        values[key + "slope"] = fit.line.slope;
        values[key + "intercept"] = fit.line.intercept;
        values[key + "slope_se"] = fit.slopeError;
        values[key + "intercept_se"] = fit.interceptError;
        values[key + "chi_square"] = fit.chiSquare;
        values[key + "reduced_chi_square"] = fit.reducedChiSquare.value();
    }
}

std::vector<double> allBut(std::vector<double> values, std::size_t which)
{
    values.erase(values.begin() + static_cast<std::ptrdiff_t>(which));
    return values;
}

/// The rows come from the R package deming, whose jackknife is sqrt(sum of squared distances from the whole line), not Linnet's, with
/// a normal quantile.
void addRipleyThompson(ComparisonValues& values)
{
    const reference::ReferenceTable arsenate("accuracy/mc_arsenate.csv");
    const auto x = arsenate.numbers("aas");
    const auto y = arsenate.numbers("aes");
    const auto sdX = arsenate.numbers("se_aas");
    const auto sdY = arsenate.numbers("se_aes");
    const auto fit = errorsInVariables(x, y, sdX, sdY).value();
    double slopeSquares = 0;
    double interceptSquares = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const auto line = errorsInVariables(allBut(x, i), allBut(y, i), allBut(sdX, i), allBut(sdY, i)).value().line;
        slopeSquares += std::pow(line.slope - fit.line.slope, 2);
        interceptSquares += std::pow(line.intercept - fit.line.intercept, 2);
    }
    const std::string key
        = "mc_arsenate (x=aas, y=aes) / errors in variables with per-point SDs (Ripley & Thompson 1987); CI = estimate +- "
          "1.96 SE / ";
    values[key + "scale_squared"] = fit.reducedChiSquare.value();
    const auto add = [&](const std::string& name, double estimate, double squares) {
        values[key + name] = estimate;
        values[key + name + "_se_jackknife"] = std::sqrt(squares);
        values[key + name + "_ci95_low"] = estimate - normalFactor(0.95) * std::sqrt(squares);
        values[key + name + "_ci95_high"] = estimate + normalFactor(0.95) * std::sqrt(squares);
    };
    add("slope", fit.line.slope, slopeSquares);
    add("intercept", fit.line.intercept, interceptSquares);
}

/// Sen's data rise throughout, so Passing-Bablok is Theil-Sen.
void addSen(ComparisonValues& values)
{
    const auto data = comparisonData("mc_sen_1968", "mc_sen_1968.csv", "x", "y");
    const auto fit = passingBablok(data.x, data.y, 0.93).value();
    const std::string key = "mc_sen_1968 / Theil-Sen = Passing-Bablok (monotone data), 93 % CI / ";
    values[key + "slope"] = fit.slope.value();
    values[key + "intercept"] = fit.intercept.value();
    values[key + "slope_ci93_low"] = fit.slopeCi->lower;
    values[key + "slope_ci93_high"] = fit.slopeCi->upper;
}

ComparisonValues comparisonValues()
{
    const auto pefr = comparisonData("ba_pefr_1986", "ba_pefr_1986.csv", "wright_1", "mini_1");
    const auto arsenate = comparisonData("mc_arsenate (x=aas, y=aes)", "mc_arsenate.csv", "aas", "aes");
    const auto ties = comparisonData("mc_ties", "mc_ties.csv", "x", "y");
    ComparisonValues values;
    for (const ComparisonData& data : { pefr, arsenate, ties }) {
        addLeastSquares(values, data);
        addDeming(values, data.name + " / Deming, error variance ratio 1 / ", deming(data.x, data.y).value());
        addPassingBablok(values, data);
    }
    for (const ComparisonData& data : { pefr, ties })
        addDeming(values, data.name + " / weighted Deming (constant CV, Linnet), ratio 1 / ", weightedDeming(data.x, data.y).value());
    for (const double ratio : { 0.5, 2.0, 4.0 }) {
        std::string text = std::to_string(ratio);
        text.erase(text.find_last_not_of(".0") + 1);
        addDeming(values, arsenate.name + " / Deming, mcr error.ratio = var(x error)/var(y error) = " + text + " / ",
            deming(arsenate.x, arsenate.y, ratio).value());
    }
    addTwoSdLimits(values, pefr);
    addAgreement(values, pefr);
    addReplicates(values);
    addErrorsInVariables(values);
    addRipleyThompson(values);
    addSen(values);
    return values;
}

/// The tolerance that a row states, as an absolute one.
double comparisonTolerance(const reference::ReferenceTable& table, std::size_t row)
{
    const std::string& text = table.text(row, "tolerance_or_precision");
    const double size = std::abs(table.number(row, "expected"));
    if (table.text(row, "source").starts_with("Bland & Altman"))
        return 0.2; // rounded intermediates, as the status says
    if (text == "1 decimal")
        return 0.05;
    if (text == "4 decimals")
        return table.text(row, "parameter") == "scale_squared" ? 0.5e-3 : 0.5e-4; // printed as 1.358
    if (text == "7 significant digits")
        return size * 1e-6;
    if (text.starts_with("exact"))
        return size * 1e-14;
    const double stated = std::strtod(text.c_str(), nullptr);
    EXPECT_GT(stated, 0) << text;
    return std::max(stated, stated * size);
}

} // namespace

TEST(MethodComparisonReference, EveryRowAgrees)
{
    const auto values = comparisonValues();
    const reference::ReferenceTable expected("accuracy/method_comparison_expected.csv");
    EXPECT_EQ(expected.size(), 194U);
    for (std::size_t row = 0; row < expected.size(); ++row) {
        const std::string key = expected.text(row, "dataset") + " / " + expected.text(row, "method") + " / "
            + expected.text(row, "parameter");
        ASSERT_TRUE(values.contains(key)) << "row " << row + 2 << ": " << key;
        EXPECT_NEAR(values.at(key), expected.number(row, "expected"), comparisonTolerance(expected, row))
            << "row " << row + 2 << ": " << key;
    }
}

} // namespace mk::stats
