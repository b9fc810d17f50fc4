// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"

/// Everything that befell a meter, beside its controls, in one list.
namespace mk::registry {

enum class LifeKind {
    Enrolled,
    Acceptance,
    Described,
    Moved,
    Arrived,
    Incident,
    Held,
    Withdrawn,
    ReturnStep,
    Signed,
    Returned,
    TakenAsItStands,
    Comparison,
    Calibration,
    Proficiency,
    LookbackOpened,
    LookbackAssigned,
    LookbackDecided,
    LookbackReopened,
    NonconformityOpened,
    NonconformityStep,
    Note
};
template <>
struct Words<LifeKind> {
    static constexpr std::string_view what = "event of a life";
    static constexpr std::string_view all[] = { "enrolled", "acceptance", "described", "moved", "arrived", "incident", "held", "withdrawn",
        "return-step", "signed", "returned", "taken-as-it-stands", "comparison", "calibration", "proficiency", "look-back-opened",
        "look-back-assigned", "look-back-decided", "look-back-reopened", "nonconformity-opened", "nonconformity-step", "note" };
};

/// by        who did it; of a stop who recorded what it follows from
/// code      the cause of a stop, the kind of an incident, the step of a return, the outcome of a comparison, and so on
/// text      as it was typed: a detail, a reason, a decision, a note; of a comparison its round or pair
/// state, ward   that it came to
struct LifeEvent {
    base::Moment at;
    LifeKind what {};
    std::optional<base::OperatorId> by {};
    std::string code {}, text {};
    std::optional<MeterState> state {};
    std::optional<base::WardId> ward {};
    std::vector<base::Seq> evidence {};
};

/// Up to that moment, oldest first. What was annulled is not in it.
base::Result<std::vector<LifeEvent>> wholeLife(Facts& facts, const MeterRecord& meter, base::Moment at);

} // namespace mk::registry
