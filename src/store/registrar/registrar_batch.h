// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/judging.h"
#include "store/registrar/registrar.h"

#include <algorithm>
#include <map>
#include <set>

namespace mk::store {

struct Registrar::Working {
    Reader reader;
    Head head; ///< of the journal when the caches were filled
    registry::desk::MeterWorks meters;
    std::set<base::MeterId> rehearsedMeters; ///< what the rehearsal of the next transaction is about
    std::set<base::SetId> rehearsedSets;
    std::set<std::string> rehearsedIds;
};

/// What a batch stands on and moves forward: undone with its transaction.
struct BatchGround {
    Session& session;
    Reader& reader;
    registry::desk::MeterWorks& meters;
    Head& head;
};

/// One transaction's worth of acts: asks the desk, appends, and lets follow what follows. Made for one batch.
class ActBatch final : private registry::desk::Entering {
public:
    enum class Kind { Recorded, Imported };
    ActBatch(const BatchGround& ground, const Author& author, Kind kind, std::int64_t nowMs, const Ids& ids);

    /// Admits and appends one act. Verdicts wait until they are needed: see settle().
    /// errors  why the act may not be recorded; the batch is then spoilt and must be rolled back
    /// keptSince  when it was kept at a workstation that could not reach the server
    base::Result<Outcome> add(const registry::Act& act, const std::string& id, std::optional<base::Moment> keptSince = {});
    /// Appends what the program itself has to say; nothing follows from it.
    base::Result<base::Seq> appendOwn(const registry::Act& act);
    /// Judges what waits, with everything that follows from it.
    base::Done settle() { return m_judging.settle(); }

    const std::vector<Entry>& consequences() const { return m_consequences; }
    /// A set that this batch judged from its own runs, as it will be read back; nothing for any other.
    std::optional<registry::SetRecord> judgedSet(const base::SetId& id) const;
    std::int64_t nowMs() const { return m_nowMs; }
    /// Did it read, or conclude, anything beyond the meters of its own runs?
    bool askedBeyondRuns() const
    {
        return m_askedBeyondRuns
            || std::ranges::any_of(m_consequences, [](const Entry& each) { return each.act != registry::acts::SetJudged::kind; });
    }

    /// Did the clock leap, or is it behind the newest entry? Then an entry says so first.
    /// leapMs  how much more the wall clock went than time did since the last record of this program
    base::Done noticeClock(std::int64_t leapMs);

private:
    /// Where an act came from, as far as its entry shows.
    struct Sent {
        std::string id {}; ///< empty: made here
        std::optional<base::Moment> keptSince {};
    };

    base::Result<base::Seq> enter(const registry::Act& act, const std::string& person) override;
    base::Result<Entry> append(const registry::Act& act, const std::string& person, const Sent& sent);
    base::Result<Entry> entryOf(const registry::Act& act, const std::string& person, const Sent& sent);
    base::Done noteChange(const registry::Act& act, const std::string& subject);

    Session& m_session;
    Reader& m_reader;
    Head& m_head;
    Author m_author;
    std::int64_t m_nowMs;
    Ids m_ids;
    registry::desk::Occasion m_occasion;
    registry::desk::Judging m_judging;
    Digester m_digester;
    bool m_askedBeyondRuns = false;
    std::vector<Entry> m_consequences;
    std::map<base::Seq, base::Moment> m_kept; ///< entries of this batch that were kept
};

} // namespace mk::store
