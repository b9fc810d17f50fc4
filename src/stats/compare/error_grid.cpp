// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/error_grid.h"

#include "stats/compare/error_grid_rules.h"

#include <algorithm>
#include <string>

namespace mk::stats {

namespace {

/// Below so many pairs, building the cells costs more than they save.
constexpr std::size_t kPairsWorthCells = 2000;
/// Cells are 1 mg/dL wide with whole numbers in their middle, since most meters show whole numbers and most borders lie on them.
constexpr int kGridCells = 640;
/// More than any rounding of a double below kGridCells.
constexpr double kGridMargin = 1e-6;
constexpr std::uint8_t kMixedCell = 0xFF;

int gridCellOf(double value)
{
    return std::clamp(static_cast<int>(value + 0.5), 0, kGridCells - 1);
}

/// The zone of every cell that no border comes near; the others are mixed, and only exact numbers decide there.
class GridCells {
public:
    GridCells(ErrorGrid grid, GridBorder border) : m_zones(static_cast<std::size_t>(kGridCells) * kGridCells)
    {
        for (const GridLine& line : gridLines(grid)) {
            for (std::size_t i = 1; i < line.vertices.size(); ++i)
                markPiece(line.vertices[i - 1], line.vertices[i]);
            if (line.goesOn)
                markPiece(line.vertices.back(), farPoint(line));
        }
        for (int column = 0; column < kGridCells; ++column)
            fillColumn(grid, border, column);
    }

    /// kMixedCell where it cannot say, too for anything outside and for NaN. In mg/dL.
    std::uint8_t at(double reference, double test) const
    {
        constexpr double kEnd = kGridCells - 1;
        if (!(reference >= 0 && reference < kEnd && test >= 0 && test < kEnd))
            return kMixedCell;
        return m_zones[indexOf(static_cast<int>(reference + 0.5), static_cast<int>(test + 0.5))];
    }

private:
    static std::size_t indexOf(int column, int row)
    {
        return static_cast<std::size_t>(column) * kGridCells + static_cast<std::size_t>(row);
    }

    static GridVertex farPoint(const GridLine& line)
    {
        const GridVertex last = line.vertices.back();
        const GridVertex before = line.vertices[line.vertices.size() - 2];
        return { last.reference + kGridCells * (last.reference - before.reference), last.test + kGridCells * (last.test - before.test) };
    }

    /// Marks the cells that a piece of a border passes or touches. Borders never run to the left.
    void markPiece(GridVertex from, GridVertex to)
    {
        const double slope = to.reference > from.reference ? (to.test - from.test) / (to.reference - from.reference) : 0;
        const int last = gridCellOf(std::min<double>(to.reference, kGridCells) + kGridMargin);
        for (int column = gridCellOf(from.reference - kGridMargin); column <= last; ++column) {
            double begin = from.test;
            double end = to.test;
            if (to.reference > from.reference) {
                const double left = std::clamp(column - 0.5 - kGridMargin, from.reference, to.reference);
                const double right = std::clamp(column + 0.5 + kGridMargin, from.reference, to.reference);
                begin = from.test + slope * (left - from.reference);
                end = from.test + slope * (right - from.reference);
            }
            markCells(column, std::min(begin, end), std::max(begin, end));
        }
    }

    void markCells(int column, double low, double high)
    {
        if (low - kGridMargin >= kGridCells)
            return;
        for (int row = gridCellOf(low - kGridMargin); row <= gridCellOf(std::min<double>(high, kGridCells) + kGridMargin); ++row)
            m_zones[indexOf(column, row)] = kMixedCell;
    }

    /// Unmarked cells that follow one another have no border between them: the first one's zone is that of all.
    void fillColumn(ErrorGrid grid, GridBorder border, int column)
    {
        std::uint8_t zone = kMixedCell;
        for (int row = 0; row < kGridCells; ++row) {
            std::uint8_t& cell = m_zones[indexOf(column, row)];
            if (cell == kMixedCell)
                zone = kMixedCell;
            else if (zone == kMixedCell)
                zone = static_cast<std::uint8_t>(exactZone(grid, border, { column, row, 1 }));
            cell = zone;
        }
    }

    std::vector<std::uint8_t> m_zones;
};

base::Result<GridZone> gridZone(ErrorGrid grid, GridBorder border, double reference, double test, base::GlucoseUnit unit)
{
    if (!isGridValue(reference) || !isGridValue(test))
        return base::badInput("an error grid takes numbers from 0 to a million; correct the pair or leave it out");
    return exactZone(grid, border, gridPlace(*base::decimalOf(reference), *base::decimalOf(test), unit));
}

} // namespace

bool isGridValue(double value)
{
    return value >= 0 && base::decimalOf(value).has_value();
}

base::Result<std::vector<GridZone>> gridZones(
    ErrorGrid grid, std::span<const double> reference, std::span<const double> test, base::GlucoseUnit unit, GridBorder border)
{
    if (reference.size() != test.size())
        return base::badInput("there are " + std::to_string(reference.size()) + " reference values and " + std::to_string(test.size())
            + " meter values; give pairs");
    std::optional<GridCells> cells;
    if (reference.size() >= kPairsWorthCells)
        cells.emplace(grid, border);
    const double factor = unit == base::GlucoseUnit::MgPerDl ? 1 : base::GlucoseConcentration::kMgPerDlPerMmolPerL;
    std::vector<GridZone> zones(reference.size());
    for (std::size_t i = 0; i < zones.size(); ++i) {
        const std::uint8_t cell = cells ? cells->at(reference[i] * factor, test[i] * factor) : kMixedCell;
        if (cell != kMixedCell) {
            zones[i] = static_cast<GridZone>(cell);
            continue;
        }
        const auto zone = gridZone(grid, border, reference[i], test[i], unit);
        if (!zone)
            return base::fault(zone.error().kind, "pair %1: %2", i + 1, zone.error());
        zones[i] = *zone;
    }
    return zones;
}

std::array<std::size_t, 5> countZones(std::span<const GridZone> zones)
{
    std::array<std::size_t, 5> counts {};
    for (const GridZone zone : zones)
        ++counts[static_cast<std::size_t>(zone)];
    return counts;
}

char zoneLetter(GridZone zone)
{
    return static_cast<char>('A' + static_cast<int>(zone));
}

} // namespace mk::stats
