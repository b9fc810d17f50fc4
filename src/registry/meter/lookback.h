// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

#include <span>

/// Which interval a look-back covers, and whether what came of it may be recorded (handbook 7.1.1). No patient data.
namespace mk::registry {

/// The first run of the sequence on which a shift rule rejected the newest of these sets.
/// sets  of one meter, oldest first, the rejected one last
base::Moment sequenceStart(std::span<const SetRecord> sets);

/// From when a strip vial puts a meter's results in doubt: its last good run with it, else the vial's opening. The accepted set before,
/// with another vial, is the other start where it lies later.
/// sets     the meter's accepted sets before the failure, oldest first
/// opened   nothing where no opening is on record: then `earliest`
struct VialDoubt {
    base::Moment from;
    std::optional<base::Moment> alternative;
};
VialDoubt doubtOf(
    const base::StripVialId& vial, std::span<const SetRecord> accepted, std::optional<base::Moment> opened, base::Moment earliest);

/// What became of a look-back, told by one entry: how it was decided, or (without a decision) that it was opened again.
struct LookbackTurn {
    base::Seq seq;
    base::Moment at;
    std::optional<std::string> decision;
};
/// turns  all that is known of it, in any order
void decide(LookbackRecord& lookback, std::vector<LookbackTurn> turns);
/// With the decision that stood at that moment, if one did.
LookbackRecord asItStood(LookbackRecord lookback, base::Moment at);

/// A control that failed and tripped a sum in the same set is a failed control, not a drift that began with it.
bool failsOnlyNow(const SetRecord& set);

/// "+5.2 %" of the mean, as the drift finding has it.
std::string biasInWords(const acts::LevelBias& bias);

/// Six digits or more in a row look like a patient's number.
bool looksLikePatientNumber(std::string_view text);

/// errors  BadInput or Refused: counts that cannot be, a start that the look-back does not offer, text that could name a patient
base::Done mayCloseLookback(const acts::LookbackClosed& closed, const acts::LookbackOpened& opened);

} // namespace mk::registry
