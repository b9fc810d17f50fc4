// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month.h"

/// The month as a coordinator signed it, and what came after (handbook 7.2, 8.5). Pure.
namespace mk::registry {

inline constexpr std::string_view kReviewedMonth = "reviewed month";

/// Whether something of that time on that ward belongs to a signed month.
bool concerns(const acts::ReviewSigned& review, base::Moment at, const base::WardId& ward, const Zone& zone);

/// errors  Refused: not a coordinator, a month that was not over at the signing; BadInput: no month
base::Done maySign(const acts::ReviewSigned& review, Role role, const Zone& zone);

/// An entry that came after a signature and concerns its month.
struct LaterEntry {
    base::Seq seq;
    base::Moment recordedAt;
    std::string act, subject, person;
};

/// One signature with what is left of it.
struct SignedReview {
    Record<acts::ReviewSigned> signature;
    std::string name;              ///< of the person; the id where none is on record
    base::Moment signedAt;         ///< when the journal took it
    bool figuresConfirmed = false; ///< the figures as of the cut-off, computed again, are those that were signed
    bool asSigned = false;         ///< and nothing recorded since has changed or touched them
    std::vector<LaterEntry> later;
    std::optional<base::Seq> supersededBy; ///< a newer signature for the same month and ward

    std::string content() const { return asSigned ? "as signed" : "data changed since review"; }
};

} // namespace mk::registry
