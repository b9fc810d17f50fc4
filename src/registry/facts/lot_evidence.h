// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/facts/facts.h"
#include "registry/lots/lot_verification.h"

namespace mk::registry {

/// What is there for the release of a strip lot.
base::Result<LotVerification> verificationOf(Facts& facts, const base::StripLotId& lot, base::Moment at);

} // namespace mk::registry
