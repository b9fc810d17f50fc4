// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"
#include "registry/meter/nonconformity.h"

/// Nonconformities and look-backs with what became of them, from what is known.
namespace mk::registry {

/// subject  a meter, lot or vial; none: all
/// by       only what was recorded about times up to then
base::Result<std::vector<Nonconformity>> nonconformities(
    Facts& facts, const std::optional<std::string>& subject, std::optional<base::Moment> by);
/// Nothing where that entry opened none.
base::Result<std::optional<Nonconformity>> nonconformityOf(Facts& facts, base::Seq entry);
/// The nonconformity that stops every meter on a strip lot, as long as the coordinator has not closed it.
base::Result<std::optional<base::Seq>> stoppedLotItem(Facts& facts, const base::StripLotId& lot, base::Moment at);
/// What came of a closed look-back, as it was recorded.
base::Result<std::optional<acts::LookbackClosed>> closingOf(Facts& facts, const LookbackRecord& lookback);

} // namespace mk::registry
