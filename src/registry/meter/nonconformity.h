// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

#include <span>

/// Nonconformities (handbook 7.1): what an opening and its steps amount to, and which step may come next.
namespace mk::registry {

struct Nonconformity {
    base::Seq entry; ///< its number
    acts::NcOpened opened;
    NcState state = NcState::Open;
    std::optional<std::string> owner;
    std::optional<base::Date> due;
    std::optional<CauseClass> cause;
    std::optional<std::string> containment, causeText, action, effectiveness; ///< the texts of those steps; a reopening keeps them
    std::vector<std::string> reports;                                         ///< what went to the maker or an authority
    int reopened = 0;
    bool mistaken = false; ///< closed as "no nonconformity"
    std::optional<base::Moment> closedAt;
    std::optional<base::OperatorId> closedBy;
    std::vector<Record<acts::NcStep>> steps; ///< oldest first
};

/// steps  those of this nonconformity, oldest first
Nonconformity foldNonconformity(const Record<acts::NcOpened>& opened, std::span<const Record<acts::NcStep>> steps);

/// Does a closing step say that there was nothing? Its text begins with "no nonconformity".
bool saysNoNonconformity(const acts::NcStep& step);

/// Its state in words.
std::string_view stateInWords(NcState state);

/// May this step be taken?
/// lookback  the entry of a look-back that belongs to it and is undecided
/// errors    Refused or BadInput, saying what comes first
base::Done mayTakeNcStep(const Nonconformity& nonconformity, const acts::NcStep& step, Role role, std::optional<base::Seq> lookback);

/// Does its type come from a failed control, so that the look-back must be decided before it closes?
bool followsFailedControl(std::string_view type);

/// What stands in a nonconformity that the registry opens by itself; empty for a cause that opens none.
std::string nonconformityText(std::string_view cause, const std::string& subject);

} // namespace mk::registry
