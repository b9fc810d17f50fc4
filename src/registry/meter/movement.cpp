// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/movement.h"

#include "registry/meter/fitness.h"

#include <algorithm>

namespace mk::registry {

namespace {

using base::Done;
using base::refused;
using S = MeterState;

bool given(const std::optional<std::string>& text)
{
    return text && text->find_first_not_of(' ') != std::string::npos;
}

Done need(bool there, base::Sentence<0> sentence)
{
    return there ? Done() : refused(sentence);
}

bool cleanedSince(const MovementEvidence& evidence)
{
    return std::ranges::any_of(evidence.incidents, [&](const IncidentRecord& incident) {
        return incident.act.what == IncidentKind::Cleaned && incident.act.at >= evidence.since && incident.act.at <= evidence.at;
    });
}

/// The newest set is accepted and was run in the present state.
const SetRecord* acceptedSince(const MovementEvidence& evidence)
{
    if (evidence.newestSets.empty())
        return nullptr;
    const auto& newest = evidence.newestSets.front();
    const bool accepted = isAccepted(newest.judged.verdict);
    return accepted && newest.judged.firstAt >= evidence.since ? &newest : nullptr;
}

Done maySharedUse(const MovementEvidence& evidence)
{
    return need(evidence.model && evidence.model->act.sharedUse == YesNo::Yes,
        "its model is not on record as cleared for use on several patients (shared_use yes); it cannot enter service");
}

/// T3
Done accepted(const MovementEvidence& evidence)
{
    if (const Done shared = maySharedUse(evidence); !shared)
        return shared;
    const AcceptanceList list = acceptanceList(evidence.checks, evidence.since, evidence.at);
    if (const Done complete = acceptanceComplete(list); !complete)
        return complete;
    if (acceptedSince(evidence) == nullptr)
        return refused("no accepted control set was run since acceptance began; run all required levels first");
    const bool compared = std::ranges::any_of(evidence.pairs, [&](const PairRecord& pair) {
        return pair.judged.outcome == PairOutcome::Inside && pair.judged.at >= evidence.since && pair.judged.at <= evidence.at;
    });
    const auto& agreement = list[static_cast<std::size_t>(AcceptanceItem::Agreement)];
    return need(compared || given(agreement.newest->act.evidence),
        "nothing shows that it agrees with the laboratory or an accepted meter; record a comparison, or act acceptance --item agreement --met yes --evidence …");
}

/// T11
Done issued(const MovementEvidence& evidence, const Policy& policy, const Zone& zone)
{
    if (const Done shared = maySharedUse(evidence); !shared)
        return shared;
    if (!cleanedSince(evidence))
        return refused("it was not cleaned since it went to reserve; record act incident --kind cleaned first");
    const SetRecord* set = acceptedSince(evidence);
    return need(set != nullptr && clearedUntil(*set, policy, zone) > evidence.at,
        "no accepted control set in time was run since it went to reserve; run all required levels first");
}

} // namespace

Done papersSuffice(const acts::MeterMoved& movement, const MovementEvidence& evidence, const Policy& policy, const Zone& zone)
{
    if (!movement.toState)
        return {};
    const bool memory = movement.memoryCleared == YesNo::Yes;
    switch (*movement.toState) {
    case S::Acceptance:
        if (evidence.state == S::AtRepair)
            return need(given(movement.document), "a meter from repair comes with its service report; name it with --document");
        return need(evidence.insertKnown || given(movement.document),
            "the edition of its insert is not on record; give it with act meter-file --insert-edition, or name it with --document");
    case S::InService: return evidence.state == S::Reserve ? issued(evidence, policy, zone) : accepted(evidence);
    case S::Reserve: return evidence.state == S::Acceptance ? accepted(evidence) : Done();
    case S::OnHold: return need(given(movement.reason), "say why it is put on hold with --reason");
    case S::Withdrawn:
        if (evidence.state == S::Missing)
            return need(given(movement.condition) || given(movement.reason), "say in what condition it was found with --condition");
        return need(given(movement.reason), "say why it is withdrawn with --reason");
    case S::AtRepair:
        if (!given(movement.reason) && evidence.state == S::Acceptance)
            return refused("say what failed in acceptance with --reason");
        if (evidence.state == S::Acceptance)
            return {};
        if (!cleanedSince(evidence) && !given(movement.document))
            return refused(
                "it was not cleaned since it was withdrawn; record act incident --kind cleaned, or name the decontamination record with --document");
        return need(memory, "patient data may be in its memory; deal with them and say --memory-cleared yes");
    case S::Missing:
        return need(given(movement.lastSeen) || given(movement.reason), "say who saw it last, where and when, with --last-seen");
    case S::Retired:
        if (!given(movement.reason))
            return refused("say why it is retired, and how it is disposed of, with --reason");
        return need(memory, "patient data may be in its memory; wipe it and say --memory-cleared yes");
    case S::Received: break;
    }
    return {};
}

} // namespace mk::registry
