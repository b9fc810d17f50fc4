// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/precision/anova.h"

#include "stats/basics/distributions.h"
#include "stats/basics/group_means.h"
#include "stats/basics/input_checks.h"

#include <algorithm>
#include <cmath>

namespace mk::stats {

namespace {

base::Done checkAnovaInput(std::span<const std::size_t> group, std::span<const double> values)
{
    if (group.size() != values.size())
        return base::badInput("there are %1 values but %2 groups; give each value its group", values.size(), group.size());
    if (const auto numbers = checkNumbers(values, Numbers::Values); !numbers)
        return numbers.error();
    if (*std::ranges::max_element(group) >= values.size())
        return base::badInput("a group number has no value; number the groups without gaps");
    return {};
}

AnovaSource anovaSource(std::size_t df, long double ss)
{
    return { df, static_cast<double>(ss), static_cast<double>(ss / static_cast<long double>(df)) };
}

void addAnovaRatios(Anova& anova, long double between, long double within)
{
    const long double ratio = between / static_cast<long double>(anova.between.df) * static_cast<long double>(anova.within.df) / within;
    const auto f = static_cast<double>(ratio);
    if (within > 0 && std::isfinite(f)) {
        anova.f = f;
        anova.pValue = fisherAbove(f, static_cast<double>(anova.between.df), static_cast<double>(anova.within.df));
    }
    if (between + within > 0)
        anova.rSquared = static_cast<double>(between / (between + within));
    anova.residualSd = static_cast<double>(std::sqrt(within / static_cast<long double>(anova.within.df)));
}

} // namespace

base::Result<Anova> oneWayAnova(std::span<const std::size_t> group, std::span<const double> values, double origin)
{
    if (const auto input = checkAnovaInput(group, values); !input)
        return input.error();
    const std::size_t groups = *std::ranges::max_element(group) + 1;
    const double centre = values.front();
    const GroupMeans means = groupMeans(group, groups, values, centre);
    if (std::ranges::find(means.n, std::size_t { 0 }) != means.n.end())
        return base::badInput("a group number has no value; number the groups without gaps");
    if (groups < 2)
        return base::badInput("there is only one group; give at least two to compare");
    if (groups == values.size())
        return base::badInput("no group has two values, so nothing tells how far values of one group lie apart; give replicates");

    const long double mean = meanOfGroups(means);
    long double between = 0;
    for (std::size_t g = 0; g < groups; ++g)
        between += static_cast<long double>(means.n[g]) * (means.mean[g] - mean) * (means.mean[g] - mean);
    const long double within = squaresWithin(group, means, values, centre);

    Anova anova;
    anova.between = anovaSource(groups - 1, between);
    anova.within = anovaSource(values.size() - groups, within);
    addAnovaRatios(anova, between, within);
    const long double shift = static_cast<long double>(origin) + centre;
    anova.mean = static_cast<double>(shift + mean);
    for (std::size_t g = 0; g < groups; ++g)
        anova.groups.push_back({ means.n[g], static_cast<double>(shift + means.mean[g]) });
    if (!std::isfinite(anova.between.ss) || !std::isfinite(anova.within.ss) || !std::isfinite(anova.mean))
        return tooFarApart();
    return anova;
}

} // namespace mk::stats
