// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"

namespace mk::registry {

/// One setting, as Policy::describe has it.
struct SettingRow {
    std::string_view key;
    SettingText text;
    std::string_view source;
    SettingUse use;
};

std::span<const SettingRow> settingTable();
/// key   of a row
base::Done readInto(Policy& policy, std::string_view key, const std::string& text);

} // namespace mk::registry
