// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/db/session.h"

#include <optional>
#include <string>

/// By which key a file calls the record that an entry carries.
namespace mk::store {

/// Enters the key of an act that a file carries; nothing for any other. A run's key ends with the row of its level that it is.
base::Done enterKey(Session& session, base::Seq seq, const registry::Act& act);

/// The newest entry that carries the record which a file calls by that key; nothing where there is none.
/// key  as keyOf() gives it or as a person types it: times may lack offset and seconds, a run's may leave out which row it is;
///      with file "entry" the entry's number
base::Result<std::optional<base::Seq>> entryOfKey(Session& session, const std::string& file, const std::string& key);

} // namespace mk::store
