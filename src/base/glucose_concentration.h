// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/decimal.h"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace mk::base {

enum class GlucoseUnit { MgPerDl, MmolPerL };

std::string_view toText(GlucoseUnit unit);
/// input exactly "mg/dL" or "mmol/L"; nothing else is a glucose unit here
std::optional<GlucoseUnit> glucoseUnitNamed(std::string_view text);

/// A glucose concentration exactly as it was typed, with the unit it was typed in.
/// range   finite, >= 0; HI, LO and error codes are other types, never a number
/// source  molar mass of D-glucose 180.156 g/mol, handbook 10.4
class GlucoseConcentration {
public:
    static constexpr double kMgPerDlPerMmolPerL = 18.0156;
    static constexpr std::int64_t kMgPerDlPerMmolPerLTimes10000 = 180156; ///< for exact arithmetic

    /// errors BadInput for anything but digits with at most one point
    static Result<GlucoseConcentration> parse(std::string_view typed, GlucoseUnit unit);

    const Decimal& decimal() const noexcept { return m_value; }
    GlucoseUnit unit() const noexcept { return m_unit; }
    /// For showing only; a verdict never rests on a converted value.
    double in(GlucoseUnit unit) const noexcept;
    /// The same rounded to that many decimals, halves up, computed exactly from the digits that were typed: 5.0 for 90 mg/dL in mmol/L.
    /// For showing only. decimals: 0 to 9
    std::string roundedText(GlucoseUnit unit, int decimals) const;

private:
    GlucoseConcentration(Decimal value, GlucoseUnit unit) : m_value(std::move(value)), m_unit(unit) { }

    Decimal m_value;
    GlucoseUnit m_unit;
};

/// What plasma holds where whole blood holds this much, in the same unit, exactly: 5.55 for 5.0.
/// source  the factor 1.11 of the IFCC, for any haematocrit
std::string plasmaEquivalentText(const Decimal& wholeBlood);

} // namespace mk::base
