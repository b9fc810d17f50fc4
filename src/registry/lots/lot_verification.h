// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"

/// What a new strip lot must show before it may be opened for patients (handbook 2.3).
namespace mk::registry {

/// The range in force of one control lot on the strip lot, and whether a second person typed the same.
struct VerifiedRange {
    RangeRecord range;
    bool confirmed = false;
};

struct LotVerification {
    std::string lot;
    std::vector<VerifiedRange> ranges;
    /// Each control run on the lot, with the control lot of its vial.
    std::vector<std::pair<Record<acts::LotControlChecked>, base::ControlLotId>> controls;
    std::vector<Record<acts::LotSampleCompared>> samples;
    std::optional<std::string> noSamples; ///< why no blood was compared
};

/// Is the new lot's reading of the same blood within the policy's limit of the reading on the lot in use?
bool withinSampleLimit(const acts::LotSampleCompared& sample, const Policy& policy);

/// Everything that still stands between the lot and its release, a plain line each; empty: it may be signed.
std::vector<std::string> missingForRelease(const LotVerification& verification, const Policy& policy);

/// Does a second typing agree? errors Refused, naming both
base::Done confirms(const acts::RangeConfirmed& confirmation, const RangeRecord& range, const std::string& typedBy);

} // namespace mk::registry
