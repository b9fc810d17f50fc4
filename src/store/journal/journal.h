// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "base/moment.h"
#include "store/journal/canonical_json.h"
#include "store/db/described_row.h"

#include <memory>
#include <string>

namespace mk::store {

/// One entry of the journal, its columns as they are stored.
struct Entry {
    static constexpr std::string_view table = "journal", order = "seq";
    static constexpr std::string_view byTrigger = "journal_id"; ///< on a server, the journal's guard keeps the ids there
    base::Seq seq;
    std::string id;
    std::int64_t at = 0; ///< UTC milliseconds: when it was recorded
    std::string zone;    ///< offset on the wall, "+01:00"
    std::string station;
    std::string person;
    std::string act;
    std::string subject;
    std::string body; ///< canonical JSON, byte for byte what was digested
    std::string prev;
    std::string digest;
    static void describe(auto& v, auto& s)
    {
        v("seq", s.seq), v("id", s.id), v("at", s.at), v("zone", s.zone), v("station", s.station), v("operator", s.person);
        v("act", s.act), v("subject", s.subject), v("body", s.body), v("prev", s.prev), v("digest", s.digest);
    }
};

/// SHA-256 of chain links; one context, used again and again.
class Digester {
public:
    Digester();
    ~Digester();
    Digester(const Digester&) = delete;
    Digester& operator=(const Digester&) = delete;

    /// Lower-case hex of SHA-256 over the 32 raw bytes of `prev` and the canonical JSON of the entry without prev and digest.
    /// errors Damaged where prev is not 64 hex digits
    base::Result<std::string> digestOf(const Entry& entry);

private:
    struct Context;
    std::unique_ptr<Context> m_context;
};

/// The digest before the first entry: 32 zero bytes.
std::string noDigest();

/// The newest entry; seq 0 and noDigest() where there is none.
struct Head {
    base::Seq seq;
    std::string digest;
    std::int64_t at = 0;
    bool moved = false; ///< it says that the registry goes on elsewhere: nothing follows it here
};
base::Result<Head> headOf(Session& session);

/// Why nothing follows a head that says `moved`, with the place where the registry goes on.
base::Fault movedAway(Session& session, const Head& head);

base::Done appendEntry(Session& session, const Entry& entry);
base::Result<std::optional<Entry>> entryAt(Session& session, base::Seq seq);
base::Result<std::optional<base::Seq>> entryWithId(Session& session, const std::string& id);
/// The last entry recorded at or before a time; 0 where there is none.
base::Result<base::Seq> lastEntryBefore(Session& session, std::int64_t utcMs);

/// For forward-only reading.
inline const Select<Entry> kSelectEntries("ORDER BY seq");
Entry entryFrom(const Statement& row);

} // namespace mk::store
