// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/glucose_concentration.h"
#include "base/result.h"

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

/// Error grids: how much harm a meter's error could do at that reference value, from A (none) to E (dangerous).
namespace mk::stats {

enum class GridZone : std::uint8_t { A, B, C, D, E };

/// Which grid.
/// ConsensusType1, ConsensusType2   the consensus (Parkes) grid for type 1 and type 2 diabetes; ISO 15197 uses type 1 for everyone
/// ClarkeText      Clarke 1987 read by its words: A where both are BELOW 70, C everywhere above reference + 110; the zones that open
///                 packages for statistics give
/// ClarkeDrawing   Clarke 1987 read off its drawing, as in a program text that is much copied: A where both are AT MOST 70, borders
///                 belong to the higher zone, upper C ends at 290 where the drawing's frame ends
/// source   consensus: Pfuetzner et al. 2013, J Diabetes Sci Technol 7:1275; Clarke et al. 1987, Diabetes Care 10:622
enum class ErrorGrid { ConsensusType1, ConsensusType2, ClarkeText, ClarkeDrawing };

/// Which zone a point exactly on a border of a consensus grid gets; its papers do not say. Clarke's readings say it themselves.
enum class GridBorder { LowerRisk, HigherRisk };

/// A point of a grid, in mg/dL: the reference value and the meter's.
struct GridVertex {
    double reference = 0;
    double test = 0;
};

/// A border between zones: straight from vertex to vertex; one that goes on runs straight past its last vertex without end.
struct GridLine {
    std::vector<GridVertex> vertices;
    bool goesOn = false;
};

/// All borders of a grid, for drawing.
std::vector<GridLine> gridLines(ErrorGrid grid);

/// Whether a number can be placed in a grid: 0 to a million, in either unit.
bool isGridValue(double value);

/// The zone of every pair, exactly: each number is taken as the shortest decimal that reads back as it (nine decimals at most), and
/// mmol/L as 18.0156 mg/dL, so that a point on a border is known to be on it.
/// reference, test   [n], of one length, in `unit`
/// returns  [n]
/// errors   BadInput: columns of different lengths, a number that is no grid value, with its place counted from 1
base::Result<std::vector<GridZone>> gridZones(ErrorGrid grid, std::span<const double> reference, std::span<const double> test,
    base::GlucoseUnit unit, GridBorder border = GridBorder::LowerRisk);

/// How many pairs lie in A, B, C, D and E.
std::array<std::size_t, 5> countZones(std::span<const GridZone> zones);

/// "A" to "E".
char zoneLetter(GridZone zone);

} // namespace mk::stats
