// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/journal/canonical_json.h"

#include <optional>
#include <string>
#include <string_view>

namespace mk::store {

/// The act as the body of its journal entry. What was typed stands there as typed.
/// imported  marks an act that was taken over from elsewhere
Json bodyOf(const registry::Act& act, bool imported);

/// The act back from a stored entry.
/// errors  Damaged: an unknown kind, a field missing or not readable
base::Result<registry::Act> actFrom(std::string_view kind, const Json& body);

/// The same from the stored text of the body.
base::Result<registry::Act> actFromBody(std::string_view kind, std::string_view body);

bool isImported(const Json& body);
/// The same of a body that nobody reads further.
bool saysImported(std::string_view body);

/// Marks the body of an act that was kept at a workstation from then on, while the server was away.
void markKept(Json& body, base::Moment since);
std::optional<base::Moment> keptSince(std::string_view body);
/// The body as it would be without that mark and what else the program wrote into it: the same act, sent otherwise.
std::string withoutKept(const std::string& body);

/// The drift part of a verdict as canonical JSON, for the index, and back.
std::string driftText(const registry::acts::DriftFinding& drift);
base::Result<registry::acts::DriftFinding> driftFrom(std::string_view text);

/// Shortest decimal text that reads back to the same double.
std::string exactText(double value);

} // namespace mk::store
