// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Acts that change or close an earlier entry: corrections, annulments, confirmations.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::EntryCorrected& act);
base::Done admit(const Desk& desk, const acts::EntryAnnulled& act);
base::Done admit(const Desk& desk, const acts::CorrectionConfirmed& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::EntryCorrected& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::EntryAnnulled& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::CorrectionConfirmed& act);

/// Who is the second person of something: competent, or a coordinator; with an open account, and without a part in it (handbook 17.12).
/// model  none: it is about no meter
base::Done maySecond(
    const Desk& desk, const base::OperatorId& who, const std::optional<base::ModelId>& model, const std::vector<std::string>& parts);
/// Says whether it waits for a second person (handbook 17.12).
base::Done complete(const Desk& desk, acts::EntryCorrected& act);
base::Done complete(const Desk& desk, acts::EntryAnnulled& act);
bool waitsForSecond(const Act& act);
/// Nobody signs a meter's return while what they corrected of it waits to be confirmed.
base::Done mayNotSignOwnMending(const Desk& desk, const acts::ReturnStep& step);

/// Corrections and annulments that better something, or were taken over, and that no second person has confirmed: the review lists them.
base::Result<std::vector<KnownEntry>> unconfirmedMendings(Facts& facts);

/// What an annulment took back.
/// errors  Damaged where the entry is not there
base::Result<KnownEntry> takenBackBy(Facts& facts, const acts::EntryAnnulled& annulment);

} // namespace mk::registry::desk
