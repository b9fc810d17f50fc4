// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/sigma.h"

#include "stats/basics/distributions.h"

#include <cassert>
#include <cmath>

namespace mk::stats {

namespace {

RuleChoice twoLevelChoice(double sigma)
{
    if (sigma >= 6)
        return { { Rule::OneThreeS }, 2, 1 };
    if (sigma >= 5)
        return { { Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS }, 2, 1 };
    if (sigma >= 4)
        return { { Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS, Rule::FourOneS }, 2, 2 };
    return { { Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS, Rule::FourOneS, Rule::EightX }, 2, 4 };
}

RuleChoice threeLevelChoice(double sigma)
{
    if (sigma >= 6)
        return { { Rule::OneThreeS }, 3, 1 };
    if (sigma >= 5)
        return { { Rule::OneThreeS, Rule::TwoOfThreeTwoS, Rule::RFourS }, 3, 1 };
    if (sigma >= 4)
        return { { Rule::OneThreeS, Rule::TwoOfThreeTwoS, Rule::RFourS, Rule::ThreeOneS }, 3, 1 };
    return { { Rule::OneThreeS, Rule::TwoOfThreeTwoS, Rule::RFourS, Rule::ThreeOneS, Rule::SixX }, 3, 2 };
}

} // namespace

base::Result<SigmaMetric> sigmaMetric(double allowable, double bias, double cv)
{
    if (!(std::isfinite(allowable) && allowable > 0))
        return base::badInput("the allowable error must be a number above 0");
    if (!std::isfinite(bias))
        return base::badInput("the bias must be a number");
    if (!(std::isfinite(cv) && cv > 0))
        return base::badInput("the CV must be a number above 0; without spread between the results there is no sigma");
    const double sigma = (allowable - std::abs(bias)) / cv;
    if (!std::isfinite(sigma) || !std::isfinite(allowable / cv) || !std::isfinite(bias / cv))
        return base::badInput("allowable error, bias and CV are too far apart to compute with; look for a slip in them");
    return SigmaMetric { sigma, sigma - kCriticalShiftTail, sigma / kCriticalRandomTail };
}

RuleChoice rulesForSigma(double sigma, std::size_t levels)
{
    assert(levels == 2 || levels == 3);
    return levels == 3 ? threeLevelChoice(sigma) : twoLevelChoice(sigma);
}

double chanceBeyondAllowable(double a, double shift)
{
    return normalAbove(a - shift) + normalAbove(a + shift);
}

double defectsPerMillion(double sigma, double shift)
{
    return 1e6 * normalAbove(sigma - shift);
}

} // namespace mk::stats
