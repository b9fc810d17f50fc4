// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/drift/meter_or_lot.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"
#include "stats/robust/robust.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace mk::stats {

namespace {

base::Done checkMeterOrLot(const MeterDeviation& meter, std::span<const MeterDeviation> others, const MeterOrLotSettings& settings)
{
    if (const auto checked = checkConfidence(settings.confidence); !checked)
        return checked.error();
    if (!(settings.leastMatters > 0) || !std::isfinite(settings.leastMatters))
        return base::badInput("the smallest deviation that matters must be above 0 SD");
    const auto usable = [](const MeterDeviation& one) { return one.n > 0 && std::isfinite(one.meanZ) && std::abs(one.meanZ) < 1e100; };
    if (!usable(meter) || !std::ranges::all_of(others, usable))
        return base::badInput("a meter has no results or its mean deviation is no number; leave it out");
    return {};
}

/// What a group of meters says about the middle and about how meters differ.
struct OthersGroup {
    double centre = 0;
    double betweenVariance = 0;
    double centreError = 0;
    std::size_t results = 0;
};

OthersGroup othersGroup(std::span<const MeterDeviation> others)
{
    std::vector<double> means;
    std::vector<double> sampling;
    OthersGroup group;
    for (const MeterDeviation& one : others) {
        means.push_back(one.meanZ);
        sampling.push_back(1 / static_cast<double>(one.n));
        group.results += one.n;
    }
    const double usual = median(sampling);
    const double spread = scaledMad(means);
    group.centre = median(means);
    group.betweenVariance = std::max(0.0, spread * spread - usual);
    group.centreError = std::sqrt(std::numbers::pi / 2 * (group.betweenVariance + usual) / static_cast<double>(others.size()));
    return group;
}

DeviationEstimate deviationEstimate(double estimate, double error, double quantile, double leastMatters)
{
    const double half = quantile * error;
    return { estimate, error, { estimate - half, estimate + half }, std::abs(estimate) >= leastMatters && std::abs(estimate) > half };
}

DeviationFinding deviationFinding(const MeterOrLot& result, const MeterOrLotSettings& settings)
{
    const bool enough = result.otherMeters + 1 >= settings.leastMeters && result.otherResults >= settings.leastResults;
    const bool apart = enough && result.fromOthers && result.fromOthers->clear;
    const bool moved = enough && result.ofGroup && result.ofGroup->clear;
    if (apart && moved)
        return DeviationFinding::Both;
    if (apart)
        return DeviationFinding::Meter;
    if (moved)
        return DeviationFinding::Lot;
    return result.ofMeter.clear ? DeviationFinding::Undecided : DeviationFinding::None;
}

} // namespace

base::Result<MeterOrLot> meterOrLot(const MeterDeviation& meter, std::span<const MeterDeviation> others, const MeterOrLotSettings& settings)
{
    if (const auto input = checkMeterOrLot(meter, others, settings); !input)
        return input.error();
    MeterOrLot result;
    result.otherMeters = others.size();
    result.ofMeter = deviationEstimate(
        meter.meanZ, 1 / std::sqrt(static_cast<double>(meter.n)), normalFactor(settings.confidence), settings.leastMatters);
    if (others.size() >= 2) {
        const OthersGroup group = othersGroup(others);
        const double quantile = studentFactor(settings.confidence, static_cast<double>(others.size()) - 1);
        const double own = std::sqrt(group.betweenVariance + 1 / static_cast<double>(meter.n));
        result.otherResults = group.results;
        result.fromOthers = deviationEstimate(
            meter.meanZ - group.centre, std::hypot(own, group.centreError), quantile, settings.leastMatters);
        result.ofGroup = deviationEstimate(group.centre, group.centreError, quantile, settings.leastMatters);
    } else if (!others.empty()) {
        result.otherResults = others.front().n;
    }
    result.finding = deviationFinding(result, settings);
    return result;
}

} // namespace mk::stats
