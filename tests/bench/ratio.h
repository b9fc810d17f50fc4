// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <vector>

/// Code beside its limit, in turn on the same machine: A B A B … after one warm-up of each.
namespace mk::bench {

/// Keeps a result from being optimised away.
template <typename T>
void keep(const T& value)
{
    asm volatile("" : : "r"(&value) : "memory");
}

/// Seconds that one call takes.
template <typename Run>
double seconds(Run&& run)
{
    const auto begin = std::chrono::steady_clock::now();
    run();
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

/// Prints the median of at least five ratios of the code's time to the limit's, with the smallest and largest, and both median times.
/// must, aim   goals for that ratio; 0: none stated
template <typename Code, typename Limit>
double printRatio(const char* name, Code&& code, Limit&& limit, double must, double aim, int pairs = 7)
{
    std::vector<double> ratios, codes, limits;
    code();
    limit();
    for (int i = 0; i < pairs; ++i) {
        codes.push_back(seconds(code));
        limits.push_back(seconds(limit));
        ratios.push_back(codes.back() / limits.back());
    }
    const auto middle = [](std::vector<double> values) {
        std::ranges::nth_element(values, values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2));
        return values[values.size() / 2];
    };
    const double ratio = middle(ratios);
    const auto [least, most] = std::ranges::minmax(ratios);
    std::printf(
        "%-58s %9.3g x  (%.3g to %.3g)  code %.4g ms, limit %.4g ms", name, ratio, least, most, middle(codes) * 1e3, middle(limits) * 1e3);
    if (must > 0)
        std::printf("  must %g: %s", must, ratio <= must ? "reached" : "NOT reached");
    if (aim > 0)
        std::printf(", aim %g: %s", aim, ratio <= aim ? "reached" : "not reached");
    std::printf("\n");
    return ratio;
}

} // namespace mk::bench
