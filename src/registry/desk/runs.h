// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/desk/desk.h"

/// Control runs: what they must satisfy, who is told of whom, and what error codes lead to.
namespace mk::registry::desk {

/// Is everything that a run names on record, and does its set belong to its meter?
/// returns  the runs that the set had before this batch
base::Result<std::vector<RunRecord>> mayRun(const Desk& desk, const acts::ControlRun& run);
base::Result<Admitted> admit(const Desk& desk, const acts::ControlRun& run);
base::Done follow(const Desk& desk, base::Seq seq, const acts::ControlRun& run, Admitted admitted);

/// Can the meter show that result?
base::Done mayShow(const Desk& desk, const base::MeterId& meter, const Reading& result, base::GlucoseUnit unit);
/// So many error codes within the policy's hours hold the meter.
base::Done followErrorCode(const Desk& desk, const base::MeterId& meter, base::Moment at, base::Seq seq);

} // namespace mk::registry::desk
