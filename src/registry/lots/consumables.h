// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

/// Lots, vials and makers' notices: what state they are in, and what a notice hits (handbook 2.3 to 2.9).
namespace mk::registry {

enum class LotState { Received, Verifying, Released, Quarantined, Exhausted, Expired, Rejected };
template <>
struct Words<LotState> {
    static constexpr std::string_view what = "state of a lot";
    static constexpr std::string_view all[] = { "received", "verifying", "released", "quarantined", "exhausted", "expired", "rejected" };
};

enum class VialState { Open, FoundOpen, Expired, Empty, Discarded, Quarantined };
template <>
struct Words<VialState> {
    static constexpr std::string_view what = "state of a vial";
    static constexpr std::string_view all[] = { "open", "found-open", "expired", "empty", "discarded", "quarantined" };
};

/// What a lot's state rests on beside its own record.
struct LotStock {
    bool verificationBegan = false;       ///< a range was confirmed, a control or a sample run on it
    std::optional<std::int64_t> unopened; ///< none: no shipment says how many vials came
    bool anyOpen = false;
};

LotState lotStateAt(const StripLotRecord& lot, const LotStock& stock, base::Moment at, const Zone& zone);
/// A control lot needs no release: it may be used unless something stands against it.
LotState lotStateAt(const ControlLotRecord& lot, const LotStock& stock, base::Moment at, const Zone& zone);

/// opened, lastDay: of the vial and of what it may be used through; none: not on record
VialState vialStateAt(const std::optional<Record<acts::VialEnded>>& newestEnd, const std::optional<base::Moment>& opened,
    const std::optional<base::Date>& lastDay, base::Moment at, const Zone& zone);

/// Does the notice speak of meters, rather than of a lot with its model beside it?
bool namesMeters(const acts::NoticeIssued& notice);
/// firmware  the meter's newest; none: not on record
bool hitsMeter(const acts::NoticeIssued& notice, const acts::MeterEnrolled& meter, const std::optional<std::string>& firmware);
bool hitsWholeLot(const acts::NoticeIssued& notice, const std::string& lot);
/// Vials are compared by the number at the end of their id; where the notice writes something before it, the vial must too.
bool hitsVial(const acts::NoticeIssued& notice, const std::string& vial, const std::string& lot);

/// Is `text` between the two, as numbers where all three are digits, else as text? A missing end is open.
bool liesBetween(const std::string& text, const std::optional<std::string>& from, const std::optional<std::string>& to);
/// Can such a span be told: ids of one pattern, text and then digits, that rise? One bound alone needs the digits.
bool isSpan(const std::optional<std::string>& from, const std::optional<std::string>& to);

/// Ids with blanks between them.
std::vector<std::string> idsOf(const std::string& text);

} // namespace mk::registry
