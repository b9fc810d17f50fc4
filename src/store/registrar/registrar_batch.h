// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/control_set.h"
#include "registry/control/failure_ladder.h"
#include "registry/meter/meter_life.h"
#include "registry/meter/nonconformity.h"
#include "store/registrar/registrar.h"

#include <algorithm>
#include <map>
#include <set>

namespace mk::store {

/// What one meter's next set is judged with: loaded once, then moved forward in memory.
struct MeterWork {
    registry::MeterSeries before; ///< without the newest set, which may still grow
    registry::MeterSeries after;
    std::optional<base::SetId> newest;
    std::vector<registry::StateSpell> states;
    std::vector<base::Moment> boundaries;
    bool statesKnown = false;
    bool failing = false; ///< something failed that no accepted set has ended
};

struct Registrar::Working {
    Reader reader;
    Head head; ///< of the journal when the caches were filled
    std::map<base::MeterId, MeterWork> meters;
    std::set<base::MeterId> rehearsedMeters; ///< what the rehearsal of the next transaction is about
    std::set<base::SetId> rehearsedSets;
    std::set<std::string> rehearsedIds;
};

/// One transaction's worth of acts: admits, appends, and lets follow what follows. Made for one batch.
class ActBatch {
public:
    ActBatch(Session& session, Reader& reader, std::map<base::MeterId, MeterWork>& meters, Head& head, const Author& author, bool imported,
        std::int64_t nowMs, const Ids& ids);

    /// Admits and appends one act. Verdicts wait until they are needed: see settle().
    /// errors  why the act may not be recorded; the batch is then spoilt and must be rolled back
    /// keptSince  when it was kept at a workstation that could not reach the server
    base::Result<Outcome> add(const registry::Act& act, const std::string& id, std::optional<base::Moment> keptSince = {});
    /// Appends what the program itself has to say; nothing follows from it.
    base::Result<base::Seq> appendOwn(const registry::Act& act);
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
    std::int64_t nowMs() const { return m_nowMs; }
    /// Did it read, or conclude, anything beyond the meters of its own runs?
    bool lookedAround() const
    {
        return m_lookedAround
            || std::ranges::any_of(m_consequences, [](const Entry& each) { return each.act != registry::acts::SetJudged::kind; });
    }

    /// Did the clock leap, or is it behind the newest entry? Then an entry says so first.
    /// leapMs  how much more the wall clock went than time did since the last record of this program
    base::Done noticeClock(std::int64_t leapMs);

private:
    struct Pending {
        base::SetId set;
        std::vector<registry::RunRecord> known; ///< runs that the set had before this batch
        std::vector<std::pair<base::Seq, registry::acts::ControlRun>> runs;
        base::Seq last;
        std::string person;
    };

    // admission (registrar_admission.cpp)
    base::Done admit(const registry::Act& act);
    base::Done admitKey(const registry::Act& act);
    base::Done checkTime(const registry::Act& act);                                                           // registrar_time.cpp
    base::Done checkPersonsEntry(const registry::Act& act);                                                   // registrar_time.cpp
    registry::SetRecord marked(registry::SetRecord set, const std::vector<registry::RunRecord>& known) const; // registrar_time.cpp
    template <typename A>
    base::Done check(const A& act);
    base::Done needWard(const base::WardId& ward);
    base::Done needMeter(const base::MeterId& meter);
    base::Result<const registry::OperatorRecord*> needPerson(const base::OperatorId& person);
    base::Done checkResult(const registry::acts::ControlRun& run);
    base::Result<registry::ReturnEvidence> evidenceFor(const registry::acts::ReturnStep& step);

    // lots, vials and notices (registrar_lots.cpp, registrar_notices.cpp)
    base::Done mayOpen(const std::string& vial, const std::string& lot, const std::optional<base::PrintedDate>& expiry,
        std::optional<registry::LotEventKind> status, bool needsRelease, const std::optional<base::Moment>& opened,
        const std::optional<registry::YesNo>& foundOpen);
    base::Done mayRelease(const registry::acts::LotEvent& event, const registry::StripLotRecord& lot);
    base::Done needNoticeItems(const registry::acts::ReturnStep& step);
    base::Done followExcursion(const registry::acts::ExcursionReported& excursion);
    base::Done followNotice(base::Seq seq, const registry::acts::NoticeIssued& notice);
    // life of a meter (registrar_life.cpp) and people (registrar_people.cpp)
    base::Done addStanding(const registry::acts::ReturnStep& step, registry::ReturnEvidence& evidence);
    base::Done checkPapers(const registry::acts::MeterMoved& movement, registry::MeterState state);
    base::Done checkTransfer(const registry::acts::MeterMoved& movement);
    base::Done checkCleaning(const registry::acts::IncidentReported& incident);
    base::Done followWrongUnit(base::Seq seq, const registry::acts::IncidentReported& incident, base::Moment told);
    /// On record, and the account is not closed.
    base::Result<const registry::OperatorRecord*> needActive(const base::OperatorId& person);
    base::Done needCoordinator(const base::OperatorId& person, const std::string& what);
    base::Done checkPeopleOf(const registry::acts::ControlRun& run);
    /// What somebody else has begun on the same meter and not completed: nothing is merged, each is told of the other.
    base::Result<std::vector<std::string>> othersOn(const registry::acts::ControlRun& run);

    // consequences (registrar_consequences.cpp)
    base::Done follow(base::Seq seq, const registry::Act& act);
    base::Done followIncident(base::Seq seq, const registry::acts::IncidentReported& incident);
    base::Done followComparison(base::Seq seq, const registry::acts::ComparisonRecorded& pair);
    base::Done followReturn(base::Seq seq, const registry::acts::ReturnStep& step);
    base::Done followMovement(base::Seq seq, const registry::acts::MeterMoved& movement);
    base::Done followCorrection(base::Seq seq, const registry::acts::EntryCorrected& correction);
    base::Done followAnnulment(base::Seq seq, const registry::acts::EntryAnnulled& annulment, const std::string& kind, const Json& body);
    base::Done followConfirmation(base::Seq seq, const registry::acts::CorrectionConfirmed& confirmation);
    base::Done followEqaReturn(base::Seq seq, const registry::acts::EqaReturned& returned);
    base::Done followEqaScore(base::Seq seq, const registry::acts::EqaScored& scored);
    base::Done followEqaFailure(
        const registry::acts::EqaReceived& sample, base::Moment at, base::Seq because, const std::string& why, bool accuracyFailed);
    base::Done followErrorCode(const base::MeterId& meter, base::Moment at, base::Seq seq);
    base::Done stop(
        const base::MeterId& meter, base::Moment at, bool withdrawn, const std::string& cause, base::Seq because, bool needsSignature);
    base::Done endStops(const base::MeterId& meter, base::Moment at, base::Seq because, const std::vector<registry::StopRecord>& open,
        const std::function<bool(const registry::StopRecord&)>& ends, std::optional<registry::MeterState> to);
    base::Result<std::vector<registry::StopRecord>> openStops(const base::MeterId& meter);
    /// When a consequence takes effect: at the act's own time where it was taken over, else now.
    base::Moment effective(base::Moment actAt) const;

    // signed months (registrar_review.cpp)
    struct Touched {
        base::MeterId meter;
        base::Moment at;
    };
    base::Result<std::vector<Touched>> touchedBy(const registry::Act& act);
    base::Done overtakeReviews(base::Seq seq, const registry::Act& act, const std::optional<registry::Act>& annulled);
    // failed controls (registrar_ladder.cpp)
    base::Done checkRepeat(const registry::acts::ControlRun& run);
    base::Done followFailure(const registry::SetRecord& set, base::Moment at);
    base::Done followPass(const registry::SetRecord& set, base::Moment at);
    base::Done followWithdrawal(const base::MeterId& meter, base::Moment at, base::Seq because);
    base::Done endSpentVial(const std::string& vial, registry::LadderEnding ending, base::Moment at);
    base::Done openVialLookbacks(const base::StripVialId& vial, const base::MeterId& failed, base::Moment failure, base::Moment at,
        base::Seq because, const std::optional<std::string>& direction);
    base::Done openShiftLookback(const registry::SetRecord& newest, base::Moment at, const std::string& cause, base::Seq because);
    /// Opens a look-back, unless the meter has one of that cause, start and scope.
    base::Done openLookback(const registry::acts::LookbackOpened& lookback);
    base::Result<base::Moment> lastGoodBefore(const base::MeterId& meter, base::Moment failure);
    base::Result<base::Moment> stoppedBy(const base::MeterId& meter, base::Moment from, base::Moment failure);
    base::Done appendFollowing(const registry::Act& act);

    // nonconformities and look-backs (registrar_nonconformity.cpp)
    /// Opens a nonconformity by itself, unless one of that type and subject is being worked on.
    /// type  a reason code
    base::Done openNonconformity(
        const std::string& type, const std::string& subject, const std::string& description, base::Seq because, base::Moment at);
    base::Done followStop(const registry::acts::MeterStopped& stopped, base::Seq seq);
    base::Done lookBackOnIncident(base::Seq seq, const registry::acts::IncidentReported& incident, base::Moment told);
    base::Result<std::optional<base::Seq>> undecidedLookback(const registry::Nonconformity& nonconformity);

    // judging (registrar_judging.cpp)
    base::Done expect(base::Seq seq, const registry::acts::ControlRun& run);
    base::Done settleMeter(const base::MeterId& meter);
    base::Result<MeterWork*> workOf(const base::MeterId& meter);
    base::Result<registry::MeterState> stateAt(const base::MeterId& meter, base::Moment at);
    base::Result<registry::RunContext> contextOf(base::Seq seq, const registry::acts::ControlRun& run);
    base::Result<registry::acts::SetJudged> judge(const registry::MeterSeries& before, const MeterWork& work,
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
    Ids m_ids;
    std::string m_person;     ///< of the act that is being followed
    bool m_following = false; ///< what is appended follows from another act
    Digester m_digester;
    std::map<base::MeterId, Pending> m_pending;
    std::map<base::MeterId, base::Seq> m_late;  ///< meters whose recorded verdicts may no longer stand, and why
    std::optional<std::int64_t> m_newestJudged; ///< last run of the newest judged set of any meter; read when first asked for
    std::vector<registry::RunRecord> m_known;   ///< runs of the set that the run being admitted joins
    bool m_lookedAround = false;
    bool m_runsOnly = true; ///< nothing but control runs was added: what was read of a set still holds
    std::map<base::SetId, registry::SetRecord> m_judged;
    std::vector<Entry> m_consequences;
    std::optional<base::Moment> m_keptSince;  ///< of the act that is being added
    std::map<base::Seq, base::Moment> m_kept; ///< entries of this batch that were kept
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
// Checked in registrar_ladder.cpp.
template <>
base::Done ActBatch::check(const registry::acts::TechniqueChecked& act);
// Checked in registrar_nonconformity.cpp.
template <>
base::Done ActBatch::check(const registry::acts::NcOpened& act);
template <>
base::Done ActBatch::check(const registry::acts::NcStep& act);
template <>
base::Done ActBatch::check(const registry::acts::LookbackClosed& act);
// Checked in registrar_time.cpp and registrar_review.cpp.
template <>
base::Done ActBatch::check(const registry::acts::LateEntryAccepted& act);
template <>
base::Done ActBatch::check(const registry::acts::ReviewSigned& act);

// Checked in registrar_lots.cpp and registrar_notices.cpp.
template <>
base::Done ActBatch::check(const registry::acts::StripVialOpened& act);
template <>
base::Done ActBatch::check(const registry::acts::ControlVialOpened& act);
template <>
base::Done ActBatch::check(const registry::acts::RangeAssigned& act);
template <>
base::Done ActBatch::check(const registry::acts::VialEnded& act);
template <>
base::Done ActBatch::check(const registry::acts::LotEvent& act);
template <>
base::Done ActBatch::check(const registry::acts::ShipmentReceived& act);
template <>
base::Done ActBatch::check(const registry::acts::RangeConfirmed& act);
template <>
base::Done ActBatch::check(const registry::acts::LotControlChecked& act);
template <>
base::Done ActBatch::check(const registry::acts::LotSampleCompared& act);
template <>
base::Done ActBatch::check(const registry::acts::ExcursionReported& act);
template <>
base::Done ActBatch::check(const registry::acts::VialReleased& act);
template <>
base::Done ActBatch::check(const registry::acts::NoticeIssued& act);
template <>
base::Done ActBatch::check(const registry::acts::NoticeItemDone& act);
template <>
base::Done ActBatch::check(const registry::acts::NoticeClosed& act);
// Checked in registrar_life.cpp.
template <>
base::Done ActBatch::check(const registry::acts::MeterEnrolled& act);
template <>
base::Done ActBatch::check(const registry::acts::MeterMoved& act);
template <>
base::Done ActBatch::check(const registry::acts::MeterDescribed& act);
template <>
base::Done ActBatch::check(const registry::acts::AcceptanceChecked& act);
template <>
base::Done ActBatch::check(const registry::acts::TransferConfirmed& act);
// Checked in registrar_people.cpp.
template <>
base::Done ActBatch::check(const registry::acts::OperatorChanged& act);
template <>
base::Done ActBatch::check(const registry::acts::CompetencyAssessed& act);
template <>
base::Done ActBatch::check(const registry::acts::ShiftBegun& act);
template <>
base::Done ActBatch::check(const registry::acts::ShiftEnded& act);
// registrar_policy.cpp
template <>
base::Done ActBatch::check(const registry::acts::PolicyChanged& act);
// registrar_eqa.cpp
template <>
base::Done ActBatch::check(const registry::acts::EqaReceived& act);
template <>
base::Done ActBatch::check(const registry::acts::EqaReturned& act);
template <>
base::Done ActBatch::check(const registry::acts::EqaScored& act);
template <>
base::Done ActBatch::check(const registry::acts::CalibrationVerified& act);

} // namespace mk::store
