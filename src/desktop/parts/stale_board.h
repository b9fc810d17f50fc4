// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"

#include <QString>

#include <set>

/// What the screens may still say while the registry cannot be asked. Pure.
namespace mk::desktop {

/// The last known board as it may be shown now: every line says of when it is, and promises nothing beyond the moment known then.
/// waiting  the meters of which something is kept here
BoardAnswer staleBoard(const BoardAnswer& known, base::Moment now, const std::set<base::MeterId>& waiting = {});
BoardLine staleLine(const BoardLine& known, base::Moment asOf, const std::set<base::MeterId>& waiting = {});

/// "as of 14:05, 12 minutes ago"
QString ageInWords(base::Moment asOf, base::Moment now, const registry::Zone& zone);

} // namespace mk::desktop
