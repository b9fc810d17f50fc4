// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/nonconformity.h"

#include <algorithm>

#include <QString>

namespace mk::registry {

using base::badInput;
using base::Done;
using base::refused;

namespace {

std::string ncName(const Nonconformity& nonconformity)
{
    return "nonconformity " + std::to_string(nonconformity.entry.value);
}

bool isBlank(const std::string& text)
{
    return text.find_first_not_of(" \t\n") == std::string::npos;
}

} // namespace

std::string_view stateInWords(NcState state)
{
    switch (state) {
    case NcState::Open: return QT_TRANSLATE_NOOP("Term", "open");
    case NcState::Contained: return QT_TRANSLATE_NOOP("Term", "contained");
    case NcState::CauseFound: return QT_TRANSLATE_NOOP("Term", "cause found");
    case NcState::ActionDone: return QT_TRANSLATE_NOOP("Term", "action done");
    case NcState::EffectivenessChecked: return QT_TRANSLATE_NOOP("Term", "effectiveness checked");
    case NcState::Closed: return QT_TRANSLATE_NOOP("Term", "closed");
    }
    return {};
}

bool saysNoNonconformity(const acts::NcStep& step)
{
    return step.to == NcState::Closed && step.text.starts_with("no nonconformity");
}

Nonconformity foldNonconformity(const Record<acts::NcOpened>& opened, std::span<const Record<acts::NcStep>> steps)
{
    Nonconformity folded;
    folded.entry = opened.seq;
    folded.opened = opened.act;
    folded.owner = opened.act.owner;
    folded.due = opened.act.due;
    for (const auto& record : steps) {
        const acts::NcStep& step = record.act;
        if (step.owner)
            folded.owner = step.owner;
        if (step.due)
            folded.due = step.due;
        if (step.cause)
            folded.cause = step.cause;
        if (step.report)
            folded.reports.push_back(*step.report);
        if (step.to != folded.state) {
            switch (step.to) {
            case NcState::Open: ++folded.reopened; break;
            case NcState::Contained: folded.containment = step.text; break;
            case NcState::CauseFound: folded.causeText = step.text; break;
            case NcState::ActionDone: folded.action = step.text; break;
            case NcState::EffectivenessChecked: folded.effectiveness = step.text; break;
            case NcState::Closed: break;
            }
            const bool closes = step.to == NcState::Closed;
            folded.mistaken = saysNoNonconformity(step);
            folded.closedAt = closes ? std::optional(step.at) : std::nullopt;
            folded.closedBy = closes ? std::optional(step.by) : std::nullopt;
            folded.state = step.to;
        }
        folded.steps.push_back(record);
    }
    return folded;
}

Done mayTakeNcStep(const Nonconformity& nonconformity, const acts::NcStep& step, Role role, std::optional<base::Seq> lookback)
{
    const std::string name = ncName(nonconformity);
    if (role == Role::Inspector)
        return refused("an inspector reads; a nurse or the coordinator takes %1 further", name);
    if (isBlank(step.text))
        return badInput("%1: say in text what was done or found", name);
    if (step.owner && isBlank(*step.owner))
        return badInput("%1: the owner has no name", name);
    const NcState from = nonconformity.state;
    const bool reopens = step.to == NcState::Open && from != NcState::Open;
    if ((reopens || step.to == NcState::Closed) && role != Role::Coordinator)
        return reopens ? refused("only the coordinator reopens %1", name) : refused("only the coordinator closes %1", name);
    if (reopens)
        return {};
    if (step.to == from) {
        if (from == NcState::Closed)
            return refused("%1 is closed; open it again first, with the reason", name);
        return step.owner || step.due || step.report || step.cause
            ? Done()
            : Done(refused("%1 is %2 already", name, base::asTerm(stateInWords(from))));
    }
    const bool mistaken = saysNoNonconformity(step);
    const bool next = static_cast<int>(step.to) == static_cast<int>(from) + 1;
    if (!next && !mistaken) {
        if (from == NcState::Closed)
            return refused("%1 is closed; open it again first, with the reason", name);
        const auto due = static_cast<NcState>(static_cast<int>(from) + 1);
        return refused("%1 is %2; '%3' comes next, not '%4' (a mistaken one is closed with a text that begins 'no nonconformity')", name,
            base::asTerm(stateInWords(from)), base::asCode(word(due)), base::asCode(word(step.to)));
    }
    if (step.to == NcState::CauseFound && !step.cause && !nonconformity.cause)
        return badInput(
            "%1: name the cause (meter, strip-vial, strip-lot, control-material, technique, environment, entry-error, random, unknown)",
            name);
    if (step.to == NcState::ActionDone && (!(step.owner || nonconformity.owner) || !(step.due || nonconformity.due)))
        return refused("%1 has no owner or no due date; give both before the action is reported done", name);
    if (step.to == NcState::Closed && lookback)
        return refused(
            "%1 follows from a failed control and its look-back of entry %2 is undecided; decide that first", name, lookback->value);
    return {};
}

bool followsFailedControl(std::string_view type)
{
    static constexpr std::string_view kTypes[] = { "ladder-exhausted", "control-rejected", "drift", "shift" };
    return std::ranges::find(kTypes, type) != std::end(kTypes);
}

std::string nonconformityText(std::string_view cause, const std::string& subject)
{
    if (cause == "ladder-exhausted")
        return "The controls of " + subject + " failed with a new strip, a new control vial and a new strip vial. The meter is withdrawn.";
    if (cause == "comparison-failed")
        return "The laboratory comparison of " + subject + " failed again when it was repeated. The meter is withdrawn.";
    if (cause == "field-notice")
        return "A maker's notice names " + subject + ". The meter is withdrawn until the notice is dealt with.";
    if (cause == "wrong-unit")
        return "Urgent: " + subject
            + " showed results in the wrong unit. The meter is withdrawn; find out since when, and which results were read so.";
    return {};
}

} // namespace mk::registry
