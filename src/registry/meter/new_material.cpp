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
    std::optional<Moment> since;
    for (const auto& open : history.openStripVials) {
        if (open.lotControlled && (open.controlled || policy.newStripVial != NewStripVial::EveryMeter))
            continue;
        const auto from = lotKnownSince(facts, open);
        if (!from)
            return from.error();
        since = since ? std::min(*since, *from) : *from;
    }
    if (!since)
        return {};
    const auto sets = facts.sets(history.meter.act.meter, *since, at);
    if (!sets)
        return sets.error();
    markControlled(history.openStripVials, *sets, at);
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

/// Has any meter run it beside another one since it was opened?
Result<bool> wasRunBeside(Facts& facts, const ControlVialRecord& vial, Level level, Moment at)
{
    const Policy& policy = facts.policyAt(at);
    const auto meters = facts.metersThatUsed(vial.vial.vial.value);
    if (!meters)
        return meters.error();
    const std::int64_t window = policy.setWindowMinutes * std::int64_t { 60'000 };
    for (const auto& meter : *meters) {
        const auto sets = facts.sets(meter, facts.zone().at(vial.vial.opened->utcMs - window), at);
        if (!sets)
            return sets.error();
        if (ranBeside(*sets, vial.vial.vial, level, at, policy))
            return true;
    }
    return false;
}

/// Nothing where the vial owes no run beside another one, or has had it.
Result<std::optional<UnprovenControlVial>> unproven(
    Facts& facts, const ControlVialRecord& vial, Level level, const base::WardId& ward, Moment at)
{
    if (!vial.vial.opened)
        return std::optional<UnprovenControlVial>();
    auto older = olderThan(facts, vial, level, ward, at);
    if (!older)
        return older.error();
    const auto beside = older->any ? wasRunBeside(facts, vial, level, at) : Result<bool>(true);
    if (!beside)
        return beside.error();
    if (*beside)
        return std::optional<UnprovenControlVial>();
    return std::optional(UnprovenControlVial { vial, level, std::move(older->stillOpen) });
}

Done addUnprovenControlVials(Facts& facts, MeterHistory& history, Moment at)
{
    if (!history.newestAccepted)
        return {};
    std::vector<base::ControlVialId> seen;
    for (const auto& run : history.newestAccepted->runs) {
        if (std::ranges::find(seen, run.run.controlVial) != seen.end())
            continue;
        seen.push_back(run.run.controlVial);
        const auto vial = facts.controlVial(run.run.controlVial);
        if (!vial)
            return vial.error();
        if (*vial == nullptr)
            continue;
        auto found = unproven(facts, **vial, run.run.level, history.ward, at);
        if (!found)
            return found.error();
        if (*found)
            history.unprovenControlVials.push_back(std::move(**found));
    }
    return {};
}

/// Has any meter an accepted set on it?
Result<bool> wasControlled(Facts& facts, const StripVialRecord& vial, Moment at)
{
    const auto meters = facts.metersThatUsed(vial.vial.vial.value);
    if (!meters)
        return meters.error();
    for (const auto& meter : *meters) {
        const auto sets = facts.sets(meter, *vial.vial.opened, at);
        if (!sets)
            return sets.error();
        std::vector<OpenStripVial> marked { { vial } };
        markControlled(marked, *sets, at);
        if (marked.front().controlled)
            return true;
    }
    return false;
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
        const auto controlled = wasControlled(facts, vial, at);
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
        auto found = unproven(facts, vial, (*lot)->lot.level, ward, at);
        if (!found)
            return found.error();
        if (*found)
            debts.push_back({ VialDebt::What::ControlBeside, vial.vial.vial.value, vial.vial.lot.value, vial.vial.ward, (*found)->level,
                std::move((*found)->older), vial.seq });
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
    if (asksForOpenVials(history, policy, at)) {
        auto open = openVialsFor(facts, history, at);
        if (!open)
            return open.error();
        history.openStripVials = std::move(open).value();
        history.otherStripVialOpen = hasEnded(history, at) && !history.openStripVials.empty();
        if (history.newestAccepted)
            markControlled(history.openStripVials, { &*history.newestAccepted, 1 }, at);
        if (const Done marked = markByOlderSets(facts, history, policy, at); !marked)
            return marked;
    }
    return policy.newControlVial == NewControlVial::Beside ? addUnprovenControlVials(facts, history, at) : Done();
}

bool ranBeside(std::span<const SetRecord> sets, const base::ControlVialId& vial, Level level, Moment at, const Policy& policy)
{
    std::vector<const RunRecord*> own, others;
    for (const auto& set : sets)
        for (const auto& run : set.runs)
            if (run.run.level == level && run.run.at <= at && run.judged.valid && run.judged.inRange == true)
                (run.run.controlVial == vial ? own : others).push_back(&run);
    const std::int64_t window = policy.setWindowMinutes * std::int64_t { 60'000 };
    return std::ranges::any_of(own, [&](const RunRecord* a) {
        return std::ranges::any_of(others, [&](const RunRecord* b) { return std::abs(a->run.at.utcMs - b->run.at.utcMs) <= window; });
    });
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
