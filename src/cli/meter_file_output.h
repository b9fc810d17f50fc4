// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cli/output.h"
#include "registry/meter/whole_life.h"
#include "store/read/read_month.h"

namespace mk::cli {

/// The meter that an id, a serial number or a UDI names, and which of the three it was.
/// errors  NotFound; Conflict where several models share the serial
base::Result<std::pair<base::MeterId, std::string>> theMeterCalled(store::Reader& reader, const std::string& text);

/// What handbook 1.1 asks of a meter's file, as the key `file`.
base::Done writeMeterFile(JsonWriter& json, store::Reader& reader, const registry::MeterRecord& meter, base::Moment at);

/// The key `life`: everything that befell the meter, oldest first.
void writeLife(JsonWriter& json, const std::vector<registry::LifeEvent>& life, const registry::Zone& zone);
/// The same as a table for people, with its heading.
std::string lifeInWords(const std::vector<registry::LifeEvent>& life, const registry::Zone& zone);

/// Under the key `stops`: what was held or withdrawn, why, by whom, and whose signature or control ended it.
void writeStops(JsonWriter& json, const std::vector<store::ToldStop>& stops, const registry::Zone& zone);

} // namespace mk::cli
