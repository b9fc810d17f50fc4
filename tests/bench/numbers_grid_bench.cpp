// SPDX-License-Identifier: GPL-3.0-or-later
/// The error grids of 10^6 pairs beside zones by plain branches in double, which know no exact border.
#include "ratio.h"

#include "stats/compare/error_grid.h"

#include <cmath>
#include <random>
#include <string>

namespace {

using mk::stats::ErrorGrid;
using mk::stats::GridZone;

struct PlainVertex {
    double along, across;
};
using PlainBorder = std::vector<PlainVertex>;

GridZone plainClarke(double x, double y)
{
    if ((x <= 70 && y >= 180) || (x >= 180 && y <= 70))
        return GridZone::E;
    if (std::abs(y - x) <= 0.2 * x || (x < 70 && y < 70))
        return GridZone::A;
    if ((x >= 130 && x <= 180 && y < 1.4 * (x - 130)) || (x > 70 && y > 180 && y > x + 110))
        return GridZone::C;
    if ((x < 70 || x > 240) && y >= 70 && y < 180)
        return GridZone::D;
    return GridZone::B;
}

bool plainBeyond(const PlainBorder& border, double along, double across)
{
    std::size_t end = border.size() - 1;
    while (end > 1 && along < border[end - 1].along)
        --end;
    const auto [fromAlong, fromAcross] = border[end - 1];
    const auto [toAlong, toAcross] = border[end];
    return across > fromAcross + (toAcross - fromAcross) / (toAlong - fromAlong) * (along - fromAlong);
}

struct PlainConsensus {
    std::vector<PlainBorder> upper, lower;
};

/// Borders from the outside in, so that the first one crossed decides.
GridZone plainConsensus(const PlainConsensus& grid, double x, double y)
{
    const bool above = y > x;
    const auto& borders = above ? grid.upper : grid.lower;
    for (std::size_t i = 0; i < borders.size(); ++i) {
        if (!plainBeyond(borders[i], above ? x : y, above ? y : x))
            return static_cast<GridZone>(i);
    }
    return static_cast<GridZone>(borders.size());
}

PlainConsensus plainBorders(ErrorGrid grid)
{
    PlainConsensus plain;
    const auto lines = mk::stats::gridLines(grid);
    for (std::size_t i = 0; i < lines.size(); ++i) {
        PlainBorder& border = (i < 4 ? plain.upper : plain.lower).emplace_back();
        for (const auto [x, y] : lines[i].vertices)
            border.push_back(i < 4 ? PlainVertex { x, y } : PlainVertex { y, x });
    }
    return plain;
}

struct GridPairs {
    std::vector<double> reference, test;
};

/// Meter values around their references. spread: 0.35 as a very poor meter's, so that every zone occurs; 0.06 as a good one's, mostly in A,
/// which branches predict well
GridPairs gridPairs(std::size_t n, double unitsPerMg, double decimals, double spread = 0.35)
{
    std::mt19937_64 random(1);
    std::lognormal_distribution<double> level(std::log(140), 0.55), error(0, spread);
    GridPairs pairs;
    const auto shown = [&](double mg) { return std::round(std::min(mg, 600.0) * unitsPerMg * decimals) / decimals; };
    for (std::size_t i = 0; i < n; ++i) {
        const double reference = level(random);
        pairs.reference.push_back(shown(reference));
        pairs.test.push_back(shown(reference * error(random)));
    }
    return pairs;
}

void benchGrid(const std::string& name, const GridPairs& pairs, mk::base::GlucoseUnit unit, ErrorGrid grid)
{
    const double factor = unit == mk::base::GlucoseUnit::MgPerDl ? 1 : 18.0156;
    const PlainConsensus borders = grid == ErrorGrid::ClarkeText ? PlainConsensus {} : plainBorders(grid);
    mk::bench::printRatio(
        name.c_str(), [&] { mk::bench::keep(mk::stats::gridZones(grid, pairs.reference, pairs.test, unit)); },
        [&] {
            std::vector<GridZone> zones(pairs.reference.size());
            for (std::size_t i = 0; i < zones.size(); ++i) {
                const double x = pairs.reference[i] * factor, y = pairs.test[i] * factor;
                zones[i] = grid == ErrorGrid::ClarkeText ? plainClarke(x, y) : plainConsensus(borders, x, y);
            }
            mk::bench::keep(zones);
        },
        1, 0.5);
}

} // namespace

int main()
{
    const auto whole = gridPairs(1'000'000, 1, 1);
    const auto tenths = gridPairs(1'000'000, 1 / 18.0156, 10);
    const auto many = gridPairs(1'000'000, 1, 1e6);
    const auto good = gridPairs(1'000'000, 1, 1, 0.06);
    const auto mg = mk::base::GlucoseUnit::MgPerDl;
    benchGrid("Clarke, 10^6 pairs, whole mg/dL", whole, mg, ErrorGrid::ClarkeText);
    benchGrid("Clarke, 10^6 pairs, mmol/L with one decimal", tenths, mk::base::GlucoseUnit::MmolPerL, ErrorGrid::ClarkeText);
    benchGrid("Clarke, 10^6 pairs, mg/dL with six decimals", many, mg, ErrorGrid::ClarkeText);
    benchGrid("Clarke, 10^6 pairs, whole mg/dL, a good meter", good, mg, ErrorGrid::ClarkeText);
    benchGrid("consensus type 1, 10^6 pairs, whole mg/dL", whole, mg, ErrorGrid::ConsensusType1);
    benchGrid("consensus type 1, 10^6 pairs, mmol/L with one decimal", tenths, mk::base::GlucoseUnit::MmolPerL, ErrorGrid::ConsensusType1);
    benchGrid("consensus type 1, 10^6 pairs, mg/dL with six decimals", many, mg, ErrorGrid::ConsensusType1);
    benchGrid("consensus type 1, 10^6 pairs, whole mg/dL, a good meter", good, mg, ErrorGrid::ConsensusType1);
}
