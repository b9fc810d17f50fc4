// SPDX-License-Identifier: GPL-3.0-or-later
// The lines of an export on their way back into a registry: refused by their form, found out by the chain, or entries that are written as
// they stood.
#include "property.h"
#include "store/journal/act_codec.h"
#include "store/journal/chain_check.h"
#include "store/journal/entry_lines.h"

using namespace mk;
using fuzz::mustHold;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    std::string_view bytes = fuzz::bytesOf(data, size);
    store::ChainCheck chain;
    while (!bytes.empty()) {
        const auto end = std::min(bytes.find('\n'), bytes.size());
        const std::string_view line = bytes.substr(0, end);
        bytes.remove_prefix(std::min(end + 1, bytes.size()));
        const auto entry = store::entryOfLine(line);
        if (!entry) {
            mustHold(entry.error().kind == base::FaultKind::BadInput && !entry.error().text.empty(),
                "a line that is no entry is refused in words");
            return 0; // the copying ends there
        }
        const std::string written = store::lineOf(*entry);
        const auto again = store::entryOfLine(std::string_view(written).substr(0, written.size() - 1));
        mustHold(bool(again), "a written entry can be read", written);
        mustHold(store::lineOf(*again) == written, "what was written stays", written);
        const std::string because = chain.problemOf(*entry);
        if (because.empty()) {
            // Who knows the digests can make a chain of anything; then the act has to be read.
            const auto body = store::Json::parse(entry->body);
            mustHold(bool(body) && body->canonical() == entry->body, "a body is kept in its canonical form", entry->body);
            const auto act = store::actFrom(entry->act, *body);
            mustHold(bool(act) || act.error().kind == base::FaultKind::Damaged, "an entry is an act or damaged", written);
        } else {
            return 0;
        }
    }
    return 0;
}
