// SPDX-License-Identifier: GPL-3.0-or-later
// Control rules, EWMA, CUSUM and moments of 10^7 values beside the plainest loops that do the same work.
#include "ratio.h"
#include "stats/rules/control_rules.h"
#include "stats/drift/drift.h"
#include "stats/basics/summary.h"

#include <cmath>
#include <cstdint>
#include <random>

namespace {

constexpr std::size_t kSeries = 10'000'000;

/// Thirteen rules by counters as one would first write them: the plain pass.
void plainCounters(const std::vector<double>& z, std::vector<std::uint16_t>& masks)
{
    int above = 0, below = 0, above1 = 0, below1 = 0, above2 = 0, below2 = 0, up = 0, down = 0;
    int last2 = 0, beforeLast2 = 0;
    double last = z[0];
    for (std::size_t i = 0; i < z.size(); ++i) {
        const double x = z[i];
        above = x > 0 ? above + 1 : 0;
        below = x < 0 ? below + 1 : 0;
        above1 = x > 1 ? above1 + 1 : 0;
        below1 = x < -1 ? below1 + 1 : 0;
        above2 = x > 2 ? above2 + 1 : 0;
        below2 = x < -2 ? below2 + 1 : 0;
        up = x > last ? up + 1 : 0;
        down = x < last ? down + 1 : 0;
        last = x;
        const int side2 = x > 2 ? 1 : (x < -2 ? -1 : 0);
        unsigned mask = 0;
        if (side2 != 0)
            mask |= 1U;
        if (x > 3 || x < -3)
            mask |= 2U;
        if (above2 >= 2 || below2 >= 2)
            mask |= 4U;
        if (above1 >= 4 || below1 >= 4)
            mask |= 16U;
        if (above >= 6 || below >= 6)
            mask |= 32U;
        if (above >= 8 || below >= 8)
            mask |= 64U;
        if (above >= 9 || below >= 9)
            mask |= 128U;
        if (above >= 10 || below >= 10)
            mask |= 256U;
        if (above >= 12 || below >= 12)
            mask |= 512U;
        if (above1 >= 3 || below1 >= 3)
            mask |= 1024U;
        if (side2 != 0 && (last2 == side2 || beforeLast2 == side2))
            mask |= 2048U;
        if (up >= 6 || down >= 6)
            mask |= 4096U;
        beforeLast2 = last2;
        last2 = side2;
        masks[i] = static_cast<std::uint16_t>(mask);
    }
}

/// L1: reads a double, writes a word.
void memoryPass(const std::vector<double>& z, std::vector<std::uint16_t>& masks)
{
    for (std::size_t i = 0; i < z.size(); ++i)
        masks[i] = static_cast<std::uint16_t>((z[i] > 3) | ((z[i] < -3) << 1));
}

/// L2: one chain of multiply and add, stored.
void averageChain(const std::vector<double>& z, std::vector<double>& out)
{
    double s = 0;
    for (std::size_t i = 0; i < z.size(); ++i) {
        s = 0.8 * s + 0.2 * z[i];
        out[i] = s;
    }
}

/// L2: two chains of add and max, stored.
void sumChain(const std::vector<double>& z, std::vector<double>& high, std::vector<double>& low)
{
    double up = 0, down = 0;
    for (std::size_t i = 0; i < z.size(); ++i) {
        up = std::max(0.0, up + (z[i] - 0.5));
        down = std::max(0.0, down + (-z[i] - 0.5));
        high[i] = up;
        low[i] = down;
    }
}

double naiveSum(const std::vector<double>& z)
{
    double sum = 0;
    for (const double x : z)
        sum += x;
    return sum;
}

} // namespace

int main()
{
    std::vector<double> z(kSeries);
    std::mt19937_64 random(20261125);
    std::normal_distribution<double> normal;
    for (double& x : z)
        x = std::round(normal(random) * 100) / 100;
    std::vector<std::uint16_t> masks(kSeries), plain(kSeries);
    std::vector<double> a(kSeries), b(kSeries);
    using namespace mk;

    std::printf("%zu values\n", kSeries);
    bench::printRatio(
        "13 control rules, a mask a point, beside plain counters", [&] { stats::ruleMasks(z, stats::OnLimit::In, masks); },
        [&] { plainCounters(z, plain); }, 1, 0);
    std::printf("    the same masks: %s\n", masks == plain ? "yes" : "NO");
    bench::printRatio(
        "13 control rules beside L1, a memory pass", [&] { stats::ruleMasks(z, stats::OnLimit::In, masks); }, [&] { memoryPass(z, plain); },
        0, 3);
    bench::printRatio(
        "EWMA beside L2", [&] { stats::ewmaAverages(z, 0, 0.2, a); }, [&] { averageChain(z, b); }, 1.25, 0);
    std::vector<double> low(kSeries);
    bench::printRatio(
        "two-sided CUSUM beside L2", [&] { stats::cusumSums(z, 0, 1, 0.5, a, low); }, [&] { sumChain(z, a, b); }, 1.25, 0);
    bench::printRatio(
        "mean, SD, min and max beside a naive sum", [&] { bench::keep(stats::moments(z)); }, [&] { bench::keep(naiveSum(z)); }, 3, 2);
    return 0;
}
