// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a typed value, the first byte picks which: refused, or a value that is written so that it reads the same.
#include "base/glucose_concentration.h"
#include "property.h"
#include "registry/acts/acts.h"

#include <array>
#include <cmath>

using namespace mk;
using fuzz::mustHold;

namespace {

const registry::ReadContext& context()
{
    static const auto berlin = registry::Zone::named("Europe/Berlin");
    static const registry::Zone zone = berlin ? *berlin : registry::Zone::utc();
    static std::vector<std::string> questions;
    questions.clear();
    static const registry::ReadContext both { &zone, &questions };
    return both;
}

template <typename T>
void readsTheSame(std::string_view text)
{
    const auto value = registry::TextForm<T>::read(text, context());
    if (!value) {
        mustHold(value.error().kind == base::FaultKind::BadInput && !value.error().text.empty(), "a refused text is told why");
        return;
    }
    const std::string written = registry::TextForm<T>::write(*value);
    const auto again = registry::TextForm<T>::read(written, context());
    mustHold(bool(again), "what was read can be written and read", written);
    mustHold(*again == *value, "a value reads the same", written);
    mustHold(registry::TextForm<T>::write(*again) == written, "a value is written one way", written);
}

void decimalIsExact(std::string_view text)
{
    const auto value = base::Decimal::parse(text);
    if (!value)
        return;
    mustHold(value->typed() == text, "a decimal stays as it was typed", text);
    mustHold(value->decimals() >= 0 && value->decimals() <= base::Decimal::kMostDecimals, "decimals are bounded", text);
    const double scaled = static_cast<double>(value->mantissa()) / std::pow(10.0, value->decimals());
    mustHold(std::abs(value->toDouble() - scaled) <= std::abs(scaled) * 1e-15, "the double is the nearest", text);
    mustHold(*value == *value && !(*value < *value), "a decimal equals itself", text);
    for (const auto unit : { base::GlucoseUnit::MgPerDl, base::GlucoseUnit::MmolPerL })
        if (const auto glucose = base::GlucoseConcentration::parse(text, unit))
            for (const int places : { 0, 1, 9 })
                mustHold(!glucose->roundedText(base::GlucoseUnit::MmolPerL, places).empty()
                        && !glucose->roundedText(base::GlucoseUnit::MgPerDl, places).empty(),
                    "a concentration can be shown", text);
}

/// Two texts with a comma between: the order of decimals is that of numbers, without overflow.
void decimalsCompare(std::string_view text)
{
    const auto comma = text.find(',');
    const auto a = base::Decimal::parse(text.substr(0, comma));
    const auto b = base::Decimal::parse(comma == std::string_view::npos ? text : text.substr(comma + 1));
    if (!a || !b)
        return;
    mustHold((*a < *b) == (*b > *a) && (*a == *b) == (*b == *a), "order has two sides", text);
    if (std::abs(a->toDouble() - b->toDouble()) > 1e-12 * (std::abs(a->toDouble()) + std::abs(b->toDouble())))
        mustHold((*a < *b) == (a->toDouble() < b->toDouble()), "decimals are ordered as numbers", text);
}

void dateIsInRange(std::string_view text)
{
    const auto date = base::parseDate(text);
    if (!date)
        return;
    mustHold(base::toText(*date) == text, "a date is written one way", text);
    mustHold(date->ymd.ok() && int(date->ymd.year()) >= 1900 && int(date->ymd.year()) <= 2199, "a date exists", text);
    for (const base::Period period : { base::Period { 3660, base::Period::Unit::Days }, base::Period { 3660, base::Period::Unit::Months } })
        mustHold(base::lastUsableDay(*date, period) > *date, "a period leads onward", text);
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    using Try = void (*)(std::string_view);
    static constexpr std::array<Try, 13> kTries { readsTheSame<base::Decimal>, readsTheSame<registry::Reading>,
        readsTheSame<base::PrintedDate>, readsTheSame<base::Date>, readsTheSame<base::Period>, readsTheSame<base::Moment>,
        readsTheSame<base::Seq>, readsTheSame<base::GlucoseUnit>, readsTheSame<registry::Level>, readsTheSame<registry::Verdict>,
        decimalIsExact, decimalsCompare, dateIsInRange };
    std::string_view bytes = fuzz::bytesOf(data, size);
    kTries[fuzz::choice(bytes, kTries.size())](bytes);
    return 0;
}
