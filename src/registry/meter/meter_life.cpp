// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/meter_life.h"

#include "registry/meter/return_owed.h"

#include <algorithm>

namespace mk::registry {

namespace {

using base::Done;
using base::refused;
using S = MeterState;

enum class Who { Anyone, NurseOrCoordinator, Coordinator };

struct Transition {
    S from, to;
    Who who;
};

// Handbook 1.4 without what returns.csv carries (T6, T8) and what ends in MISSING or RETIRED, which any state may.
constexpr Transition kTransitions[] = {
    { S::Received, S::Acceptance, Who::Coordinator },        // T2
    { S::Acceptance, S::InService, Who::Coordinator },       // T3
    { S::Acceptance, S::Reserve, Who::Coordinator },         // T3
    { S::Acceptance, S::AtRepair, Who::Coordinator },        // T4
    { S::InService, S::OnHold, Who::Anyone },                // T5
    { S::InService, S::Withdrawn, Who::NurseOrCoordinator }, // T7
    { S::OnHold, S::Withdrawn, Who::NurseOrCoordinator }, { S::Reserve, S::Withdrawn, Who::NurseOrCoordinator },
    { S::Withdrawn, S::AtRepair, Who::Coordinator },                                           // T9
    { S::AtRepair, S::Acceptance, Who::Coordinator },                                          // T10
    { S::InService, S::Reserve, Who::Coordinator },                                            // T11
    { S::Reserve, S::InService, Who::Coordinator }, { S::Missing, S::Withdrawn, Who::Anyone }, // T14
};

bool mayActAs(Who who, Role role)
{
    if (role == Role::Inspector)
        return false;
    return who != Who::Coordinator || role == Role::Coordinator;
}

bool competentNurse(const ReturnEvidence& evidence)
{
    const auto& person = evidence.person->act;
    return person.role == Role::Nurse && person.competentFrom && person.competentUntil && *person.competentFrom <= evidence.today
        && evidence.today <= *person.competentUntil;
}

std::string setsInWords(int sets)
{
    return sets == 1 ? "an accepted control set" : std::to_string(sets) + " accepted control sets in a row";
}

/// Why a signature is refused that something is owed before.
base::Fault refusalFor(const OwedForReturn& owed, const std::string& meter)
{
    switch (owed.what) {
    case ReturnOwed::Inspected: return refused(meter + " was not inspected since it was stopped; record the step inspected first");
    case ReturnOwed::ControlsPassed:
        return refused(meter + " has not " + setsInWords(owed.sets) + " since it was stopped; run the controls first");
    case ReturnOwed::ComparisonPassed:
        return refused(meter + " has no passed laboratory comparison since it was stopped; record one first");
    case ReturnOwed::InspectedInWords:
        if (owed.cause == word(StopOnly::Found))
            return refused(meter
                + " was missing: look in its memory whether it was used, and say what you found with act return --step inspected --detail …");
        return refused(meter + " is " + owed.cause
            + ": repair it or retire it (act movement --to-state at-repair), or record what was mended with act return --step inspected --detail …");
    case ReturnOwed::SoftwareVersion:
        return refused("the new version of the software of " + meter + " is not on record; give it with act meter-file --firmware …");
    case ReturnOwed::OtherStripVial:
        return refused(meter
            + " showed error codes with the strip vial that it was controlled with; open another strip vial and run the controls with it");
    case ReturnOwed::Signed: break;
    }
    return refused(meter + " waits for a signature");
}

Done maySign(const acts::ReturnStep& step, const ReturnEvidence& evidence, const std::vector<OwedForReturn>& owed)
{
    const std::string meter = step.meter.value;
    if (!evidence.person || evidence.person->act.role == Role::Inspector)
        return refused("'" + step.by.value + "' may not sign a meter back; a competent nurse or the coordinator signs");
    const bool coordinator = evidence.person->act.role == Role::Coordinator;
    if (evidence.state == S::Withdrawn && !coordinator)
        return refused(meter + " is withdrawn; only the coordinator signs it back");
    if (!coordinator && !competentNurse(evidence))
        return refused("'" + step.by.value + "' is not competent on that day; a competent nurse or the coordinator signs");
    return owed.empty() || owed.front().what == ReturnOwed::Signed ? Done() : Done(refusalFor(owed.front(), meter));
}

} // namespace

Done mayMove(MeterState from, MeterState to, Role role)
{
    const std::string step = std::string(word(from)) + " to " + std::string(word(to));
    if (from == to)
        return refused("the meter is " + std::string(word(from)) + " already");
    if (from == S::Retired)
        return refused("a retired meter stays retired; enrol another one");
    Who who = Who::NurseOrCoordinator;
    if (to == S::Retired) {
        who = Who::Coordinator;
    } else if (to != S::Missing) {
        const auto found = std::ranges::find_if(kTransitions, [&](const Transition& t) { return t.from == from && t.to == to; });
        if (found == std::end(kTransitions)) {
            if ((from == S::OnHold || from == S::Withdrawn) && to == S::InService)
                return refused(
                    "a meter comes back from " + std::string(word(from)) + " by its return steps and a signature, not by a movement");
            return refused("there is no way from " + step + "; see the transitions a meter can make");
        }
        who = found->who;
    }
    if (!mayActAs(who, role))
        return refused("a " + std::string(word(role)) + " may not move a meter from " + step
            + (who == Who::Coordinator ? "; the coordinator does" : ""));
    return {};
}

ReturnDemands demandsOf(const ReturnEvidence& evidence, const Policy& policy)
{
    ReturnDemands demands;
    const bool withdrawn = evidence.state == S::Withdrawn;
    demands.acceptedSets = withdrawn ? policy.returnSets : 1;
    bool first = true;
    for (const auto& stop : evidence.openStops) {
        demands.since = first ? stop.stop.at : std::min(demands.since, stop.stop.at);
        first = false;
        // A set that came after the cause is proof for a hold; a withdrawal asks for proof since it began.
        const auto cause = std::ranges::find(evidence.causes, stop.stop.because, &IncidentRecord::seq);
        const bool incident = cause != evidence.causes.end();
        const base::Moment from = incident && !stop.stop.withdrawn ? cause->act.at : stop.stop.at;
        demands.setsSince = std::max(demands.setsSince, from);
        const auto reason = reasonOf(stop.stop.cause);
        demands.inspection = demands.inspection || (incident && effectOf(cause->act.what).needsInspection());
        // What an incident did to the meter asks for both; without one (it was annulled) only what was measured speaks.
        const bool measured = stop.stop.withdrawn && reason && rowOf(*reason).needsComparison && !rowOf(*reason).needsInspection;
        demands.comparison = demands.comparison || (incident ? effectOf(cause->act.what).needsComparison() : measured);
    }
    return demands;
}

Done mayTakeReturnStep(const acts::ReturnStep& step, const ReturnEvidence& evidence, const Policy& policy)
{
    if (evidence.state != S::OnHold && evidence.state != S::Withdrawn)
        return refused(
            step.meter.value + " is " + std::string(word(evidence.state)) + " at that time; only a meter on hold or withdrawn is returned");
    const std::vector<OwedForReturn> owed = owedForReturn(evidence, policy);
    const auto owes = [&](ReturnOwed what) { return std::ranges::find(owed, what, &OwedForReturn::what) != owed.end(); };
    switch (step.step) {
    case ReturnStepKind::Inspected: return {};
    case ReturnStepKind::ControlsPassed:
        if (owes(ReturnOwed::ControlsPassed))
            return refused("the records do not show " + setsInWords(demandsOf(evidence, policy).acceptedSets) + " on " + step.meter.value
                + " since it was stopped");
        return {};
    case ReturnStepKind::ComparisonPassed:
        if (!comparisonPassed(evidence, demandsOf(evidence, policy)))
            return refused("the records do not show a passed laboratory comparison of " + step.meter.value + " since it was stopped");
        return {};
    case ReturnStepKind::Signed: return maySign(step, evidence, owed);
    }
    return {};
}

} // namespace mk::registry
