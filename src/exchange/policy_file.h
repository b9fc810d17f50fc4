// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace mk::exchange {

/// One setting of a policy document and the line on which it stands, counted from 1.
struct PolicyLine {
    std::string key, text;
    std::size_t line = 0;
};

/// Reads a policy document, in either of two forms: a setting a line, `clearance_hours = 24`, with what follows a # as a remark;
/// or one JSON object of settings, values as text or whole numbers.
/// errors  BadInput naming file and line: a line that is neither, JSON that is none, a value of another kind, no plain line of text, a
/// setting twice, more than any policy needs
base::Result<std::vector<PolicyLine>> readPolicyDocument(std::string_view bytes, const std::string& fileName);

/// The same without the lines.
base::Result<std::vector<std::pair<std::string, std::string>>> readPolicyFile(std::string_view bytes, const std::string& fileName);

std::vector<std::pair<std::string, std::string>> settingsOf(const std::vector<PolicyLine>& lines);

} // namespace mk::exchange
