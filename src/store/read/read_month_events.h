// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month_events.h"
#include "store/read/read_month.h"

namespace mk::store {

/// What happened in the month beside its figures, of the meters that these show.
base::Result<registry::MonthEvents> readMonthEvents(Reader& reader, const MonthReading& reading);

} // namespace mk::store
