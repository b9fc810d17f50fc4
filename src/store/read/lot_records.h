// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/limits.h"
#include "registry/facts/traces.h"
#include "store/read/reader.h"

#include <map>

/// What the register knows of lots, vials and notices, traced both ways (handbook 2.9), as of the reader's entry.
namespace mk::store {

/// A run as a trace shows it.
struct TracedRun {
    base::Seq seq;
    base::SetId set;
    base::MeterId meter;
    base::Moment at;
    registry::Level level {};
    registry::Reading result;
    std::string stripVial, controlVial, stripLot, controlLot;
    bool valid = false;
    std::vector<std::string> invalidBecause {};
    registry::Verdict verdict = registry::Verdict::Invalid;
};

struct Use {
    base::Moment first, last;
    std::int64_t runs = 0;
};

/// Every run of these materials: of a lot (strip or control), of a vial, or of a meter; in the order of their entries.
base::Result<std::vector<TracedRun>> runsOfLot(Reader& reader, const std::string& lot);
base::Result<std::vector<TracedRun>> runsOfVial(Reader& reader, const std::string& vial);
base::Result<std::vector<TracedRun>> runsOfMeter(Reader& reader, const base::MeterId& meter);
base::Result<std::vector<TracedRun>> runsOnAllLots(Reader& reader);
std::map<base::MeterId, Use> usesByMeter(const std::vector<TracedRun>& runs);

/// Comparisons and proficiency results that were made with strips of these vials.
base::Result<std::vector<std::string>> comparisonsOn(Reader& reader, const std::vector<std::string>& stripVials);
base::Result<std::vector<std::string>> eqaOn(Reader& reader, const std::vector<std::string>& stripVials);

/// Meters whose every accepted set still in time at that moment was run with one of these materials.
base::Result<std::vector<base::MeterId>> clearedOnlyBy(Reader& reader, const std::vector<TracedRun>& runs, base::Moment at);

/// Runs that were made with them inside the interval; the coordinator decides about them.
base::Result<std::vector<TracedRun>> runsInExcursion(Reader& reader, const registry::acts::ExcursionReported& excursion);

/// What is there, what runs out and what must go (handbook 7.2).
struct StockFigures {
    std::vector<registry::TracedVial> expiringSoon, expiredOpen, undated; ///< vials of the ward
    std::vector<registry::TracedLot> lots;                                ///< that are not used up, expired or rejected
    std::vector<std::string> lotsExpiringSoon, lotsRunningLow;
};
base::Result<StockFigures> stockOf(Reader& reader, const std::optional<base::WardId>& ward, base::Moment at);

/// Which strip lot x control lot x level a proposal is asked for; nothing given: every one with runs.
/// withDrifting  also meters that have moved, or stand apart; else their results are left out
/// leftOut       results with a proven cause, by the entries of their runs
struct LimitChoice {
    std::optional<base::StripLotId> stripLot {};
    std::optional<base::ControlLotId> controlLot {};
    std::optional<registry::Level> level {};
    std::optional<base::MeterId> meter {};
    bool withDrifting = false;
    std::map<base::Seq, std::string> leftOut {};
};
base::Result<std::vector<registry::LimitProposal>> limitProposals(Reader& reader, const LimitChoice& choice, base::Moment at);

} // namespace mk::store
