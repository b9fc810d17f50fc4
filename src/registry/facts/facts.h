// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "registry/lots/assigned_range.h"
#include "registry/people/competency.h"
#include "registry/policy/policy.h"

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace mk::registry {

/// A run with a control vial that may stand for it: valid, a number, and in its range.
struct ControlVialUse {
    base::MeterId meter;
    base::ControlVialId vial;
    base::Moment at;
};

/// What is known at one moment, to be asked by whoever decides: may it happen, what follows, may this meter be used.
/// The store answers from its index, the preview of a policy from recorded sets under a candidate, a test from plain values.
/// Every question may fail (a link lost, stored data that contradicts itself); the fault is handed on.
class Facts {
public:
    Facts() = default;
    Facts(const Facts&) = delete;
    Facts& operator=(const Facts&) = delete;
    virtual ~Facts() = default;

    virtual const Zone& zone() const = 0;
    /// The newest version in force at that moment.
    virtual const Policy& policyAt(base::Moment at) const = 0;
    virtual std::int64_t newestPolicyVersion() const = 0;
    // One record by its id; null where nothing is on record. The pointer holds until the next forget().
    virtual base::Result<const ModelRecord*> model(const base::ModelId& id) = 0;
    virtual base::Result<const MeterRecord*> meter(const base::MeterId& id) = 0;
    virtual base::Result<const OperatorRecord*> person(const base::OperatorId& id) = 0;
    virtual base::Result<const StripLotRecord*> stripLot(const base::StripLotId& id) = 0;
    virtual base::Result<const StripVialRecord*> stripVial(const base::StripVialId& id) = 0;
    virtual base::Result<const ControlLotRecord*> controlLot(const base::ControlLotId& id) = 0;
    virtual base::Result<const ControlVialRecord*> controlVial(const base::ControlVialId& id) = 0;
    /// Every range of a strip lot, for any control lot, level and meter, in the order of their entries.
    virtual base::Result<const std::vector<RangeRecord>*> ranges(const base::StripLotId& strip) = 0;
    /// The range in force at that moment for strip lot x control lot x level (lots/assigned_range.h).
    /// meter  limits that were set for this one meter go before those of the group; none: the group's
    base::Result<const RangeRecord*> range(const base::StripLotId& strip, const base::ControlLotId& control, Level level, base::Moment at,
        const std::optional<base::MeterId>& meter = std::nullopt)
    {
        const auto all = ranges(strip);
        if (!all)
            return all.error();
        return rangeInForce(**all, control, level, at, meter);
    }
    /// The newest signature for each month and ward, except those that were overtaken already.
    virtual base::Result<const std::vector<Record<acts::ReviewSigned>>*> standingReviews() = 0;
    /// Every notice, oldest first, with what became of it.
    virtual base::Result<const std::vector<NoticeRecord>*> notices() = 0;
    virtual base::Result<bool> hasWard(const base::WardId& ward) = 0;
    virtual base::Result<std::vector<MeterRecord>> meters() = 0;
    virtual base::Result<std::vector<OperatorRecord>> people() = 0;
    /// Strip vials of a ward (or of none) that were opened by then and not ended, newest opening first.
    virtual base::Result<std::vector<StripVialRecord>> openStripVials(const base::WardId& ward, base::Moment at) = 0;
    virtual base::Result<std::vector<ControlVialRecord>> openControlVials(const base::WardId& ward, base::Moment at) = 0;
    // One meter's own records.
    virtual base::Result<std::optional<StateSpell>> stateAt(const base::MeterId& meter, base::Moment at) = 0;
    virtual base::Result<std::vector<StateSpell>> states(const base::MeterId& meter) = 0;
    virtual base::Result<base::WardId> wardAt(const base::MeterId& meter, base::Moment at) = 0;
    virtual base::Result<std::vector<StopRecord>> stops(const base::MeterId& meter) = 0;
    virtual base::Result<std::vector<IncidentRecord>> incidents(const base::MeterId& meter) = 0;
    virtual base::Result<std::vector<ReturnRecord>> returnSteps(const base::MeterId& meter) = 0;
    virtual base::Result<std::vector<PairRecord>> pairs(const base::MeterId& meter) = 0;
    virtual base::Result<std::vector<LookbackRecord>> lookbacks(const base::MeterId& meter) = 0;
    /// Moments at which the meter's control statistics begin again, oldest first.
    virtual base::Result<std::vector<SegmentBoundary>> boundaries(const base::MeterId& meter) = 0;
    /// Every other meter of the model that has a set judged by its own usual value in [from, to], with the newest of them.
    virtual base::Result<std::vector<UsualStanding>>
    standings(const base::ModelId& model, const base::MeterId& except, base::Moment from, base::Moment to) = 0;
    /// The first sets of all meters with a run on both lots that ended before that moment, oldest first.
    virtual base::Result<std::vector<SetRecord>>
    firstSetsOnLots(const base::StripLotId& strip, const base::ControlLotId& control, base::Moment before, int most) = 0;
    /// Sets whose last run lies in [from, to], oldest first.
    virtual base::Result<std::vector<SetRecord>> sets(const base::MeterId& meter, base::Moment from, base::Moment to) = 0;
    /// The newest sets that had begun by then, newest first.
    virtual base::Result<std::vector<SetRecord>> newestSets(const base::MeterId& meter, base::Moment by, int most) = 0;
    virtual base::Result<std::optional<SetRecord>> newestAcceptedSet(const base::MeterId& meter, base::Moment by) = 0;
    virtual base::Result<std::optional<SetRecord>> newestCountedSet(const base::MeterId& meter, base::Moment by) = 0;
    virtual base::Result<std::optional<SetRecord>> set(const base::SetId& id) = 0;
    /// Has the meter (none: any meter) an accepted or warned set with strips of that vial that ended by then?
    virtual base::Result<bool>
    acceptedOn(const base::StripVialId& vial, base::Moment by, const std::optional<base::MeterId>& meter = std::nullopt) = 0;
    /// Has the meter such a set with strips of that lot, that ended in [from, to]?
    virtual base::Result<bool>
    acceptedOnLot(const base::StripLotId& lot, const base::MeterId& meter, base::Moment from, base::Moment to) = 0;
    /// The uses of that vial, and at least those of others of its level that lie within so many milliseconds of one with it on its meter.
    virtual base::Result<std::vector<ControlVialUse>> usesAround(const base::ControlVialId& vial, Level level, std::int64_t withinMs) = 0;
    /// Runs of a set as they stand, oldest first, judged or not.
    virtual base::Result<std::vector<RunRecord>> runs(const base::SetId& id) = 0;
    /// Ids of all sets of a meter that hold runs, in the order of their last run.
    virtual base::Result<std::vector<base::SetId>> setsWithRuns(const base::MeterId& meter) = 0;
    /// The newest change of ward, unless it was taken over from elsewhere.
    virtual base::Result<std::optional<TransferRecord>> transferOf(const base::MeterId& meter, base::Moment at) = 0;
    /// Meters whose id, else serial, else UDI is that text, with which of the three it is; retired and missing ones too.
    virtual base::Result<std::vector<std::pair<base::MeterId, std::string>>> metersCalled(const std::string& text) = 0;
    virtual base::Result<Competency> competency(
        const OperatorRecord& person, const std::optional<base::ModelId>& model, base::Moment at, base::Seq knownBefore = base::kNewestSeq)
        = 0;
    /// The person with the dates between which they are competent on that model; none where they are not.
    virtual base::Result<OperatorRecord> personOnModel(OperatorRecord person, const base::ModelId& model, base::Moment at) = 0;
    /// Everything that the meter's fitness at that moment rests on.
    virtual base::Result<MeterHistory> history(const MeterRecord& meter, base::Moment at) = 0;
    // Entries, by their number or by what they are about.
    /// Nothing where the journal has no such entry.
    virtual base::Result<std::optional<KnownEntry>> entry(base::Seq seq) = 0;
    /// The newest entry that carries the record which a file calls by that key, annulled or not; with file "entry" the entry's number.
    virtual base::Result<std::optional<base::Seq>> entryOfKey(const std::string& file, const std::string& key) = 0;
    /// Whose set that is, even where all its runs were annulled; nothing for a new one.
    virtual base::Result<std::optional<base::MeterId>> meterOfSet(const base::SetId& id) = 0;
    /// The last run of the newest set of any meter; nothing where none was judged.
    virtual base::Result<std::optional<base::Moment>> newestJudged() = 0;
    /// Corrections of a set's runs, oldest first.
    virtual base::Result<std::vector<CorrectionRecord>> corrections(const base::SetId& set) = 0;
    virtual base::Result<std::optional<base::MeterId>> meterWithSerial(const base::ModelId& model, const std::string& serial) = 0;
    /// The signature for that month and just that ward (none: for all wards) that stands, and of which nothing has changed since. It costs
    /// the figures of the month, counted anew for each signature of it: to be asked when somebody signs, not for a list.
    virtual base::Result<std::optional<Record<acts::ReviewSigned>>>
    signatureThatHolds(const std::optional<base::WardId>& ward, const std::string& month) = 0;
    /// Ids of all lots, strip lots first.
    virtual base::Result<std::vector<std::string>> lotIds() = 0;
    /// Ids of the vials of a strip or control lot, opened or not.
    virtual base::Result<std::vector<std::string>> vialIdsOfLot(const std::string& lot) = 0;
    virtual base::Result<std::vector<std::string>> vialIdsOfWard(const base::WardId& ward) = 0;
    /// Meters that were run with a vial or compared with strips of it.
    virtual base::Result<std::vector<base::MeterId>> metersOnVial(const std::string& vial) = 0;
    /// The people's ids of meters that have run with a lot, a vial or an operator: whom a late fact may concern.
    virtual base::Result<std::vector<base::MeterId>> metersThatUsed(const std::string& id) = 0;

    /// Acts of one kind that come rarely, oldest first, without those annulled by then.
    /// subject  what they are about (subjectOf); none: all
    template <typename A>
    base::Result<std::vector<Record<A>>> facts(const std::optional<std::string>& subject = std::nullopt)
    {
        std::vector<Record<A>> records;
        const base::Done read = eachFact(A::kind, subject, [&](base::Seq seq, Act&& act) {
            records.push_back({ seq, std::get<A>(std::move(act)) });
        });
        if (!read)
            return read.error();
        return records;
    }

protected:
    Facts(Facts&&) = default;
    Facts& operator=(Facts&&) = default;
    virtual base::Done eachFact(
        std::string_view kind, const std::optional<std::string>& subject, const std::function<void(base::Seq, Act&&)>& take)
        = 0;
};

} // namespace mk::registry
