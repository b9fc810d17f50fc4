// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace mk::base {

/// "0.1.0": the one version of the programs, from the top CMakeLists.txt.
std::string version();
/// "Meterkeep 0.1.0", as registries and papers name what made them.
std::string programName();

} // namespace mk::base
