// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/policy/drift_cost.h"

#include "stats/power/run_length.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

using base::badInput;
using base::Result;

namespace {

/// The usual value is itself estimated from twenty controls: its error, in SD of a set's score.
constexpr double kUsualError = 0.213;
/// Scores are divided by the SD of a result and of the usual value together.
constexpr double kScoreScale = 1.0225;

/// Nodes and weights for a standard normal, from the seven-point rule for exp(-x^2). Source: Abramowitz & Stegun, table 25.10.
struct Node {
    double at, weight;
};
std::vector<Node> normalNodes()
{
    constexpr double kAt[] = { 0, 0.816287882858965, 1.673551628767471, 2.651961356835233 };
    constexpr double kWeight[] = { 0.810264617556807, 0.425607252610128, 0.0545155828191270, 0.000971781245099519 };
    const double scale = std::sqrt(std::acos(-1.0));
    std::vector<Node> nodes { { 0, kWeight[0] / scale } };
    for (std::size_t i = 1; i < std::size(kAt); ++i)
        for (const double side : { -1.0, 1.0 })
            nodes.push_back({ side * std::sqrt(2.0) * kAt[i], kWeight[i] / scale });
    return nodes;
}

/// Which part of the false tellings also stops: by how many SD of a result the limit lies away.
double stoppedPart(double limitInSd)
{
    constexpr Node kParts[] = { { 1.2, 0.6 }, { 1.5, 0.3 }, { 2, 0.08 }, { 3, 0 } };
    if (limitInSd <= kParts[0].at)
        return kParts[0].weight;
    for (std::size_t i = 1; i < std::size(kParts); ++i)
        if (limitInSd <= kParts[i].at) {
            const double share = (limitInSd - kParts[i - 1].at) / (kParts[i].at - kParts[i - 1].at);
            return kParts[i - 1].weight + share * (kParts[i].weight - kParts[i - 1].weight);
        }
    return 0;
}

} // namespace

Result<DriftCost> driftCost(const Policy& policy, const CostWard& ward)
{
    const bool sound = !ward.levels.empty() && ward.spread > 0
        && std::ranges::all_of(ward.levels, [](const CostLevel& level) { return level.cv > 0 && level.limit > 0; });
    if (!sound)
        return badInput("what a policy costs can be told only where every level has a target with an SD");
    const stats::UsualSettings settings = policy.usualSettings();
    const double f = kScoreScale / ward.spread;
    const double k = f * settings.k, h = f * settings.h;
    const auto length = [&](double shift) { return stats::cusumRunLength(k, h, shift, stats::CusumSides::One); };

    DriftCost cost;
    double rate = 0;
    for (const Node& node : normalNodes())
        for (const double side : { -1.0, 1.0 }) {
            const auto sets = length(side * kUsualError * node.at);
            if (!sets)
                return sets.error();
            rate += node.weight / *sets;
        }
    cost.falseTells = ward.setsAMonth * rate;
    double worst = 0, scores = 0, least = ward.levels.front().limit;
    for (const auto& level : ward.levels) {
        worst = std::max(worst, stoppedPart(level.limit / level.cv));
        scores += 1 / level.cv;
        least = std::min(least, level.limit);
    }
    cost.falseStops = cost.falseTells * worst;
    const auto step = [&](double percent, CostOfStep& into) -> base::Done {
        constexpr double kFurthest = 10; // beyond this the first set tells
        const auto sets = length(std::min(kFurthest, percent / std::sqrt(static_cast<double>(ward.levels.size())) * scores));
        if (!sets)
            return sets.error();
        into.percent = percent;
        into.told = *sets * ward.daysASet;
        if (percent > least)
            into.stopped = std::max(*sets, static_cast<double>(settings.newest) * least / percent) * ward.daysASet;
        return {};
    };
    if (const auto half = step(least, cost.halfLimit); !half)
        return half.error();
    if (const auto whole = step(2 * least, cost.wholeLimit); !whole)
        return whole.error();
    return cost;
}

} // namespace mk::registry
