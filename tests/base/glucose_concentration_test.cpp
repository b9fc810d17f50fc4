// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/glucose_concentration.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

namespace mk::base {

namespace {

GlucoseConcentration concentrationTyped(const std::string& text, GlucoseUnit unit)
{
    return GlucoseConcentration::parse(text, unit).value();
}

} // namespace

// reference/accuracy/preanalytical_facts.csv: molar mass from the abridged IUPAC masses, and the factor that follows from it
TEST(GlucoseConcentration, ConvertsByTheMolarMass)
{
    const reference::ReferenceTable facts("accuracy/preanalytical_facts.csv");
    ASSERT_EQ(facts.text(0, "topic"), "molar mass");
    EXPECT_DOUBLE_EQ(6 * 12.011 + 12 * 1.008 + 6 * 15.999, facts.number(0, "value"));
    EXPECT_DOUBLE_EQ(GlucoseConcentration::kMgPerDlPerMmolPerL, facts.number(0, "value") / 10); // g/mol to mg/dL a mmol/L
    EXPECT_DOUBLE_EQ(GlucoseConcentration::kMgPerDlPerMmolPerL, facts.number(1, "value"));
}

// reference/accuracy: rounding half up on exact rationals, 18.0156 from the IUPAC masses
TEST(GlucoseConcentration, BecomesMmolAsPublished)
{
    const reference::ReferenceTable table("accuracy/units_mgdl_to_mmol.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const auto typed = concentrationTyped(table.text(row, "mg_per_dL"), GlucoseUnit::MgPerDl);
        EXPECT_EQ(typed.roundedText(GlucoseUnit::MmolPerL, 1), table.text(row, "mmol_per_L_1dp_factor_18.0156")) << typed.decimal().typed();
        EXPECT_EQ(typed.roundedText(GlucoseUnit::MmolPerL, 2), table.text(row, "mmol_per_L_2dp_factor_18.0156")) << typed.decimal().typed();
    }
}

TEST(GlucoseConcentration, BecomesMgAsPublished)
{
    const reference::ReferenceTable table("accuracy/units_mmol_to_mgdl.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const auto typed = concentrationTyped(table.text(row, "mmol_per_L"), GlucoseUnit::MmolPerL);
        EXPECT_EQ(typed.roundedText(GlucoseUnit::MgPerDl, 0), table.text(row, "mg_per_dL_0dp_factor_18.0156")) << typed.decimal().typed();
        const std::string exact = table.text(row, "mg_per_dL_exact_18.0156");
        const auto decimals = exact.find('.') != std::string::npos ? static_cast<int>(exact.size() - exact.find('.') - 1) : 0;
        EXPECT_EQ(typed.roundedText(GlucoseUnit::MgPerDl, decimals), exact) << typed.decimal().typed();
    }
}

TEST(GlucoseConcentration, RoundsHalvesUpInItsOwnUnit)
{
    EXPECT_EQ(concentrationTyped("5.25", GlucoseUnit::MmolPerL).roundedText(GlucoseUnit::MmolPerL, 1), "5.3");
    EXPECT_EQ(concentrationTyped("0.05", GlucoseUnit::MmolPerL).roundedText(GlucoseUnit::MmolPerL, 1), "0.1");
    EXPECT_EQ(concentrationTyped("100", GlucoseUnit::MgPerDl).roundedText(GlucoseUnit::MgPerDl, 1), "100.0");
}

TEST(GlucoseConcentration, RoundsTheLongestDecimals)
{
    EXPECT_EQ(
        concentrationTyped("999999999999999", GlucoseUnit::MmolPerL).roundedText(GlucoseUnit::MgPerDl, 9), "18015599999999981.984400000");
}

// reference/accuracy/units_wholeblood_to_plasma.csv: IFCC factor 1.11
TEST(PlasmaEquivalent, IsAsPublished)
{
    const reference::ReferenceTable table("accuracy/units_wholeblood_to_plasma.csv");
    for (std::size_t row = 0; row < table.size(); ++row)
        EXPECT_EQ(plasmaEquivalentText(Decimal::parse(table.text(row, "whole_blood_mmol_per_L")).value()),
            table.text(row, "plasma_equivalent_x1.11"));
}

} // namespace mk::base
