// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/journal/journal.h"

namespace mk::store {

/// How an entry does not follow from those before it.
enum class ChainBreak { EntryMissing, NotFollowing, ContentChanged };
/// One sentence each, as the end of another one: "…, it does not follow from the entry before it".
inline base::Fault fault(ChainBreak how)
{
    using base::FaultKind;
    switch (how) {
    case ChainBreak::EntryMissing: return base::fault(FaultKind::Damaged, "an entry is missing before it");
    case ChainBreak::NotFollowing: return base::fault(FaultKind::Damaged, "it does not follow from the entry before it");
    case ChainBreak::ContentChanged: break;
    }
    return base::fault(FaultKind::Damaged, "its content is not what was digested");
}

/// Follows a chain entry by entry, from the first on.
class ChainCheck {
public:
    ChainCheck() : m_prev(noDigest()) { }

    /// How the entry does not follow from those before; none where it does.
    std::optional<ChainBreak> breakAt(const Entry& entry)
    {
        ++m_count;
        std::optional<ChainBreak> how;
        if (entry.seq.value != m_count)
            how = ChainBreak::EntryMissing;
        else if (entry.prev != m_prev)
            how = ChainBreak::NotFollowing;
        else if (const auto digest = m_digester.digestOf(entry); !digest || *digest != entry.digest)
            how = ChainBreak::ContentChanged;
        m_prev = entry.digest;
        return how;
    }
    /// The same in English, for logs; empty where it follows.
    std::string problemOf(const Entry& entry)
    {
        const auto how = breakAt(entry);
        return how ? fault(*how).text : std::string();
    }
    std::int64_t count() const { return m_count; }

private:
    Digester m_digester;
    std::string m_prev;
    std::int64_t m_count = 0;
};

} // namespace mk::store
