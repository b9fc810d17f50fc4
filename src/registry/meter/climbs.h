// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_ladder.h"
#include "registry/facts/facts.h"

/// A meter's climbs on the failure ladder, from what is known.
namespace mk::registry {

/// Where the meter stands at that moment: its sets after the last accepted one. An acceptance after a repair begins anew.
base::Result<Ladder> ladderAt(Facts& facts, const base::MeterId& meter, base::Moment at);
/// The climb that an accepted set ended, with that set as the last one.
base::Result<Ladder> ladderEndedBy(Facts& facts, const SetRecord& accepted);
/// Every climb that was under way in [from, to], oldest first.
base::Result<std::vector<Ladder>> climbsOf(Facts& facts, const base::MeterId& meter, base::Moment from, base::Moment to);
/// Fills in where the meter stands on the ladder, if its newest set did not hold.
base::Done historyOfLadder(Facts& facts, MeterHistory& history, base::Moment at);

} // namespace mk::registry
