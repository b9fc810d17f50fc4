// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a journal document: refused, or a value whose canonical form reads back to itself and is never longer.
#include "property.h"
#include "store/journal/canonical_json.h"

#include <algorithm>

using namespace mk;
using fuzz::mustHold;

namespace {

int depthOf(const store::Json& json)
{
    int deepest = 0;
    if (const auto* items = json.array())
        for (const auto& item : *items)
            deepest = std::max(deepest, 1 + depthOf(item));
    if (const auto* members = json.members())
        for (const auto& [key, value] : *members)
            deepest = std::max(deepest, 1 + depthOf(value));
    return deepest;
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const std::string_view bytes = fuzz::bytesOf(data, size);
    const auto json = store::Json::parse(bytes);
    if (!json)
        return 0;
    mustHold(depthOf(*json) <= 33, "depth is bounded");
    const std::string canonical = json->canonical();
    mustHold(canonical.size() <= bytes.size(), "the canonical form is the shortest", canonical);
    mustHold(std::ranges::none_of(canonical, [](char c) { return static_cast<unsigned char>(c) < 0x20; }),
        "no control character stands raw", canonical);
    const auto again = store::Json::parse(canonical);
    mustHold(bool(again), "the canonical form can be read", again ? canonical : again.error().text + " in " + canonical);
    mustHold(again->canonical() == canonical, "the canonical form stays", canonical);
    return 0;
}
