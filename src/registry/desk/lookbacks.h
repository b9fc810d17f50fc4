// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Look-backs: what opens one, over which interval, and what closes it (handbook 1.5, 4.6).
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::LookbackClosed& act);
base::Done admit(const Desk& desk, const acts::LookbackAssigned& act);
base::Done admit(const Desk& desk, const acts::LookbackReopened& act);
base::Done admit(const Desk& desk, const acts::LookbackAsked& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::LookbackAsked& act);

/// Opens a look-back, unless the meter has one of that cause, start and scope, or was not in service in its interval.
base::Done openLookback(const Desk& desk, const acts::LookbackOpened& lookback);

/// The interval that a failure puts in doubt.
struct Doubt {
    base::Moment from, to;
};
/// From the last accepted set before a failure to the stop that followed it.
base::Result<Doubt> doubtBefore(const Desk& desk, const base::MeterId& meter, base::Moment failure);

/// A shift or a drift has a look-back of its own, from where it began.
/// cause  "shift" or "drift"
base::Done openShiftLookback(const Desk& desk, const SetRecord& newest, base::Moment at, const std::string& cause, base::Seq because);

/// A strip vial that proved to be the cause.
struct SpoiltVial {
    base::StripVialId vial;
    base::MeterId failed; ///< the meter that showed it
    base::Moment failure;
    std::optional<std::string> direction; ///< how far that meter's results lay off, in words
};
/// Every meter that used it is looked back on, each from its own last good run with it.
base::Done openVialLookbacks(const Desk& desk, const SpoiltVial& spoilt, base::Moment at, base::Seq because);

/// The results of a strip lot are in doubt: every meter that used it is looked back on, from its first set with it (handbook 17.8).
base::Done openLotLookbacks(const Desk& desk, const base::StripLotId& lot, base::Moment at, base::Seq because);

/// A meter was withdrawn by hand: what it measured since its drift began, or since its last good control, waits for a look-back.
base::Done lookBackOnWithdrawal(const Desk& desk, const base::MeterId& meter, base::Moment at, base::Seq because);
/// The same after a failed comparison.
/// lastInside  when the laboratory last found it right
base::Done lookBackOnComparison(
    const Desk& desk, const base::MeterId& meter, base::Moment at, base::Seq because, std::optional<base::Moment> lastInside);
/// What was measured while the meter was in doubt waits for a look-back.
base::Done lookBackOnIncident(const Desk& desk, base::Seq seq, const acts::IncidentReported& incident, base::Moment told);
/// Results since the last proof of the right unit, urgently (handbook 1.5, 10.4).
base::Done lookBackOnWrongUnit(const Desk& desk, base::Seq seq, const acts::IncidentReported& incident, base::Moment told);

/// Nothing where there is nothing to say.
std::optional<std::string> givenText(std::string text);

} // namespace mk::registry::desk
