// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/glucose_concentration.h"

#include "base/wide_decimal.h"

namespace mk::base {

std::string_view toText(GlucoseUnit unit)
{
    return unit == GlucoseUnit::MgPerDl ? "mg/dL" : "mmol/L";
}

std::optional<GlucoseUnit> glucoseUnitNamed(std::string_view text)
{
    if (text == "mg/dL")
        return GlucoseUnit::MgPerDl;
    if (text == "mmol/L")
        return GlucoseUnit::MmolPerL;
    return std::nullopt;
}

Result<GlucoseConcentration> GlucoseConcentration::parse(std::string_view typed, GlucoseUnit unit)
{
    auto value = Decimal::parse(typed);
    if (!value)
        return value.error();
    if (typed.starts_with('-'))
        return badInput("'%1' is below zero; write the number as the meter shows it", typed);
    return GlucoseConcentration(std::move(value).value(), unit);
}

double GlucoseConcentration::in(GlucoseUnit unit) const noexcept
{
    const double value = m_value.toDouble();
    if (unit == m_unit)
        return value;
    return unit == GlucoseUnit::MgPerDl ? value * kMgPerDlPerMmolPerL : value / kMgPerDlPerMmolPerL;
}

std::string GlucoseConcentration::roundedText(GlucoseUnit unit, int decimals) const
{
    WideInt numerator = m_value.mantissa();
    WideInt denominator = powerOfTen(m_value.decimals());
    if (unit != m_unit) {
        numerator *= unit == GlucoseUnit::MgPerDl ? kMgPerDlPerMmolPerLTimes10000 : 10000;
        denominator *= unit == GlucoseUnit::MgPerDl ? 10000 : kMgPerDlPerMmolPerLTimes10000;
    }
    return toFixedText(roundedQuotient(numerator, denominator, decimals));
}

std::string plasmaEquivalentText(const Decimal& wholeBlood)
{
    return toText(WideDecimal { static_cast<WideInt>(wholeBlood.mantissa()) * 111, wholeBlood.decimals() + 2 });
}

} // namespace mk::base
