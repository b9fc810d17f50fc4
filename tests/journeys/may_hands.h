// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "journeys/ward_world.h"

#include <functional>

/// What happens in a May of the common ground.
namespace mk::journeys {

/// A set each morning of May from the 2nd on.
void runMay(
    WardWorld& ward, int lastDay, const std::string& meter = "M1",
    const std::function<std::string(int)>& low = [](int day) { return std::to_string(58 + day % 5); });

/// What a nurse corrects in a low result, confirmed by the coordinator.
registry::acts::EntryCorrected lowOf(const WardWorld& ward, const char* set, const char* old, const char* now, std::string_view at);

} // namespace mk::journeys
