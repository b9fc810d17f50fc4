// SPDX-License-Identifier: GPL-3.0-or-later
// Drift by EWMA, CUSUM and the long rules on the group's targets: all there was before meters had usual values of their own.
#include "registry/control/control_scores.h"
#include "registry/control/control_set.h"
#include "stats/basics/summary.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

namespace {

bool beyondHalfLimit(double bias, double mean, base::GlucoseUnit unit, const Policy& policy)
{
    const bool mg = unit == base::GlucoseUnit::MgPerDl;
    const double threshold = (mg ? policy.limitThreshold : policy.limitThresholdMmol).toDouble();
    const double limit = mean < threshold ? (mg ? policy.limitBelow : policy.limitBelowMmol).toDouble()
                                          : mean * policy.limitPercent.toDouble() / 100.0;
    return std::abs(bias) > limit / 2.0;
}

/// The median of the deviations: one wild result, repeated and accepted, is no drift; fewer than three say nothing of the size.
std::optional<acts::LevelBias> biasOf(const std::vector<CountedResult>& results, Level level, base::GlucoseUnit unit, const Policy& policy)
{
    constexpr std::int64_t kFewest = 3;
    std::vector<double> deviations, percents;
    double means = 0;
    for (const auto& result : results) {
        if (result.level != level)
            continue;
        deviations.push_back(result.deviation);
        percents.push_back(100.0 * result.deviation / result.mean);
        means += result.mean;
    }
    if (deviations.empty())
        return std::nullopt;
    acts::LevelBias bias { level };
    bias.n = static_cast<std::int64_t>(deviations.size());
    bias.bias = stats::median(deviations);
    bias.percent = stats::median(percents);
    bias.beyondHalfLimit = bias.n >= kFewest && beyondHalfLimit(bias.bias, means / static_cast<double>(bias.n), unit, policy);
    return bias;
}

} // namespace

std::optional<base::Moment> MeterSeries::beganBy(const stats::FiredRule& fired, base::Moment now) const
{
    std::deque<base::Moment> times = fired.level ? m_levelTimes[*fired.level] : m_setTimes;
    times.push_back(now);
    const std::size_t perSet = fired.level ? 1 : std::max<std::size_t>(1, m_policy->requiredLevels.size());
    // As far back as the counters reach, in memory as after reading them from the index.
    const std::size_t sets = std::clamp<std::size_t>(fired.points / perSet, 1, kLongestPattern);
    return times[times.size() - std::min(sets, times.size())];
}

acts::DriftFinding MeterSeries::driftAfter(const acts::SetJudged& set, std::span<const RunRecord> runs,
    std::span<const stats::FiredRule> fired, const std::function<std::vector<CountedResult>(base::Moment)>& countedSince) const
{
    acts::DriftFinding found = m_drift;
    found.flags.clear();
    found.bias.clear();
    found.began.reset();
    found.beyondHalfLimit = false;
    found.counted = true;

    std::vector<double> z;
    for (const auto& score : countedScores(runs))
        if (score.score.isNumber())
            z.push_back(score.score.z());
    if (!z.empty()) {
        stats::DriftState state { found.ewma, found.n, found.cusumHigh, found.cusumLow };
        const stats::DriftSignals signal = stats::advance(state, stats::combinedScore(z), m_policy->drift);
        found.ewma = state.ewma;
        found.n = state.n;
        found.cusumHigh = state.cusumHigh;
        found.cusumLow = state.cusumLow;
        const auto since = [&](double sum, std::optional<base::Moment>& from) {
            if (sum <= 0)
                from.reset();
            else if (!from)
                from = set.lastAt;
        };
        since(found.cusumHigh, found.highSince);
        since(found.cusumLow, found.lowSince);
        const bool marks = m_policy->driftMethod == DriftMethod::OwnUsual;
        const auto note = [&](bool fires, const char* what, const std::optional<base::Moment>& from) {
            if (!fires || (marks && !(m_policy->driftRules.ewma && std::string_view(what) == "EWMA")))
                return;
            appendAll(found.flags, { what });
            const base::Moment start = from.value_or(set.lastAt);
            found.began = found.began ? std::min(*found.began, start) : start;
        };
        note(signal.ewmaHigh, "EWMA", found.highSince);
        note(signal.ewmaLow, "EWMA", found.lowSince);
        note(signal.cusumHigh, "CUSUM", found.highSince);
        note(signal.cusumLow, "CUSUM", found.lowSince);
    }
    for (const auto& rule : fired) {
        if (!m_policy->raisesDrift(rule.rule))
            continue;
        appendAll(found.flags, { std::string(stats::name(rule.rule)) });
        const auto start = beganBy(rule, set.lastAt);
        found.began = found.began ? std::min(*found.began, *start) : start;
    }
    if (found.flags.empty())
        return found;

    auto results = countedSince(*found.began);
    for (const auto& record : runs) {
        const auto* number = std::get_if<base::Decimal>(&record.run.result);
        if (record.judged.counted && number != nullptr)
            results.push_back(
                { set.lastAt, record.run.level, number->toDouble() - record.judged.mean->toDouble(), record.judged.mean->toDouble() });
    }
    for (const Level level : { Level::Low, Level::Normal, Level::High })
        if (const auto bias = biasOf(results, level, runs.front().run.unit, *m_policy)) {
            found.beyondHalfLimit = found.beyondHalfLimit || bias->beyondHalfLimit;
            found.bias.push_back(*bias);
        }
    return found;
}

} // namespace mk::registry
