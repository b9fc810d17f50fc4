// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Nonconformities: what opens one by itself, and what their steps must satisfy.
namespace mk::registry::desk {

base::Done admit(const Desk& desk, const acts::NcOpened& act);
base::Done admit(const Desk& desk, const acts::NcStep& act);

/// Opens a nonconformity by itself, unless one of that type and subject is being worked on. In `opened`: type, subject, description,
/// because and at. type  a reason code
base::Done openNonconformity(const Desk& desk, acts::NcOpened opened);
/// The meters on a lot moved together: one nonconformity of the lot when that is first seen, another when it stops them.
base::Done followLotEffect(const Desk& desk, const SetRecord& set);
/// A withdrawal for a cause that the handbook calls a nonconformity (7.1) opens one.
base::Done followStop(const Desk& desk, base::Seq seq, const acts::MeterStopped& stopped);

} // namespace mk::registry::desk
