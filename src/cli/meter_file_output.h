// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "store/read/reader.h"

namespace mk::cli {

/// The meter that an id, a serial number or a UDI names, and which of the three it was.
/// errors  NotFound; Conflict where several models share the serial
base::Result<std::pair<base::MeterId, std::string>> theMeterCalled(store::Reader& reader, const std::string& text);

/// What handbook 1.1 asks of a meter's file, as the key `file`.
base::Done writeMeterFile(JsonWriter& json, store::Reader& reader, const registry::MeterRecord& meter, base::Moment at);

} // namespace mk::cli
