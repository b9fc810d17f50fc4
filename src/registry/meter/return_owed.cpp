// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/return_owed.h"

#include "registry/comparison/comparison.h"
#include "registry/facts/run_context.h"
#include "registry/meter/fitness.h"
#include "registry/meter/lookback.h"

#include <algorithm>

namespace mk::registry {

using base::Done;
using base::Result;

namespace {

constexpr int kSetsLookedAt = 10;

void meet(AskedForReturn& step, base::Moment at, const base::OperatorId& by = {})
{
    step.metAt = at;
    step.metBy = by;
}

void meetBySet(AskedForReturn& step, const SetRecord& set)
{
    meet(step, set.judged.lastAt, set.runs.empty() ? base::OperatorId() : set.runs.back().run.by);
}

/// Met by the set that completed the row.
AskedForReturn controlsAsked(const ReturnEvidence& evidence, const ReturnDemands& demands)
{
    AskedForReturn asked { { ReturnOwed::ControlsPassed, ReturnBy::Anyone, demands.acceptedSets } };
    std::size_t inARow = 0;
    while (inARow < evidence.newestSets.size() && isAccepted(evidence.newestSets[inARow])
        && clearsSince(evidence.newestSets[inARow]) >= demands.setsSince)
        ++inARow;
    const auto needed = static_cast<std::size_t>(std::max(demands.acceptedSets, 0));
    asked.setsMet = static_cast<int>(std::min(inARow, needed));
    if (inARow >= needed && needed > 0)
        meetBySet(asked, evidence.newestSets[inARow - needed]);
    return asked;
}

/// inWords  with what was mended or found; it is the first such look that counts
AskedForReturn inspectionAsked(const ReturnEvidence& evidence, base::Moment since, bool inWords)
{
    AskedForReturn asked { { inWords ? ReturnOwed::InspectedInWords : ReturnOwed::Inspected } };
    const auto looked = std::ranges::find_if(evidence.steps, [&](const ReturnRecord& step) {
        return step.act.step == ReturnStepKind::Inspected && step.act.at >= since
            && (!inWords || (step.act.detail && !step.act.detail->empty()));
    });
    if (looked != evidence.steps.end())
        meet(asked, looked->act.at, looked->act.by);
    return asked;
}

AskedForReturn comparisonAsked(const ReturnEvidence& evidence, const ReturnDemands& demands)
{
    AskedForReturn asked { { ReturnOwed::ComparisonPassed } };
    if (comparisonPassed(evidence, demands))
        meet(asked, evidence.newestPair->judged.at, evidence.newestPair->pair.by);
    return asked;
}

AskedForReturn softwareAsked(const ReturnEvidence& evidence, base::Moment changed)
{
    AskedForReturn asked { { ReturnOwed::SoftwareVersion } };
    if (evidence.firmwareNoted && *evidence.firmwareNoted >= changed)
        meet(asked, *evidence.firmwareNoted);
    return asked;
}

/// The hold of a shift rule, which no accepted set ends.
const StopRecord* shiftHold(std::span<const StopRecord> open)
{
    const auto found = std::ranges::find_if(open, [](const StopRecord& each) {
        return each.stop.cause == code(ReasonCode::ControlRejected) && each.stop.needsSignature && !each.stop.withdrawn;
    });
    return found == open.end() ? nullptr : &*found;
}

/// Met by the laboratory, or by a check of the group or the lot that the records bore out.
AskedForReturn shiftAsked(const ReturnEvidence& evidence, const StopRecord& shift)
{
    AskedForReturn asked { { ReturnOwed::ShiftChecked } };
    asked.step.cause = shift.stop.cause;
    ReturnDemands since;
    since.since = shift.stop.at;
    if (comparisonPassed(evidence, since))
        meet(asked, evidence.newestPair->judged.at, evidence.newestPair->pair.by);
    for (const auto& step : evidence.steps)
        if ((step.act.step == ReturnStepKind::GroupChecked || step.act.step == ReturnStepKind::LotChecked) && step.act.at >= shift.stop.at)
            meet(asked, step.act.at, step.act.by);
    return asked;
}

/// After error codes the strips of another vial must have shown that the meter is right; not asked where no set says which vial it was.
std::optional<AskedForReturn> otherVialAsked(const ReturnEvidence& evidence, base::Moment stopped)
{
    const RunRecord* before = nullptr;
    for (const auto& set : evidence.newestSets)
        for (const auto& run : set.runs)
            if (run.run.at <= stopped && (before == nullptr || before->run.at <= run.run.at))
                before = &run;
    if (before == nullptr || evidence.newestSets.front().runs.empty())
        return std::nullopt;
    AskedForReturn asked { { ReturnOwed::OtherStripVial } };
    if (evidence.newestSets.front().runs.back().run.stripVial != before->run.stripVial)
        meetBySet(asked, evidence.newestSets.front());
    return asked;
}

/// What handbook 1.5 asks for one stop beyond inspection, controls and comparison.
std::optional<AskedForReturn> askedForCause(const StopRecord& open, const ReturnEvidence& evidence, const ReturnDemands& demands)
{
    const auto& cause = open.stop.cause;
    const auto incident = std::ranges::find(evidence.causes, open.stop.because, &IncidentRecord::seq);
    std::optional<AskedForReturn> asked;
    if (cause == code(ReasonCode::Damaged) || cause == code(ReasonCode::Wet) || cause == word(StopOnly::Found))
        asked = inspectionAsked(evidence, demands.since, true);
    else if (cause == code(ReasonCode::SoftwareChanged) && incident != evidence.causes.end())
        asked = softwareAsked(evidence, incident->act.at);
    else if (cause == code(ReasonCode::ErrorCodes))
        asked = otherVialAsked(evidence, open.stop.at);
    if (asked)
        asked->step.cause = cause;
    return asked;
}

Done addPairs(Facts& facts, const base::MeterId& meter, base::Moment at, ReturnFile& file)
{
    const auto pairs = facts.pairs(meter);
    if (!pairs)
        return pairs.error();
    const auto comparisons = comparisonsOf(*pairs, at, [&](base::Moment when) -> const Policy& { return facts.policyAt(when); });
    if (!comparisons.empty())
        file.newestPair = standingPair(comparisons.back());
    return {};
}

Done addFirmware(Facts& facts, const base::MeterId& meter, base::Moment at, ReturnFile& file)
{
    const auto described = facts.facts<acts::MeterDescribed>(meter.value);
    if (!described)
        return described.error();
    for (const auto& each : *described)
        if (each.act.firmware && each.act.at <= at)
            file.firmwareNoted = file.firmwareNoted ? std::max(*file.firmwareNoted, each.act.at) : each.act.at;
    return {};
}

struct ShiftMaterials {
    std::vector<std::string> lots, vials;
};
ShiftMaterials materialsOf(const SetRecord& set)
{
    ShiftMaterials used;
    for (const auto& run : set.runs) {
        used.lots.insert(used.lots.end(), { run.judged.stripLot.value, run.judged.controlLot.value });
        used.vials.insert(used.vials.end(), { run.run.stripVial.value, run.run.controlVial.value });
    }
    return used;
}

/// An accepted set on another strip or control lot since the shift.
Result<std::optional<base::Moment>> acceptedElsewhere(Facts& facts, const SetRecord& shift, const ShiftMaterials& used, base::Moment at)
{
    const auto own = facts.sets(shift.judged.meter, shift.judged.lastAt, at);
    if (!own)
        return own.error();
    const auto other = [&](const std::string& lot) { return !lot.empty() && std::ranges::find(used.lots, lot) == used.lots.end(); };
    for (const auto& set : *own)
        if (set.judged.set != shift.judged.set && isAccepted(set) && std::ranges::any_of(set.runs, [&](const RunRecord& run) {
                return other(run.judged.stripLot.value) || other(run.judged.controlLot.value);
            }))
            return std::optional(set.judged.lastAt);
    return std::optional<base::Moment>();
}

/// Another meter that was rejected on one of the same vials since.
Result<std::optional<base::Moment>> rejectedToo(Facts& facts, const SetRecord& shift, const std::string& vial, base::Moment at)
{
    const auto meters = facts.metersOnVial(vial);
    if (!meters)
        return meters.error();
    for (const auto& meter : *meters) {
        if (meter == shift.judged.meter)
            continue;
        const auto sets = facts.sets(meter, shift.judged.firstAt, at);
        if (!sets)
            return sets.error();
        for (const auto& set : *sets)
            for (const auto& run : set.runs)
                if (run.judged.verdict == Verdict::Rejected && (run.run.stripVial.value == vial || run.run.controlVial.value == vial))
                    return std::optional(set.judged.lastAt);
    }
    return std::optional<base::Moment>();
}

Done addLotCheck(Facts& facts, base::Moment at, ReturnFile& file)
{
    const auto* hold = shiftHold(file.openStops);
    if (hold == nullptr)
        return {};
    const auto entry = facts.entry(hold->stop.because);
    if (!entry)
        return entry.error();
    const auto* judged = *entry ? std::get_if<acts::SetJudged>(&(*entry)->act) : nullptr;
    const auto shift = judged != nullptr ? facts.set(judged->set) : Result<std::optional<SetRecord>>(std::optional<SetRecord>());
    if (!shift || !*shift)
        return shift ? Done() : Done(shift.error());
    const ShiftMaterials used = materialsOf(**shift);
    auto shown = acceptedElsewhere(facts, **shift, used, at);
    for (auto vial = used.vials.begin(); shown && !*shown && vial != used.vials.end(); ++vial)
        shown = rejectedToo(facts, **shift, *vial, at);
    if (!shown)
        return shown.error();
    file.lotShown = *shown;
    return {};
}

/// Who takes a drifting meter out of use withdraws it for its drift, whatever the words.
Done addDrift(Facts& facts, const base::MeterId& meter, ReturnFile& file)
{
    for (const auto& open : file.openStops) {
        if (!open.stop.withdrawn || open.stop.cause != word(StopOnly::Movement))
            continue;
        const auto counted = facts.newestCountedSet(meter, open.stop.at);
        const auto movement = facts.entry(open.stop.because);
        if (!counted || !movement)
            return counted ? movement.error() : counted.error();
        if (!*counted || !(*counted)->judged.drift.drifts() || failsOnlyNow(**counted))
            continue;
        file.withdrawnForDrift = true;
        file.withdrawalTakenOver = *movement && (*movement)->imported;
    }
    return {};
}

Done addLookbacks(Facts& facts, const base::MeterId& meter, base::Moment at, ReturnFile& file)
{
    if (file.state != MeterState::Withdrawn)
        return {};
    const auto lookbacks = facts.lookbacks(meter);
    if (!lookbacks)
        return lookbacks.error();
    for (const auto& each : *lookbacks) {
        if (asItStood(each, at).closedBy || file.undecidedLookback || each.lookback.at > at)
            continue;
        const auto assigned = facts.facts<acts::LookbackAssigned>("entry " + std::to_string(each.seq.value));
        if (!assigned)
            return assigned.error();
        if (assigned->empty())
            file.undecidedLookback = each.seq;
    }
    return {};
}

} // namespace

bool comparisonPassed(const ReturnEvidence& evidence, const ReturnDemands& demands)
{
    return evidence.newestPair && evidence.newestPair->judged.outcome == PairOutcome::Inside
        && evidence.newestPair->judged.at >= demands.since;
}

std::vector<AskedForReturn> askedForReturn(const ReturnEvidence& evidence, const Policy& policy)
{
    std::vector<AskedForReturn> asked;
    const bool withdrawn = evidence.state == MeterState::Withdrawn;
    if (!withdrawn && evidence.state != MeterState::OnHold)
        return asked;
    const ReturnDemands demands = demandsOf(evidence, policy);
    if (demands.inspection)
        asked.push_back(inspectionAsked(evidence, demands.since, false));
    asked.push_back(controlsAsked(evidence, demands));
    if (demands.comparison)
        asked.push_back(comparisonAsked(evidence, demands));
    if (const auto* shift = shiftHold(evidence.openStops); shift != nullptr && !demands.comparison)
        asked.push_back(shiftAsked(evidence, *shift));
    if (evidence.byPerson)
        for (const auto& open : evidence.openStops)
            if (auto what = askedForCause(open, evidence, demands))
                asked.push_back(std::move(*what));
    if (withdrawn && evidence.byPerson && evidence.undecidedLookback)
        asked.push_back({ .step = { ReturnOwed::LookbackDecided, ReturnBy::Coordinator } });
    // A hold that the next accepted set ends is signed by nobody.
    const bool endsByItself = !evidence.openStops.empty()
        && std::ranges::none_of(evidence.openStops, [](const StopRecord& open) { return open.stop.needsSignature; });
    if (withdrawn || !endsByItself)
        asked.push_back({ .step = { ReturnOwed::Signed, withdrawn ? ReturnBy::Coordinator : ReturnBy::CompetentNurseOrCoordinator } });
    return asked;
}

std::vector<OwedForReturn> owedForReturn(const ReturnEvidence& evidence, const Policy& policy)
{
    std::vector<OwedForReturn> owed;
    for (auto& asked : askedForReturn(evidence, policy))
        if (!asked.metAt)
            owed.push_back(std::move(asked.step));
    return owed;
}

ReturnEvidence ReturnFile::evidence() const
{
    ReturnEvidence evidence;
    evidence.state = state;
    evidence.openStops = openStops;
    evidence.causes = incidents;
    evidence.steps = steps;
    evidence.newestSets = newestSets;
    evidence.newestPair = newestPair;
    evidence.byPerson = true;
    evidence.firmwareNoted = firmwareNoted;
    evidence.lotShown = lotShown;
    evidence.undecidedLookback = undecidedLookback;
    evidence.withdrawnForDrift = withdrawnForDrift;
    return evidence;
}

Result<ReturnFile> returnFileOf(Facts& facts, const base::MeterId& meter, base::Moment at)
{
    ReturnFile file;
    const auto spells = facts.states(meter);
    const auto stops = facts.stops(meter);
    auto incidents = facts.incidents(meter);
    auto steps = facts.returnSteps(meter);
    auto sets = facts.newestSets(meter, at, kSetsLookedAt);
    if (!spells || !stops)
        return spells ? stops.error() : spells.error();
    if (!incidents || !steps || !sets)
        return !incidents ? incidents.error() : !steps ? steps.error() : sets.error();
    file.state = stateIn(*spells, at);
    for (const auto& stop : *stops)
        if (stop.stop.at <= at && (!stop.endedAt || *stop.endedAt > at))
            file.openStops.push_back(stop);
    file.incidents = std::move(incidents).value();
    file.steps = std::move(steps).value();
    std::erase_if(file.steps, [&](const ReturnRecord& step) { return step.act.at > at; });
    file.newestSets = std::move(sets).value();
    std::erase_if(file.newestSets, [&](const SetRecord& set) { return set.judged.lastAt > at; });
    Done done = addPairs(facts, meter, at, file);
    if (done)
        done = addFirmware(facts, meter, at, file);
    if (done)
        done = addLotCheck(facts, at, file);
    if (done)
        done = addLookbacks(facts, meter, at, file);
    if (done)
        done = addDrift(facts, meter, file);
    if (!done)
        return done.error();
    return file;
}

} // namespace mk::registry
