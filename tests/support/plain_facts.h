// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/judging.h"

#include <list>

namespace mk::test {

/// A registry of plain values: a list of entries, of which every question is answered by looking through them all. What is entered is
/// known at once.
class PlainFacts final : public registry::Facts, public registry::desk::Entering {
public:
    PlainFacts();

    registry::Policy policy; ///< in force at all times
    base::Moment now;        ///< when what is entered is recorded
    bool imported = false;

    /// Enters an act without asking anybody.
    base::Seq put(const registry::Act& act, const std::string& person = "N1");
    base::Result<base::Seq> enter(const registry::Act& act, const std::string& person) override { return put(act, person); }
    const std::vector<registry::KnownEntry>& entries() const { return m_entries; }
    /// Those of one kind that were not annulled, oldest first.
    template <typename A>
    std::vector<registry::Record<A>> all() const
    {
        std::vector<registry::Record<A>> found;
        for (const auto& each : m_entries)
            if (const auto* act = std::get_if<A>(&each.act); act != nullptr && !each.annulledBy)
                found.push_back({ each.seq, *act });
        return found;
    }

    const registry::Zone& zone() const override { return m_zone; }
    const registry::Policy& policyAt(base::Moment) const override { return policy; }
    std::int64_t newestPolicyVersion() const override { return policy.version; }
    base::Result<const registry::ModelRecord*> model(const base::ModelId& id) override;
    base::Result<const registry::MeterRecord*> meter(const base::MeterId& id) override;
    base::Result<const registry::OperatorRecord*> person(const base::OperatorId& id) override;
    base::Result<const registry::StripLotRecord*> stripLot(const base::StripLotId& id) override;
    base::Result<const registry::StripVialRecord*> stripVial(const base::StripVialId& id) override;
    base::Result<const registry::ControlLotRecord*> controlLot(const base::ControlLotId& id) override;
    base::Result<const registry::ControlVialRecord*> controlVial(const base::ControlVialId& id) override;
    base::Result<const std::vector<registry::RangeRecord>*> ranges(const base::StripLotId& strip) override;
    base::Result<const std::vector<registry::Record<registry::acts::ReviewSigned>>*> standingReviews() override;
    base::Result<const std::vector<registry::NoticeRecord>*> notices() override;
    base::Result<bool> hasWard(const base::WardId& ward) override;
    base::Result<std::vector<registry::MeterRecord>> meters() override;
    base::Result<std::vector<registry::OperatorRecord>> people() override;
    base::Result<std::vector<registry::StripVialRecord>> openStripVials(const base::WardId& ward, base::Moment at) override;
    base::Result<std::vector<registry::ControlVialRecord>> openControlVials(const base::WardId& ward, base::Moment at) override;
    base::Result<std::optional<registry::StateSpell>> stateAt(const base::MeterId& meter, base::Moment at) override;
    base::Result<std::vector<registry::StateSpell>> states(const base::MeterId& meter) override;
    base::Result<base::WardId> wardAt(const base::MeterId& meter, base::Moment at) override;
    base::Result<std::vector<registry::StopRecord>> stops(const base::MeterId& meter) override;
    base::Result<std::vector<registry::IncidentRecord>> incidents(const base::MeterId& meter) override;
    base::Result<std::vector<registry::ReturnRecord>> returnSteps(const base::MeterId& meter) override;
    base::Result<std::vector<registry::PairRecord>> pairs(const base::MeterId& meter) override;
    base::Result<std::vector<registry::LookbackRecord>> lookbacks(const base::MeterId& meter) override;
    base::Result<std::vector<registry::SegmentBoundary>> boundaries(const base::MeterId& meter) override;
    base::Result<std::vector<registry::UsualStanding>> standings(
        const base::ModelId& model, const base::MeterId& except, base::Moment from, base::Moment to) override;
    base::Result<std::vector<registry::SetRecord>> firstSetsOnLots(
        const base::StripLotId& strip, const base::ControlLotId& control, base::Moment before, int most) override;
    base::Result<std::vector<registry::SetRecord>> sets(const base::MeterId& meter, base::Moment from, base::Moment to) override;
    base::Result<std::vector<registry::SetRecord>> newestSets(const base::MeterId& meter, base::Moment by, int most) override;
    base::Result<std::optional<registry::SetRecord>> newestAcceptedSet(const base::MeterId& meter, base::Moment by) override;
    base::Result<std::optional<registry::SetRecord>> newestCountedSet(const base::MeterId& meter, base::Moment by) override;
    base::Result<std::optional<registry::SetRecord>> set(const base::SetId& id) override;
    base::Result<bool> acceptedOn(const base::StripVialId& vial, base::Moment by, const std::optional<base::MeterId>& meter) override;
    base::Result<bool> acceptedOnLot(const base::StripLotId& lot, const base::MeterId& meter, base::Moment from, base::Moment to) override;
    base::Result<std::vector<registry::ControlVialUse>> usesAround(
        const base::ControlVialId& vial, registry::Level level, std::int64_t withinMs) override;
    base::Result<std::vector<registry::RunRecord>> runs(const base::SetId& id) override;
    base::Result<std::vector<base::SetId>> setsWithRuns(const base::MeterId& meter) override;
    base::Result<std::optional<registry::TransferRecord>> transferOf(const base::MeterId& meter, base::Moment at) override;
    base::Result<std::vector<std::pair<base::MeterId, std::string>>> metersCalled(const std::string& text) override;
    base::Result<registry::Competency> competency(
        const registry::OperatorRecord& person, const std::optional<base::ModelId>& model, base::Moment at, base::Seq knownBefore) override;
    base::Result<registry::OperatorRecord> personOnModel(
        registry::OperatorRecord person, const base::ModelId& model, base::Moment at) override;
    base::Result<registry::MeterHistory> history(const registry::MeterRecord& meter, base::Moment at) override;
    base::Result<std::optional<registry::KnownEntry>> entry(base::Seq seq) override;
    base::Result<std::optional<base::Seq>> entryOfKey(const std::string& file, const std::string& key) override;
    base::Result<std::optional<base::MeterId>> meterOfSet(const base::SetId& id) override;
    base::Result<std::optional<base::Moment>> newestJudged() override;
    base::Result<std::vector<registry::CorrectionRecord>> corrections(const base::SetId& set) override;
    base::Result<std::optional<base::MeterId>> meterWithSerial(const base::ModelId& model, const std::string& serial) override;
    base::Result<std::optional<registry::Record<registry::acts::ReviewSigned>>> signatureThatHolds(
        const std::optional<base::WardId>& ward, const std::string& month) override;
    base::Result<std::vector<std::string>> lotIds() override;
    base::Result<std::vector<std::string>> vialIdsOfLot(const std::string& lot) override;
    base::Result<std::vector<std::string>> vialIdsOfWard(const base::WardId& ward) override;
    base::Result<std::vector<base::MeterId>> metersOnVial(const std::string& vial) override;
    base::Result<std::vector<base::MeterId>> metersThatUsed(const std::string& id) override;

private:
    base::Done eachFact(std::string_view kind, const std::optional<std::string>& subject,
        const std::function<void(base::Seq, registry::Act&&)>& take) override;
    template <typename R>
    base::Result<const R*> kept(std::list<R>& shelf, std::optional<R> record);
    std::vector<registry::SetRecord> setsOf(const base::MeterId& meter);

    registry::Zone m_zone;
    std::vector<registry::KnownEntry> m_entries;
    // What was handed out by pointer stays where it is.
    std::list<registry::ModelRecord> m_models;
    std::list<registry::MeterRecord> m_meters;
    std::list<registry::OperatorRecord> m_people;
    std::list<registry::StripLotRecord> m_stripLots;
    std::list<registry::StripVialRecord> m_stripVials;
    std::list<registry::ControlLotRecord> m_controlLots;
    std::list<registry::ControlVialRecord> m_controlVials;
    std::list<std::vector<registry::RangeRecord>> m_ranges;
    std::list<std::vector<registry::Record<registry::acts::ReviewSigned>>> m_reviews;
    std::list<std::vector<registry::NoticeRecord>> m_notices;
};

/// The newest record of an act that a member names.
template <typename A, typename Id>
std::optional<registry::Record<A>> newestOf(const PlainFacts& facts, Id A::*member, const Id& id)
{
    std::optional<registry::Record<A>> newest;
    for (auto& each : facts.all<A>())
        if (each.act.*member == id)
            newest = std::move(each);
    return newest;
}

template <typename A, typename Id>
std::vector<registry::Record<A>> allOf(const PlainFacts& facts, Id A::*member, const Id& id)
{
    auto found = facts.all<A>();
    std::erase_if(found, [&](const registry::Record<A>& each) { return each.act.*member != id; });
    return found;
}

} // namespace mk::test
