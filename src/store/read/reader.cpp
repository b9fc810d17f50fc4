// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/reader.h"

#include "store/journal/act_codec.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

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

/// The newest version of one described record, as of an entry: the key, then twice the entry, are bound.
template <typename A>
Result<std::optional<Record<A>>> readRecord(Session& session, const char* sql, const QVariantList& values)
{
    std::optional<Record<A>> record;
    const Done done = eachRow(session, sql, values, [&](const Statement& row) -> Done {
        auto act = actFromRow<A>(row, 1);
        if (!act)
            return act.error();
        record = Record<A> { { row.number(0) }, std::move(act).value() };
        return {};
    });
    if (!done)
        return done.error();
    return record;
}

} // namespace

Result<Reader> Reader::open(Session& session, Seq asOf)
{
    const auto founding = entryAt(session, { 1 });
    if (!founding)
        return founding.error();
    if (!*founding)
        return Fault {
            FaultKind::Damaged,
            session.path()
                + " holds no entry: its founding was cut short, and nothing was recorded in it. Remove it, then found a registry with init"
        };
    const auto body = *founding ? Json::parse((*founding)->body) : Result<Json>(base::badInput("no entry"));
    const auto act = body ? actFrom((*founding)->act, *body) : Result<Act>(body.error());
    const auto* founded = act ? std::get_if<acts::RegistryFounded>(&*act) : nullptr;
    if (founded == nullptr)
        return Fault { FaultKind::Damaged, session.path() + " does not begin with its founding; run verify" };
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
    std::vector<std::int64_t> entries;
    const Done read = eachRow(
        *m_session, "SELECT from_seq FROM policy WHERE from_seq <= ? ORDER BY version", { bound(m_asOf.value) }, [&](const Statement& row) {
            entries.push_back(row.number(0));
            return Done();
        });
    if (!read)
        return read;
    if (m_policiesFounded)
        entries.erase(entries.begin(), entries.begin() + static_cast<std::ptrdiff_t>(std::min(entries.size(), m_policies.size())));
    m_policiesFounded = m_policiesFounded || !entries.empty();
    for (const auto seq : entries) {
        const auto entry = entryAt(*m_session, { seq });
        if (!entry)
            return entry.error();
        const auto body = *entry ? Json::parse((*entry)->body) : Result<Json>(base::badInput("no entry"));
        const auto act = body ? actFrom((*entry)->act, *body) : Result<Act>(body.error());
        const auto* changed = act ? std::get_if<acts::PolicyChanged>(&*act) : nullptr;
        auto policy = changed ? policyOnRecord(changed->settings) : Result<Policy>(base::badInput("no policy"));
        if (!policy)
            return Fault { FaultKind::Damaged, "the policy of entry " + std::to_string(seq) + " cannot be read; run verify" };
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

QVariantList Reader::keyed(const std::string& key) const
{
    return { bound(key), bound(m_asOf.value), bound(m_asOf.value) };
}

Result<const ModelRecord*> Reader::model(const base::ModelId& id)
{
    return keptRecord(m_models, id.value, [&] {
        return readRecord<acts::ModelAdded>(*m_session,
            "SELECT from_seq, model, unit, low, high, haematocrit_low, haematocrit_high, needs_code, shared_use, market_approval FROM model"
            " WHERE model = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(id.value));
    });
}

Result<const MeterRecord*> Reader::meter(const base::MeterId& id)
{
    return keptRecord(m_meters, id.value, [&] {
        return readRecord<acts::MeterEnrolled>(*m_session,
            "SELECT from_seq, meter, model, serial, ward, enrolled, state FROM meter"
            " WHERE meter = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(id.value));
    });
}

Result<const OperatorRecord*> Reader::person(const base::OperatorId& id)
{
    return keptRecord(m_people, id.value, [&]() -> Result<std::optional<OperatorRecord>> {
        auto person = readRecord<acts::OperatorEnrolled>(*m_session,
            "SELECT from_seq, operator, name, role, competent_from, competent_until FROM operator"
            " WHERE operator = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(id.value));
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
    auto events = readRecords<acts::LotEvent>(*m_session,
        "SELECT from_seq, at, lot, operator, kind, detail, no_samples FROM lot_event WHERE lot = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
        keyed(lot));
    if (events)
        std::ranges::stable_sort(*events, {}, [](const Record<acts::LotEvent>& e) { return e.act.at; });
    return events;
}

/// The ends of a vial that stand, and the quarantines that were lifted.
template <typename V>
Done Reader::readEnds(const std::string& vial, V& record)
{
    auto ends = readRecords<acts::VialEnded>(*m_session,
        "SELECT from_seq, at, vial, operator, how FROM vial_end WHERE vial = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
        keyed(vial));
    if (!ends)
        return ends.error();
    if (!ends->empty()) {
        record.ended = ends->front();
        record.newestEnd = ends->back();
    }
    return eachRow(*m_session,
        "SELECT e.at, j.at FROM vial_end e JOIN journal j ON j.seq = e.to_seq AND j.act = 'vial.released' WHERE e.vial = ? AND e.from_seq <= ? AND e.to_seq <= ?",
        keyed(vial), [&](const Statement& row) {
            record.quarantines.push_back({ momentFrom(row.text(0)), m_zone.at(row.number(1)) });
            return Done();
        });
}

Result<const StripLotRecord*> Reader::stripLot(const base::StripLotId& id)
{
    return keptRecord(m_stripLots, id.value, [&]() -> Result<std::optional<StripLotRecord>> {
        auto lot = readRecord<acts::StripLotReceived>(*m_session,
            "SELECT from_seq, lot, model, gtin, code, expiry, open_period, received, released FROM strip_lot"
            " WHERE lot = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(id.value));
        auto events = lotEvents(id.value);
        if (!lot || !events)
            return lot ? events.error() : lot.error();
        if (!*lot)
            return std::optional<StripLotRecord>();
        return std::optional(StripLotRecord { (*lot)->seq, std::move((*lot)->act), std::move(events).value() });
    });
}

Result<const ControlLotRecord*> Reader::controlLot(const base::ControlLotId& id)
{
    return keptRecord(m_controlLots, id.value, [&]() -> Result<std::optional<ControlLotRecord>> {
        auto lot = readRecord<acts::ControlLotReceived>(*m_session,
            "SELECT from_seq, lot, level, expiry, open_period, received FROM control_lot"
            " WHERE lot = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(id.value));
        auto events = lotEvents(id.value);
        if (!lot || !events)
            return lot ? events.error() : lot.error();
        if (!*lot)
            return std::optional<ControlLotRecord>();
        return std::optional(ControlLotRecord { (*lot)->seq, std::move((*lot)->act), std::move(events).value() });
    });
}

Result<const StripVialRecord*> Reader::stripVial(const base::StripVialId& id)
{
    return keptRecord(m_stripVials, id.value, [&]() -> Result<std::optional<StripVialRecord>> {
        auto vial = readRecord<acts::StripVialOpened>(*m_session,
            "SELECT from_seq, vial, lot, opened, ward, found_open FROM strip_vial WHERE vial = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(id.value));
        if (!vial)
            return vial.error();
        if (!*vial)
            return std::optional<StripVialRecord>();
        StripVialRecord record { (*vial)->seq, std::move((*vial)->act), {} };
        if (const Done read = readEnds(id.value, record); !read)
            return read.error();
        return std::optional(std::move(record));
    });
}

Result<const ControlVialRecord*> Reader::controlVial(const base::ControlVialId& id)
{
    return keptRecord(m_controlVials, id.value, [&]() -> Result<std::optional<ControlVialRecord>> {
        auto vial = readRecord<acts::ControlVialOpened>(*m_session,
            "SELECT from_seq, vial, lot, opened, ward, found_open FROM control_vial WHERE vial = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(id.value));
        if (!vial)
            return vial.error();
        if (!*vial)
            return std::optional<ControlVialRecord>();
        ControlVialRecord record { (*vial)->seq, std::move((*vial)->act), {} };
        if (const Done read = readEnds(id.value, record); !read)
            return read.error();
        return std::optional(std::move(record));
    });
}

Result<const std::vector<RangeRecord>*> Reader::ranges(const base::StripLotId& strip)
{
    auto found = m_ranges.find(strip.value);
    if (found == m_ranges.end()) {
        auto read = readRecords<acts::RangeAssigned>(*m_session,
            "SELECT from_seq, strip_lot, control_lot, level, unit, low, high, mean, sd, stage, from_at, meter, NULL FROM assigned_range"
            " WHERE strip_lot = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY from_seq",
            keyed(strip.value));
        if (!read)
            return read.error();
        found = m_ranges.emplace(strip.value, std::move(read).value()).first;
    }
    return &found->second;
}

Result<bool> Reader::hasWard(const base::WardId& ward)
{
    const auto found = readRecord<acts::WardAdded>(*m_session,
        "SELECT from_seq, ward, name FROM ward WHERE ward = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)", keyed(ward.value));
    if (!found)
        return found.error();
    return found->has_value();
}

Result<std::vector<acts::WardAdded>> Reader::wards()
{
    auto records = readRecords<acts::WardAdded>(*m_session,
        "SELECT from_seq, ward, name FROM ward WHERE from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY ward",
        { bound(m_asOf.value), bound(m_asOf.value) });
    if (!records)
        return records.error();
    std::vector<acts::WardAdded> wards;
    for (auto& record : *records)
        wards.push_back(std::move(record.act));
    return wards;
}

Result<std::vector<MeterRecord>> Reader::meters()
{
    return readRecords<acts::MeterEnrolled>(*m_session,
        "SELECT from_seq, meter, model, serial, ward, enrolled, state FROM meter WHERE from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY meter",
        { bound(m_asOf.value), bound(m_asOf.value) });
}

Result<std::vector<OperatorRecord>> Reader::people()
{
    auto people = readRecords<acts::OperatorEnrolled>(*m_session,
        "SELECT from_seq, operator, name, role, competent_from, competent_until FROM operator WHERE from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY operator",
        { bound(m_asOf.value), bound(m_asOf.value) });
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
    auto vials = readRecords<acts::StripVialOpened>(*m_session,
        "SELECT from_seq, vial, lot, opened, ward, found_open FROM strip_vial WHERE (ward = ? OR ward IS NULL) AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY opened DESC NULLS LAST",
        keyed(ward.value));
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
    auto vials = readRecords<acts::ControlVialOpened>(*m_session,
        "SELECT from_seq, vial, lot, opened, ward, found_open FROM control_vial WHERE (ward = ? OR ward IS NULL) AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " ORDER BY opened DESC NULLS LAST",
        keyed(ward.value));
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
    m_signInSetUp.reset();
}

Done Reader::eachFact(std::string_view kind, const std::optional<std::string>& subject, const std::function<void(base::Seq, Act&&)>& take)
{
    // The last condition is that of the index journal_by_kind.
    constexpr const char* kOfSubject
        = "SELECT j.seq, j.body FROM journal j WHERE j.act = ? AND j.subject = ? AND j.seq <= ? AND j.act NOT IN ('control.run', 'control.judged')"
          " AND NOT EXISTS (SELECT 1 FROM annulled a WHERE a.seq = j.seq AND a.by_seq <= ?) ORDER BY j.seq";
    constexpr const char* kAll
        = "SELECT j.seq, j.body FROM journal j WHERE j.act = ? AND j.seq <= ? AND j.act NOT IN ('control.run', 'control.judged')"
          " AND NOT EXISTS (SELECT 1 FROM annulled a WHERE a.seq = j.seq AND a.by_seq <= ?) ORDER BY j.seq";
    QVariantList values { bound(std::string(kind)) };
    if (subject)
        values << bound(*subject);
    values << bound(m_asOf.value) << bound(m_asOf.value);
    return eachRow(*m_session, subject ? kOfSubject : kAll, values, [&](const Statement& row) -> Done {
        const auto body = Json::parse(row.text(1));
        auto act = body ? actFrom(kind, *body) : Result<Act>(body.error());
        if (!act)
            return act.error();
        take({ row.number(0) }, std::move(act).value());
        return {};
    });
}

} // namespace mk::store
