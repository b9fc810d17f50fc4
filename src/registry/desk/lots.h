// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Lots and ranges. What a person records meets the handbook's demands (2.2 to 2.8, 6.1); what is taken over is stored as it comes.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::StripLotReceived& act);
base::Done admit(const Desk& desk, const acts::RangeAssigned& act);
base::Done admit(const Desk& desk, const acts::LotEvent& act);
base::Done admit(const Desk& desk, const acts::ShipmentReceived& act);
base::Done admit(const Desk& desk, const acts::RangeConfirmed& act);
base::Done admit(const Desk& desk, const acts::LotControlChecked& act);
base::Done admit(const Desk& desk, const acts::LotSampleCompared& act);
/// What a person types judges later runs only; a nurse's waits for a second person (handbook 17.12, 17.16).
base::Done complete(const Desk& desk, acts::RangeAssigned& act);
base::Done complete(const Desk& desk, acts::RangeConfirmed& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::RangeAssigned& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::LotEvent& act);

} // namespace mk::registry::desk
