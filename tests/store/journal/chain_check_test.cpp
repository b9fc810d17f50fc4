// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/chain_check.h"

#include <gtest/gtest.h>

namespace mk::store {
namespace {

Entry anEntry(std::int64_t seq, const std::string& prev)
{
    Entry entry;
    entry.seq = { seq };
    entry.act = "note.added";
    entry.body = "{}";
    entry.prev = prev;
    entry.digest = Digester().digestOf(entry).value();
    return entry;
}

TEST(ChainCheck, TellsHowAnEntryDoesNotFollow)
{
    const Entry first = anEntry(1, noDigest());
    Entry changed = anEntry(2, first.digest);
    changed.body = R"({"text":"other"})";
    for (const auto& [second, how] : { std::pair(anEntry(3, first.digest), std::optional(ChainBreak::EntryMissing)),
             std::pair(anEntry(2, noDigest()), std::optional(ChainBreak::NotFollowing)),
             std::pair(changed, std::optional(ChainBreak::ContentChanged)),
             std::pair(anEntry(2, first.digest), std::optional<ChainBreak>()) }) {
        ChainCheck check;
        EXPECT_EQ(check.breakAt(first), std::nullopt);
        EXPECT_EQ(check.breakAt(second), how);
    }
}

} // namespace
} // namespace mk::store
