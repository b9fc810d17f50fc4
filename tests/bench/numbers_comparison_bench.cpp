// SPDX-License-Identifier: GPL-3.0-or-later
#include "ratio.h"

#include "stats/compare/agreement.h"
#include "stats/compare/deming.h"
#include "stats/compare/pair_slopes.h"
#include "stats/compare/passing_bablok.h"

#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <string>

/// Method comparison beside its limits; goals from the page on performance.
namespace {

struct BenchPairs {
    std::vector<double> x;
    std::vector<double> y;
};

/// Glucose by two methods: log-normal levels, 5 % error each, rounded to so many decimals.
BenchPairs benchPairs(std::size_t n, int decimals)
{
    std::mt19937 random(7);
    std::normal_distribution<double> level(std::log(130), 0.45);
    std::normal_distribution<double> error(0, 0.05);
    const double power = std::pow(10, decimals);
    BenchPairs pairs;
    for (std::size_t i = 0; i < n; ++i) {
        const double truth = std::exp(level(random));
        pairs.x.push_back(std::round(truth * (1 + error(random)) * power) / power);
        pairs.y.push_back(std::round((3 + 0.97 * truth) * (1 + error(random)) * power) / power);
    }
    return pairs;
}

/// L3 of the page: std::sort of n doubles.
double sortAll(const std::vector<double>& values)
{
    std::vector<double> sorted = values;
    std::sort(sorted.begin(), sorted.end());
    return sorted[sorted.size() / 2];
}

/// All pairs and nth_element in plain doubles, by the 1983 rule: the limit for small n.
double allPairsSlope(const BenchPairs& pairs, std::vector<double>& slopes)
{
    slopes.clear();
    std::size_t below = 0;
    for (std::size_t i = 0; i < pairs.x.size(); ++i) {
        for (std::size_t j = i + 1; j < pairs.x.size(); ++j) {
            const double slope = (pairs.y[j] - pairs.y[i]) / (pairs.x[j] - pairs.x[i]);
            if (slope == -1 || std::isnan(slope))
                continue;
            below += slope < -1 ? 1U : 0U;
            slopes.push_back(slope);
        }
    }
    const auto middle = slopes.begin() + static_cast<std::ptrdiff_t>(slopes.size() / 2 + below);
    std::nth_element(slopes.begin(), middle, slopes.end());
    return *middle;
}

double plainSum(const BenchPairs& pairs)
{
    double x = 0;
    double y = 0;
    for (std::size_t i = 0; i < pairs.x.size(); ++i) {
        x += pairs.x[i];
        y += pairs.y[i];
    }
    return x + y;
}

template <typename Run>
auto manyTimes(std::size_t times, Run run)
{
    return [times, run] {
        for (std::size_t i = 0; i < times; ++i)
            mk::bench::keep(run());
    };
}

void benchLarge(std::size_t n, int decimals)
{
    const auto pairs = benchPairs(n, decimals);
    const std::string of = "n = " + std::to_string(n) + ", " + std::to_string(decimals) + " decimals";
    const auto slope = [&] { return mk::stats::passingBablokSlope(pairs.x, pairs.y); };
    const auto sort = [&] { return sortAll(pairs.x); };
    const std::size_t times = std::max<std::size_t>(1, 20'000 / n);
    mk::bench::printRatio(("Passing-Bablok slope / std::sort, " + of).c_str(), manyTimes(times, slope), manyTimes(times, sort), 60, 30);
    const auto whole = [&] { return mk::stats::passingBablok(pairs.x, pairs.y); };
    mk::bench::printRatio(
        ("... whole with intervals / slope alone, " + of).c_str(), manyTimes(times, whole), manyTimes(times, slope), 3, 2);
}

void benchSmall(std::size_t n)
{
    const auto pairs = benchPairs(n, 0);
    std::vector<double> room;
    const auto plain = [&] { return allPairsSlope(pairs, room); };
    const auto slope = [&] { return mk::stats::passingBablokSlope(pairs.x, pairs.y); };
    const std::string of = "n = " + std::to_string(n);
    const std::size_t times = 4'000'000 / (n * n);
    mk::bench::printRatio(("Passing-Bablok slope / all pairs, " + of).c_str(), manyTimes(times, slope), manyTimes(times, plain), 1.5, 0);
    const auto whole = [&] { return mk::stats::passingBablok(pairs.x, pairs.y); };
    mk::bench::printRatio(
        ("... whole with intervals / slope alone, " + of).c_str(), manyTimes(times, whole), manyTimes(times, slope), 3, 2);
}

/// Where listing all pairs stops paying.
void benchCrossing(std::size_t n)
{
    const auto pairs = benchPairs(n, 0);
    const auto points = mk::stats::onDecimalGrid(pairs.x, pairs.y);
    const auto used = mk::stats::countUsedSlopes(points);
    const std::vector<std::uint64_t> ranks = { (used + 1) / 2, used / 2 + 1 };
    const auto counted = [&] { return mk::stats::selectPairSlopes(points, ranks); };
    const auto listed = [&] {
        auto list = mk::stats::listPairSlopes(points);
        return mk::stats::slopesAtRanks(list, ranks);
    };
    mk::bench::printRatio(("  counted / listed, n = " + std::to_string(n)).c_str(), manyTimes(10, counted), manyTimes(10, listed), 0, 0);
}

} // namespace

int main()
{
    for (const std::size_t n : { 40U, 200U })
        benchSmall(n);
    for (const std::size_t n : { 200U, 400U, 800U, 1600U })
        benchCrossing(n);
    for (const std::size_t n : { 10'000U, 100'000U }) {
        for (const int decimals : { 0, 9 })
            benchLarge(n, decimals);
    }
    const auto pairs = benchPairs(1'000'000, 1);
    const auto sum = [&] { mk::bench::keep(plainSum(pairs)); };
    const auto moments = mk::stats::pairMoments(pairs.x, pairs.y).value();
    mk::bench::printRatio(
        "Deming line, 10^6 pairs / plain sum",
        [&] { mk::bench::keep(mk::stats::demingLine(mk::stats::pairMoments(pairs.x, pairs.y).value(), 1)); }, sum, 4, 2);
    mk::bench::printRatio(
        "agreement, 10^6 pairs / plain sum", [&] { mk::bench::keep(mk::stats::agreement(pairs.x, pairs.y).value()); }, sum, 4, 2);
    mk::bench::printRatio(
        "Deming jackknife, 10^6 pairs / plain sum", [&] { mk::bench::keep(mk::stats::demingJackknife(pairs.x, pairs.y, moments, 1)); }, sum,
        0, 0);
}
