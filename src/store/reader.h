// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy.h"
#include "registry/records.h"
#include "store/session.h"

#include <functional>
#include <limits>
#include <memory>
#include <unordered_map>
#include <vector>

namespace mk::store {

/// A catalogue of one kind of record, read once and kept until it is forgotten.
template <typename R>
using Kept = std::unordered_map<std::string, std::optional<R>>;

/// Reads the register as it stood at one entry of the journal: what was known then, and nothing later.
/// Keeps what it read of models, people, lots, vials and ranges. Belongs to its session's thread.
class Reader {
public:
    static constexpr base::Seq kNewest { std::numeric_limits<std::int64_t>::max() };

    /// errors  NotFound where the registry has no founding entry; Damaged
    static base::Result<Reader> open(Session& session, base::Seq asOf = kNewest);

    Session& session() const { return *m_session; }
    const registry::Zone& zone() const { return m_zone; }
    const std::string& registryId() const { return m_registryId; }
    base::Seq asOf() const { return m_asOf; }
    /// The newest version in force at that moment.
    const registry::Policy& policyAt(base::Moment at) const;

    // One record by its id; null where nothing is on record. The pointer holds until the next forget().
    base::Result<const registry::ModelRecord*> model(const base::ModelId& id);
    base::Result<const registry::MeterRecord*> meter(const base::MeterId& id);
    base::Result<const registry::OperatorRecord*> person(const base::OperatorId& id);
    base::Result<const registry::StripLotRecord*> stripLot(const base::StripLotId& id);
    base::Result<const registry::StripVialRecord*> stripVial(const base::StripVialId& id);
    base::Result<const registry::ControlLotRecord*> controlLot(const base::ControlLotId& id);
    base::Result<const registry::ControlVialRecord*> controlVial(const base::ControlVialId& id);
    /// The range in force at that moment for strip lot x control lot x level.
    base::Result<const registry::RangeRecord*> range(const base::StripLotId& strip, const base::ControlLotId& control, registry::Level level, base::Moment at);

    /// The level whose range holds a result that lies outside its own level's range; nothing where the level is right or unknown.
    base::Result<std::optional<registry::Level>> likelierLevel(const registry::acts::ControlRun& run);

    base::Result<bool> hasWard(const base::WardId& ward);
    base::Result<std::vector<registry::acts::WardAdded>> wards();
    base::Result<std::vector<registry::MeterRecord>> meters();
    base::Result<std::vector<registry::OperatorRecord>> people();
    /// Strip vials of a ward (or of none) that were opened by then and not ended, newest opening first.
    base::Result<std::vector<registry::StripVialRecord>> openStripVials(const base::WardId& ward, base::Moment at);
    base::Result<std::vector<registry::ControlVialRecord>> openControlVials(const base::WardId& ward, base::Moment at);

    // One meter's own records.
    base::Result<std::optional<registry::StateSpell>> stateAt(const base::MeterId& meter, base::Moment at);
    base::Result<std::vector<registry::StateSpell>> states(const base::MeterId& meter);
    base::Result<base::WardId> wardAt(const base::MeterId& meter, base::Moment at);
    base::Result<std::vector<registry::StopRecord>> stops(const base::MeterId& meter);
    base::Result<std::vector<registry::IncidentRecord>> incidents(const base::MeterId& meter);
    base::Result<std::vector<registry::ReturnRecord>> returnSteps(const base::MeterId& meter);
    base::Result<std::vector<registry::PairRecord>> pairs(const base::MeterId& meter);
    base::Result<std::vector<registry::LookbackRecord>> lookbacks(const base::MeterId& meter);
    /// Moments at which the meter's control statistics begin again, oldest first.
    base::Result<std::vector<base::Moment>> boundaries(const base::MeterId& meter);

    /// Sets whose last run lies in [from, to], oldest first.
    base::Result<std::vector<registry::SetRecord>> sets(const base::MeterId& meter, base::Moment from, base::Moment to);
    /// The newest sets that had begun by then, newest first.
    base::Result<std::vector<registry::SetRecord>> newestSets(const base::MeterId& meter, base::Moment by, int most);
    base::Result<std::optional<registry::SetRecord>> newestAcceptedSet(const base::MeterId& meter, base::Moment by);
    base::Result<std::optional<registry::SetRecord>> newestCountedSet(const base::MeterId& meter, base::Moment by);
    base::Result<std::optional<registry::SetRecord>> set(const base::SetId& id);
    /// Runs of a set as they stand, oldest first, judged or not.
    base::Result<std::vector<registry::RunRecord>> runs(const base::SetId& id);
    /// Ids of all sets of a meter that hold runs, in the order of their last run.
    base::Result<std::vector<base::SetId>> setsWithRuns(const base::MeterId& meter);

    /// Everything that the meter's fitness at that moment rests on.
    base::Result<registry::MeterHistory> history(const registry::MeterRecord& meter, base::Moment at);

    /// Acts of one kind that no index table holds, as the journal has them: oldest first, without those annulled by then.
    /// subject  what they are about (registry::subjectOf); none: all
    template <typename A>
    base::Result<std::vector<registry::Record<A>>> facts(const std::optional<std::string>& subject = std::nullopt)
    {
        std::vector<registry::Record<A>> records;
        const base::Done read = eachFact(A::kind, subject, [&](base::Seq seq, registry::Act&& act) { records.push_back({ seq, std::get<A>(std::move(act)) }); });
        if (!read)
            return read.error();
        return records;
    }

    /// The people's ids of meters that have run with a lot, a vial or an operator: whom a late fact may concern.
    base::Result<std::vector<base::MeterId>> metersThatUsed(const std::string& id);

    /// Forgets what was kept under an id, after an act changed it.
    void forget(const std::string& id);

private:
    Reader(Session& session, base::Seq asOf, registry::Zone zone) : m_session(&session), m_asOf(asOf), m_zone(std::move(zone)) { }

    base::Done eachFact(std::string_view kind, const std::optional<std::string>& subject, const std::function<void(base::Seq, registry::Act&&)>& take);
    QVariantList keyed(const std::string& key) const;
    base::Result<const std::vector<registry::RangeRecord>*> rangesOf(const base::StripLotId& strip);
    base::Result<std::vector<registry::Record<registry::acts::LotEvent>>> lotEvents(const std::string& lot);
    base::Result<std::optional<registry::Record<registry::acts::VialEnded>>> vialEnd(const std::string& vial);
    base::Result<std::vector<registry::SetRecord>> setRows(Statement& query);
    base::Result<std::optional<registry::SetRecord>> oneSet(const char* sql, const base::MeterId& meter, base::Moment by);
    base::Done loadRuns(registry::SetRecord& set);
    base::Done loadPolicies();
    base::Done historyOfSets(registry::MeterHistory& history, base::Moment at);
    base::Done historyOfStripVial(registry::MeterHistory& history, base::Moment at);

    Session* m_session;
    base::Seq m_asOf;
    registry::Zone m_zone;
    std::string m_registryId;
    std::vector<std::pair<std::optional<std::int64_t>, std::unique_ptr<registry::Policy>>> m_policies;
    Kept<registry::ModelRecord> m_models;
    Kept<registry::MeterRecord> m_meters;
    Kept<registry::OperatorRecord> m_people;
    Kept<registry::StripLotRecord> m_stripLots;
    Kept<registry::StripVialRecord> m_stripVials;
    Kept<registry::ControlLotRecord> m_controlLots;
    Kept<registry::ControlVialRecord> m_controlVials;
    std::unordered_map<std::string, std::vector<registry::RangeRecord>> m_ranges; ///< by strip lot
};

} // namespace mk::store
