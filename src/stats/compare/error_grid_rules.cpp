// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/error_grid_rules.h"

#include <algorithm>
#include <span>

namespace mk::stats {

namespace {

using base::WideInt;

/// A border of a consensus grid. Upper borders run over the reference value, with more risk above them; lower ones run over the meter's
/// value, with more risk to their right. `along` grows from vertex to vertex and begins at 0.
struct ConsensusVertex {
    int along = 0;
    int across = 0;
};
using ConsensusBorder = std::span<const ConsensusVertex>;
struct ConsensusGrid {
    std::array<ConsensusBorder, 4> upper; // A/B, B/C, C/D, D/E
    std::array<ConsensusBorder, 3> lower; // A/B, B/C, C/D: there is no E below
};

constexpr ConsensusVertex kType1UpperAB[] = { { 0, 50 }, { 30, 50 }, { 140, 170 }, { 280, 380 }, { 430, 550 } };
constexpr ConsensusVertex kType1UpperBC[] = { { 0, 60 }, { 30, 60 }, { 50, 80 }, { 70, 110 }, { 260, 550 } };
constexpr ConsensusVertex kType1UpperCD[] = { { 0, 100 }, { 25, 100 }, { 50, 125 }, { 80, 215 }, { 125, 550 } };
constexpr ConsensusVertex kType1UpperDE[] = { { 0, 150 }, { 35, 155 }, { 50, 550 } };
constexpr ConsensusVertex kType1LowerAB[] = { { 0, 50 }, { 30, 50 }, { 145, 170 }, { 300, 385 }, { 450, 550 } };
constexpr ConsensusVertex kType1LowerBC[] = { { 0, 120 }, { 30, 120 }, { 130, 260 }, { 250, 550 } };
constexpr ConsensusVertex kType1LowerCD[] = { { 0, 250 }, { 40, 250 }, { 150, 550 } };

constexpr ConsensusVertex kType2UpperAB[] = { { 0, 50 }, { 30, 50 }, { 230, 330 }, { 440, 550 } };
constexpr ConsensusVertex kType2UpperBC[] = { { 0, 60 }, { 30, 60 }, { 280, 550 } };
constexpr ConsensusVertex kType2UpperCD[] = { { 0, 80 }, { 25, 80 }, { 35, 90 }, { 125, 550 } };
constexpr ConsensusVertex kType2UpperDE[] = { { 0, 200 }, { 35, 200 }, { 50, 550 } };
constexpr ConsensusVertex kType2LowerAB[] = { { 0, 50 }, { 30, 50 }, { 80, 90 }, { 230, 330 }, { 450, 550 } };
constexpr ConsensusVertex kType2LowerBC[] = { { 0, 90 }, { 130, 260 }, { 250, 550 } };
constexpr ConsensusVertex kType2LowerCD[] = { { 0, 250 }, { 40, 250 }, { 110, 410 }, { 160, 550 } };

constexpr ConsensusGrid kConsensusType1 = { { kType1UpperAB, kType1UpperBC, kType1UpperCD, kType1UpperDE },
    { kType1LowerAB, kType1LowerBC, kType1LowerCD } };
constexpr ConsensusGrid kConsensusType2 = { { kType2UpperAB, kType2UpperBC, kType2UpperCD, kType2UpperDE },
    { kType2LowerAB, kType2LowerBC, kType2LowerCD } };

/// Above 0 beyond the border, 0 on it. The last piece that begins at or before the point decides, so that lines go on past their ends.
WideInt consensusSide(ConsensusBorder border, WideInt along, WideInt across, WideInt one)
{
    std::size_t end = border.size() - 1;
    while (end > 1 && along < border[end - 1].along * one)
        --end;
    const ConsensusVertex from = border[end - 1];
    const ConsensusVertex to = border[end];
    return (to.along - from.along) * (across - from.across * one) - (to.across - from.across) * (along - from.along * one);
}

GridZone consensusZone(const ConsensusGrid& grid, GridBorder onBorder, const GridPlace& place)
{
    const auto isBeyond = [&](WideInt side) { return side > 0 || (side == 0 && onBorder == GridBorder::HigherRisk); };
    const auto above = std::ranges::count_if(
        grid.upper, [&](ConsensusBorder border) { return isBeyond(consensusSide(border, place.reference, place.test, place.one)); });
    const auto below = std::ranges::count_if(
        grid.lower, [&](ConsensusBorder border) { return isBeyond(consensusSide(border, place.test, place.reference, place.one)); });
    return static_cast<GridZone>(std::max(above, below));
}

GridZone clarkeZoneByText(const GridPlace& place)
{
    const auto [x, y, one] = place;
    const WideInt apart = y < x ? x - y : y - x;
    if ((x <= 70 * one && y >= 180 * one) || (x >= 180 * one && y <= 70 * one))
        return GridZone::E;
    if (5 * apart <= x || (x < 70 * one && y < 70 * one))
        return GridZone::A;
    if (x >= 130 * one && x <= 180 * one && 5 * y < 7 * (x - 130 * one))
        return GridZone::C;
    if (x > 70 * one && y > 180 * one && y > x + 110 * one)
        return GridZone::C;
    if ((x < 70 * one || x > 240 * one) && y >= 70 * one && y < 180 * one)
        return GridZone::D;
    return GridZone::B;
}

GridZone clarkeZoneByDrawing(const GridPlace& place)
{
    const auto [x, y, one] = place;
    if ((x <= 70 * one && y <= 70 * one) || (4 * x <= 5 * y && 5 * y <= 6 * x))
        return GridZone::A;
    if ((x >= 180 * one && y <= 70 * one) || (x <= 70 * one && y >= 180 * one))
        return GridZone::E;
    if (x >= 70 * one && x <= 290 * one && y >= x + 110 * one)
        return GridZone::C;
    if (x >= 130 * one && x <= 180 * one && 5 * y <= 7 * (x - 130 * one))
        return GridZone::C;
    const bool between = y >= 70 * one && y <= 180 * one;
    if ((between && (x >= 240 * one || 3 * x <= 175 * one)) || (3 * x >= 175 * one && x <= 70 * one && 5 * y >= 6 * x))
        return GridZone::D;
    return GridZone::B;
}

std::vector<GridLine> consensusLines(const ConsensusGrid& grid)
{
    std::vector<GridLine> lines;
    for (const ConsensusBorder border : grid.upper) {
        GridLine& line = lines.emplace_back(GridLine { {}, true });
        for (const ConsensusVertex vertex : border)
            line.vertices.push_back({ static_cast<double>(vertex.along), static_cast<double>(vertex.across) });
    }
    for (const ConsensusBorder border : grid.lower) {
        GridLine& line = lines.emplace_back(GridLine { {}, true });
        for (const ConsensusVertex vertex : border)
            line.vertices.push_back({ static_cast<double>(vertex.across), static_cast<double>(vertex.along) });
    }
    return lines;
}

/// upperCEnds   whether the upper C stops at a reference of 290
std::vector<GridLine> clarkeLines(bool upperCEnds)
{
    const double corner = 175.0 / 3;
    std::vector<GridLine> lines = {
        { { { 0, 70 }, { corner, 70 }, { 550, 660 } }, true }, // A's upper border
        { { { 70, 0 }, { 70, 56 }, { 550, 440 } }, true },     // A's lower border
        { { { 70, 84 }, { 70, 180 }, { 70, 550 } }, true },    // D and E on the left
        { { { 0, 180 }, { 70, 180 } } },                       // D below E
        { { { 130, 0 }, { 180, 70 } } },                       // the lower C
        { { { 180, 0 }, { 180, 70 }, { 550, 70 } }, true },    // E on the right
        { { { 240, 70 }, { 240, 180 }, { 550, 180 } }, true }, // D on the right
    };
    if (upperCEnds)
        lines.push_back({ { { 70, 180 }, { 290, 400 }, { 290, 550 } }, true });
    else
        lines.push_back({ { { 70, 180 }, { 550, 660 } } }); // where it meets A
    return lines;
}

} // namespace

GridPlace gridPlace(base::WideDecimal reference, base::WideDecimal test, base::GlucoseUnit unit)
{
    const int decimals = std::max(reference.decimals, test.decimals);
    GridPlace place { mantissaWith(reference, decimals), mantissaWith(test, decimals), base::powerOfTen(decimals) };
    if (unit == base::GlucoseUnit::MmolPerL) {
        place.reference *= base::GlucoseConcentration::kMgPerDlPerMmolPerLTimes10000;
        place.test *= base::GlucoseConcentration::kMgPerDlPerMmolPerLTimes10000;
        place.one *= 10000;
    }
    return place;
}

GridZone exactZone(ErrorGrid grid, GridBorder border, const GridPlace& place)
{
    switch (grid) {
    case ErrorGrid::ConsensusType1: return consensusZone(kConsensusType1, border, place);
    case ErrorGrid::ConsensusType2: return consensusZone(kConsensusType2, border, place);
    case ErrorGrid::ClarkeText: return clarkeZoneByText(place);
    case ErrorGrid::ClarkeDrawing: break;
    }
    return clarkeZoneByDrawing(place);
}

std::vector<GridLine> gridLines(ErrorGrid grid)
{
    switch (grid) {
    case ErrorGrid::ConsensusType1: return consensusLines(kConsensusType1);
    case ErrorGrid::ConsensusType2: return consensusLines(kConsensusType2);
    case ErrorGrid::ClarkeText: return clarkeLines(false);
    case ErrorGrid::ClarkeDrawing: break;
    }
    return clarkeLines(true);
}

} // namespace mk::stats
