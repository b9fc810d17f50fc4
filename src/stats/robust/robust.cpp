// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/robust/robust.h"

#include "stats/basics/input_checks.h"
#include "stats/basics/summary.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

namespace mk::stats {

namespace {

double medianDeviation(std::span<const double> values, double centre)
{
    std::vector<double> deviations;
    deviations.reserve(values.size());
    for (const double value : values)
        deviations.push_back(std::abs(value - centre));
    return median(deviations);
}

/// Mean and SD of the values pulled in to `reach` around the centre, as distances from that centre.
struct PulledIn {
    long double mean = 0;
    long double sd = 0;
};

PulledIn pulledIn(std::span<const double> values, long double centre, long double reach)
{
    const auto distance = [&](double value) { return std::clamp(value - centre, -reach, reach); };
    const auto n = static_cast<long double>(values.size());
    PulledIn result;
    for (const double value : values)
        result.mean += distance(value);
    result.mean /= n;
    long double squares = 0;
    for (const double value : values)
        squares += (distance(value) - result.mean) * (distance(value) - result.mean);
    result.sd = std::sqrt(squares / (n - 1));
    return result;
}

} // namespace

double scaledMad(std::span<const double> values)
{
    assert(!values.empty());
    return kMadToSd * medianDeviation(values, median(values));
}

base::Result<std::optional<AlgorithmA>> algorithmA(std::span<const double> values, const AlgorithmAOptions& options)
{
    if (const auto numbers = checkNumbers(values, Numbers::Values); !numbers)
        return numbers.error();
    if (values.size() < 2)
        return base::badInput("there is only one value; a robust SD needs at least two");
    const auto [least, most] = std::ranges::minmax(values);
    if (!std::isfinite(most - least))
        return tooFarApart();
    if (least == most)
        return std::optional(AlgorithmA { least, 0, 0 });

    long double mean = median(values);
    long double sd = static_cast<long double>(options.startFactor) * medianDeviation(values, static_cast<double>(mean));
    for (std::size_t iteration = 1; sd > 0 && iteration <= options.mostIterations; ++iteration) {
        const PulledIn next = pulledIn(values, mean, options.k * sd);
        const long double nextSd = options.sdFactor * next.sd;
        const bool atRest = std::abs(next.mean) < options.tolerance * sd && std::abs(nextSd - sd) < options.tolerance * sd;
        mean += next.mean;
        sd = nextSd;
        if (atRest)
            return std::optional(AlgorithmA { static_cast<double>(mean), static_cast<double>(sd), iteration });
    }
    return std::optional<AlgorithmA>();
}

} // namespace mk::stats
