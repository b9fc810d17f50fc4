// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace mk::stats {

/// Half the width of a two-sided interval in standard errors: the quantile at (1 + confidence) / 2. confidence: strictly between 0 and 1;
/// df: above 0
double normalFactor(double confidence);
double studentFactor(double confidence, double df);

/// Whether a confidence can be computed with: strictly between 0 and 1.
constexpr bool isConfidence(double confidence)
{
    return confidence > 0 && confidence < 1;
}

} // namespace mk::stats
