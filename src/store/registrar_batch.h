// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control_set.h"
#include "registry/meter_life.h"
#include "store/registrar.h"

#include <map>

namespace mk::store {

/// What one meter's next set is judged with: loaded once, then moved forward in memory.
struct MeterWork {
    registry::MeterSeries before; ///< without the newest set, which may still grow
    registry::MeterSeries after;
    std::optional<base::SetId> newest;
    std::vector<registry::StateSpell> states;
    std::vector<base::Moment> boundaries;
    bool statesKnown = false;
};

struct Registrar::Working {
    Reader reader;
    Head head; ///< of the journal when the caches were filled
    std::map<base::MeterId, MeterWork> meters;
};

/// One transaction's worth of acts: admits, appends, and lets follow what follows. Made for one batch.
class ActBatch {
public:
    ActBatch(Session& session, Reader& reader, std::map<base::MeterId, MeterWork>& meters, Head& head, const Author& author, bool imported, std::int64_t nowMs);

    /// Admits and appends one act. Verdicts wait until they are needed: see settle().
    /// errors  why the act may not be recorded; the batch is then spoilt and must be rolled back
    base::Result<Outcome> add(const registry::Act& act, const std::string& id);
    /// Judges what waits, with everything that follows from it.
    base::Done settle();

    const std::vector<Entry>& consequences() const { return m_consequences; }
    /// A set that this batch judged from its own runs, as it was stored; null for any other.
    const registry::SetRecord* judgedSet(const base::SetId& id) const
    {
        const auto found = m_judged.find(id);
        return found == m_judged.end() ? nullptr : &found->second;
    }
    const Head& head() const { return m_head; }

    /// Did the clock leap, or is it behind the newest entry? Then an entry says so first.
    /// leapMs  how much more the wall clock went than time did since the last record of this program
    base::Done noticeClock(std::int64_t leapMs);

private:
    struct Pending {
        base::SetId set;
        bool fromIndex = false; ///< the set had runs before this batch: read them all
        std::vector<std::pair<base::Seq, registry::acts::ControlRun>> runs;
        base::Seq last;
        std::string person;
    };

    // admission (registrar_admission.cpp)
    base::Done admit(const registry::Act& act);
    base::Done admitKey(const registry::Act& act);
    template <typename A>
    base::Done check(const A& act);
    base::Done needWard(const base::WardId& ward);
    base::Done needMeter(const base::MeterId& meter);
    base::Result<const registry::OperatorRecord*> needPerson(const base::OperatorId& person);
    base::Done checkResult(const registry::acts::ControlRun& run);
    base::Result<registry::ReturnEvidence> evidenceFor(const registry::acts::ReturnStep& step);

    // consequences (registrar_consequences.cpp)
    base::Done follow(base::Seq seq, const registry::Act& act);
    base::Done followIncident(base::Seq seq, const registry::acts::IncidentReported& incident);
    base::Done followComparison(base::Seq seq, const registry::acts::ComparisonRecorded& pair);
    base::Done followReturn(base::Seq seq, const registry::acts::ReturnStep& step);
    base::Done followMovement(base::Seq seq, const registry::acts::MeterMoved& movement);
    base::Done followCorrection(base::Seq seq, const registry::acts::EntryCorrected& correction);
    base::Done followAnnulment(base::Seq seq, const registry::acts::EntryAnnulled& annulment, const std::string& kind, const Json& body);
    base::Done followConfirmation(base::Seq seq, const registry::acts::CorrectionConfirmed& confirmation);
    base::Done followErrorCode(const base::MeterId& meter, base::Moment at, base::Seq seq);
    base::Done stop(const base::MeterId& meter, base::Moment at, bool withdrawn, const std::string& cause, base::Seq because, bool needsSignature);
    base::Done endStops(const base::MeterId& meter, base::Moment at, base::Seq because, const std::vector<registry::StopRecord>& open,
        const std::function<bool(const registry::StopRecord&)>& ends, std::optional<registry::MeterState> to);
    base::Result<std::vector<registry::StopRecord>> openStops(const base::MeterId& meter);
    /// When a consequence takes effect: at the act's own time where it was taken over, else now.
    base::Moment effective(base::Moment actAt) const;

    // judging (registrar_judging.cpp)
    base::Done expect(base::Seq seq, const registry::acts::ControlRun& run);
    base::Done settleMeter(const base::MeterId& meter);
    base::Result<MeterWork*> workOf(const base::MeterId& meter);
    base::Result<registry::MeterState> stateAt(const base::MeterId& meter, base::Moment at);
    base::Result<registry::RunContext> contextOf(const registry::acts::ControlRun& run);
    base::Result<registry::acts::SetJudged> judge(const registry::MeterSeries& series, const MeterWork& work,
        const std::vector<std::pair<base::Seq, registry::acts::ControlRun>>& runs);
    base::Done judgePending(const Pending& pending);
    base::Done rejudge(const base::MeterId& meter, base::Seq because);
    base::Done followVerdict(const registry::SetRecord& set, base::Moment at);
    base::Result<bool> waitsForConfirmation(const base::SetId& set);
    base::Done markLate(const std::string& id, std::optional<base::Moment> since, base::Seq because);

    base::Result<base::Seq> append(const registry::Act& act, const std::string& id, const std::string& person, bool imported);
    base::Done appendConsequence(const registry::Act& act);

    Session& m_session;
    Reader& m_reader;
    std::map<base::MeterId, MeterWork>& m_meters;
    Head& m_head;
    Author m_author;
    bool m_imported;
    std::int64_t m_nowMs;
    std::string m_person; ///< of the act that is being followed
    Digester m_digester;
    std::map<base::MeterId, Pending> m_pending;
    std::map<base::MeterId, base::Seq> m_late; ///< meters whose recorded verdicts may no longer stand, and why
    std::optional<std::int64_t> m_newestJudged; ///< last run of the newest judged set of any meter; read when first asked for
    bool m_setKnown = false;                   ///< the run being admitted joins a set that has runs
    std::map<base::SetId, registry::SetRecord> m_judged;
    std::vector<Entry> m_consequences;
};

// What a correction would make of a run is checked as a run.
template <>
base::Done ActBatch::check(const registry::acts::ControlRun& act);
// Checked in registrar_mending.cpp.
template <>
base::Done ActBatch::check(const registry::acts::EntryCorrected& act);
template <>
base::Done ActBatch::check(const registry::acts::EntryAnnulled& act);
template <>
base::Done ActBatch::check(const registry::acts::CorrectionConfirmed& act);
template <>
base::Done ActBatch::check(const registry::acts::LookbackClosed& act);

/// A fresh UUID.
std::string newUuid();

} // namespace mk::store
