// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"

#include <string>
#include <string_view>
#include <vector>

/// How a reason is said to people: what happened, and what to do.
namespace mk::registry {

/// "low and high"
std::string levelsInWords(const std::vector<Level>& levels);
/// What stands against a run or a vial; the code itself where it is not known.
std::string causeInWords(const std::string& code);
/// What an incident of that code asks for; the code itself where it is not known.
std::string incidentInWords(std::string_view code);

/// Why a meter that is not in service may not be used, and what brings it back.
/// since          a moment in words
/// endsByItself   on hold: the next accepted set ends it
std::string stateInWords(MeterState state, const std::string& since, bool endsByItself);

} // namespace mk::registry
