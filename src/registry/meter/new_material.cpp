// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/new_material.h"

#include "registry/lots/expiry.h"

#include <algorithm>
#include <cstdlib>

namespace mk::registry {

namespace {

using base::Done;
using base::Moment;
using base::Result;

bool isAccepted(const SetRecord& set, Moment at)
{
    return set.judged.lastAt <= at && (set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned);
}

bool hasEnded(const MeterHistory& history, Moment at)
{
    return history.stripVial && history.stripVial->ended && history.stripVial->ended->act.at <= at;
}

/// From when on the meter's sets may have used the lot of that vial.
Result<Moment> lotKnownSince(Facts& facts, const OpenStripVial& open)
{
    const auto lot = facts.stripLot(open.vial.vial.lot);
    if (!lot)
        return lot.error();
    const Moment opened = open.vial.vial.opened.value_or(Moment {});
    return *lot != nullptr && (*lot)->lot.received ? std::min(opened, *(*lot)->lot.received) : opened;
}

Result<std::vector<OpenStripVial>> openVialsFor(Facts& facts, const MeterHistory& history, Moment at)
{
    const auto open = facts.openStripVials(history.ward, at);
    if (!open)
        return open.error();
    std::vector<OpenStripVial> usable;
    for (const auto& vial : *open) {
        const auto lot = facts.stripLot(vial.vial.lot);
        if (!lot)
            return lot.error();
        if (*lot != nullptr && (*lot)->lot.model == history.meter.act.model && againstStripVial(&vial, *lot, at, facts.zone()).empty())
            usable.push_back({ vial });
    }
    return usable;
}

/// Looks further back than the newest accepted set, where that one does not answer.
Done markByOlderSets(Facts& facts, MeterHistory& history, const Policy& policy, Moment at)
{
    const base::MeterId& meter = history.meter.act.meter;
    for (auto& open : history.openStripVials) {
        if (!open.lotControlled) {
            const auto since = lotKnownSince(facts, open);
            const auto onLot = since ? facts.acceptedOnLot(open.vial.vial.lot, meter, *since, at) : Result<bool>(since.error());
            if (!onLot)
                return onLot.error();
            open.lotControlled = *onLot;
        }
        if (policy.newStripVial != NewStripVial::EveryMeter || open.controlled)
            continue;
        const auto onVial = facts.acceptedOn(open.vial.vial.vial, at, meter);
        if (!onVial)
            return onVial.error();
        open.controlled = *onVial;
    }
    return {};
}

struct OlderVials {
    bool any = false; ///< another of its level was open when it was opened
    std::vector<base::ControlVialId> stillOpen;
};

/// The control vials of its level that were open on its ward when it was opened.
Result<OlderVials> olderThan(Facts& facts, const ControlVialRecord& vial, Level level, const base::WardId& ward, Moment at)
{
    OlderVials older;
    const auto open = facts.openControlVials(ward, *vial.vial.opened);
    if (!open)
        return open.error();
    for (const auto& other : *open) {
        const auto lot = facts.controlLot(other.vial.lot);
        if (!lot)
            return lot.error();
        if (*lot == nullptr || (*lot)->lot.level != level || other.vial.vial == vial.vial.vial || *other.vial.opened >= *vial.vial.opened)
            continue;
        older.any = true;
        if (!(other.ended && other.ended->act.at <= at) && againstControlVial(&other, *lot, at, facts.zone()).empty())
            older.stillOpen.push_back(other.vial.vial);
    }
    return older;
}

std::int64_t setWindowMs(const Policy& policy)
{
    return policy.setWindowMinutes * std::int64_t { 60'000 };
}

/// What a control vial owes; nothing where it owes no run beside another one, or has had it.
Result<std::optional<VialDebt>> debtOf(Facts& facts, const ControlVialRecord& vial, Level level, const base::WardId& ward, Moment at)
{
    const Policy& policy = facts.policyAt(at);
    auto older = olderThan(facts, vial, level, ward, at);
    if (!older)
        return older.error();
    if (!older->any)
        return std::optional<VialDebt>();
    const auto uses = facts.usesAround(vial.vial.vial, level, setWindowMs(policy));
    if (!uses)
        return uses.error();
    if (ranBeside(*uses, vial.vial.vial, at, policy))
        return std::optional<VialDebt>();
    return std::optional(VialDebt { VialDebt::What::ControlBeside, vial.vial.vial.value, vial.vial.lot.value, vial.vial.ward, level,
        std::move(older->stillOpen), vial.seq });
}

Done addStripDebts(Facts& facts, const base::WardId& ward, const Policy& policy, Moment at, std::vector<VialDebt>& debts)
{
    const auto open = facts.openStripVials(ward, at);
    if (!open)
        return open.error();
    for (const auto& vial : *open) {
        const auto lot = facts.stripLot(vial.vial.lot);
        if (!lot)
            return lot.error();
        if (*lot == nullptr || !againstStripVial(&vial, *lot, at, facts.zone()).empty())
            continue;
        const auto controlled = facts.acceptedOn(vial.vial.vial, at);
        if (!controlled)
            return controlled.error();
        const auto what = policy.newStripVial == NewStripVial::Insert ? VialDebt::What::AskInsert : VialDebt::What::StripControl;
        if (!*controlled)
            debts.push_back({ what, vial.vial.vial.value, vial.vial.lot.value, vial.vial.ward, {}, {}, vial.seq });
    }
    return {};
}

Done addControlDebts(Facts& facts, const base::WardId& ward, Moment at, std::vector<VialDebt>& debts)
{
    const auto open = facts.openControlVials(ward, at);
    if (!open)
        return open.error();
    for (const auto& vial : *open) {
        const auto lot = facts.controlLot(vial.vial.lot);
        if (!lot)
            return lot.error();
        if (*lot == nullptr || !againstControlVial(&vial, *lot, at, facts.zone()).empty())
            continue;
        auto debt = debtOf(facts, vial, (*lot)->lot.level, ward, at);
        if (!debt)
            return debt.error();
        if (*debt)
            debts.push_back(std::move(**debt));
    }
    return {};
}

} // namespace

std::vector<FirstUse> firstUses(const MeterHistory& history, const Policy& policy, Moment at)
{
    const bool everyMeter = policy.newStripVial == NewStripVial::EveryMeter;
    const auto isKnown = [&](const OpenStripVial& open) { return open.lotControlled && (open.controlled || !everyMeter); };
    const auto& open = history.openStripVials;
    const bool onlyNew = hasEnded(history, at) && !open.empty() && std::ranges::none_of(open, isKnown);
    std::vector<FirstUse> uses;
    for (const auto& each : open) {
        if (isKnown(each))
            continue;
        const bool vialAsks = everyMeter && each.lotControlled;
        // Where each meter owes the vial a control, that control is on the new lot too, whatever the insert of the lot says.
        const bool byInsert = !everyMeter && policy.newStripLot == NewStripLot::Insert;
        uses.push_back({ vialAsks ? FirstUse::Of::StripVial : FirstUse::Of::StripLot, &each, byInsert, onlyNew && !byInsert });
    }
    return uses;
}

void markControlled(std::vector<OpenStripVial>& vials, std::span<const SetRecord> sets, Moment at)
{
    for (const auto& set : sets) {
        if (!isAccepted(set, at))
            continue;
        for (auto& open : vials)
            for (const auto& run : set.runs) {
                open.lotControlled = open.lotControlled || run.judged.stripLot == open.vial.vial.lot;
                open.controlled = open.controlled || run.run.stripVial == open.vial.vial.vial;
            }
    }
}

bool asksForOpenVials(const MeterHistory& history, const Policy& policy, Moment at)
{
    return hasEnded(history, at) || (history.newestAccepted && policy.newStripVial == NewStripVial::EveryMeter);
}

Done addOpenMaterial(Facts& facts, MeterHistory& history, const Policy& policy, Moment at)
{
    history.openStripVials.clear();
    history.otherStripVialOpen = false;
    if (!asksForOpenVials(history, policy, at))
        return {};
    auto open = openVialsFor(facts, history, at);
    if (!open)
        return open.error();
    history.openStripVials = std::move(open).value();
    history.otherStripVialOpen = hasEnded(history, at) && !history.openStripVials.empty();
    if (history.newestAccepted)
        markControlled(history.openStripVials, { &*history.newestAccepted, 1 }, at);
    return markByOlderSets(facts, history, policy, at);
}

bool ranBeside(std::span<const ControlVialUse> uses, const base::ControlVialId& vial, Moment at, const Policy& policy)
{
    const std::int64_t window = setWindowMs(policy);
    const auto besideOf = [&](const ControlVialUse& own) {
        return std::ranges::any_of(uses, [&](const ControlVialUse& other) {
            return other.vial != vial && other.meter == own.meter && other.at <= at && std::abs(own.at.utcMs - other.at.utcMs) <= window;
        });
    };
    return std::ranges::any_of(uses, [&](const ControlVialUse& use) { return use.vial == vial && use.at <= at && besideOf(use); });
}

Result<std::vector<VialDebt>> vialDebts(Facts& facts, const base::WardId& ward, Moment at)
{
    const Policy& policy = facts.policyAt(at);
    std::vector<VialDebt> debts;
    if (const Done strips = addStripDebts(facts, ward, policy, at, debts); !strips)
        return strips.error();
    if (policy.newControlVial == NewControlVial::Beside)
        if (const Done controls = addControlDebts(facts, ward, at, debts); !controls)
            return controls.error();
    return debts;
}

} // namespace mk::registry
