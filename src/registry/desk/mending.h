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

/// What an annulment took back.
/// errors  Damaged where the entry is not there
base::Result<KnownEntry> takenBackBy(Facts& facts, const acts::EntryAnnulled& annulment);

} // namespace mk::registry::desk
