// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/reader.h"

#include "store/db/rows.h"
#include "store/index/rows/index_rows.h"
#include "store/journal/act_codec.h"
#include "store/journal/entry_act.h"
#include "store/journal/journal.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
using base::Seq;

namespace {

/// Looks a record up in its catalogue, reading it on the first question.
template <typename R, typename F>
Result<const R*> keptRecord(Kept<R>& kept, const std::string& id, F&& read)
{
    auto found = kept.find(id);
    if (found == kept.end()) {
        auto record = read();
        if (!record)
            return record.error();
        found = kept.emplace(id, std::move(record).value()).first;
    }
    return found->second ? &*found->second : nullptr;
}

/// The newest version of one record.
template <typename R>
auto readRecord(Session& session, const Select<R>& sql, const Values& values, const Zone& zone)
    -> Result<std::optional<Record<decltype(R::act)>>>
{
    auto records = readRecords(session, sql, values, zone);
    if (!records)
        return records.error();
    return records->empty() ? std::nullopt : std::optional(std::move(records->back()));
}

} // namespace

Result<Reader> Reader::open(Session& session, Seq asOf)
{
    const auto founding = entryAt(session, { 1 });
    if (!founding)
        return founding.error();
    if (!*founding)
        return base::fault(FaultKind::Damaged,
            "%1 holds no entry: its founding was cut short, and nothing was recorded in it. Remove it, then found a registry with init",
            session.place());
    const auto act = actFromBody((*founding)->act, (*founding)->body);
    const auto* founded = act ? std::get_if<acts::RegistryFounded>(&*act) : nullptr;
    if (founded == nullptr)
        return base::fault(FaultKind::Damaged, "%1 does not begin with its founding; run verify", session.place());
    auto zone = Zone::named(founded->zone);
    if (!zone)
        return zone.error();
    Reader reader(session, asOf, std::move(zone).value());
    reader.m_registryId = founded->registry;
    if (const Done loaded = reader.loadPolicies(); !loaded)
        return loaded.error();
    return reader;
}

Done Reader::loadPolicies()
{
    static const Select<PolicyRow> sql("WHERE from_seq <= :known ORDER BY version");
    auto rows = readRows(*m_session, sql, asKnown(), m_zone);
    if (!rows)
        return rows.error();
    if (m_policiesFounded)
        rows->erase(rows->begin(), rows->begin() + static_cast<std::ptrdiff_t>(std::min(rows->size(), m_policies.size())));
    m_policiesFounded = m_policiesFounded || !rows->empty();
    for (const auto& row : *rows) {
        const auto act = actOfEntry(*m_session, row.from);
        if (!act && act.error().kind == FaultKind::Unreachable)
            return act.error();
        const auto* changed = act ? std::get_if<acts::PolicyChanged>(&*act) : nullptr;
        auto policy = changed ? policyOnRecord(changed->settings) : Result<Policy>(base::badInput("no policy"));
        if (!policy)
            return base::fault(FaultKind::Damaged, "the policy of entry %1 cannot be read; run verify", row.from.value);
        policy->version = changed->version;
        policy->since = changed->from;
        m_policies.emplace_back(
            changed->from ? std::optional(changed->from->utcMs) : std::nullopt, std::make_unique<Policy>(std::move(policy).value()));
    }
    if (m_policies.empty())
        m_policies.emplace_back(std::nullopt, std::make_unique<Policy>(defaultPolicy()));
    return {};
}

base::Done Reader::readPoliciesAgain()
{
    return loadPolicies();
}

std::vector<base::Moment> Reader::policyChangesAfter(base::Moment at) const
{
    std::vector<base::Moment> changes;
    for (const auto& [from, policy] : m_policies)
        if (from && *from > at.utcMs)
            changes.push_back(m_zone.at(*from));
    std::ranges::sort(changes);
    return changes;
}

const Policy& Reader::policyAt(base::Moment at) const
{
    const Policy* inForce = m_policies.front().second.get();
    for (const auto& [from, policy] : m_policies)
        if (!from || *from <= at.utcMs)
            inForce = policy.get();
    return *inForce;
}

Values Reader::asKnown(Values values) const
{
    values.push_back({ "known", bound(m_asOf.value) });
    return values;
}

Result<const ModelRecord*> Reader::model(const base::ModelId& id)
{
    static const Select<ModelRow> sql("WHERE model = :model AND " + known() + " ORDER BY from_seq");
    return keptRecord(m_models, id.value, [&] { return readRecord(*m_session, sql, asKnown({ { "model", bound(id.value) } }), m_zone); });
}

Result<const MeterRecord*> Reader::meter(const base::MeterId& id)
{
    static const Select<MeterRow> sql("WHERE meter = :meter AND " + known() + " ORDER BY from_seq");
    return keptRecord(m_meters, id.value, [&] { return readRecord(*m_session, sql, asKnown({ { "meter", bound(id.value) } }), m_zone); });
}

Result<const OperatorRecord*> Reader::person(const base::OperatorId& id)
{
    static const Select<OperatorRow> sql("WHERE operator = :operator AND " + known() + " ORDER BY from_seq");
    return keptRecord(m_people, id.value, [&]() -> Result<std::optional<OperatorRecord>> {
        auto person = readRecord(*m_session, sql, asKnown({ { "operator", bound(id.value) } }), m_zone);
        const auto known = personFacts(id);
        if (!person || !known)
            return person ? known.error() : person.error();
        if (*person)
            *person = withChanges(**person, **known);
        return person;
    });
}

Result<std::vector<Record<acts::LotEvent>>> Reader::lotEvents(const std::string& lot)
{
    static const Select<LotEventRow> sql("WHERE lot = :lot AND " + known() + " ORDER BY from_seq");
    auto events = readRecords(*m_session, sql, asKnown({ { "lot", bound(lot) } }), m_zone);
    if (events)
        std::ranges::stable_sort(*events, {}, [](const Record<acts::LotEvent>& e) { return e.act.at; });
    return events;
}

/// The ends of a vial that stand, and the quarantines that were lifted.
template <typename V>
Done Reader::readEnds(const std::string& vial, V& record)
{
    static const Select<VialEndRow> sql("WHERE vial = :vial AND " + known() + " ORDER BY from_seq");
    auto ends = readRecords(*m_session, sql, asKnown({ { "vial", bound(vial) } }), m_zone);
    if (!ends)
        return ends.error();
    if (!ends->empty()) {
        record.ended = ends->front();
        record.newestEnd = ends->back();
    }
    static const Sql lifted({ VialEndRow::table, Entry::table },
        "SELECT e.at AS begun, j.at AS ended FROM vial_end e JOIN journal j ON j.seq = e.to_seq AND j.act = 'vial.released'"
        " WHERE e.vial = :vial AND e.from_seq <= :known AND e.to_seq <= :known");
    return eachRow(*m_session, lifted, asKnown({ { "vial", bound(vial) } }), [&](const Statement& row) {
        record.quarantines.push_back({ momentFrom(row.text("begun")), m_zone.at(row.number("ended")) });
        return Done();
    });
}

template <typename R>
Result<std::optional<R>> Reader::lotOf(const auto& sql, const std::string& id)
{
    auto lot = readRecord(*m_session, sql, asKnown({ { "lot", bound(id) } }), m_zone);
    auto events = lotEvents(id);
    if (!lot || !events)
        return lot ? events.error() : lot.error();
    if (!*lot)
        return std::optional<R>();
    return std::optional(R { (*lot)->seq, std::move((*lot)->act), std::move(events).value() });
}

template <typename R>
Result<std::optional<R>> Reader::vialOf(const auto& sql, const std::string& id)
{
    auto vial = readRecord(*m_session, sql, asKnown({ { "vial", bound(id) } }), m_zone);
    if (!vial)
        return vial.error();
    if (!*vial)
        return std::optional<R>();
    R record { (*vial)->seq, std::move((*vial)->act), {} };
    if (const Done read = readEnds(id, record); !read)
        return read.error();
    return std::optional(std::move(record));
}

Result<const StripLotRecord*> Reader::stripLot(const base::StripLotId& id)
{
    static const Select<StripLotRow> sql("WHERE lot = :lot AND " + known() + " ORDER BY from_seq");
    return keptRecord(m_stripLots, id.value, [&] { return lotOf<StripLotRecord>(sql, id.value); });
}

Result<const ControlLotRecord*> Reader::controlLot(const base::ControlLotId& id)
{
    static const Select<ControlLotRow> sql("WHERE lot = :lot AND " + known() + " ORDER BY from_seq");
    return keptRecord(m_controlLots, id.value, [&] { return lotOf<ControlLotRecord>(sql, id.value); });
}

Result<const StripVialRecord*> Reader::stripVial(const base::StripVialId& id)
{
    static const Select<StripVialRow> sql("WHERE vial = :vial AND " + known() + " ORDER BY from_seq");
    return keptRecord(m_stripVials, id.value, [&] { return vialOf<StripVialRecord>(sql, id.value); });
}

Result<const ControlVialRecord*> Reader::controlVial(const base::ControlVialId& id)
{
    static const Select<ControlVialRow> sql("WHERE vial = :vial AND " + known() + " ORDER BY from_seq");
    return keptRecord(m_controlVials, id.value, [&] { return vialOf<ControlVialRecord>(sql, id.value); });
}

Result<const std::vector<RangeRecord>*> Reader::ranges(const base::StripLotId& strip)
{
    static const Select<AssignedRangeRow> sql("WHERE strip_lot = :strip_lot AND " + known() + " ORDER BY from_seq");
    auto found = m_ranges.find(strip.value);
    if (found == m_ranges.end()) {
        auto read = readRecords(*m_session, sql, asKnown({ { "strip_lot", bound(strip.value) } }), m_zone);
        if (!read)
            return read.error();
        const auto typed = facts<acts::RangeAssigned>(strip.value);
        const auto confirmed = facts<acts::RangeConfirmed>(strip.value);
        if (!typed || !confirmed)
            return typed ? confirmed.error() : typed.error();
        applyTyping(*read, *typed, *confirmed);
        found = m_ranges.emplace(strip.value, std::move(read).value()).first;
    }
    return &found->second;
}

Result<bool> Reader::hasWard(const base::WardId& ward)
{
    static const Select<WardRow> sql("WHERE ward = :ward AND " + known());
    const auto found = readRecord(*m_session, sql, asKnown({ { "ward", bound(ward.value) } }), m_zone);
    if (!found)
        return found.error();
    return found->has_value();
}

Result<std::vector<acts::WardAdded>> Reader::wards()
{
    static const Select<WardRow> sql("WHERE " + known() + " ORDER BY ward");
    auto records = readRecords(*m_session, sql, asKnown(), m_zone);
    if (!records)
        return records.error();
    std::vector<acts::WardAdded> wards;
    for (auto& record : *records)
        wards.push_back(std::move(record.act));
    return wards;
}

Result<std::vector<MeterRecord>> Reader::meters()
{
    static const Select<MeterRow> sql("WHERE " + known() + " ORDER BY meter");
    return readRecords(*m_session, sql, asKnown(), m_zone);
}

Result<std::vector<OperatorRecord>> Reader::people()
{
    static const Select<OperatorRow> sql("WHERE " + known() + " ORDER BY operator");
    auto people = readRecords(*m_session, sql, asKnown(), m_zone);
    if (!people)
        return people;
    for (auto& person : *people) {
        const auto known = personFacts(person.act.id);
        if (!known)
            return known.error();
        person = withChanges(person, **known);
    }
    return people;
}

Result<std::vector<StripVialRecord>> Reader::openStripVials(const base::WardId& ward, base::Moment at)
{
    static const Select<StripVialRow> sql("WHERE (ward = :ward OR ward IS NULL) AND " + known() + " ORDER BY opened DESC NULLS LAST");
    auto vials = readRecords(*m_session, sql, asKnown({ { "ward", bound(ward.value) } }), m_zone);
    if (!vials)
        return vials.error();
    std::vector<StripVialRecord> open;
    for (const auto& vial : *vials) {
        const auto record = stripVial(vial.act.vial);
        if (!record)
            return record.error();
        const bool ended = (*record)->ended && (*record)->ended->act.at <= at;
        if (vial.act.opened && *vial.act.opened <= at && !ended)
            open.push_back(**record);
    }
    return open;
}

Result<std::vector<ControlVialRecord>> Reader::openControlVials(const base::WardId& ward, base::Moment at)
{
    static const Select<ControlVialRow> sql("WHERE (ward = :ward OR ward IS NULL) AND " + known() + " ORDER BY opened DESC NULLS LAST");
    auto vials = readRecords(*m_session, sql, asKnown({ { "ward", bound(ward.value) } }), m_zone);
    if (!vials)
        return vials.error();
    std::vector<ControlVialRecord> open;
    for (const auto& vial : *vials) {
        const auto record = controlVial(vial.act.vial);
        if (!record)
            return record.error();
        const bool ended = (*record)->ended && (*record)->ended->act.at <= at;
        if (vial.act.opened && *vial.act.opened <= at && !ended)
            open.push_back(**record);
    }
    return open;
}

void Reader::forget(const std::string& id)
{
    m_models.erase(id);
    m_meters.erase(id);
    m_people.erase(id);
    m_personFacts.erase(id);
    m_stripLots.erase(id);
    m_stripVials.erase(id);
    m_controlLots.erase(id);
    m_controlVials.erase(id);
    m_ranges.erase(id);
    m_notices.reset(); // rare, and few
    m_standingReviews.reset();
    m_clockNotices.reset();
    m_reopened.reset();
    m_signInSetUp.reset();
}

Done Reader::eachFact(std::string_view kind, const std::optional<std::string>& subject, const std::function<void(base::Seq, Act&&)>& take)
{
    // The last condition is that of the index journal_by_kind.
    constexpr const char* kStands = " AND j.seq <= :known AND j.act NOT IN ('control.run', 'control.judged')"
                                    " AND NOT EXISTS (SELECT 1 FROM annulled a WHERE a.seq = j.seq AND a.by_seq <= :known) ORDER BY j.seq";
    static const Sql ofSubject({ Entry::table, AnnulledRow::table },
        std::string("SELECT j.seq, j.body FROM journal j WHERE j.act = :act AND j.subject = :subject") + kStands);
    static const Sql ofAll(
        { Entry::table, AnnulledRow::table }, std::string("SELECT j.seq, j.body FROM journal j WHERE j.act = :act") + kStands);
    Values values { { "act", bound(std::string(kind)) } };
    if (subject)
        values.push_back({ "subject", bound(*subject) });
    return eachRow(*m_session, subject ? ofSubject : ofAll, asKnown(std::move(values)), [&](const Statement& row) -> Done {
        auto act = actFromBody(kind, row.text("body"));
        if (!act)
            return act.error();
        take({ row.number("seq") }, std::move(act).value());
        return {};
    });
}

} // namespace mk::store
