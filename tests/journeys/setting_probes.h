// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"

#include <string>

namespace mk::journeys {

/// What the registry answers under a policy to whoever that use serves, as one text. Some ask the pure registry, some a ward's file.
std::string answerOf(registry::SettingUse use, const registry::PolicyPairs& settings);

} // namespace mk::journeys
