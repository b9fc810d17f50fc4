// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/meter_life.h"

#include "base/number_text.h"
#include "registry/control/usual_drift.h"
#include "registry/meter/return_owed.h"

#include <algorithm>
#include <cmath>

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
    { S::Withdrawn, S::Reserve, Who::Coordinator },                                            // T8
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

/// Why a signature is refused that something is owed before.
base::Fault refusalFor(const OwedForReturn& owed, const std::string& meter)
{
    switch (owed.what) {
    case ReturnOwed::Inspected: return refused("%1 was not inspected since it was stopped; record the step inspected first", meter);
    case ReturnOwed::ControlsPassed:
        return owed.sets == 1
            ? refused("%1 has not an accepted control set since it was stopped; run the controls first", meter)
            : refused("%1 has not %2 accepted control sets in a row since it was stopped; run the controls first", meter, owed.sets);
    case ReturnOwed::ComparisonPassed:
        return refused("%1 has no passed laboratory comparison since it was stopped; record one first", meter);
    case ReturnOwed::InspectedInWords:
        if (owed.cause == word(StopOnly::Found))
            return refused(
                "%1 was missing: look in its memory whether it was used, and say what you found with act return --step inspected --detail …",
                meter);
        return refused(
            "%1 is %2: repair it or retire it (act movement --to-state at-repair), or record what was mended with act return --step inspected --detail …",
            meter, base::asCode(owed.cause));
    case ReturnOwed::SoftwareVersion:
        return refused("the new version of the software of %1 is not on record; give it with act meter-file --firmware …", meter);
    case ReturnOwed::OtherStripVial:
        return refused(
            "%1 showed error codes with the strip vial that it was controlled with; open another strip vial and run the controls with it",
            meter);
    case ReturnOwed::ShiftChecked:
        return refused(
            "a shift stopped %1, and one good set does not end it: compare it with the laboratory, or record the step group-checked or lot-checked first",
            meter);
    case ReturnOwed::LookbackDecided:
        return refused(
            "a look-back on %1 waits: decide it, or say who decides it and by when with act look-back-assigned, before it is signed back",
            meter);
    case ReturnOwed::Signed: break;
    }
    return refused("%1 waits for a signature", meter);
}

base::Fault setsNotShown(int sets, const base::MeterId& meter)
{
    return sets == 1 ? refused("the records do not show an accepted control set on %1 since it was stopped", meter.value)
                     : refused("the records do not show %1 accepted control sets in a row on %2 since it was stopped", sets, meter.value);
}

Done maySign(const acts::ReturnStep& step, const ReturnEvidence& evidence, const std::vector<OwedForReturn>& owed)
{
    const std::string meter = step.meter.value;
    if (!evidence.person || evidence.person->act.role == Role::Inspector)
        return refused("'%1' may not sign a meter back; a competent nurse or the coordinator signs", step.by.value);
    const bool coordinator = evidence.person->act.role == Role::Coordinator;
    if (evidence.state == S::Withdrawn && !coordinator)
        return refused("%1 is withdrawn; only the coordinator signs it back", meter);
    if (!coordinator && !competentNurse(evidence))
        return refused("'%1' is not competent on that day; a competent nurse or the coordinator signs", step.by.value);
    if (!owed.empty() && owed.front().what != ReturnOwed::Signed)
        return refusalFor(owed.front(), meter);
    const bool cause = step.detail && step.detail->find_first_not_of(" \t\n") != std::string::npos;
    if (evidence.state == S::Withdrawn && evidence.byPerson && !cause)
        return refused("%1 was withdrawn; say in words what the cause was and how it was removed", meter);
    return {};
}

/// Handbook 17.3: the means of its newest controls lie within half the limit of the others' middle, at every level.
Done mayCheckGroup(const acts::ReturnStep& step, const ReturnEvidence& evidence, const Policy& policy)
{
    constexpr double kOnLimit = 1e-9;
    constexpr std::int64_t kFewestOthers = 2;
    const auto found = std::ranges::find_if(
        evidence.newestSets, [](const SetRecord& set) { return set.judged.drift.usual && set.judged.drift.usual->score; });
    const auto notEvaluable = [&] {
        return refused(
            "a group check of %1 is not evaluable: its sets do not say how it stands among the others on its lots", step.meter.value);
    };
    if (found == evidence.newestSets.end())
        return notEvaluable();
    const acts::UsualFinding& usual = *found->judged.drift.usual;
    const stats::UsualState state = stateFrom(usual);
    for (const Level required : policy.requiredLevels) {
        const auto level = std::ranges::find(usual.levels, required, &acts::UsualLevelFinding::level);
        const auto newest = state.levels[static_cast<std::size_t>(required)].newestMean();
        if (level == usual.levels.end() || !level->othersSlow || level->others.value_or(0) < kFewestOthers || !newest)
            return notEvaluable();
        const double off = *newest - *level->othersSlow;
        if (std::abs(off) > level->limit + kOnLimit)
            return refused("the newest %1 controls of %2 lie %3 % from the middle of the others, more than %4 %",
                base::asCode(word(required)), step.meter.value, base::fixedText(off, 1), base::fixedText(level->limit, 1));
    }
    return {};
}

} // namespace

Done mayMove(MeterState from, MeterState to, Role role)
{
    const auto left = base::asCode(word(from)), reached = base::asCode(word(to));
    if (from == to)
        return refused("the meter is %1 already", left);
    if (from == S::Retired)
        return refused("a retired meter stays retired; enrol another one");
    Who who = Who::NurseOrCoordinator;
    if (to == S::Retired) {
        who = Who::Coordinator;
    } else if (to != S::Missing) {
        const auto found = std::ranges::find_if(kTransitions, [&](const Transition& t) { return t.from == from && t.to == to; });
        if (found == std::end(kTransitions)) {
            if ((from == S::OnHold || from == S::Withdrawn) && to == S::InService)
                return refused("a meter comes back from %1 by its return steps and a signature, not by a movement", left);
            return refused("there is no way from %1 to %2; see the transitions a meter can make", left, reached);
        }
        who = found->who;
    }
    if (!mayActAs(who, role))
        return who == Who::Coordinator
            ? refused("a %1 may not move a meter from %2 to %3; the coordinator does", base::asCode(word(role)), left, reached)
            : refused("a %1 may not move a meter from %2 to %3", base::asCode(word(role)), left, reached);
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
        demands.comparison = demands.comparison
            || (withdrawn && evidence.byPerson && incident && cause->act.what == IncidentKind::SoftwareUpdated);
    }
    demands.comparison = demands.comparison || evidence.withdrawnForDrift;
    return demands;
}

Done mayTakeReturnStep(const acts::ReturnStep& step, const ReturnEvidence& evidence, const Policy& policy)
{
    if (evidence.state != S::OnHold && evidence.state != S::Withdrawn)
        return refused(
            "%1 is %2 at that time; only a meter on hold or withdrawn is returned", step.meter.value, base::asCode(word(evidence.state)));
    const std::vector<OwedForReturn> owed = owedForReturn(evidence, policy);
    const auto owes = [&](ReturnOwed what) { return std::ranges::find(owed, what, &OwedForReturn::what) != owed.end(); };
    switch (step.step) {
    case ReturnStepKind::Inspected: return {};
    case ReturnStepKind::ControlsPassed:
        return owes(ReturnOwed::ControlsPassed) ? Done(setsNotShown(demandsOf(evidence, policy).acceptedSets, step.meter)) : Done();
    case ReturnStepKind::ComparisonPassed:
        if (!comparisonPassed(evidence, demandsOf(evidence, policy)))
            return refused("the records do not show a passed laboratory comparison of %1 since it was stopped", step.meter.value);
        return {};
    case ReturnStepKind::GroupChecked: return mayCheckGroup(step, evidence, policy);
    case ReturnStepKind::LotChecked:
        return evidence.lotShown ? Done()
                                 : Done(refused("the records show no accepted set of %1 on another strip or control lot since the shift, "
                                                "and no other meter that was rejected on the same vials",
                                     step.meter.value));
    case ReturnStepKind::Signed: return maySign(step, evidence, owed);
    }
    return {};
}

} // namespace mk::registry
