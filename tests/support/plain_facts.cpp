// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/plain_facts.h"

#include "registry/control/late_entry.h"
#include "registry/meter/meter_life.h"

#include <algorithm>
#include <set>

namespace mk::test {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// A lot with its events.
template <typename L, typename A, typename Id>
std::optional<L> lotOf(const PlainFacts& facts, Id A::*member, const Id& id)
{
    const auto received = newestOf(facts, member, id);
    return received ? std::optional(L { received->seq, received->act, allOf(facts, &acts::LotEvent::lot, id.value) }) : std::nullopt;
}

/// A vial with its end, unless it was let go again.
template <typename V, typename A, typename Id>
std::optional<V> vialOf(const PlainFacts& facts, Id A::*member, const Id& id)
{
    const auto opened = newestOf(facts, member, id);
    if (!opened)
        return std::nullopt;
    V vial { opened->seq, opened->act, {} };
    const auto released = newestOf(facts, &acts::VialReleased::vial, id.value);
    for (const auto& end : allOf(facts, &acts::VialEnded::vial, id.value)) {
        if (released && end.seq < released->seq)
            continue;
        vial.ended = vial.ended ? vial.ended : std::optional(end);
        vial.newestEnd = end;
    }
    return vial;
}

} // namespace

PlainFacts::PlainFacts() : policy(defaultPolicy()), m_zone(Zone::named("Europe/Berlin").value()) { }

Seq PlainFacts::put(const Act& act, const std::string& person)
{
    const Seq seq { static_cast<std::int64_t>(m_entries.size()) + 1 };
    const auto* confirmed = std::get_if<acts::CorrectionConfirmed>(&act);
    const Act& mending = confirmed != nullptr ? m_entries[static_cast<std::size_t>(confirmed->entry.value - 1)].act : act;
    const auto* annulment = std::get_if<acts::EntryAnnulled>(&mending);
    if (annulment != nullptr && (confirmed != nullptr || annulment->waits != YesNo::Yes))
        if (const auto target = entryOfKey(annulment->file_, annulment->key); target && *target)
            m_entries[static_cast<std::size_t>((*target)->value - 1)].annulledBy = seq;
    m_entries.push_back({ seq, now, person, imported, act, {} });
    return seq;
}

template <typename R>
Result<const R*> PlainFacts::kept(std::list<R>& shelf, std::optional<R> record)
{
    if (!record)
        return static_cast<const R*>(nullptr);
    shelf.push_back(std::move(*record));
    return static_cast<const R*>(&shelf.back());
}

Result<const ModelRecord*> PlainFacts::model(const base::ModelId& id)
{
    return kept(m_models, newestOf(*this, &acts::ModelAdded::model, id));
}

Result<const MeterRecord*> PlainFacts::meter(const base::MeterId& id)
{
    return kept(m_meters, newestOf(*this, &acts::MeterEnrolled::meter, id));
}

Result<const OperatorRecord*> PlainFacts::person(const base::OperatorId& id)
{
    auto found = newestOf(*this, &acts::OperatorEnrolled::id, id);
    if (found)
        found = withChanges(*found, { {}, allOf(*this, &acts::OperatorChanged::person, id) });
    return kept(m_people, found);
}

Result<const StripLotRecord*> PlainFacts::stripLot(const base::StripLotId& id)
{
    return kept(m_stripLots, lotOf<StripLotRecord>(*this, &acts::StripLotReceived::lot, id));
}

Result<const StripVialRecord*> PlainFacts::stripVial(const base::StripVialId& id)
{
    return kept(m_stripVials, vialOf<StripVialRecord>(*this, &acts::StripVialOpened::vial, id));
}

Result<const ControlLotRecord*> PlainFacts::controlLot(const base::ControlLotId& id)
{
    return kept(m_controlLots, lotOf<ControlLotRecord>(*this, &acts::ControlLotReceived::lot, id));
}

Result<const ControlVialRecord*> PlainFacts::controlVial(const base::ControlVialId& id)
{
    return kept(m_controlVials, vialOf<ControlVialRecord>(*this, &acts::ControlVialOpened::vial, id));
}

Result<const std::vector<RangeRecord>*> PlainFacts::ranges(const base::StripLotId& strip)
{
    std::vector<RangeRecord> ofLot;
    for (const auto& each : all<acts::RangeAssigned>())
        if (each.act.stripLot == strip)
            ofLot.push_back(each);
    const auto typed = ofLot;
    applyTyping(ofLot, typed, allOf(*this, &acts::RangeConfirmed::stripLot, strip));
    m_ranges.push_back(std::move(ofLot));
    return &m_ranges.back();
}

Result<const std::vector<Record<acts::ReviewSigned>>*> PlainFacts::standingReviews()
{
    auto standing = all<acts::ReviewSigned>();
    for (const auto& each : all<acts::ReviewOvertaken>())
        std::erase_if(standing, [&](const auto& review) { return review.seq == each.act.review; });
    return kept(m_reviews, std::optional(std::move(standing)));
}

Result<const std::vector<NoticeRecord>*> PlainFacts::notices()
{
    std::vector<NoticeRecord> found;
    for (const auto& each : all<acts::NoticeIssued>()) {
        NoticeRecord notice { each.seq, each.act, each.act.at, {}, allOf(*this, &acts::NoticeItemDone::notice, each.act.notice) };
        if (const auto closed = newestOf(*this, &acts::NoticeClosed::notice, each.act.notice))
            notice.closed = closed->act.at;
        found.push_back(std::move(notice));
    }
    return kept(m_notices, std::optional(std::move(found)));
}

Result<bool> PlainFacts::hasWard(const base::WardId& ward)
{
    return newestOf(*this, &acts::WardAdded::ward, ward).has_value();
}

Result<std::vector<MeterRecord>> PlainFacts::meters()
{
    return all<acts::MeterEnrolled>();
}

Result<std::vector<OperatorRecord>> PlainFacts::people()
{
    auto enrolled = all<acts::OperatorEnrolled>();
    for (auto& each : enrolled)
        each = withChanges(each, { {}, allOf(*this, &acts::OperatorChanged::person, each.act.id) });
    return enrolled;
}

Result<std::vector<StripVialRecord>> PlainFacts::openStripVials(const base::WardId& ward, Moment at)
{
    std::vector<StripVialRecord> open;
    for (const auto& each : all<acts::StripVialOpened>()) {
        const auto vial = vialOf<StripVialRecord>(*this, &acts::StripVialOpened::vial, each.act.vial);
        if (vial && !vial->ended && vial->vial.ward.value_or(ward) == ward && vial->vial.opened && *vial->vial.opened <= at)
            open.push_back(*vial);
    }
    return open;
}

Result<std::vector<ControlVialRecord>> PlainFacts::openControlVials(const base::WardId& ward, Moment at)
{
    std::vector<ControlVialRecord> open;
    for (const auto& each : all<acts::ControlVialOpened>()) {
        const auto vial = vialOf<ControlVialRecord>(*this, &acts::ControlVialOpened::vial, each.act.vial);
        if (vial && !vial->ended && vial->vial.ward.value_or(ward) == ward && vial->vial.opened && *vial->vial.opened <= at)
            open.push_back(*vial);
    }
    return open;
}

Result<std::vector<std::pair<base::MeterId, std::string>>> PlainFacts::metersCalled(const std::string& text)
{
    std::vector<std::pair<base::MeterId, std::string>> found;
    for (const auto& each : all<acts::MeterDescribed>())
        if (each.act.udi == text)
            found.emplace_back(each.act.meter, "udi");
    return found;
}

Result<Competency> PlainFacts::competency(const OperatorRecord& who, const std::optional<base::ModelId>& model, Moment at, Seq knownBefore)
{
    const PersonFacts known { allOf(*this, &acts::CompetencyAssessed::person, who.act.id),
        allOf(*this, &acts::OperatorChanged::person, who.act.id) };
    return competencyOf(who, known, model, at, knownBefore, policy, m_zone);
}

Result<OperatorRecord> PlainFacts::personOnModel(OperatorRecord who, const base::ModelId& model, Moment at)
{
    const auto known = competency(who, model, at, base::kNewestSeq);
    who.act.competentFrom = known->holds() ? known->from : std::nullopt;
    who.act.competentUntil = known->holds() ? known->until : std::nullopt;
    return who;
}

Result<MeterHistory> PlainFacts::history(const MeterRecord&, Moment)
{
    return base::refused("plain facts tell no history");
}

Result<std::optional<KnownEntry>> PlainFacts::entry(Seq seq)
{
    const bool there = seq.value >= 1 && seq.value <= static_cast<std::int64_t>(m_entries.size());
    return there ? std::optional(m_entries[static_cast<std::size_t>(seq.value - 1)]) : std::nullopt;
}

Result<std::optional<Seq>> PlainFacts::entryOfKey(const std::string& file, const std::string& key)
{
    const std::string name = file.ends_with(".csv") ? file : file + ".csv";
    std::optional<Seq> found;
    for (const auto& each : m_entries)
        if (file == "entry" ? std::to_string(each.seq.value) == key : fileOf(each.act) == name && keyOf(each.act) == key)
            found = each.seq;
    return found;
}

Result<std::optional<base::MeterId>> PlainFacts::meterOfSet(const base::SetId& id)
{
    for (const auto& each : m_entries)
        if (const auto* run = std::get_if<acts::ControlRun>(&each.act); run != nullptr && run->set == id)
            return std::optional(run->meter);
    return std::optional<base::MeterId>();
}

Result<std::optional<Moment>> PlainFacts::newestJudged()
{
    std::optional<Moment> newest;
    for (const auto& each : all<acts::SetJudged>())
        newest = newest ? std::max(*newest, each.act.lastAt) : each.act.lastAt;
    return newest;
}

Result<std::vector<CorrectionRecord>> PlainFacts::corrections(const base::SetId& id)
{
    std::vector<CorrectionRecord> found;
    for (const auto& each : allOf(*this, &acts::EntryCorrected::set, id)) {
        const bool later = newestOf(*this, &acts::CorrectionConfirmed::entry, each.seq).has_value();
        found.push_back({ each.seq, each.act.confirmedBy.has_value() || later });
    }
    return found;
}

Result<std::optional<base::MeterId>> PlainFacts::meterWithSerial(const base::ModelId& id, const std::string& serial)
{
    for (const auto& each : all<acts::MeterEnrolled>())
        if (each.act.model == id && each.act.serial == serial)
            return std::optional(each.act.meter);
    return std::optional<base::MeterId>();
}

/// Here a signature stands until it is overtaken: no figures are counted again.
Result<std::optional<Record<acts::ReviewSigned>>> PlainFacts::signatureThatHolds(
    const std::optional<base::WardId>& ward, const std::string& month)
{
    const auto standing = standingReviews();
    for (const auto& each : **standing)
        if (each.act.ward == ward && each.act.month == month)
            return std::optional(each);
    return std::optional<Record<acts::ReviewSigned>>();
}

Result<std::vector<std::string>> PlainFacts::lotIds()
{
    std::vector<std::string> ids;
    for (const auto& each : all<acts::StripLotReceived>())
        ids.push_back(each.act.lot.value);
    for (const auto& each : all<acts::ControlLotReceived>())
        ids.push_back(each.act.lot.value);
    return ids;
}

Result<std::vector<std::string>> PlainFacts::vialIdsOfLot(const std::string& lot)
{
    std::set<std::string> ids;
    for (const auto& each : all<acts::StripVialOpened>())
        if (each.act.lot.value == lot)
            ids.insert(each.act.vial.value);
    for (const auto& each : all<acts::ControlVialOpened>())
        if (each.act.lot.value == lot)
            ids.insert(each.act.vial.value);
    return std::vector<std::string>(ids.begin(), ids.end());
}

Result<std::vector<std::string>> PlainFacts::vialIdsOfWard(const base::WardId& ward)
{
    std::set<std::string> ids;
    for (const auto& each : all<acts::StripVialOpened>())
        if (each.act.ward == ward)
            ids.insert(each.act.vial.value);
    for (const auto& each : all<acts::ControlVialOpened>())
        if (each.act.ward == ward)
            ids.insert(each.act.vial.value);
    return std::vector<std::string>(ids.begin(), ids.end());
}

Result<std::vector<base::MeterId>> PlainFacts::metersOnVial(const std::string& vial)
{
    std::set<base::MeterId> meters;
    for (const auto& each : all<acts::ControlRun>())
        if (each.act.stripVial.value == vial || each.act.controlVial.value == vial)
            meters.insert(each.act.meter);
    for (const auto& each : all<acts::ComparisonRecorded>())
        if (each.act.stripVial && each.act.stripVial->value == vial)
            meters.insert(each.act.meter);
    return std::vector<base::MeterId>(meters.begin(), meters.end());
}

Result<std::vector<base::MeterId>> PlainFacts::metersThatUsed(const std::string& id)
{
    std::set<base::MeterId> meters;
    const auto vials = vialIdsOfLot(id);
    for (const auto& each : all<acts::ControlRun>())
        for (const auto& used : { each.act.stripVial.value, each.act.controlVial.value, each.act.by.value, each.act.meter.value })
            if (used == id || std::ranges::find(*vials, used) != vials->end())
                meters.insert(each.act.meter);
    return std::vector<base::MeterId>(meters.begin(), meters.end());
}

Done PlainFacts::eachFact(std::string_view kind, const std::optional<std::string>& subject, const std::function<void(Seq, Act&&)>& take)
{
    for (const auto& each : m_entries)
        if (!each.annulledBy && kindOf(each.act) == kind && (!subject || subjectOf(each.act) == *subject))
            take(each.seq, Act(each.act));
    return {};
}

} // namespace mk::test
