// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// Numbers as a person types them behind an option or into a cell.
namespace mk::study {

/// The number that the whole text is, one plus before it forgiven; nothing for anything else, NaN and infinity too.
std::optional<double> studyReal(std::string_view text);
/// Numbers separated by commas, with spaces around them forgiven. option: under which name a fault speaks of them
/// errors  BadInput: something between commas that is no number
base::Result<std::vector<double>> studyReals(const std::string& option, std::string_view text);

} // namespace mk::study
