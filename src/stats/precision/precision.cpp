// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/precision.h"

#include "stats/basics/distributions.h"
#include "stats/basics/group_means.h"
#include "stats/basics/input_checks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>

namespace mk::stats {

namespace {

enum PrecisionLine : std::size_t { kDayLine, kRunLine, kErrorLine, kPrecisionLines };
using PrecisionLines = std::array<long double, kPrecisionLines>;

/// Runs numbered through all days; the day of each.
struct RunsOfDays {
    std::vector<std::size_t> runOfValue;
    std::vector<std::size_t> dayOfRun;
};

RunsOfDays runsOfDays(const PrecisionData& data)
{
    RunsOfDays runs;
    std::map<std::pair<std::size_t, std::size_t>, std::size_t> known;
    for (std::size_t i = 0; i < data.value.size(); ++i) {
        const std::size_t run = data.run.empty() ? 0 : data.run[i];
        const auto [at, isNew] = known.try_emplace({ data.day[i], run }, known.size());
        if (isNew)
            runs.dayOfRun.push_back(data.day[i]);
        runs.runOfValue.push_back(at->second);
    }
    return runs;
}

/// Sums of squares and the numbers from which their expectations are made; N the number of results.
/// runSquares   sum over runs of n_ij^2 / n_i;  runsOfAll   sum over runs of n_ij^2 / N;  daysOfAll   sum over days of n_i^2 / N
struct NestedSums {
    std::array<std::size_t, kPrecisionLines> df {};
    PrecisionLines ss {};
    long double n = 0;
    long double mean = 0;
    long double runSquares = 0;
    long double runsOfAll = 0;
    long double daysOfAll = 0;
};

NestedSums nestedSums(const PrecisionData& data, const RunsOfDays& runs, const GroupMeans& ofDay, const GroupMeans& ofRun)
{
    NestedSums sums;
    sums.n = static_cast<long double>(data.value.size());
    sums.mean = meanOfGroups(ofDay);
    sums.df = { ofDay.n.size() - 1, ofRun.n.size() - ofDay.n.size(), data.value.size() - ofRun.n.size() };
    for (std::size_t run = 0; run < ofRun.n.size(); ++run) {
        const auto n = static_cast<long double>(ofRun.n[run]);
        const std::size_t day = runs.dayOfRun[run];
        const long double apart = ofRun.mean[run] - ofDay.mean[day];
        sums.ss[kRunLine] += n * apart * apart;
        sums.runSquares += n * n / static_cast<long double>(ofDay.n[day]);
        sums.runsOfAll += n * n / sums.n;
    }
    for (std::size_t day = 0; day < ofDay.n.size(); ++day) {
        const auto n = static_cast<long double>(ofDay.n[day]);
        const long double apart = ofDay.mean[day] - sums.mean;
        sums.ss[kDayLine] += n * apart * apart;
        sums.daysOfAll += n * n / sums.n;
    }
    sums.ss[kErrorLine] = squaresWithin(runs.runOfValue, ofRun, data.value, data.value.front());
    return sums;
}

/// Each component as a combination of the three mean squares.
/// E SS(error) = df s2;  E SS(run) = df s2 + (N - runSquares) s2(run);
/// E SS(day) = df s2 + (runSquares - runsOfAll) s2(run) + (N - daysOfAll) s2(day)
std::array<PrecisionLines, kPrecisionLines> componentWeights(const NestedSums& sums)
{
    std::array<PrecisionLines, kPrecisionLines> weights {};
    const auto df = [&](PrecisionLine line) { return static_cast<long double>(sums.df[line]); };
    weights[kErrorLine][kErrorLine] = 1;
    if (sums.df[kRunLine] > 0) {
        const long double perRun = sums.n - sums.runSquares;
        weights[kRunLine][kRunLine] = df(kRunLine) / perRun;
        weights[kRunLine][kErrorLine] = -df(kRunLine) / perRun;
    }
    if (sums.df[kDayLine] > 0) {
        const long double perDay = sums.n - sums.daysOfAll;
        const long double runInDay = sums.df[kRunLine] > 0 ? sums.runSquares - sums.runsOfAll : 0.0L;
        weights[kDayLine][kDayLine] = df(kDayLine) / perDay;
        weights[kDayLine][kRunLine] = -runInDay * weights[kRunLine][kRunLine] / perDay;
        weights[kDayLine][kErrorLine] = -(df(kDayLine) + runInDay * weights[kRunLine][kErrorLine]) / perDay;
    }
    return weights;
}

long double meanSquare(const NestedSums& sums, std::size_t line)
{
    return sums.df[line] == 0 ? 0.0L : sums.ss[line] / static_cast<long double>(sums.df[line]);
}

long double combined(const NestedSums& sums, const PrecisionLines& weights)
{
    long double sum = 0;
    for (std::size_t line = 0; line < kPrecisionLines; ++line)
        sum += weights[line] * meanSquare(sums, line);
    return sum;
}

std::optional<double> cvOf(long double sd, long double mean)
{
    if (mean == 0)
        return std::nullopt;
    return static_cast<double>(100 * sd / mean);
}

PrecisionComponent precisionComponent(const NestedSums& sums, PrecisionLine line, const PrecisionLines& weights, long double mean)
{
    const long double raw = combined(sums, weights);
    const long double variance = std::max(raw, 0.0L);
    PrecisionComponent component;
    component.df = sums.df[line];
    component.ss = static_cast<double>(sums.ss[line]);
    component.ms = static_cast<double>(meanSquare(sums, line));
    component.varianceRaw = static_cast<double>(raw);
    component.variance = static_cast<double>(variance);
    component.sd = static_cast<double>(std::sqrt(variance));
    component.cvPercent = cvOf(std::sqrt(variance), mean);
    return component;
}

/// Satterthwaite: (sum a_i MS_i)^2 / sum (a_i MS_i)^2 / df_i
std::optional<double> satterthwaite(const NestedSums& sums, const PrecisionLines& weights)
{
    long double spread = 0;
    for (std::size_t line = 0; line < kPrecisionLines; ++line) {
        const long double part = weights[line] * meanSquare(sums, line);
        if (sums.df[line] > 0)
            spread += part * part / static_cast<long double>(sums.df[line]);
    }
    const long double whole = combined(sums, weights);
    if (!(spread > 0) || !(whole > 0))
        return std::nullopt;
    return static_cast<double>(whole * whole / spread);
}

WithinLaboratory withinLaboratory(
    const NestedSums& sums, const std::array<PrecisionLines, kPrecisionLines>& weights, long double mean, double confidence)
{
    PrecisionLines kept {};
    for (const PrecisionLines& component : weights) {
        if (combined(sums, component) <= 0)
            continue;
        for (std::size_t line = 0; line < kPrecisionLines; ++line)
            kept[line] += component[line];
    }
    const long double variance = combined(sums, kept);
    WithinLaboratory within;
    within.variance = static_cast<double>(variance);
    within.sd = static_cast<double>(std::sqrt(std::max(variance, 0.0L)));
    within.cvPercent = cvOf(std::sqrt(std::max(variance, 0.0L)), mean);
    within.df = satterthwaite(sums, kept);
    if (within.df)
        within.sdCi = sdInterval(within.sd, *within.df, confidence);
    return within;
}

base::Done checkPrecisionInput(const PrecisionData& data, double confidence)
{
    if (const auto checked = checkConfidence(confidence); !checked)
        return checked.error();
    if (data.day.size() != data.value.size() || (!data.run.empty() && data.run.size() != data.value.size()))
        return base::badInput("days, runs and values differ in number; give each value its day and run");
    if (const auto numbers = checkNumbers(data.value, Numbers::Values); !numbers)
        return numbers.error();
    if (*std::ranges::max_element(data.day) >= data.value.size())
        return base::badInput("a day number has no value; number the days without gaps");
    return {};
}

base::Done checkPrecisionDesign(const PrecisionData& data, const GroupMeans& ofDay, const GroupMeans& ofRun)
{
    if (std::ranges::find(ofDay.n, std::size_t { 0 }) != ofDay.n.end())
        return base::badInput("a day number has no value; number the days without gaps");
    if (ofRun.n.size() < data.value.size())
        return {};
    if (ofDay.n.size() < data.value.size())
        return base::badInput("no run holds two results, so repeatability cannot be told; give replicates, or leave the run column out");
    return base::badInput("no day holds two results, so repeatability cannot be told; give replicates of a day");
}

bool allEqual(const std::vector<std::size_t>& numbers)
{
    return std::ranges::all_of(numbers, [&](std::size_t number) { return number == numbers.front(); });
}

bool isBalanced(const RunsOfDays& runs, const GroupMeans& ofDay, const GroupMeans& ofRun)
{
    std::vector<std::size_t> runsInDay(ofDay.n.size());
    for (const std::size_t day : runs.dayOfRun)
        ++runsInDay[day];
    return allEqual(runsInDay) && allEqual(ofRun.n);
}

} // namespace

base::Result<Precision> nestedPrecision(const PrecisionData& data, double confidence)
{
    if (const auto input = checkPrecisionInput(data, confidence); !input)
        return input.error();
    const RunsOfDays runs = runsOfDays(data);
    const double centre = data.value.front();
    const GroupMeans ofDay = groupMeans(data.day, *std::ranges::max_element(data.day) + 1, data.value, centre);
    const GroupMeans ofRun = groupMeans(runs.runOfValue, runs.dayOfRun.size(), data.value, centre);
    if (const auto design = checkPrecisionDesign(data, ofDay, ofRun); !design)
        return design.error();

    const NestedSums sums = nestedSums(data, runs, ofDay, ofRun);
    const auto weights = componentWeights(sums);
    const long double shift = static_cast<long double>(data.origin) + centre;
    const long double mean = shift + sums.mean;
    Precision precision;
    precision.n = data.value.size();
    precision.runs = ofRun.n.size();
    precision.balanced = isBalanced(runs, ofDay, ofRun);
    precision.mean = static_cast<double>(mean);
    precision.repeatability = precisionComponent(sums, kErrorLine, weights[kErrorLine], mean);
    if (!std::isfinite(precision.repeatability.ss) || !std::isfinite(static_cast<double>(sums.ss[kRunLine] + sums.ss[kDayLine])))
        return tooFarApart();
    precision.repeatabilitySdCi = sdInterval(precision.repeatability.sd, static_cast<double>(precision.repeatability.df), confidence);
    if (sums.df[kRunLine] > 0)
        precision.betweenRun = precisionComponent(sums, kRunLine, weights[kRunLine], mean);
    if (sums.df[kDayLine] > 0) {
        precision.betweenDay = precisionComponent(sums, kDayLine, weights[kDayLine], mean);
        precision.withinLaboratory = withinLaboratory(sums, weights, mean, confidence);
    }
    for (const long double dayMean : ofDay.mean)
        precision.dayMeans.push_back(static_cast<double>(shift + dayMean));
    return precision;
}

} // namespace mk::stats
