// SPDX-License-Identifier: GPL-3.0-or-later
// What the register knows of a meter's file and movements, and of a person's standing.
#include "store/db/rows.h"
#include "store/index/rows/meter_rows.h"
#include "store/journal/act_codec.h"
#include "store/journal/journal.h"
#include "store/read/reader.h"

#include <algorithm>
#include <map>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

Result<bool> wasImported(Session& session, Seq seq)
{
    const auto entry = entryAt(session, seq);
    if (!entry)
        return entry.error();
    if (!*entry)
        return base::fault(base::FaultKind::Damaged, "the journal has no entry %1", seq.value);
    return saysImported((*entry)->body);
}

} // namespace

Result<const PersonFacts*> Reader::personFacts(const base::OperatorId& id)
{
    auto found = m_personFacts.find(id.value);
    if (found == m_personFacts.end()) {
        auto assessments = facts<acts::CompetencyAssessed>(id.value);
        auto changes = facts<acts::OperatorChanged>(id.value);
        if (!assessments || !changes)
            return assessments ? changes.error() : assessments.error();
        found = m_personFacts.emplace(id.value, PersonFacts { std::move(assessments).value(), std::move(changes).value() }).first;
    }
    return &found->second;
}

Result<Competency> Reader::competency(const OperatorRecord& person, const std::optional<base::ModelId>& model, Moment at, Seq knownBefore)
{
    const auto known = personFacts(person.act.id);
    if (!known)
        return known.error();
    return competencyOf(person, **known, model, at, knownBefore, policyAt(at), m_zone);
}

Result<OperatorRecord> Reader::personOnModel(OperatorRecord person, const base::ModelId& model, Moment at)
{
    const auto known = competency(person, model, at);
    if (!known)
        return known.error();
    person.act.competentFrom = known->holds() ? known->from : std::nullopt;
    person.act.competentUntil = known->holds() ? known->until : std::nullopt;
    return person;
}

Result<std::vector<WardSpell>> Reader::wardSpells(const base::MeterId& meter, Moment at)
{
    static const Select<MeterWardRow> sql("WHERE meter = :meter AND " + known() + " AND from_at <= :at ORDER BY from_at, from_seq");
    auto rows = readRows(*m_session, sql, asKnown({ { "meter", bound(meter.value) }, { "at", bound(at.utcMs) } }), m_zone);
    if (!rows)
        return rows.error();
    std::vector<WardSpell> spells;
    for (auto& row : *rows)
        spells.push_back({ row.version.from, std::move(row.ward), row.since });
    return spells;
}

Result<std::optional<TransferRecord>> Reader::transferOf(const base::MeterId& meter, Moment at)
{
    const auto spells = wardSpells(meter, at);
    if (!spells)
        return spells.error();
    if (spells->size() < 2)
        return std::optional<TransferRecord>();
    const WardSpell& last = spells->back();
    const auto imported = wasImported(*m_session, last.seq);
    if (!imported)
        return imported.error();
    if (*imported)
        return std::optional<TransferRecord>();
    TransferRecord transfer { last.seq, last.since, (*spells)[spells->size() - 2].ward, last.ward, std::nullopt };
    const auto words = facts<acts::TransferConfirmed>(meter.value);
    if (!words)
        return words.error();
    for (const auto& confirmed : *words)
        if (confirmed.seq > last.seq && confirmed.act.ward == last.ward && confirmed.act.at <= at && !transfer.confirmedBy)
            transfer.confirmedBy = confirmed.seq;
    return std::optional(transfer);
}

Done Reader::historyOfMovements(MeterHistory& history, Moment at)
{
    const auto transfer = transferOf(history.meter.act.meter, at);
    if (!transfer)
        return transfer.error();
    history.transfer = *transfer;
    const bool issued = history.state && history.state->state == MeterState::InService && history.state->before == MeterState::Reserve;
    if (!issued)
        return {};
    const auto imported = wasImported(*m_session, history.state->seq);
    if (!imported)
        return imported.error();
    history.issuedOnEvidence = !*imported;
    return {};
}

Result<std::vector<std::pair<base::MeterId, std::string>>> Reader::metersCalled(const std::string& text)
{
    std::vector<std::pair<base::MeterId, std::string>> found;
    const auto all = meters();
    if (!all)
        return all.error();
    for (const auto& meter : *all)
        if (meter.act.meter.value == text)
            return std::vector { std::pair(meter.act.meter, std::string("id")) };
    for (const auto& meter : *all)
        if (meter.act.serial && *meter.act.serial == text)
            found.emplace_back(meter.act.meter, "serial");
    if (!found.empty())
        return found;
    const auto described = facts<acts::MeterDescribed>();
    if (!described)
        return described.error();
    std::map<base::MeterId, std::string> newest;
    for (const auto& each : *described)
        if (each.act.udi)
            newest[each.act.meter] = *each.act.udi;
    for (const auto& [meter, udi] : newest)
        if (udi == text)
            found.emplace_back(meter, "udi");
    return found;
}

Result<const std::vector<Record<acts::ReviewSigned>>*> Reader::standingReviews()
{
    if (m_standingReviews)
        return &*m_standingReviews;
    auto reviews = facts<acts::ReviewSigned>();
    const auto overtaken = facts<acts::ReviewOvertaken>();
    if (!reviews || !overtaken)
        return reviews ? overtaken.error() : reviews.error();
    auto& standing = m_standingReviews.emplace();
    for (auto review = reviews->rbegin(); review != reviews->rend(); ++review) {
        const auto sameMonth = [&](const Record<acts::ReviewSigned>& newer) {
            return newer.seq > review->seq && newer.act.month == review->act.month && newer.act.ward == review->act.ward;
        };
        const bool told = std::ranges::any_of(*overtaken, [&](const auto& each) { return each.act.review == review->seq; });
        if (!told && !std::ranges::any_of(*reviews, sameMonth))
            standing.push_back(*review);
    }
    return &standing;
}

} // namespace mk::store
