// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/input_checks.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace mk::stats {

base::Done checkConfidence(double confidence)
{
    if (!(confidence > 0 && confidence < 1))
        return base::badInput("the confidence must lie between 0 and 1, such as 0.95");
    return {};
}

base::Done checkNumbers(std::span<const double> values, std::string_view what)
{
    const std::string one(what);
    if (values.empty())
        return base::badInput("there is no " + one + "; give at least one");
    const auto odd = std::ranges::find_if_not(values, [](double value) { return std::isfinite(value); });
    if (odd != values.end())
        return base::badInput(one + ' ' + std::to_string(odd - values.begin() + 1) + " is not a finite number; correct it or leave it out");
    return {};
}

bool allFinite(std::initializer_list<std::optional<double>> numbers)
{
    return std::ranges::all_of(numbers, [](const std::optional<double>& one) { return std::isfinite(one.value_or(0)); });
}

base::Fault tooFarApart()
{
    return base::badInput("the values are too far apart to compute with; look for a slip in them");
}

} // namespace mk::stats
