// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"

namespace mk::registry {

struct CalibrationPoint {
    std::string_view name; ///< low, mid, high
    base::Decimal assigned, result;
    bool inside = false;
};
struct CalibrationJudged {
    std::vector<CalibrationPoint> points;
    bool passed = false;
};

/// Low, mid and high of the measuring range, each inside the comparison limits of the policy in force then (handbook 4.1, D13).
CalibrationJudged judgeCalibration(const acts::CalibrationVerified& verified, const Policy& policy);

} // namespace mk::registry
