// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/rules/control_limits.h"

#include "stats/basics/distributions.h"
#include "stats/basics/input_checks.h"

#include <cassert>
#include <cmath>
#include <string>

namespace mk::stats {

namespace {

base::Done checkLimitRuns(const Moments& results, std::size_t days, LimitStage stage)
{
    const std::size_t least = stage == LimitStage::Established ? kEstablishedRuns : kInterimRuns;
    if (results.n >= least && days >= least && days <= results.n)
        return {};
    if (days > results.n)
        return base::badInput("%1 results cannot lie on %2 days", results.n, days);
    return stage == LimitStage::Established
        ? base::refused(
            "established limits need %1 results on %1 days; there are %2 on %3. Until then the range is checked", least, results.n, days)
        : base::refused(
            "interim limits need %1 results on %1 days; there are %2 on %3. Until then the range is checked", least, results.n, days);
}

} // namespace

LimitStage limitStageFor(std::size_t runs, std::size_t days) noexcept
{
    if (runs >= kEstablishedRuns && days >= kEstablishedRuns)
        return LimitStage::Established;
    return runs >= kInterimRuns && days >= kInterimRuns ? LimitStage::Interim : LimitStage::Range;
}

base::Result<ControlLimits> interimLimits(const Moments& results, std::size_t days, double formerCvPercent)
{
    if (const auto enough = checkLimitRuns(results, days, LimitStage::Interim); !enough)
        return enough.error();
    if (!(formerCvPercent > 0) || !std::isfinite(formerCvPercent))
        return base::badInput("the CV of the former lot must be above 0 %");
    if (!(results.mean > 0) || !std::isfinite(results.mean))
        return base::badInput("the mean of the results must be above 0 to carry a CV over");
    ControlLimits limits;
    limits.stage = LimitStage::Interim;
    limits.runs = results.n;
    limits.days = days;
    limits.mean = results.mean;
    limits.sd = formerCvPercent / 100 * results.mean;
    return limits;
}

base::Result<ControlLimits> establishedLimits(const Moments& results, std::size_t days, double confidence)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    if (const auto enough = checkLimitRuns(results, days, LimitStage::Established); !enough)
        return enough.error();
    const double sd = sdOf(results).value_or(0);
    if (!(sd > 0) || !std::isfinite(sd) || !std::isfinite(results.mean))
        return base::refused("the results do not vary, and control rules cannot be evaluated with an SD of 0");
    const auto n = static_cast<double>(results.n);
    return ControlLimits { LimitStage::Established, results.n, days, results.mean, sd,
        studentInterval(results.mean, sd / std::sqrt(n), n - 1, confidence), sdInterval(sd, n - 1, confidence) };
}

bool isFinerThanReadings(double sd, double step)
{
    assert(step > 0);
    return sd < step / std::sqrt(12.0);
}

} // namespace mk::stats
