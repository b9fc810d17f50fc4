// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Proficiency samples and calibration verifications.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::EqaReceived& act);
base::Done admit(const Desk& desk, const acts::EqaReturned& act);
base::Done admit(const Desk& desk, const acts::EqaScored& act);
base::Done admit(const Desk& desk, const acts::CalibrationVerified& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::EqaReturned& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::EqaScored& act);

} // namespace mk::registry::desk
