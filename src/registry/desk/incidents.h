// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Incidents and notes of a meter.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::IncidentReported& act);
base::Done admit(const Desk& desk, const acts::NoteAdded& act);
base::Done follow(const Desk& desk, base::Seq seq, const acts::IncidentReported& act);

} // namespace mk::registry::desk
