// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/lots/consumables.h"
#include "registry/control/limits.h"
#include "registry/lots/lot_verification.h"
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

struct TracedVial {
    std::string vial, lot;
    bool strip = true;
    std::optional<base::WardId> ward {};
    std::optional<base::Moment> opened {};
    std::optional<base::Date> lastDay {};
    registry::VialState state {};
    std::optional<registry::Record<registry::acts::VialEnded>> ended {};
};

struct TracedLot {
    std::string lot;
    std::optional<registry::StripLotRecord> strip {};
    std::optional<registry::ControlLotRecord> control {};
    std::vector<registry::Record<registry::acts::ShipmentReceived>> shipments {};
    registry::LotState state {};
    std::optional<registry::Record<registry::acts::LotEvent>> released {}; ///< by whom; none: with the lot itself, or not
    std::optional<std::int64_t> unopened {};
    std::vector<TracedVial> vials {};

    const std::optional<base::PrintedDate>& expiry() const { return strip ? strip->lot.expiry : control->lot.expiry; }
    const std::vector<registry::Record<registry::acts::LotEvent>>& events() const { return strip ? strip->events : control->events; }
};

/// Every run of these materials: of a lot (strip or control), of a vial, or of a meter; in the order of their entries.
base::Result<std::vector<TracedRun>> runsOfLot(Reader& reader, const std::string& lot);
base::Result<std::vector<TracedRun>> runsOfVial(Reader& reader, const std::string& vial);
base::Result<std::vector<TracedRun>> runsOfMeter(Reader& reader, const base::MeterId& meter);
base::Result<std::vector<TracedRun>> runsOnAllLots(Reader& reader);
std::map<base::MeterId, Use> usesByMeter(const std::vector<TracedRun>& runs);

/// errors  NotFound
base::Result<TracedLot> traceLot(Reader& reader, const std::string& lot, base::Moment at);
base::Result<TracedVial> traceVial(Reader& reader, const std::string& vial, base::Moment at);
/// Ids of all lots, strip lots first.
base::Result<std::vector<std::string>> allLots(Reader& reader);
/// Comparisons and proficiency results that were made with strips of these vials.
base::Result<std::vector<std::string>> comparisonsOn(Reader& reader, const std::vector<std::string>& stripVials);
base::Result<std::vector<std::string>> eqaOn(Reader& reader, const std::vector<std::string>& stripVials);

/// Meters whose every accepted set still in time at that moment was run with one of these materials.
base::Result<std::vector<base::MeterId>> clearedOnlyBy(Reader& reader, const std::vector<TracedRun>& runs, base::Moment at);

/// What a notice hits of what is on record.
struct NoticeHits {
    std::vector<base::MeterId> meters;
    std::vector<std::string> lots;
    std::vector<TracedVial> vials;
    std::vector<std::string> items() const;
};
base::Result<NoticeHits> hitsOf(Reader& reader, const registry::acts::NoticeIssued& notice, base::Moment at);
/// Hit items without a recorded action.
std::vector<std::string> itemsLeft(const NoticeHits& hits, const registry::NoticeRecord& notice);
base::Result<std::optional<std::string>> firmwareOf(Reader& reader, const base::MeterId& meter);

/// Vials that lay in a store during an excursion: the named ones, or what was open on the ward at some time in it.
/// at  the moment for which their states are told
base::Result<std::vector<TracedVial>> vialsInExcursion(Reader& reader, const registry::acts::ExcursionReported& excursion, base::Moment at);
/// Runs that were made with them inside the interval; the coordinator decides about them.
base::Result<std::vector<TracedRun>> runsInExcursion(Reader& reader, const registry::acts::ExcursionReported& excursion);

/// What is there, what runs out and what must go (handbook 7.2).
struct StockFigures {
    std::vector<TracedVial> expiringSoon, expiredOpen, undated; ///< vials of the ward
    std::vector<TracedLot> lots;                                ///< that are not used up, expired or rejected
    std::vector<std::string> lotsExpiringSoon, lotsRunningLow;
};
base::Result<StockFigures> stockOf(Reader& reader, const std::optional<base::WardId>& ward, base::Moment at);

/// What is there for the release of a strip lot.
base::Result<registry::LotVerification> verificationOf(Reader& reader, const base::StripLotId& lot, base::Moment at);

/// Which strip lot x control lot x level a proposal is asked for; nothing given: every one with runs.
struct LimitChoice {
    std::optional<base::StripLotId> stripLot {};
    std::optional<base::ControlLotId> controlLot {};
    std::optional<registry::Level> level {};
    std::optional<base::MeterId> meter {};
};
base::Result<std::vector<registry::LimitProposal>> limitProposals(Reader& reader, const LimitChoice& choice, base::Moment at);

} // namespace mk::store
