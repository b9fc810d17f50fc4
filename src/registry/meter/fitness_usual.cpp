// SPDX-License-Identifier: GPL-3.0-or-later
// Has the meter moved from its own usual value, does it stand apart, or is it the lot? (handbook 6.5)
#include "registry/meter/assessment.h"

#include "registry/control/usual_drift.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

namespace {

struct Where {
    const acts::UsualLevelFinding* level = nullptr;
    double newest = 0, usual = 0, moved = 0;
};

/// The level that moved furthest in that direction, in parts of what is allowed.
std::optional<Where> furthest(const acts::UsualFinding& usual, double direction, const stats::UsualSettings& settings)
{
    const stats::UsualState state = stateFrom(usual);
    std::optional<Where> found;
    for (const auto& level : usual.levels) {
        const auto& kept = state.levels[static_cast<std::size_t>(level.level)];
        const auto newest = kept.newestMean();
        if (!newest || level.limit <= 0)
            continue;
        const double own = level.usual.value_or(kept.usual(settings));
        const bool group = kept.n < settings.learned && direction * *newest > direction * (*newest - own);
        const Where where { &level, *newest, own, group ? *newest : *newest - own };
        if (!found || direction * where.moved / level.limit > direction * found->moved / found->level->limit)
            found = where;
    }
    return found;
}

void addMoved(Assessment& a, const SetRecord& set, const acts::UsualFinding& usual)
{
    const bool up = *usual.told == "high";
    const stats::UsualSettings settings = a.policy.usualSettings();
    MovedFromUsual facts { up };
    facts.stopped = usual.stops == "meter";
    facts.newest = settings.newest;
    if (usual.began)
        facts.began = a.zone.dateOf(*usual.began);
    if (const auto where = furthest(usual, up ? 1 : -1, settings)) {
        facts.level = where->level->level;
        facts.percent = where->moved;
        facts.allowed = where->level->limit;
        facts.controls = where->level->count;
        facts.learning = where->level->n < settings.learned;
        facts.newest = where->level->newest.size();
    }
    const bool blocks = a.policy.driftBlocks == DriftBlocks::Always || (a.policy.driftBlocks == DriftBlocks::HalfLimit && facts.stopped);
    a.add(Reason { ReasonCode::Drift, facts, blocks, { set.seq }, set.judged.lastAt });
    a.then(blocks ? StepKind::WithdrawAndTell : StepKind::FindDriftCause);
}

void addLot(Assessment& a, const SetRecord& set, const acts::UsualFinding& usual)
{
    LotMoved facts { usual.stripLot, {}, {}, 0, {}, usual.stops == "lot" };
    if (usual.began)
        facts.since = a.zone.dateOf(*usual.began);
    for (const auto& level : usual.levels) {
        if (!level.othersMove || (facts.percent && std::abs(*level.othersMove * level.cv) <= std::abs(*facts.percent)))
            continue;
        facts.controlLot = level.controlLot;
        facts.percent = *level.othersMove * level.cv;
        facts.meters = level.others.value_or(0) + 1;
    }
    const bool blocks = facts.stopped && a.policy.driftBlocks != DriftBlocks::Never;
    a.add(Reason { ReasonCode::LotEffect, facts, blocks, { set.seq }, set.judged.lastAt });
    a.then(StepKind::LookAtLotAndVials);
}

void addApart(Assessment& a, const SetRecord& set, const acts::UsualFinding& usual)
{
    const base::Moment since = usual.apartSince.value_or(set.judged.lastAt);
    const base::Moment due = a.zone.at(since.utcMs + a.policy.apartDays * 24 * Assessment::kHour);
    StandingApart facts;
    facts.compareBy = a.zone.dateOf(due);
    for (const auto& level : usual.levels) {
        const double distance = level.slow - level.othersSlow.value_or(0);
        if (!level.apart || std::abs(distance) <= std::abs(facts.percent))
            continue;
        facts.percent = distance;
        facts.others = level.others.value_or(0);
        facts.controls = level.count;
    }
    a.add(Reason { ReasonCode::StandsApart, facts, false, { set.seq }, since });
    const auto& passed = a.history.newestPassedPair;
    if (passed && std::max(passed->pair.meterAt, passed->pair.labAt) >= since)
        return;
    a.endsAt(due);
    if (a.at >= due)
        a.add(ReasonCode::ComparisonOverdue, { set.seq }, a.overdue(due));
    else {
        a.add(ReasonCode::ComparisonDue, { set.seq }, DueAt { a.onTheWall(due) });
        a.then(StepKind::Compare, due);
    }
}

} // namespace

void assessUsual(Assessment& a)
{
    if (a.history.lotStopped && a.history.newestSet && a.policy.driftBlocks != DriftBlocks::Never) {
        LotMoved facts { a.history.newestSet->judged.runs.empty() ? base::StripLotId() : a.history.newestSet->judged.runs.back().stripLot };
        facts.stopped = true;
        a.add(Reason { ReasonCode::LotEffect, facts, true, { *a.history.lotStopped }, {} });
        a.then(StepKind::LookAtLotAndVials);
    }
    if (!a.history.newestCounted || !a.history.newestCounted->judged.drift.usual)
        return;
    const SetRecord& set = *a.history.newestCounted;
    const acts::UsualFinding& usual = *set.judged.drift.usual;
    if (a.history.usualEvent && *a.history.usualEvent > set.judged.lastAt)
        return; // it was repaired, came back or was taken as it stands since
    if (usual.told && a.policy.driftMethod == DriftMethod::OwnUsual) {
        if (usual.lot)
            addLot(a, set, usual);
        if (!usual.lot || usual.stops == "meter")
            addMoved(a, set, usual);
    } else if (standsApart(usual) && a.policy.driftMethod == DriftMethod::OwnUsual) {
        addApart(a, set, usual);
    }
}

} // namespace mk::registry
