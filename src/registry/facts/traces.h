// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"
#include "registry/lots/consumables.h"

/// Lots, vials and notices, traced to each other (handbook 2.9), from what is known.
namespace mk::registry {

struct TracedVial {
    std::string vial, lot;
    bool strip = true;
    std::optional<base::WardId> ward {};
    std::optional<base::Moment> opened {};
    std::optional<base::Date> lastDay {};
    VialState state {};
    std::optional<Record<acts::VialEnded>> ended {};
};

struct TracedLot {
    std::string lot;
    std::optional<StripLotRecord> strip {};
    std::optional<ControlLotRecord> control {};
    std::vector<Record<acts::ShipmentReceived>> shipments {};
    LotState state {};
    std::optional<Record<acts::LotEvent>> released {}; ///< by whom; none: with the lot itself, or not
    std::optional<std::int64_t> unopened {};
    std::vector<TracedVial> vials {};

    const std::optional<base::PrintedDate>& expiry() const { return strip ? strip->lot.expiry : control->lot.expiry; }
    const std::vector<Record<acts::LotEvent>>& events() const { return strip ? strip->events : control->events; }
};

/// errors  NotFound
base::Result<TracedLot> traceLot(Facts& facts, const std::string& lot, base::Moment at);
base::Result<TracedVial> traceVial(Facts& facts, const std::string& vial, base::Moment at);

/// What a notice hits of what is on record.
struct NoticeHits {
    std::vector<base::MeterId> meters;
    std::vector<std::string> lots;
    std::vector<TracedVial> vials;
    std::vector<std::string> items() const;
};
base::Result<NoticeHits> hitsOf(Facts& facts, const acts::NoticeIssued& notice, base::Moment at);
/// Hit items without a recorded action.
std::vector<std::string> itemsLeft(const NoticeHits& hits, const NoticeRecord& notice);
/// As it was known to be at that moment.
base::Result<std::optional<std::string>> firmwareOf(Facts& facts, const base::MeterId& meter, base::Moment at);
/// Notices that name the meter and that nobody has closed, with nothing recorded of what was done about it; oldest first.
base::Result<std::vector<NoticeRecord>> openNoticesOf(Facts& facts, const acts::MeterEnrolled& meter, base::Moment at);

/// Vials that lay in a store during an excursion: the named ones, or what was open on the ward at some time in it.
/// at  the moment for which their states are told
base::Result<std::vector<TracedVial>> vialsInExcursion(Facts& facts, const acts::ExcursionReported& excursion, base::Moment at);

} // namespace mk::registry
