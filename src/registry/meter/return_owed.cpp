// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/return_owed.h"

#include "registry/comparison/comparison.h"
#include "registry/facts/run_context.h"
#include "registry/meter/fitness.h"

#include <algorithm>

namespace mk::registry {

using base::Done;
using base::Result;

namespace {

constexpr int kSetsLookedAt = 10;

bool controlsPassed(const ReturnEvidence& evidence, const ReturnDemands& demands)
{
    int inARow = 0;
    for (const auto& set : evidence.newestSets) {
        if (!isAccepted(set) || clearsSince(set) < demands.setsSince)
            break;
        ++inARow;
    }
    return inARow >= demands.acceptedSets;
}

/// inWords  with what was mended or found
bool inspectedSince(const ReturnEvidence& evidence, base::Moment since, bool inWords)
{
    return std::ranges::any_of(evidence.steps, [&](const ReturnRecord& step) {
        return step.act.step == ReturnStepKind::Inspected && step.act.at >= since
            && (!inWords || (step.act.detail && !step.act.detail->empty()));
    });
}

/// After error codes the strips of another vial must have shown that the meter is right.
bool stripVialChanged(const ReturnEvidence& evidence, base::Moment stopped)
{
    const RunRecord* before = nullptr;
    for (const auto& set : evidence.newestSets)
        for (const auto& run : set.runs)
            if (run.run.at <= stopped && (before == nullptr || before->run.at <= run.run.at))
                before = &run;
    const bool known = before != nullptr && !evidence.newestSets.empty() && !evidence.newestSets.front().runs.empty();
    return !known || evidence.newestSets.front().runs.back().run.stripVial != before->run.stripVial;
}

/// What handbook 1.5 asks for one stop beyond inspection, controls and comparison.
std::optional<ReturnOwed> owedForCause(const StopRecord& open, const ReturnEvidence& evidence, const ReturnDemands& demands)
{
    const auto& cause = open.stop.cause;
    if ((cause == code(ReasonCode::Damaged) || cause == code(ReasonCode::Wet) || cause == word(StopOnly::Found))
        && !inspectedSince(evidence, demands.since, true))
        return ReturnOwed::InspectedInWords;
    const auto incident = std::ranges::find(evidence.causes, open.stop.because, &IncidentRecord::seq);
    if (cause == code(ReasonCode::SoftwareChanged) && incident != evidence.causes.end()
        && (!evidence.firmwareNoted || *evidence.firmwareNoted < incident->act.at))
        return ReturnOwed::SoftwareVersion;
    if (cause == code(ReasonCode::ErrorCodes) && !stripVialChanged(evidence, open.stop.at))
        return ReturnOwed::OtherStripVial;
    return std::nullopt;
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

} // namespace

bool comparisonPassed(const ReturnEvidence& evidence, const ReturnDemands& demands)
{
    return evidence.newestPair && evidence.newestPair->judged.outcome == PairOutcome::Inside
        && evidence.newestPair->judged.at >= demands.since;
}

std::vector<OwedForReturn> owedForReturn(const ReturnEvidence& evidence, const Policy& policy)
{
    std::vector<OwedForReturn> owed;
    const bool withdrawn = evidence.state == MeterState::Withdrawn;
    if (!withdrawn && evidence.state != MeterState::OnHold)
        return owed;
    const ReturnDemands demands = demandsOf(evidence, policy);
    if (demands.inspection && !inspectedSince(evidence, demands.since, false))
        owed.push_back({ ReturnOwed::Inspected });
    if (!controlsPassed(evidence, demands))
        owed.push_back({ ReturnOwed::ControlsPassed, ReturnBy::Anyone, demands.acceptedSets });
    if (demands.comparison && !comparisonPassed(evidence, demands))
        owed.push_back({ ReturnOwed::ComparisonPassed });
    if (evidence.byPerson)
        for (const auto& open : evidence.openStops)
            if (const auto what = owedForCause(open, evidence, demands))
                owed.push_back({ *what, ReturnBy::Anyone, 0, open.stop.cause });
    // A hold that the next accepted set ends is signed by nobody.
    const bool endsByItself = !evidence.openStops.empty()
        && std::ranges::none_of(evidence.openStops, [](const StopRecord& open) { return open.stop.needsSignature; });
    if (withdrawn || !endsByItself)
        owed.push_back({ ReturnOwed::Signed, withdrawn ? ReturnBy::Coordinator : ReturnBy::CompetentNurseOrCoordinator });
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
    if (!done)
        return done.error();
    return file;
}

} // namespace mk::registry
