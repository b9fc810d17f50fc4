// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "exchange/gs1.h"

#include <functional>
#include <string>

namespace CLI {
class App;
}

namespace mk::study {

/// Every value under its key, then all elements as they were scanned, then the notes.
std::string gs1Json(const exchange::Gs1Code& code);
std::string gs1Table(const exchange::Gs1Code& code);

/// Adds `gs1 STRING`; parameters as for addStudyCommands.
void addGs1Command(CLI::App& app, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
