// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// The second person (handbook 17.12): what waits for one, and who that may be.
namespace mk::registry::desk {

/// Competent, or a coordinator; with an open account, and without a part in it.
/// model  none: it is about no meter
base::Done maySecond(
    const Desk& desk, const base::OperatorId& who, const std::optional<base::ModelId>& model, const std::vector<std::string>& parts);
/// Who has a part in a correction: who ran it, entered it, corrects it, types it, and whom it names.
base::Done maySecondCorrection(
    const Desk& desk, const base::OperatorId& who, const acts::EntryCorrected& a, const std::string& typedBy, const RunRecord& run);
/// Whom the correction itself names as the second person.
base::Done mayBeConfirmedBy(const Desk& desk, const acts::EntryCorrected& act, const RunRecord& run);
/// Who has a part in an annulment: whoever is named in what it annuls, entered it, annuls it, or types that.
base::Done maySecondAnnulment(
    const Desk& desk, const base::OperatorId& who, const acts::EntryAnnulled& a, const std::string& typedBy, const KnownEntry& target);
base::Result<bool> isConfirmed(const Desk& desk, base::Seq mending);

/// Says of itself whether it waits for a second person.
base::Done complete(const Desk& desk, acts::EntryCorrected& act);
base::Done complete(const Desk& desk, acts::EntryAnnulled& act);
bool waitsForSecond(const Act& act);
/// Nobody signs a meter's return while what they corrected of it waits to be confirmed.
base::Done mayNotSignOwnMending(const Desk& desk, const acts::ReturnStep& step);

} // namespace mk::registry::desk
