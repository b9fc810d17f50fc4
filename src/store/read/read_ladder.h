// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_ladder.h"
#include "registry/control/failure_patterns.h"
#include "registry/meter/nonconformity.h"
#include "store/read/reader.h"

/// What failed and what became of it, read from the register.
namespace mk::store {

/// Where the meter stands at that moment: its sets after the last accepted one. An acceptance after a repair begins anew.
base::Result<registry::Ladder> ladderAt(Reader& reader, const base::MeterId& meter, base::Moment at);
/// The climb that an accepted set ended, with that set as the last one.
base::Result<registry::Ladder> ladderEndedBy(Reader& reader, const registry::SetRecord& accepted);
/// Every climb that was under way in [from, to], oldest first.
base::Result<std::vector<registry::Ladder>> climbsOf(Reader& reader, const base::MeterId& meter, base::Moment from, base::Moment to);

/// subject  a meter, lot or vial; none: all
/// by       only what was recorded about times up to then
base::Result<std::vector<registry::Nonconformity>> nonconformities(
    Reader& reader, const std::optional<std::string>& subject, std::optional<base::Moment> by);
/// Nothing where that entry opened none.
base::Result<std::optional<registry::Nonconformity>> nonconformityOf(Reader& reader, base::Seq entry);

/// Patterns of the last thirty days that concern the meter: itself, its vials, the people who ran it, and its late passes.
base::Result<std::vector<registry::FailurePattern>> patternsOf(Reader& reader, const base::MeterId& meter, base::Moment at);

/// Meters that were run with a vial or compared with strips of it.
base::Result<std::vector<base::MeterId>> metersOnVial(Reader& reader, const std::string& vial);

/// What came of a closed look-back, as it was recorded.
base::Result<std::optional<registry::acts::LookbackClosed>> closingOf(Reader& reader, const registry::LookbackRecord& lookback);

/// Fills in where the meter stands on the ladder, if its newest set did not hold.
base::Done historyOfLadder(Reader& reader, registry::MeterHistory& history, base::Moment at);

} // namespace mk::store
