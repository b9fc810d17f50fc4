// SPDX-License-Identifier: GPL-3.0-or-later
// What an act must satisfy before it may stand in the journal.
#include "registry/comparison/comparison.h"
#include "store/journal/act_codec.h"
#include "store/journal/act_keys.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::refused;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

Fault unknown(const std::string& what, const std::string& id)
{
    return { FaultKind::NotFound, "no " + what + " is called '" + id + "'; record it first, or check how it is written" };
}

bool isReasonCode(const std::string& text)
{
    if (text.size() < 2 || text.size() > 3 || text[0] != 'D')
        return false;
    const auto number = base::Decimal::parse(text.substr(1));
    return number && number->decimals() == 0 && number->mantissa() >= 1 && number->mantissa() <= 14 && text[1] != '0';
}

} // namespace

Done ActBatch::needWard(const base::WardId& ward)
{
    const auto known = m_reader.hasWard(ward);
    if (!known)
        return known.error();
    return *known ? Done() : Done(unknown("ward", ward.value));
}

Done ActBatch::needMeter(const base::MeterId& meter)
{
    const auto known = m_reader.meter(meter);
    if (!known)
        return known.error();
    return *known != nullptr ? Done() : Done(unknown("meter", meter.value));
}

Result<const OperatorRecord*> ActBatch::needPerson(const base::OperatorId& person)
{
    const auto known = m_reader.person(person);
    if (!known)
        return known.error();
    if (*known == nullptr)
        return unknown("operator", person.value);
    return *known;
}

/// A record that a file calls by the same key is there already; a run's is another attempt.
Done ActBatch::admitKey(const Act& act)
{
    const std::string file(fileOf(act));
    if (file.empty() || std::holds_alternative<acts::ControlRun>(act))
        return {};
    const auto known = entryOfKey(m_session, file, keyOf(act));
    if (!known)
        return known.error();
    if (!*known)
        return {};
    if (const auto* vial = std::get_if<acts::StripVialOpened>(&act)) {
        const auto first = m_reader.stripVial(vial->vial);
        if (first && *first != nullptr && (*first)->vial.opened)
            return Fault { FaultKind::Conflict,
                "vial '" + vial->vial.value + "' was opened on " + inWords(*(*first)->vial.opened, m_reader.zone()) + " (entry "
                    + std::to_string((*known)->value) + "); scan another vial, or ask the coordinator to correct it" };
    }
    return Fault { FaultKind::Conflict,
        "'" + keyOf(act) + "' is on record as entry " + std::to_string((*known)->value) + "; record a correction or an annulment instead" };
}

template <typename A>
Done ActBatch::check(const A&)
{
    return {};
}

template <>
Done ActBatch::check(const acts::ModelAdded& a)
{
    return a.low && a.high && *a.high < *a.low
        ? Done(badInput("the measuring range of '" + a.model.value + "' ends below its beginning; check low and high"))
        : Done();
}

template <>
Done ActBatch::check(const acts::StripLotReceived& a)
{
    const auto model = m_reader.model(a.model);
    if (!model)
        return model.error();
    return *model == nullptr ? Done(unknown("model", a.model.value)) : Done();
}

Done ActBatch::checkResult(const acts::ControlRun& run)
{
    const auto meter = m_reader.meter(run.meter);
    const auto model = meter && *meter != nullptr ? m_reader.model((*meter)->act.model) : Result<const ModelRecord*>(nullptr);
    if (!meter || !model)
        return meter ? model.error() : meter.error();
    const auto* number = std::get_if<base::Decimal>(&run.result);
    if (*model == nullptr || number == nullptr || run.unit != (*model)->act.unit)
        return {};
    const auto& limits = (*model)->act;
    if ((limits.low && *number < *limits.low) || (limits.high && *number > *limits.high))
        return badInput("the result " + number->typed() + " lies outside what model '" + limits.model.value + "' can show ("
            + (limits.low ? limits.low->typed() : "…") + " to " + (limits.high ? limits.high->typed() : "…") + " "
            + std::string(base::toText(limits.unit)) + "); write HI or LO where the meter shows that");
    return {};
}

template <>
Done ActBatch::check(const acts::ControlRun& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (const Done people = checkPeopleOf(a); !people)
        return people;
    const auto strip = m_reader.stripVial(a.stripVial);
    const auto control = m_reader.controlVial(a.controlVial);
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip == nullptr)
        return unknown("strip vial", a.stripVial.value);
    if (*control == nullptr)
        return unknown("control vial", a.controlVial.value);
    if (a.reason && !isReasonCode(*a.reason))
        return badInput("'" + *a.reason + "' is not a reason for a control; write D1 to D14");
    if (const Done result = checkResult(a); !result)
        return result;
    m_known.clear();
    std::string owner;
    if (const auto waiting = m_pending.find(a.meter); waiting != m_pending.end() && waiting->second.set == a.set)
        owner = a.meter.value;
    else if (const Done read = eachRow(m_session, "SELECT meter FROM control_run WHERE set_id = ? LIMIT 1", { bound(a.set.value) },
                 [&](const Statement& row) {
                     owner = row.text(0);
                     return Done();
                 });
             !read)
        return read;
    else if (!owner.empty()) {
        auto known = m_reader.runs(a.set);
        if (!known)
            return known.error();
        m_known = std::move(known).value();
    }
    return owner.empty() || owner == a.meter.value
        ? Done()
        : Done(Fault { FaultKind::Conflict, "set '" + a.set.value + "' belongs to meter '" + owner + "'; give this run a set of its own" });
}

template <>
Done ActBatch::check(const acts::ComparisonRecorded& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (!a.stripVial)
        return {};
    const auto vial = m_reader.stripVial(*a.stripVial);
    if (!vial)
        return vial.error();
    return *vial == nullptr ? Done(unknown("strip vial", a.stripVial->value)) : Done();
}

template <>
Done ActBatch::check(const acts::IncidentReported& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (const Done cleaning = checkCleaning(a); !cleaning)
        return cleaning;
    return a.noticedAt && *a.noticedAt < a.at ? Done(badInput("it was noticed before it happened; check at and noticed_at")) : Done();
}

Result<ReturnEvidence> ActBatch::evidenceFor(const acts::ReturnStep& step)
{
    ReturnEvidence evidence;
    const auto state = stateAt(step.meter, effective(step.at));
    if (!state)
        return state.error();
    evidence.state = *state;
    evidence.today = m_reader.zone().dateOf(step.at);
    const auto person = m_reader.person(step.by);
    if (!person)
        return person.error();
    if (*person != nullptr)
        evidence.person = **person;
    if (const Done standing = addStanding(step, evidence); !standing)
        return standing.error();
    return evidence;
}

template <>
Done ActBatch::check(const acts::ReturnStep& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = m_imported ? needPerson(a.by) : needActive(a.by); !person)
        return person.error();
    if (const Done settled = settleMeter(a.meter); !settled)
        return settled;
    if (const Done notices = needNoticeItems(a); !notices)
        return notices;
    auto evidence = evidenceFor(a);
    const auto open = openStops(a.meter);
    auto incidents = m_reader.incidents(a.meter);
    auto steps = m_reader.returnSteps(a.meter);
    auto sets = m_reader.newestSets(a.meter, a.at, 10);
    auto pairs = m_reader.pairs(a.meter);
    if (!evidence || !open || !incidents || !steps || !sets || !pairs)
        return unread("the records of '" + a.meter.value + "'", evidence, open, incidents, steps, sets, pairs);
    evidence->openStops = *open;
    evidence->causes = *incidents;
    std::erase_if(*steps, [&](const ReturnRecord& step) { return step.act.at > a.at; });
    evidence->steps = *steps;
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.lastAt > a.at; });
    evidence->newestSets = *sets;
    if (const auto comparisons = comparisonsOf(*pairs, a.at, [&](base::Moment at) -> const Policy& { return m_reader.policyAt(at); });
        !comparisons.empty())
        evidence->newestPair = standingPair(comparisons.back());
    return mayTakeReturnStep(a, *evidence, m_reader.policyAt(a.at));
}

template <>
Done ActBatch::check(const acts::NoteAdded& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    return needMeter(a.meter);
}

Done ActBatch::admit(const Act& act)
{
    if (const Done time = checkTime(act); !time)
        return time;
    if (const Done entry = checkPersonsEntry(act); !entry)
        return entry;
    if (const Done key = admitKey(act); !key)
        return key;
    if (const Done checked = std::visit([this](const auto& a) { return check(a); }, act); !checked)
        return checked;
    // What a person records is held to the ladder's limit on repeats; a correction is not one.
    const auto* run = std::get_if<acts::ControlRun>(&act);
    return run != nullptr && !m_imported ? checkRepeat(*run) : Done();
}

} // namespace mk::store
