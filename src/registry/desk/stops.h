// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"
#include "registry/terms/reason.h"

/// Holds and withdrawals: what makes one, what ends it.
namespace mk::registry::desk {

base::Result<std::vector<StopRecord>> openStops(const Desk& desk, const base::MeterId& meter);
bool stoppedFor(const std::vector<StopRecord>& open, ReasonCode cause);

/// Why a meter is taken out of use.
struct StopCause {
    std::string_view code;
    base::Seq because; ///< the entry that shows it
    bool withdrawn = false;
    bool needsSignature = true; ///< else an accepted set ends it

    StopCause(ReasonCode reason, base::Seq shown, bool withdraws = false, bool asksForSignature = true)
        : code(registry::code(reason)),
          because(shown),
          withdrawn(withdraws),
          needsSignature(asksForSignature)
    {
    }
    StopCause(StopOnly cause, base::Seq shown, bool withdraws = false) : code(word(cause)), because(shown), withdrawn(withdraws) { }
};
/// Stops a meter, with the nonconformity that belongs to the cause.
/// returns  the entry of the stop; nothing where the meter is in no state that can be stopped
base::Result<std::optional<base::Seq>> stop(const Desk& desk, const base::MeterId& meter, base::Moment at, const StopCause& cause);
/// The same where nobody needs the entry.
base::Done stopFor(const Desk& desk, const base::MeterId& meter, base::Moment at, const StopCause& cause);

/// Ends those of the open stops that `ends` names.
/// to  the state that follows; none: in service where no other stop remains
base::Done endStops(const Desk& desk, const base::MeterId& meter, base::Moment at, base::Seq because, const std::vector<StopRecord>& open,
    bool (*ends)(const StopRecord&), std::optional<MeterState> to);
/// Ends all of them.
base::Done endEveryStop(const Desk& desk, const base::MeterId& meter, base::Moment at, base::Seq because, MeterState to);

/// What a set's verdict does to its meter: a rejected one holds it and moves the ladder on, an accepted one frees it.
base::Done followVerdict(const Desk& desk, const SetRecord& set, base::Moment at);

} // namespace mk::registry::desk
