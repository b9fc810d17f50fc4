// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"
#include "registry/policy/policy.h"
#include "registry/acts/records.h"
#include "store/db/described_row.h"

#include <functional>
#include <limits>
#include <map>
#include <memory>
#include <set>
#include <unordered_map>
#include <vector>

namespace mk::store {

struct SetVerdictRow;

/// A catalogue of one kind of record, read once and kept until it is forgotten.
template <typename R>
using Kept = std::unordered_map<std::string, std::optional<R>>;

/// Reads the register as it stood at one entry of the journal: what was known then, and nothing later.
/// Keeps what it read of models, people, lots, vials and ranges. Belongs to its session's thread.
class Reader : public registry::Facts {
public:
    static constexpr base::Seq kNewest = base::kNewestSeq;

    /// errors  NotFound where the registry has no founding entry; Damaged
    static base::Result<Reader> open(Session& session, base::Seq asOf = kNewest);

    Session& session() const { return *m_session; }
    const registry::Zone& zone() const override { return m_zone; }
    const std::string& registryId() const { return m_registryId; }
    base::Seq asOf() const { return m_asOf; }
    /// The values of a statement together with `:known`, the entry as of which the register is read.
    Values asKnown(Values values = {}) const;
    /// The newest version in force at that moment.
    const registry::Policy& policyAt(base::Moment at) const override;
    /// The moments after `at` at which another version comes into force, ascending.
    std::vector<base::Moment> policyChangesAfter(base::Moment at) const;
    std::int64_t newestPolicyVersion() const override { return m_policies.back().second->version; }
    /// Reads the versions again after one was added; those that are held stay where they are.
    base::Done readPoliciesAgain();

    // One record by its id; null where nothing is on record. The pointer holds until the next forget().
    base::Result<const registry::ModelRecord*> model(const base::ModelId& id) override;
    base::Result<const registry::MeterRecord*> meter(const base::MeterId& id) override;
    base::Result<const registry::OperatorRecord*> person(const base::OperatorId& id) override;
    base::Result<const registry::StripLotRecord*> stripLot(const base::StripLotId& id) override;
    base::Result<const registry::StripVialRecord*> stripVial(const base::StripVialId& id) override;
    base::Result<const registry::ControlLotRecord*> controlLot(const base::ControlLotId& id) override;
    base::Result<const registry::ControlVialRecord*> controlVial(const base::ControlVialId& id) override;
    base::Result<const std::vector<registry::RangeRecord>*> ranges(const base::StripLotId& strip) override;
    /// The newest signature for each month and ward, except those that were overtaken already.
    base::Result<const std::vector<registry::Record<registry::acts::ReviewSigned>>*> standingReviews() override;
    /// Has anybody a secret?
    base::Result<bool> signInSetUp();
    /// Every notice, oldest first, with what became of it.
    base::Result<const std::vector<registry::NoticeRecord>*> notices() override;

    base::Result<bool> hasWard(const base::WardId& ward) override;
    base::Result<std::vector<registry::acts::WardAdded>> wards();
    base::Result<std::vector<registry::MeterRecord>> meters() override;
    base::Result<std::vector<registry::OperatorRecord>> people() override;
    /// Strip vials of a ward (or of none) that were opened by then and not ended, newest opening first.
    base::Result<std::vector<registry::StripVialRecord>> openStripVials(const base::WardId& ward, base::Moment at) override;
    base::Result<std::vector<registry::ControlVialRecord>> openControlVials(const base::WardId& ward, base::Moment at) override;

    // One meter's own records.
    base::Result<std::optional<registry::StateSpell>> stateAt(const base::MeterId& meter, base::Moment at) override;
    base::Result<std::vector<registry::StateSpell>> states(const base::MeterId& meter) override;
    base::Result<base::WardId> wardAt(const base::MeterId& meter, base::Moment at) override;
    base::Result<std::vector<registry::StopRecord>> stops(const base::MeterId& meter) override;
    base::Result<std::vector<registry::IncidentRecord>> incidents(const base::MeterId& meter) override;
    base::Result<std::vector<registry::ReturnRecord>> returnSteps(const base::MeterId& meter) override;
    base::Result<std::vector<registry::PairRecord>> pairs(const base::MeterId& meter) override;
    /// Those among which the newest comparison by then, and the newest one that passed, are found: not all, where the newest will do.
    virtual base::Result<std::vector<registry::PairRecord>> pairsThatCount(const base::MeterId& meter, base::Moment at);
    base::Result<std::vector<registry::LookbackRecord>> lookbacks(const base::MeterId& meter) override;
    /// Moments at which the meter's control statistics begin again, oldest first.
    base::Result<std::vector<registry::SegmentBoundary>> boundaries(const base::MeterId& meter) override;
    base::Result<std::vector<registry::UsualStanding>> standings(
        const base::ModelId& model, const base::MeterId& except, base::Moment from, base::Moment to) override;
    base::Result<std::vector<registry::SetRecord>> firstSetsOnLots(
        const base::StripLotId& strip, const base::ControlLotId& control, base::Moment before, int most) override;

    /// Sets whose last run lies in [from, to], oldest first.
    base::Result<std::vector<registry::SetRecord>> sets(const base::MeterId& meter, base::Moment from, base::Moment to) override;
    /// The newest sets that had begun by then, newest first.
    base::Result<std::vector<registry::SetRecord>> newestSets(const base::MeterId& meter, base::Moment by, int most) override;
    base::Result<std::optional<registry::SetRecord>> newestAcceptedSet(const base::MeterId& meter, base::Moment by) override;
    base::Result<std::optional<registry::SetRecord>> newestCountedSet(const base::MeterId& meter, base::Moment by) override;
    base::Result<std::optional<registry::SetRecord>> set(const base::SetId& id) override;
    base::Result<bool> acceptedOn(
        const base::StripVialId& vial, base::Moment by, const std::optional<base::MeterId>& meter = std::nullopt) override;
    base::Result<bool> acceptedOnLot(const base::StripLotId& lot, const base::MeterId& meter, base::Moment from, base::Moment to) override;
    base::Result<std::vector<registry::ControlVialUse>> usesAround(
        const base::ControlVialId& vial, registry::Level level, std::int64_t withinMs) override;
    /// Runs of a set as they stand, oldest first, judged or not.
    base::Result<std::vector<registry::RunRecord>> runs(const base::SetId& id) override;
    /// Had the workstation's clock leapt forward when that entry was made, and was not put right yet?
    base::Result<bool> clockLeaptBefore(base::Seq entry);
    /// Ids of all sets of a meter that hold runs, in the order of their last run.
    base::Result<std::vector<base::SetId>> setsWithRuns(const base::MeterId& meter) override;

    // Life of meters, and people (read_life.cpp).
    /// Wards of a meter up to then, oldest first.
    base::Result<std::vector<registry::WardSpell>> wardSpells(const base::MeterId& meter, base::Moment at);
    /// The newest change of ward, unless it was taken over from elsewhere.
    base::Result<std::optional<registry::TransferRecord>> transferOf(const base::MeterId& meter, base::Moment at) override;
    /// Meters whose id, else serial, else UDI is that text, with which of the three it is; retired and missing ones too.
    base::Result<std::vector<std::pair<base::MeterId, std::string>>> metersCalled(const std::string& text) override;
    base::Result<const registry::PersonFacts*> personFacts(const base::OperatorId& id);
    base::Result<registry::Competency> competency(const registry::OperatorRecord& person, const std::optional<base::ModelId>& model,
        base::Moment at, base::Seq knownBefore = kNewest) override;
    /// The person with the dates between which they are competent on that model; none where they are not.
    base::Result<registry::OperatorRecord> personOnModel(
        registry::OperatorRecord person, const base::ModelId& model, base::Moment at) override;

    /// Everything that the meter's fitness at that moment rests on.
    base::Result<registry::MeterHistory> history(const registry::MeterRecord& meter, base::Moment at) override;

    // Entries, by their number or by what they are about (read_entries.cpp).
    base::Result<std::optional<registry::KnownEntry>> entry(base::Seq seq) override;
    base::Result<std::optional<base::Seq>> entryOfKey(const std::string& file, const std::string& key) override;
    base::Result<std::optional<base::MeterId>> meterOfSet(const base::SetId& id) override;
    base::Result<std::optional<base::Moment>> newestJudged() override;
    base::Result<std::vector<registry::CorrectionRecord>> corrections(const base::SetId& set) override;
    base::Result<std::optional<base::MeterId>> meterWithSerial(const base::ModelId& model, const std::string& serial) override;
    base::Result<std::optional<registry::Record<registry::acts::ReviewSigned>>> signatureThatHolds(
        const std::optional<base::WardId>& ward, const std::string& month) override; // signed_months.cpp
    base::Result<std::vector<std::string>> lotIds() override;
    base::Result<std::vector<std::string>> vialIdsOfLot(const std::string& lot) override;
    base::Result<std::vector<std::string>> vialIdsOfWard(const base::WardId& ward) override;
    base::Result<std::vector<base::MeterId>> metersOnVial(const std::string& vial) override;
    /// The people's ids of meters that have run with a lot, a vial or an operator: whom a late fact may concern.
    base::Result<std::vector<base::MeterId>> metersThatUsed(const std::string& id) override;

    /// Forgets what was kept under an id, after an act changed it.
    void forget(const std::string& id);

private:
    Reader(Session& session, base::Seq asOf, registry::Zone zone) : m_session(&session), m_asOf(asOf), m_zone(std::move(zone)) { }

    base::Done eachFact(std::string_view kind, const std::optional<std::string>& subject,
        const std::function<void(base::Seq, registry::Act&&)>& take) override;
    base::Result<std::vector<registry::Record<registry::acts::LotEvent>>> lotEvents(const std::string& lot);
    /// A lot with what was said of it since, a vial with its ends. sql  selects their rows by id
    template <typename R>
    base::Result<std::optional<R>> lotOf(const auto& sql, const std::string& id);
    template <typename R>
    base::Result<std::optional<R>> vialOf(const auto& sql, const std::string& id);
    template <typename V>
    base::Done readEnds(const std::string& vial, V& record);
    /// Why an accepted set no longer clears its meter at that moment; nothing where it does.
    base::Result<std::optional<registry::Revocation>> revocationOf(const registry::SetRecord& set, base::Moment at);
    base::Result<std::vector<registry::SetRecord>> setRows(const Select<SetVerdictRow>& sql, const Values& values);
    base::Result<std::optional<registry::SetRecord>> oneSet(const Select<SetVerdictRow>& sql, const Values& values);
    base::Done loadRuns(registry::SetRecord& set);
    base::Done loadPolicies();
    base::Result<std::set<base::Seq>> reopenedLookbacks();
    base::Done readTurns(registry::LookbackRecord& record);
    base::Done historyOfSets(registry::MeterHistory& history, base::Moment at);
    base::Done historyOfStripVial(registry::MeterHistory& history, base::Moment at);
    base::Done historyOfClearance(registry::MeterHistory& history, base::Moment at);
    base::Done historyOfMovements(registry::MeterHistory& history, base::Moment at);

    Session* m_session;
    base::Seq m_asOf;
    registry::Zone m_zone;
    std::string m_registryId;
    std::vector<std::pair<std::optional<std::int64_t>, std::unique_ptr<registry::Policy>>> m_policies;
    bool m_policiesFounded = false; ///< m_policies come from the journal, not from the default
    Kept<registry::ModelRecord> m_models;
    Kept<registry::MeterRecord> m_meters;
    Kept<registry::OperatorRecord> m_people;
    std::unordered_map<std::string, registry::PersonFacts> m_personFacts;
    Kept<registry::StripLotRecord> m_stripLots;
    Kept<registry::StripVialRecord> m_stripVials;
    Kept<registry::ControlLotRecord> m_controlLots;
    Kept<registry::ControlVialRecord> m_controlVials;
    std::unordered_map<std::string, std::vector<registry::RangeRecord>> m_ranges; ///< by strip lot
    std::optional<std::vector<registry::NoticeRecord>> m_notices;
    std::optional<std::vector<registry::Record<registry::acts::ReviewSigned>>> m_standingReviews;
    std::optional<std::map<base::Seq, bool>> m_clockNotices; ///< forward?
    std::optional<bool> m_signInSetUp;
    std::optional<std::set<base::Seq>> m_reopened; ///< look-backs, by the entry that opened each
};

} // namespace mk::store
