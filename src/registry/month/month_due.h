// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"
#include "registry/month/month.h"

/// By when a month is signed, and which months wait for it (handbook 7.2 and 13).
namespace mk::registry {

/// The last day on which a signature is in time: a day of the month after.
base::Date signatureDue(Month month, const Policy& policy);

enum class MonthStanding { NotOver, Waiting, Late, Signed, SignedLate };
template <>
struct Words<MonthStanding> {
    static constexpr std::string_view what = "standing of a month";
    static constexpr std::string_view all[] = { "not-over", "waiting", "late", "signed", "signed-late" };
};

/// One ward's month, or all wards' together, and its signature.
struct MonthSignature {
    Month month;
    std::optional<base::WardId> ward;
    base::Date due;
    MonthStanding standing = MonthStanding::NotOver;
    std::optional<Record<acts::ReviewSigned>> first; ///< the first signature; one that was overtaken was made all the same
};

/// reviews  every signature on record, of any month; one for all wards signs each of them
/// ward     none: only a signature for all wards counts
MonthSignature monthSignature(std::span<const Record<acts::ReviewSigned>> reviews, Month month, const std::optional<base::WardId>& ward,
    base::Moment at, const Policy& policy, const Zone& zone);

/// The months that are over and nobody has signed, oldest first: of each of these wards, from the month in which its first meter was
/// enrolled or the registry begun, whichever is later.
base::Result<std::vector<MonthSignature>> monthsToSign(
    Facts& facts, std::span<const std::pair<base::WardId, base::Moment>> wards, base::Moment begun, base::Moment at);

} // namespace mk::registry
