// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <initializer_list>
#include <optional>
#include <span>

/// What the statistics ask of what they are given, said in the same words everywhere.
namespace mk::stats {

/// What a row of numbers is.
enum class Numbers { Values, AssignedValues, Times, OfCurrentLot, OfCandidateLot };

/// errors  BadInput: the confidence does not lie strictly between 0 and 1
base::Done checkConfidence(double confidence);
/// what    what they are
/// errors  BadInput, counting from 1: none at all, or one that is not a finite number
base::Done checkNumbers(std::span<const double> values, Numbers what);
/// Whether every one of them is a finite number; what is not there is.
bool allFinite(std::initializer_list<std::optional<double>> numbers);
/// What is said when sums have left the range of numbers.
base::Fault tooFarApart();

} // namespace mk::stats
