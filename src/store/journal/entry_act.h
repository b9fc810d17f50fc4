// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/db/session.h"

namespace mk::store {

/// The act that an entry carries. errors NotFound, Damaged
base::Result<registry::Act> actOfEntry(Session& session, base::Seq seq);

} // namespace mk::store
