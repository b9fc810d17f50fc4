// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"

namespace mk::registry {

/// One setting: all that the program knows of it. A new one is a row here, a member of Policy, and the code that reads that member;
/// tests/journeys/settings_test.cpp holds two values of each against each other and fails where nothing answers differently.
struct SettingRow {
    std::string_view key, text, source;
    base::Done (*read)(const std::string&, Policy&);
    SettingUse use;
};

std::span<const SettingRow> settingTable();

} // namespace mk::registry
