// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/basics/input_checks.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

base::Done checkConfidence(double confidence)
{
    if (!(confidence > 0 && confidence < 1))
        return base::badInput("the confidence must lie between 0 and 1, such as 0.95");
    return {};
}

namespace {

base::Fault noNumber(Numbers what)
{
    switch (what) {
    case Numbers::Values: break;
    case Numbers::AssignedValues: return base::badInput("there is no assigned value; give at least one");
    case Numbers::Times: return base::badInput("there is no time; give at least one");
    case Numbers::OfCurrentLot: return base::badInput("there is no result of the current lot; give at least one");
    case Numbers::OfCandidateLot: return base::badInput("there is no result of the candidate lot; give at least one");
    }
    return base::badInput("there is no value; give at least one");
}

base::Fault notFinite(Numbers what, std::int64_t place)
{
    switch (what) {
    case Numbers::Values: break;
    case Numbers::AssignedValues: return base::badInput("assigned value %1 is not a finite number; correct it or leave it out", place);
    case Numbers::Times: return base::badInput("time %1 is not a finite number; correct it or leave it out", place);
    case Numbers::OfCurrentLot:
        return base::badInput("result of the current lot %1 is not a finite number; correct it or leave it out", place);
    case Numbers::OfCandidateLot:
        return base::badInput("result of the candidate lot %1 is not a finite number; correct it or leave it out", place);
    }
    return base::badInput("value %1 is not a finite number; correct it or leave it out", place);
}

} // namespace

base::Done checkNumbers(std::span<const double> values, Numbers what)
{
    if (values.empty())
        return noNumber(what);
    const auto odd = std::ranges::find_if_not(values, [](double value) { return std::isfinite(value); });
    return odd == values.end() ? base::Done() : base::Done(notFinite(what, odd - values.begin() + 1));
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
