// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/comparison/calibration.h"

#include "registry/comparison/comparison.h"

#include <algorithm>

namespace mk::registry {

CalibrationJudged judgeCalibration(const acts::CalibrationVerified& verified, const Policy& policy)
{
    CalibrationJudged judged;
    judged.points = { { "low", verified.lowAssigned, verified.lowResult }, { "mid", verified.midAssigned, verified.midResult },
        { "high", verified.highAssigned, verified.highResult } };
    for (auto& point : judged.points)
        point.inside = insideTier(policy.comparisonTiers.front(), point.result, point.assigned, verified.unit);
    judged.passed = std::ranges::all_of(judged.points, &CalibrationPoint::inside);
    return judged;
}

} // namespace mk::registry
