// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "store/read/read_policy_preview.h"

#include <functional>
#include <string>
#include <vector>

namespace mk::cli {

std::string previewAsJson(const std::vector<registry::PreviewOfMeter>& previews, const registry::PreviewPeriod& period,
    const std::string& profile, const std::function<void(JsonWriter&)>& more);
std::string previewInWords(
    const std::vector<registry::PreviewOfMeter>& previews, const registry::PreviewPeriod& period, const std::string& profile);

} // namespace mk::cli
