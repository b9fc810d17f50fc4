// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/journal/canonical_json.h"
#include "store/queue/outbox.h"

#include <string>
#include <string_view>

/// What a record of a workstation's queue says, once it is unlocked.
namespace mk::store {

std::string plainOf(const KeptActs& kept);

/// number  of the record in its file; errors  Damaged
base::Result<KeptActs> keptOf(std::uint64_t number, const Json& record);

/// A member's text; empty where there is none.
std::string memberText(const Json& object, std::string_view key);

} // namespace mk::store
