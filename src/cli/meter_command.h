// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/globals.h"

namespace mk::cli {

/// One meter's whole file.
/// meter  id, serial number or UDI;  from, to  which sets to show, times or days; empty: all up to the moment asked about
int runMeter(const Globals& globals, const std::string& meter, const std::string& fromText, const std::string& toText);

} // namespace mk::cli
