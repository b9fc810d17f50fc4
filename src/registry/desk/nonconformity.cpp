// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/nonconformity.h"

#include "base/number_text.h"
#include "base/unread.h"
#include "registry/desk/known.h"
#include "registry/desk/refusal.h"
#include "registry/lots/lot_items.h"
#include "registry/meter/nonconformities.h"
#include "registry/terms/reason.h"

#include <algorithm>
#include <cmath>

namespace mk::registry::desk {

using base::Done;
using base::Result;
using base::Seq;

namespace {

/// A meter, lot or vial of that name.
Result<bool> anythingCalled(Facts& facts, const std::string& id)
{
    const auto meter = facts.meter(base::MeterId(id));
    const auto stripLot = facts.stripLot(base::StripLotId(id));
    const auto controlLot = facts.controlLot(base::ControlLotId(id));
    const auto stripVial = facts.stripVial(base::StripVialId(id));
    const auto controlVial = facts.controlVial(base::ControlVialId(id));
    if (!meter || !stripLot || !controlLot || !stripVial || !controlVial)
        return base::unread("the records of '%1' cannot be read; run verify", id, meter, stripLot, controlLot, stripVial, controlVial);
    return *meter != nullptr || *stripLot != nullptr || *controlLot != nullptr || *stripVial != nullptr || *controlVial != nullptr;
}

/// The level that the others moved furthest at.
std::string lotEffectText(const acts::UsualFinding& usual)
{
    const acts::UsualLevelFinding* most = nullptr;
    for (const auto& level : usual.levels)
        if (level.othersMove && (most == nullptr || std::abs(*level.othersMove * level.cv) > std::abs(*most->othersMove * most->cv)))
            most = &level;
    if (most == nullptr)
        return "Meters on strip lot " + usual.stripLot.value + " moved together.";
    const double percent = *most->othersMove * most->cv;
    return "Meters on strip lot " + usual.stripLot.value + " with control lot " + most->controlLot.value + " read about "
        + base::fixedText(std::abs(percent), 1) + " % " + (percent < 0 ? "lower" : "higher") + " than they used to ("
        + std::to_string(most->others.value_or(0) + 1) + " meters).";
}

/// The first undecided look-back that belongs to a nonconformity: opened by the same entry, or, where a control failed, about a time before
/// it.
Result<std::optional<Seq>> undecidedLookback(Facts& facts, const Nonconformity& nonconformity)
{
    const auto lookbacks = facts.lookbacks(base::MeterId(nonconformity.opened.subject));
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

} // namespace

Done admit(const Desk& desk, const acts::NcOpened& a)
{
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role == Role::Inspector)
        return refuse(Refusal::InspectorOpensNothing);
    if (a.type.empty() || a.description.find_first_not_of(" \t\n") == std::string::npos)
        return refuse(Refusal::NonconformityIncomplete);
    const auto known = anythingCalled(desk.facts, a.subject);
    if (!known)
        return known.error();
    if (!*known)
        return refuse(Refusal::SubjectUnknown, a.subject);
    if (!a.because)
        return {};
    const auto because = desk.facts.entry(*a.because);
    if (!because)
        return because.error();
    return *because ? Done() : Done(refuse(Refusal::EntryUnknown, a.because->value));
}

Done admit(const Desk& desk, const acts::NcStep& a)
{
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    const auto nonconformity = nonconformityOf(desk.facts, a.entry);
    if (!nonconformity)
        return nonconformity.error();
    if (!*nonconformity)
        return refuse(Refusal::NoNonconformity, a.entry);
    const auto lookback = undecidedLookback(desk.facts, **nonconformity);
    return lookback ? mayTakeNcStep(**nonconformity, a, (*person)->act.role, *lookback) : Done(lookback.error());
}

Done openNonconformity(const Desk& desk, acts::NcOpened opened)
{
    const auto known = nonconformities(desk.facts, opened.subject, std::nullopt);
    if (!known)
        return known.error();
    // One that is being worked on takes in what comes again.
    if (std::ranges::any_of(*known, [&](const Nonconformity& nc) { return nc.opened.type == opened.type && nc.state != NcState::Closed; }))
        return {};
    opened.by = base::OperatorId(desk.person);
    return desk.letFollow(opened);
}

Done followLotEffect(const Desk& desk, const SetRecord& set)
{
    const auto& usual = set.judged.drift.usual;
    if (!usual || !usual->told || !usual->lot)
        return {};
    const auto known = nonconformities(desk.facts, usual->stripLot.value, std::nullopt);
    if (!known)
        return known.error();
    // Once for this move, also where the coordinator has closed it since.
    const auto isOpened = [&](std::string_view type) {
        return std::ranges::any_of(
            *known, [&](const Nonconformity& nc) { return nc.opened.type == type && (!usual->began || nc.opened.at >= *usual->began); });
    };
    acts::NcOpened opened;
    opened.at = set.judged.lastAt;
    opened.subject = usual->stripLot.value;
    opened.description = lotEffectText(*usual);
    opened.because = set.seq;
    for (const auto& [type, stands] : { std::pair(kLotMovedType, true), std::pair(kLotStoppedType, usual->stops == "lot") }) {
        if (!stands || isOpened(type))
            continue;
        opened.type = type;
        if (const Done done = openNonconformity(desk, opened); !done)
            return done;
    }
    return {};
}

Done followStop(const Desk& desk, Seq seq, const acts::MeterStopped& stopped)
{
    std::string text = nonconformityText(stopped.cause, stopped.meter.value);
    // What was taken over was dealt with where it was made; only what the registry itself withdraws is new.
    if (text.empty() || !stopped.withdrawn || (desk.occasion.imported && stopped.cause != code(ReasonCode::LadderExhausted)))
        return {};
    acts::NcOpened opened;
    opened.at = stopped.at;
    opened.type = stopped.cause;
    opened.subject = stopped.meter.value;
    opened.description = std::move(text);
    opened.because = seq;
    return openNonconformity(desk, std::move(opened));
}

} // namespace mk::registry::desk
