// SPDX-License-Identifier: GPL-3.0-or-later
// A record of a workstation's queue, as it lies there once it is unlocked: damaged, or acts that are written as they stood.
#include "property.h"
#include "store/queue/kept_record.h"

using namespace mk;
using fuzz::mustHold;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const auto record = store::Json::parse(fuzz::bytesOf(data, size));
    if (!record)
        return 0;
    const auto kept = store::keptOf(7, *record);
    if (!kept) {
        mustHold(kept.error().kind == base::FaultKind::Damaged && !kept.error().text.empty(),
            "a record that cannot be read is damaged, in words");
        return 0;
    }
    mustHold(kept->number == 7, "a record has the number of its place");
    const std::string written = store::plainOf(*kept);
    const auto json = store::Json::parse(written);
    mustHold(bool(json), "a written record is JSON", written);
    const auto again = store::keptOf(7, *json);
    mustHold(bool(again), "a written record can be read", written);
    mustHold(again->acts.size() == kept->acts.size(), "no act is lost", written);
    mustHold(store::plainOf(*again) == written, "what was written stays", written);
    return 0;
}
