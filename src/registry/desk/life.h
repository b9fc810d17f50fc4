// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// The life of a meter: models and enrolment, its file, its acceptance, its movements with their papers, its transfers.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::ModelAdded& act);
base::Done admit(const Desk& desk, const acts::MeterEnrolled& act);
base::Done admit(const Desk& desk, const acts::MeterDescribed& act);
base::Done admit(const Desk& desk, const acts::AcceptanceChecked& act);
base::Done admit(const Desk& desk, const acts::TransferConfirmed& act);
base::Done admit(const Desk& desk, const acts::MeterMoved& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::MeterMoved& act);
base::Done admit(const Desk& desk, const acts::TakenAsItStands& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::TakenAsItStands& act);

} // namespace mk::registry::desk
