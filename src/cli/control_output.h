// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "store/read/reader.h"

namespace mk::cli {

/// The inspector's question: was this meter in control at that time, with what, and by whom (handbook 8.1)? Both answers, labelled:
/// as known then and as known now. An object; `known_then` is null where nothing of the meter was on record.
base::Done writeControl(JsonWriter& json, store::Reader& reader, const base::MeterId& meter, base::Moment at);

} // namespace mk::cli
