// SPDX-License-Identifier: GPL-3.0-or-later
// What is known of one meter: its states, stops, sets and runs.
#include "support/plain_facts.h"

#include "registry/control/late_entry.h"
#include "registry/meter/lookback.h"
#include "registry/meter/meter_life.h"

#include <algorithm>
#include <set>

namespace mk::test {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

bool accepted(const SetRecord& set)
{
    return set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned;
}

/// The newest that a condition holds for.
template <typename F>
std::optional<SetRecord> newestSet(const std::vector<SetRecord>& sets, F&& holds)
{
    const auto found = std::find_if(sets.rbegin(), sets.rend(), holds);
    return found == sets.rend() ? std::nullopt : std::optional(*found);
}

} // namespace

Result<std::optional<StateSpell>> PlainFacts::stateAt(const base::MeterId& meter, Moment at)
{
    std::optional<StateSpell> found;
    const auto spells = states(meter);
    for (const auto& spell : *spells)
        if (spell.since <= at)
            found = spell;
    return found;
}

Result<std::vector<StateSpell>> PlainFacts::states(const base::MeterId& meter)
{
    std::vector<StateSpell> spells;
    const auto add = [&](Seq seq, MeterState state, Moment since) { spells.push_back({ seq, state, since, {} }); };
    for (const auto& each : m_entries) {
        if (each.annulledBy || subjectOf(each.act) != meter.value)
            continue;
        if (const auto* enrolled = std::get_if<acts::MeterEnrolled>(&each.act))
            add(each.seq, enrolled->state.value_or(MeterState::InService), enrolled->enrolled);
        else if (const auto* moved = std::get_if<acts::MeterMoved>(&each.act); moved != nullptr && moved->toState)
            add(each.seq, *moved->toState, moved->at);
        else if (const auto* stopped = std::get_if<acts::MeterStopped>(&each.act))
            add(each.seq, stopped->withdrawn ? MeterState::Withdrawn : MeterState::OnHold, stopped->at);
        else if (const auto* returned = std::get_if<acts::MeterReturned>(&each.act))
            add(each.seq, returned->toState, returned->at);
    }
    return spells;
}

Result<base::WardId> PlainFacts::wardAt(const base::MeterId& id, Moment at)
{
    const auto enrolled = newestOf(*this, &acts::MeterEnrolled::meter, id);
    base::WardId ward = enrolled ? enrolled->act.ward : base::WardId();
    for (const auto& each : allOf(*this, &acts::MeterMoved::meter, id))
        if (each.act.toWard && each.act.at <= at)
            ward = *each.act.toWard;
    return ward;
}

Result<std::vector<StopRecord>> PlainFacts::stops(const base::MeterId& meter)
{
    std::vector<StopRecord> found;
    for (const auto& each : allOf(*this, &acts::MeterStopped::meter, meter))
        found.push_back({ each.seq, each.act, {}, {} });
    for (const auto& end : allOf(*this, &acts::MeterReturned::meter, meter))
        for (auto& stop : found)
            if (std::ranges::find(end.act.ends, stop.seq) != end.act.ends.end()) {
                stop.endedAt = end.act.at;
                stop.endedBy = end.seq;
            }
    return found;
}

Result<std::vector<IncidentRecord>> PlainFacts::incidents(const base::MeterId& meter)
{
    return allOf(*this, &acts::IncidentReported::meter, meter);
}

Result<std::vector<ReturnRecord>> PlainFacts::returnSteps(const base::MeterId& meter)
{
    return allOf(*this, &acts::ReturnStep::meter, meter);
}

Result<std::vector<PairRecord>> PlainFacts::pairs(const base::MeterId& meter)
{
    std::vector<PairRecord> found;
    for (const auto& each : allOf(*this, &acts::ComparisonRecorded::meter, meter))
        if (const auto judged = newestOf(*this, &acts::PairJudged::pair, each.act.pair))
            found.push_back({ each.seq, each.act, judged->act });
    return found;
}

Result<std::vector<LookbackRecord>> PlainFacts::lookbacks(const base::MeterId& meter)
{
    std::vector<LookbackRecord> found;
    for (const auto& each : allOf(*this, &acts::LookbackOpened::meter, meter)) {
        LookbackRecord record { each.seq, each.act, {}, {}, {} };
        std::vector<LookbackTurn> turns;
        for (const auto& closed : allOf(*this, &acts::LookbackClosed::entry, each.seq))
            turns.push_back({ closed.seq, closed.act.at, closed.act.decision });
        for (const auto& reopened : allOf(*this, &acts::LookbackReopened::entry, each.seq))
            turns.push_back({ reopened.seq, reopened.act.at, {} });
        decide(record, std::move(turns));
        found.push_back(std::move(record));
    }
    return found;
}

Result<std::vector<SegmentBoundary>> PlainFacts::boundaries(const base::MeterId& meter)
{
    std::vector<SegmentBoundary> found;
    for (const auto& each : allOf(*this, &acts::IncidentReported::meter, meter))
        if (effectOf(each.act.what).startsSegment)
            found.push_back({ each.act.at, false });
    // A way back through withdrawal or acceptance begins a segment, as the index has it.
    for (const auto& each : allOf(*this, &acts::MeterReturned::meter, meter)) {
        const auto before = stateAt(meter, base::plusMs(each.act.at, -1));
        if (!before)
            return before.error();
        if (*before && ((*before)->state == MeterState::Withdrawn || (*before)->state == MeterState::Acceptance))
            found.push_back({ each.act.at, true });
    }
    std::ranges::sort(found, {}, &SegmentBoundary::at);
    return found;
}

Result<std::vector<UsualStanding>> PlainFacts::standings(const base::ModelId& model, const base::MeterId& except, Moment from, Moment to)
{
    std::vector<UsualStanding> found;
    for (const auto& each : all<acts::MeterEnrolled>()) {
        if (each.act.model != model || each.act.meter == except)
            continue;
        const auto newest = newestCountedSet(each.act.meter, to);
        if (*newest && (*newest)->judged.lastAt >= from && (*newest)->judged.drift.usual)
            found.push_back({ each.act.meter, (*newest)->judged.lastAt, *(*newest)->judged.drift.usual });
    }
    return found;
}

Result<std::vector<SetRecord>> PlainFacts::firstSetsOnLots(
    const base::StripLotId& strip, const base::ControlLotId& control, Moment before, int most)
{
    std::vector<SetRecord> found;
    for (const auto& meter : all<acts::MeterEnrolled>())
        for (auto& set : setsOf(meter.act.meter))
            if (set.judged.lastAt < before && std::ranges::any_of(set.judged.runs, [&](const acts::JudgedRun& run) {
                    return run.stripLot == strip && run.controlLot == control;
                }))
                found.push_back(std::move(set));
    std::ranges::sort(found, {}, [](const SetRecord& set) { return set.judged.lastAt; });
    if (static_cast<int>(found.size()) > most)
        found.erase(found.begin() + most, found.end());
    return found;
}

/// Oldest first, as they were last judged.
std::vector<SetRecord> PlainFacts::setsOf(const base::MeterId& meter)
{
    std::map<base::SetId, SetRecord> newest;
    for (const auto& each : allOf(*this, &acts::SetJudged::meter, meter))
        newest.insert_or_assign(each.act.set, SetRecord { each.seq, each.act, {} });
    std::vector<SetRecord> found;
    for (auto& [id, set] : newest) {
        const auto known = runs(id);
        for (const auto& run : *known)
            if (std::ranges::find(set.judged.runs, run.seq, &acts::JudgedRun::run) != set.judged.runs.end())
                set.runs.push_back(run);
        found.push_back(std::move(set));
    }
    std::ranges::sort(found, {}, [](const SetRecord& set) { return set.judged.lastAt; });
    return found;
}

Result<std::vector<SetRecord>> PlainFacts::sets(const base::MeterId& meter, Moment from, Moment to)
{
    auto found = setsOf(meter);
    std::erase_if(found, [&](const SetRecord& set) { return set.judged.lastAt < from || set.judged.lastAt > to; });
    return found;
}

Result<std::vector<SetRecord>> PlainFacts::newestSets(const base::MeterId& meter, Moment by, int most)
{
    auto found = setsOf(meter);
    std::erase_if(found, [&](const SetRecord& set) { return set.judged.firstAt > by; });
    std::ranges::reverse(found);
    if (found.size() > static_cast<std::size_t>(most))
        found.erase(found.begin() + most, found.end());
    return found;
}

Result<std::optional<SetRecord>> PlainFacts::newestAcceptedSet(const base::MeterId& meter, Moment by)
{
    return newestSet(setsOf(meter), [&](const SetRecord& set) { return accepted(set) && set.judged.lastAt <= by; });
}

Result<std::optional<SetRecord>> PlainFacts::newestCountedSet(const base::MeterId& meter, Moment by)
{
    return newestSet(setsOf(meter), [&](const SetRecord& set) { return set.judged.drift.counted && set.judged.lastAt <= by; });
}

Result<std::optional<SetRecord>> PlainFacts::set(const base::SetId& id)
{
    const auto owner = meterOfSet(id);
    return *owner ? newestSet(setsOf(**owner), [&](const SetRecord& set) { return set.judged.set == id; }) : std::nullopt;
}

Result<bool> PlainFacts::acceptedOn(const base::StripVialId& vial, Moment by, const std::optional<base::MeterId>& meter)
{
    for (const auto& each : all<acts::MeterEnrolled>())
        if (!meter || each.act.meter == *meter)
            for (const auto& set : setsOf(each.act.meter))
                if (accepted(set) && set.judged.lastAt <= by
                    && std::ranges::any_of(set.runs, [&](const RunRecord& run) { return run.run.stripVial == vial; }))
                    return true;
    return false;
}

Result<bool> PlainFacts::acceptedOnLot(const base::StripLotId& lot, const base::MeterId& meter, Moment from, Moment to)
{
    return std::ranges::any_of(setsOf(meter), [&](const SetRecord& set) {
        return accepted(set) && set.judged.lastAt >= from && set.judged.lastAt <= to
            && std::ranges::any_of(set.runs, [&](const RunRecord& run) { return run.judged.stripLot == lot; });
    });
}

/// All of the level: more than was asked for, and as good.
Result<std::vector<ControlVialUse>> PlainFacts::usesAround(const base::ControlVialId&, Level level, std::int64_t)
{
    std::vector<ControlVialUse> uses;
    for (const auto& each : all<acts::MeterEnrolled>())
        for (const auto& set : setsOf(each.act.meter))
            for (const auto& run : set.runs)
                if (run.run.level == level && run.judged.valid && run.judged.inRange == true)
                    uses.push_back({ each.act.meter, run.run.controlVial, run.run.at });
    return uses;
}

/// Of corrections only those of a result are carried out.
Result<std::vector<RunRecord>> PlainFacts::runs(const base::SetId& id)
{
    std::vector<RunRecord> found;
    for (const auto& each : m_entries) {
        const auto* run = std::get_if<acts::ControlRun>(&each.act);
        if (run == nullptr || run->set != id || each.annulledBy)
            continue;
        RunRecord record { each.seq, each.seq, *run, {}, markOf(run->at, each.at, each.person, each.imported, policy) };
        for (const auto& set : allOf(*this, &acts::SetJudged::set, id))
            for (const auto& judged : set.act.runs)
                if (judged.run == each.seq)
                    record.judged = judged;
        found.push_back(std::move(record));
    }
    for (const auto& each : allOf(*this, &acts::EntryCorrected::set, id)) {
        const auto run = std::find_if(
            found.rbegin(), found.rend(), [&](const RunRecord& r) { return r.run.level == each.act.level && r.seq < each.seq; });
        const auto confirmed = newestOf(*this, &acts::CorrectionConfirmed::entry, each.seq);
        if (run == found.rend() || each.act.column != "result" || (each.act.waits == YesNo::Yes && !confirmed))
            continue;
        run->run.result = parseReading(each.act.newText).value();
        run->versionSeq = each.seq;
    }
    return found;
}

Result<std::vector<base::SetId>> PlainFacts::setsWithRuns(const base::MeterId& meter)
{
    std::map<base::SetId, Moment> last;
    for (const auto& each : allOf(*this, &acts::ControlRun::meter, meter)) {
        Moment& at = last.try_emplace(each.act.set, each.act.at).first->second;
        at = std::max(at, each.act.at);
    }
    std::vector<base::SetId> ids;
    for (const auto& each : last)
        ids.push_back(each.first);
    std::ranges::stable_sort(ids, {}, [&](const base::SetId& id) { return last.at(id); });
    return ids;
}

Result<std::optional<TransferRecord>> PlainFacts::transferOf(const base::MeterId& id, Moment at)
{
    std::optional<TransferRecord> transfer;
    for (const auto& each : allOf(*this, &acts::MeterMoved::meter, id))
        if (each.act.toWard && each.act.at <= at)
            transfer = TransferRecord { each.seq, each.act.at, *wardAt(id, base::plusMs(each.act.at, -1)), *each.act.toWard, {} };
    for (const auto& each : allOf(*this, &acts::TransferConfirmed::meter, id))
        if (transfer && each.seq > transfer->seq)
            transfer->confirmedBy = each.seq;
    return transfer;
}

} // namespace mk::test
