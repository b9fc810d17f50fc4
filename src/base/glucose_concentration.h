// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/decimal.h"

#include <optional>
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

    /// errors BadInput for anything but digits with at most one point
    static Result<GlucoseConcentration> parse(std::string_view typed, GlucoseUnit unit);

    const Decimal& decimal() const noexcept { return m_value; }
    GlucoseUnit unit() const noexcept { return m_unit; }
    /// For showing only; a verdict never rests on a converted value.
    double in(GlucoseUnit unit) const noexcept;

private:
    GlucoseConcentration(Decimal value, GlucoseUnit unit) : m_value(std::move(value)), m_unit(unit) { }

    Decimal m_value;
    GlucoseUnit m_unit;
};

} // namespace mk::base
