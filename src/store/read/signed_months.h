// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/signed_month.h"
#include "store/read/read_month.h"

/// Signatures under a month, held against the journal.
namespace mk::store {

/// Lower-case hex of SHA-256 over the figures as canonical JSON, numbers as the shortest text that reads back to the same.
std::string figuresDigest(const registry::MonthFigures& figures);

/// The signatures for a month, oldest first; of one ward those for all wards too.
/// ward  none: only those for all wards
base::Result<std::vector<registry::SignedReview>> signedReviews(
    Reader& reader, const std::optional<base::WardId>& ward, registry::Month month);

/// Fills in what the program knows: the last entry that the figures have seen, its digest, theirs, and the meaning.
/// errors  Conflict where one of them was given and is not so: something was recorded meanwhile
base::Result<registry::acts::ReviewSigned> filledIn(Reader& reader, registry::acts::ReviewSigned review);

} // namespace mk::store
