// SPDX-License-Identifier: GPL-3.0-or-later
// Nonconformities and look-backs: what opens one by itself, and what its steps and its end must satisfy.
#include "registry/meter/lookback.h"
#include "registry/meter/nonconformity.h"
#include "store/read/read_ladder.h"
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::refused;
using base::Result;
using base::Seq;
using namespace registry;

Done ActBatch::openNonconformity(
    const std::string& type, const std::string& subject, const std::string& description, Seq because, Moment at)
{
    const auto known = nonconformities(m_reader, subject, std::nullopt);
    if (!known)
        return known.error();
    // One that is being worked on takes in what comes again.
    if (std::ranges::any_of(*known, [&](const Nonconformity& nc) { return nc.opened.type == type && nc.state != NcState::Closed; }))
        return {};
    acts::NcOpened opened;
    opened.at = at;
    opened.by = base::OperatorId(m_person);
    opened.type = type;
    opened.subject = subject;
    opened.description = description;
    opened.because = because;
    return appendFollowing(opened);
}

/// A withdrawal for a cause that the handbook calls a nonconformity (7.1) opens one.
Done ActBatch::followStop(const acts::MeterStopped& stopped, Seq seq)
{
    const std::string text = nonconformityText(stopped.cause, stopped.meter.value);
    // What was taken over was dealt with where it was made; only what the registry itself withdraws is new.
    if (text.empty() || !stopped.withdrawn || (m_imported && stopped.cause != "ladder-exhausted"))
        return {};
    return openNonconformity(stopped.cause, stopped.meter.value, text, seq, stopped.at);
}

/// What was measured while the meter was in doubt waits for a look-back (handbook 1.5): damage, liquid and a wrong unit may be as old as
/// the last good control; any other doubt begins with the event, and counts where an accepted set followed or somebody used the meter.
Done ActBatch::lookBackOnIncident(Seq seq, const acts::IncidentReported& incident, Moment told)
{
    const auto sets = m_reader.sets(incident.meter, incident.at, told);
    if (!sets)
        return sets.error();
    const auto next = std::ranges::find_if(*sets, [&](const SetRecord& set) {
        return set.judged.lastAt > incident.at && (set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned);
    });
    const bool used = incident.used == YesNo::Yes;
    const bool older = !m_imported
        && (incident.what == IncidentKind::Wet || incident.what == IncidentKind::Damaged || incident.what == IncidentKind::WrongUnit);
    const Moment noticed = std::max(incident.noticedAt.value_or(incident.at), incident.at);
    if (next == sets->end() && !older && (!used || noticed <= incident.at))
        return {};
    const auto from = older ? lastGoodBefore(incident.meter, incident.at) : Result<Moment>(incident.at);
    if (!from)
        return from.error();
    const Moment to = next != sets->end() ? next->judged.lastAt : noticed;
    const std::optional<Moment> usedUntil = used ? std::optional(std::min(noticed, to)) : std::nullopt;
    return openLookback({ incident.meter, told, *from, to, std::string(effectOf(incident.what).code), seq, {}, usedUntil, {}, {} });
}

template <>
Done ActBatch::check(const acts::NcOpened& a)
{
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role == Role::Inspector)
        return refused("an inspector reads; a nurse or the coordinator opens a nonconformity");
    if (a.type.empty() || a.description.find_first_not_of(" \t\n") == std::string::npos)
        return badInput("a nonconformity needs its type and a description of what was not right");
    const auto meter = m_reader.meter(base::MeterId(a.subject));
    const auto stripLot = m_reader.stripLot(base::StripLotId(a.subject));
    const auto controlLot = m_reader.controlLot(base::ControlLotId(a.subject));
    const auto stripVial = m_reader.stripVial(base::StripVialId(a.subject));
    const auto controlVial = m_reader.controlVial(base::ControlVialId(a.subject));
    if (!meter || !stripLot || !controlLot || !stripVial || !controlVial)
        return unread("the records of '" + a.subject + "'", meter, stripLot, controlLot, stripVial, controlVial);
    if (*meter == nullptr && *stripLot == nullptr && *controlLot == nullptr && *stripVial == nullptr && *controlVial == nullptr)
        return Fault { FaultKind::NotFound, "no meter, lot or vial is called '" + a.subject + "'; check how it is written" };
    if (a.because && (a.because->value < 1 || *a.because > m_head.seq))
        return Fault { FaultKind::NotFound, "the journal has no entry " + std::to_string(a.because->value) + " that it could follow from" };
    return {};
}

/// The first undecided look-back that belongs to a nonconformity: opened by the same entry, or, where a control failed, about a time before
/// it.
Result<std::optional<Seq>> ActBatch::undecidedLookback(const Nonconformity& nonconformity)
{
    const auto lookbacks = m_reader.lookbacks(base::MeterId(nonconformity.opened.subject));
    if (!lookbacks)
        return lookbacks.error();
    for (const auto& each : *lookbacks) {
        const bool same = nonconformity.opened.because && each.lookback.because == *nonconformity.opened.because;
        const bool control = followsFailedControl(nonconformity.opened.type) && each.lookback.from <= nonconformity.opened.at;
        if (!each.closedBy && (same || control))
            return std::optional(each.seq);
    }
    return std::optional<Seq>();
}

template <>
Done ActBatch::check(const acts::NcStep& a)
{
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    const auto nonconformity = nonconformityOf(m_reader, a.entry);
    if (!nonconformity)
        return nonconformity.error();
    if (!*nonconformity)
        return Fault { FaultKind::NotFound,
            "entry " + std::to_string(a.entry.value) + " opened no nonconformity; see the meter's file for its number" };
    const auto lookback = undecidedLookback(**nonconformity);
    return lookback ? mayTakeNcStep(**nonconformity, a, (*person)->act.role, *lookback) : Done(lookback.error());
}

template <>
Done ActBatch::check(const acts::LookbackClosed& a)
{
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role != Role::Coordinator)
        return refused("only the coordinator closes a look-back");
    std::optional<std::string> meter;
    if (const Done read = eachRow(m_session, "SELECT meter FROM lookback WHERE from_seq = ?", { bound(a.entry.value) },
            [&](const Statement& row) {
                meter = row.text(0);
                return Done();
            });
        !read)
        return read;
    if (!meter)
        return Fault { FaultKind::NotFound,
            "entry " + std::to_string(a.entry.value) + " opened no look-back; see the meter's file for its number" };
    const auto all = m_reader.lookbacks(base::MeterId(*meter));
    if (!all)
        return all.error();
    const auto found = std::ranges::find(*all, a.entry, &LookbackRecord::seq);
    if (found == all->end())
        return Fault { FaultKind::Damaged, "the look-back of entry " + std::to_string(a.entry.value) + " cannot be read; run verify" };
    if (found->closedBy)
        return Fault { FaultKind::Conflict, "the look-back of entry " + std::to_string(a.entry.value) + " is decided already" };
    return mayCloseLookback(a, found->lookback);
}

} // namespace mk::store
