// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "registry/terms/zone.h"

#include <span>
#include <string>
#include <vector>

/// The words of a control chart.
namespace mk::report {

std::string capital(std::string text);
/// With commas between them.
std::string joinedWords(const std::vector<std::string>& words);

/// A run's lines for the tooltip: when, what, targets, verdict, who.
std::string factsOf(const registry::RunRecord& record, const registry::Zone& zone);
/// A set in one line, for the screen reader.
std::string factsOf(const registry::SetRecord& set, const registry::Zone& zone);

/// What stands beside a run by itself; the long rules are named once, where they were completed. Empty for most.
std::string labelOf(const registry::RunRecord& record);

/// The word over an incident's line; empty for what says nothing about the statistics.
std::string incidentWord(registry::IncidentKind kind);
/// The word over a change of state; empty for a short hold that the next control ends.
std::string stateWord(const registry::StateSpell& spell);

/// The finding: drift that stands, else rejected sets, else that there is none.
std::string titleOf(const std::string& meter, std::span<const registry::SetRecord> sets, const registry::Zone& zone);

} // namespace mk::report
