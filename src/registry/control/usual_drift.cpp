// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/usual_drift.h"

#include "registry/control/control_scores.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace mk::registry {

namespace {

std::optional<base::Moment> momentOf(const std::optional<std::int64_t>& mark, base::Moment like)
{
    return mark ? std::optional(base::Moment { *mark, like.offsetMinutes }) : std::nullopt;
}

std::optional<std::int64_t> markOf(const std::optional<base::Moment>& moment)
{
    return moment ? std::optional(moment->utcMs) : std::nullopt;
}

/// A moment that was kept stays as it was written, with its own offset.
std::optional<base::Moment> keptMoment(
    const std::optional<std::int64_t>& mark, base::Moment now, std::initializer_list<std::optional<base::Moment>> known)
{
    for (const auto& each : known)
        if (mark && each && each->utcMs == *mark)
            return each;
    return momentOf(mark, now);
}

/// A typed SD is the meter's day to day only as the share that it is of its mean.
std::optional<double> typedCv(const acts::JudgedRun& judged)
{
    if (!judged.mean || !judged.sd || judged.mean->mantissa() <= 0 || judged.sd->mantissa() <= 0)
        return std::nullopt;
    return 100 * judged.sd->toDouble() / judged.mean->toDouble();
}

std::optional<stats::ControlOnLots> controlOf(const RunRecord& record)
{
    stats::ControlOnLots control { slot(record.run.level), record.judged.controlLot.value };
    if (const auto* number = std::get_if<base::Decimal>(&record.run.result))
        control.value = number->toDouble();
    else if (std::holds_alternative<High>(record.run.result))
        control.kind = stats::UsualReading::Kind::High;
    else if (std::holds_alternative<Low>(record.run.result))
        control.kind = stats::UsualReading::Kind::Low;
    else
        return std::nullopt;
    control.cv = typedCv(record.judged);
    if (record.judged.stage == Stage::Established && record.judged.mean)
        control.mean = record.judged.mean->toDouble();
    return control;
}

void noteOnRun(RunRecord& record, const stats::LevelBasis& basis, const stats::UsualLevel& before, const stats::UsualSettings& settings)
{
    const auto control = controlOf(record);
    if (!control || !record.judged.valid)
        return;
    const stats::UsualReading reading { basis.level, control->kind, control->value, basis.base, basis.cv, basis.limit };
    const double u = stats::usualScore(before, reading, settings);
    record.judged.usual = before.usual(settings);
    record.judged.base = basis.base;
    if (std::isfinite(u))
        record.judged.u = u;
}

acts::UsualLevelFinding keptOf(Level level, const stats::UsualLevel& state, const acts::UsualFinding& before)
{
    acts::UsualLevelFinding kept;
    kept.level = level;
    const auto known = std::ranges::find(before.levels, level, &acts::UsualLevelFinding::level);
    if (known != before.levels.end()) {
        kept.controlLot = known->controlLot;
        kept.base = known->base, kept.cv = known->cv, kept.limit = known->limit;
        kept.frozen = known->frozen;
    }
    kept.n = state.n, kept.sum = state.sum, kept.start = state.start, kept.newest = state.newest;
    kept.slow = state.slow, kept.count = state.count, kept.apart = state.apart, kept.silentAt = state.silentAt;
    return kept;
}

const char* stopText(stats::UsualStop stop)
{
    return stop == stats::UsualStop::Lot ? "lot" : "meter";
}

} // namespace

stats::UsualState stateFrom(const acts::UsualFinding& finding)
{
    stats::UsualState state;
    for (const auto& level : finding.levels)
        state.levels[slot(level.level)] = { level.n, level.sum, level.start, level.newest, level.slow, level.count, level.apart,
            level.silentAt };
    state.up = finding.up, state.down = finding.down;
    state.upSince = markOf(finding.upSince), state.downSince = markOf(finding.downSince), state.began = markOf(finding.began);
    state.told = !finding.told ? stats::Way::None : *finding.told == "high" ? stats::Way::High : stats::Way::Low;
    state.stopped = finding.ownStop;
    state.lot = finding.lot;
    return state;
}

acts::UsualFinding findingOf(const stats::UsualState& state, const acts::UsualFinding& before)
{
    acts::UsualFinding finding;
    const auto known = { before.upSince, before.downSince, before.began };
    finding.up = state.up, finding.down = state.down;
    finding.upSince = keptMoment(state.upSince, {}, known);
    finding.downSince = keptMoment(state.downSince, {}, known);
    finding.began = keptMoment(state.began, {}, known);
    if (state.told != stats::Way::None)
        finding.told = state.told == stats::Way::High ? "high" : "low";
    finding.ownStop = state.stopped;
    finding.lot = state.lot;
    if (state.told != stats::Way::None)
        finding.stops = before.stops;
    finding.apartSince = state.apart() ? before.apartSince : std::nullopt;
    finding.stripLot = before.stripLot;
    for (const Level level : { Level::Low, Level::Normal, Level::High })
        if (const auto& kept = state.levels[slot(level)]; kept != stats::UsualLevel {})
            finding.levels.push_back(keptOf(level, kept, before));
    return finding;
}

bool standsApart(const acts::UsualFinding& finding)
{
    return std::ranges::any_of(finding.levels, &acts::UsualLevelFinding::apart);
}

std::string_view causeOf(const acts::UsualFinding& finding)
{
    if (!finding.told)
        return {};
    if (finding.lot)
        return "lot";
    return std::ranges::any_of(finding.levels, [](const acts::UsualLevelFinding& level) { return level.othersMove.has_value(); }) ? "meter"
                                                                                                                                  : "";
}

stats::MeterStanding standingOf(const acts::UsualFinding& finding, base::Moment at, const stats::UsualSettings& settings)
{
    stats::MeterStanding standing { at.utcMs, finding.stripLot.value };
    const stats::UsualState state = stateFrom(finding);
    for (const auto& level : finding.levels) {
        const std::size_t place = slot(level.level);
        standing.levels[place] = stats::standingOf(state.levels[place], level.controlLot.value, level.cv, settings);
    }
    return standing;
}

stats::HalfLimit halfLimitOf(const Policy& policy, base::GlucoseUnit unit)
{
    const bool mg = unit == base::GlucoseUnit::MgPerDl;
    return { (mg ? policy.limitThreshold : policy.limitThresholdMmol).toDouble(),
        (mg ? policy.limitBelow : policy.limitBelowMmol).toDouble() / 2, policy.limitPercent.toDouble() / 2 };
}

stats::SetOnLots setOnLots(std::span<const RunRecord> runs)
{
    stats::SetOnLots set;
    std::array<bool, 3> taken {};
    for (const auto& record : runs) {
        set.meter = record.run.meter.value;
        set.at = std::max(set.at, record.run.at.utcMs);
        const auto control = controlOf(record);
        const bool repeatsOther = record.run.repeatOf && *record.run.repeatOf != record.run.set.value;
        if (!control || !record.judged.valid || repeatsOther || taken[slot(record.run.level)])
            continue;
        if (set.controls.empty())
            set.stripLot = record.judged.stripLot.value;
        else if (set.stripLot != record.judged.stripLot.value)
            continue; // strips of two lots in one set: the first one's lot is the set's
        taken[slot(record.run.level)] = true;
        set.controls.push_back(*control);
    }
    return set;
}

acts::UsualFinding judgeUsual(stats::UsualState& state, std::vector<RunRecord>& runs, const stats::SetOnLots& set,
    const std::vector<stats::LevelBasis>& bases, const acts::UsualFinding& before, const Policy& policy)
{
    const stats::UsualSettings settings = policy.usualSettings();
    const stats::UsualState began = state;
    for (auto& record : runs)
        for (const auto& basis : bases)
            if (basis.level == slot(record.run.level))
                noteOnRun(record, basis, began.levels[basis.level], settings);
    const stats::JudgedOnLots judged = stats::judgeOnLots(state, set, bases, settings);
    acts::UsualFinding finding = findingOf(state, before);
    if (!judged.set)
        return finding;
    const base::Moment last = runs.back().run.at;
    const auto known = { before.upSince, before.downSince, before.began, std::optional(last) };
    finding.upSince = keptMoment(state.upSince, last, known);
    finding.downSince = keptMoment(state.downSince, last, known);
    finding.began = keptMoment(state.began, last, known);
    finding.score = judged.set->score;
    finding.stops.reset();
    if (judged.stop != stats::UsualStop::None)
        finding.stops = stopText(judged.stop);
    finding.apartSince = standsApart(finding) ? std::optional(before.apartSince.value_or(last)) : std::nullopt;
    finding.stripLot = base::StripLotId(set.stripLot);
    for (std::size_t i = 0; i < bases.size(); ++i) {
        const stats::LevelBasis& basis = bases[i];
        const auto level = std::ranges::find(finding.levels, static_cast<Level>(basis.level), &acts::UsualLevelFinding::level);
        const auto control = std::ranges::find(set.controls, basis.level, &stats::ControlOnLots::level);
        level->controlLot = base::ControlLotId(control->controlLot);
        level->base = basis.base, level->cv = basis.cv, level->limit = basis.limit, level->frozen = basis.frozen;
        level->learned = began.levels[basis.level].n;
        level->usual = began.levels[basis.level].usual(settings);
        level->othersSlow = basis.othersSlow;
        level->others = static_cast<std::int64_t>(basis.others);
        level->othersMove = basis.othersMove;
        level->u = stats::heldScore(judged.set->levels[i].u);
    }
    return finding;
}

} // namespace mk::registry
