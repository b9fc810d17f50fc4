// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/journal/journal.h"

namespace mk::store {

/// Follows a chain entry by entry, from the first on.
class ChainCheck {
public:
    ChainCheck() : m_prev(noDigest()) { }

    /// Why the entry does not follow from those before; empty where it does.
    std::string problemOf(const Entry& entry)
    {
        ++m_count;
        std::string because;
        if (entry.seq.value != m_count)
            because = "an entry is missing before it";
        else if (entry.prev != m_prev)
            because = "it does not follow from the entry before it";
        else if (const auto digest = m_digester.digestOf(entry); !digest || *digest != entry.digest)
            because = "its content is not what was digested";
        m_prev = entry.digest;
        return because;
    }
    std::int64_t count() const { return m_count; }

private:
    Digester m_digester;
    std::string m_prev;
    std::int64_t m_count = 0;
};

} // namespace mk::store
