// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "registry/terms/reason.h"

namespace mk::registry {

/// Until when a vial may be used: the earlier of the printed expiry and opening date plus open-vial period (handbook 2.4).
struct EffectiveExpiry {
    base::Date lastDay;
    bool openedWins = false; ///< the open-vial period ends before the printed date
};

/// returns nothing where one of the three facts is missing: such a vial is not usable
std::optional<EffectiveExpiry> effectiveExpiry(const std::optional<base::PrintedDate>& printed, const std::optional<base::Moment>& opened,
    const std::optional<base::Period>& openPeriod, const Zone& zone);

/// What stands against a vial at a moment; empty where it may be used.
std::vector<ReasonCode> againstStripVial(const StripVialRecord* vial, const StripLotRecord* lot, base::Moment at, const Zone& zone);
std::vector<ReasonCode> againstControlVial(const ControlVialRecord* vial, const ControlLotRecord* lot, base::Moment at, const Zone& zone);

/// The lot's last event at or before a moment; a strip lot's `released` column counts as one.
std::optional<LotEventKind> lotStatus(const StripLotRecord& lot, base::Moment at);
std::optional<LotEventKind> lotStatus(const ControlLotRecord& lot, base::Moment at);

} // namespace mk::registry
