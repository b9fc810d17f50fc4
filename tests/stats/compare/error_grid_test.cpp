// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/compare/error_grid.h"

#include "stats/compare/error_grid_rules.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

namespace mk::stats {

namespace {

constexpr ErrorGrid kAllGrids[] = { ErrorGrid::ConsensusType1, ErrorGrid::ConsensusType2, ErrorGrid::ClarkeText, ErrorGrid::ClarkeDrawing };

struct GridVariant {
    const char* column; // of errorgrid_points.csv, and source of errorgrid_ega_counts.csv
    ErrorGrid grid;
    GridBorder border;
};

constexpr GridVariant kGridVariants[] = {
    { "clarke_v1", ErrorGrid::ClarkeText, GridBorder::LowerRisk },
    { "clarke_v2", ErrorGrid::ClarkeDrawing, GridBorder::LowerRisk },
    { "parkes1_border_to_lower_risk", ErrorGrid::ConsensusType1, GridBorder::LowerRisk },
    { "parkes1_border_to_higher_risk", ErrorGrid::ConsensusType1, GridBorder::HigherRisk },
    { "parkes2_border_to_lower_risk", ErrorGrid::ConsensusType2, GridBorder::LowerRisk },
    { "parkes2_border_to_higher_risk", ErrorGrid::ConsensusType2, GridBorder::HigherRisk },
};

GridZone gridZoneOf(ErrorGrid grid, double reference, double test, base::GlucoseUnit unit = base::GlucoseUnit::MgPerDl,
    GridBorder border = GridBorder::LowerRisk)
{
    return gridZones(grid, { &reference, 1 }, { &test, 1 }, unit, border).value().front();
}

std::string gridZoneText(ErrorGrid grid, double reference, double test, GridBorder border = GridBorder::LowerRisk)
{
    return { zoneLetter(gridZoneOf(grid, reference, test, base::GlucoseUnit::MgPerDl, border)) };
}

/// The zones of many pairs one at a time, so that no cells are used.
std::vector<GridZone> gridZonesOneByOne(
    ErrorGrid grid, const std::vector<double>& reference, const std::vector<double>& test, base::GlucoseUnit unit, GridBorder border)
{
    std::vector<GridZone> zones;
    for (std::size_t i = 0; i < reference.size(); ++i)
        zones.push_back(gridZoneOf(grid, reference[i], test[i], unit, border));
    return zones;
}

} // namespace

// reference/accuracy/errorgrid_points.csv: exact rational arithmetic
TEST(ErrorGrid, AgreesWithEveryPublishedPoint)
{
    const reference::ReferenceTable points("accuracy/errorgrid_points.csv");
    ASSERT_GE(points.size(), 80U);
    for (std::size_t row = 0; row < points.size(); ++row) {
        const double reference = points.number(row, "reference_mg_dL");
        const double test = points.number(row, "meter_mg_dL");
        for (const GridVariant& variant : kGridVariants)
            EXPECT_EQ(gridZoneText(variant.grid, reference, test, variant.border), points.text(row, variant.column))
                << reference << '/' << test << ' ' << variant.column;
    }
}

// reference/accuracy/errorgrid_ega_counts.csv, "computed here, exact rational arithmetic". The ega vignette prints one D more for type 1:
// it draws the lower C/D line towards a type 2 vertex and says D of (541, 147).
TEST(ErrorGrid, CountsThePairsOfThePublishedStudy)
{
    const reference::ReferenceTable pairs("accuracy/errorgrid_ega_pairs.csv");
    const reference::ReferenceTable counts("accuracy/errorgrid_ega_counts.csv");
    const auto reference = pairs.numbers("reference_mg_dL");
    const auto test = pairs.numbers("meter_mg_dL");
    ASSERT_EQ(reference.size(), 5072U);
    std::size_t compared = 0;
    for (std::size_t row = 0; row < counts.size(); ++row) {
        for (const GridVariant& variant : kGridVariants) {
            if (counts.text(row, "source") != variant.column)
                continue;
            const auto zones = gridZones(variant.grid, reference, test, base::GlucoseUnit::MgPerDl, variant.border);
            ASSERT_TRUE(zones);
            const auto counted = countZones(*zones);
            for (std::size_t zone = 0; zone < counted.size(); ++zone)
                EXPECT_EQ(std::to_string(counted[zone]), counts.text(row, std::string(1, static_cast<char>('A' + zone)))) << variant.column;
            ++compared;
        }
    }
    EXPECT_EQ(compared, std::size(kGridVariants));
    EXPECT_EQ(gridZoneText(ErrorGrid::ConsensusType1, 541, 147), "C");
}

// errorgrid_parkes_coordinates.csv, Pfuetzner et al. 2013: the lines that are drawn are those of the paper.
TEST(GridLines, AreThePublishedVertices)
{
    const reference::ReferenceTable table("accuracy/errorgrid_parkes_coordinates.csv");
    std::size_t row = 0;
    for (const ErrorGrid grid : { ErrorGrid::ConsensusType1, ErrorGrid::ConsensusType2 }) {
        // The file pairs upper and lower line by boundary; the program lists the upper ones first.
        const auto lines = gridLines(grid);
        ASSERT_EQ(lines.size(), 7U);
        for (const std::size_t at : { 0U, 4U, 1U, 5U, 2U, 6U, 3U }) {
            EXPECT_TRUE(lines[at].goesOn);
            for (const GridVertex vertex : lines[at].vertices) {
                EXPECT_EQ(table.number(row, "reference_mg_dL"), vertex.reference) << "row " << row;
                EXPECT_EQ(table.number(row, "meter_mg_dL"), vertex.test) << "row " << row;
                ++row;
            }
        }
    }
    EXPECT_EQ(row, table.size());
}

TEST(GridLines, SeparateZones)
{
    // Beside the middle of every piece of border lie two different zones.
    for (const ErrorGrid grid : kAllGrids) {
        for (const GridLine& line : gridLines(grid)) {
            for (std::size_t i = 1; i < line.vertices.size(); ++i) {
                const auto [x0, y0] = line.vertices[i - 1];
                const auto [x1, y1] = line.vertices[i];
                if (x0 > 500 || y0 > 500)
                    continue;
                const double length = std::hypot(x1 - x0, y1 - y0);
                const double x = x0 + 0.3 * (x1 - x0), y = y0 + 0.3 * (y1 - y0);
                const double dx = 0.01 * (y1 - y0) / length, dy = 0.01 * (x1 - x0) / length;
                EXPECT_NE(gridZoneOf(grid, x + dx, y - dy), gridZoneOf(grid, x - dx, y + dy))
                    << static_cast<int>(grid) << " at " << x << '/' << y;
            }
        }
    }
}

TEST(ErrorGrid, DecidesBordersInDecimals)
{
    // 0.8 times 64.2 is 51.36, which no double is: exactly 20 % off is zone A.
    EXPECT_EQ(gridZoneText(ErrorGrid::ClarkeText, 164.2, 131.36), "A");
    EXPECT_EQ(gridZoneText(ErrorGrid::ClarkeText, 164.2, 131.359999999), "B");
    // On the type 1 A/B line from (30, 50) to (140, 170): y = 50 + 12/11 (x - 30).
    EXPECT_EQ(gridZoneText(ErrorGrid::ConsensusType1, 41.1, 62.109090909), "A");
    EXPECT_EQ(gridZoneText(ErrorGrid::ConsensusType1, 41.1, 62.109090910), "B");
    EXPECT_EQ(gridZoneText(ErrorGrid::ConsensusType1, 30.11, 50.12), "A");
    EXPECT_EQ(gridZoneText(ErrorGrid::ConsensusType1, 30.11, 50.12, GridBorder::HigherRisk), "B");
}

TEST(ErrorGrid, ConvertsMmolExactly)
{
    const auto mmol = base::GlucoseUnit::MmolPerL;
    // 10 mmol/L and 12 mmol/L: 20 % in any unit.
    EXPECT_EQ(gridZoneOf(ErrorGrid::ClarkeText, 10, 12, mmol), GridZone::A);
    EXPECT_EQ(gridZoneOf(ErrorGrid::ClarkeText, 10, 12.000000001, mmol), GridZone::B);
    // 70 mg/dL lies between 3.885521436 and 3.885521437 mmol/L.
    EXPECT_EQ(gridZoneOf(ErrorGrid::ClarkeText, 2, 3.885521436, mmol), GridZone::A);
    EXPECT_EQ(gridZoneOf(ErrorGrid::ClarkeText, 2, 3.885521437, mmol), GridZone::D);
}

TEST(ErrorGrid, GivesMmolAndMgTheSameZone)
{
    std::mt19937_64 random(7);
    for (int i = 0; i < 5000; ++i) {
        // A tenth of mmol/L is 1.80156 mg/dL: seven digits say it exactly.
        const auto a = static_cast<double>(random() % 334), b = static_cast<double>(random() % 334);
        for (const ErrorGrid grid : kAllGrids) {
            ASSERT_EQ(gridZoneOf(grid, a / 10, b / 10, base::GlucoseUnit::MmolPerL), gridZoneOf(grid, a * 180156 / 1e5, b * 180156 / 1e5))
                << static_cast<int>(grid) << ' ' << a << '/' << b;
        }
    }
}

TEST(ErrorGrid, GivesManyPairsTheZonesThatItGivesOne)
{
    std::mt19937_64 random(20261125);
    for (const auto unit : { base::GlucoseUnit::MgPerDl, base::GlucoseUnit::MmolPerL }) {
        for (const double digits : { 1.0, 10.0, 1000.0 }) {
            const double most = unit == base::GlucoseUnit::MgPerDl ? 700 : 38;
            std::vector<double> reference, test;
            for (int i = 0; i < 20000; ++i) {
                reference.push_back(std::floor(static_cast<double>(random() % 1000000) / 1e6 * most * digits) / digits);
                test.push_back(std::floor(static_cast<double>(random() % 1000000) / 1e6 * most * digits) / digits);
            }
            for (const ErrorGrid grid : kAllGrids) {
                for (const auto border : { GridBorder::LowerRisk, GridBorder::HigherRisk })
                    ASSERT_EQ(*gridZones(grid, reference, test, unit, border), gridZonesOneByOne(grid, reference, test, unit, border));
            }
        }
    }
}

TEST(ErrorGrid, KnowsEveryCellAndItsEdges)
{
    // Every whole number, and the edges of every cell, of a band of references: what no random point may hit.
    std::vector<double> reference, test;
    for (int x = 0; x < 640; x += 7) {
        for (int y = 0; y < 642; ++y) {
            for (const double off : { 0.0, 0.5, 0.49999999999999994, -0.5 }) {
                reference.push_back(std::max(0.0, x + off));
                test.push_back(std::max(0.0, y + off));
            }
        }
    }
    for (const ErrorGrid grid : kAllGrids) {
        const auto mg = base::GlucoseUnit::MgPerDl;
        ASSERT_EQ(*gridZones(grid, reference, test, mg), gridZonesOneByOne(grid, reference, test, mg, GridBorder::LowerRisk));
    }
}

TEST(ConsensusGrid, NeverGetsSaferAwayFromIdentity)
{
    for (const ErrorGrid grid : { ErrorGrid::ConsensusType1, ErrorGrid::ConsensusType2 }) {
        for (int reference = 0; reference <= 700; reference += 3) {
            GridZone zone = GridZone::A;
            for (int test = reference; test <= 900; ++test) {
                const GridZone next = gridZoneOf(grid, reference, test);
                ASSERT_GE(next, zone) << reference << '/' << test;
                ASSERT_LE(static_cast<int>(next) - static_cast<int>(zone), reference < 3 ? 4 : 1) << reference << '/' << test;
                zone = next;
            }
            zone = GridZone::A;
            for (int test = reference; test >= 0; --test) {
                const GridZone next = gridZoneOf(grid, reference, test);
                ASSERT_GE(next, zone) << reference << '/' << test;
                zone = next;
            }
        }
    }
}

TEST(ErrorGrid, GivesIdentityZoneA)
{
    for (const ErrorGrid grid : kAllGrids) {
        for (int value = 0; value <= 1200; ++value)
            ASSERT_EQ(gridZoneOf(grid, value, value), GridZone::A) << value;
    }
}

TEST(ErrorGrid, GivesABorderTheNeighbourWithLessOrMoreRisk)
{
    std::size_t differing = 0;
    for (const ErrorGrid grid : { ErrorGrid::ConsensusType1, ErrorGrid::ConsensusType2 }) {
        for (int reference = 0; reference <= 550; reference += 5) {
            for (int test = 0; test <= 550; test += 5) {
                const auto lower = gridZoneOf(grid, reference, test);
                const auto higher = gridZoneOf(grid, reference, test, base::GlucoseUnit::MgPerDl, GridBorder::HigherRisk);
                ASSERT_LE(lower, higher);
                differing += lower != higher ? 1U : 0U;
            }
        }
    }
    EXPECT_GT(differing, 100U);
}

TEST(ErrorGrid, RefusesWhatIsNoConcentration)
{
    const double nan = std::numeric_limits<double>::quiet_NaN();
    for (const double odd : { -1.0, -1e-300, nan, std::numeric_limits<double>::infinity(), 1e7 }) {
        std::vector<double> reference(3000, 100), test(3000, 100);
        test[2344] = odd;
        const auto zones = gridZones(ErrorGrid::ClarkeText, reference, test, base::GlucoseUnit::MgPerDl);
        ASSERT_FALSE(zones) << odd;
        EXPECT_TRUE(zones.error().text.starts_with("pair 2345: ")) << zones.error().text;
    }
    const std::vector<double> two(2, 5), three(3, 5);
    EXPECT_FALSE(gridZones(ErrorGrid::ClarkeText, two, three, base::GlucoseUnit::MmolPerL));
    EXPECT_TRUE(gridZones(ErrorGrid::ClarkeText, {}, {}, base::GlucoseUnit::MmolPerL)->empty());
}

} // namespace mk::stats
