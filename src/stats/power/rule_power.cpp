// SPDX-License-Identifier: GPL-3.0-or-later
#include "stats/power/rule_power.h"

#include "base/number_text.h"
#include "stats/power/rule_chain_walk.h"
#include "stats/power/rule_simulation.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace mk::stats {

namespace {

constexpr std::size_t kTrendResults = 7;

std::string powerNumber(double number)
{
    return base::significantText(number, 6);
}

base::Done checkPower(const RuleSettings& settings, std::span<const MethodError> errors)
{
    if (settings.rules.empty())
        return base::badInput("there is no rule that rejects; name at least one");
    if (settings.levels < 1 || settings.levels > kMostPowerLevels)
        return base::badInput("the number of levels must be 1 to %1", kMostPowerLevels);
    for (const MethodError& error : errors) {
        if (!(std::abs(error.shift) <= kLargestPowerShift))
            return base::badInput("a shift of %1 SD cannot be computed; give it between -%2 and %2", powerNumber(error.shift),
                powerNumber(kLargestPowerShift));
        if (!(error.random > 0 && error.random <= kLargestPowerRandom))
            return base::badInput("a random error of %1 times the SD cannot be computed; give it above 0, up to %2",
                powerNumber(error.random), powerNumber(kLargestPowerRandom));
    }
    return {};
}

bool readsTrend(const RuleSettings& settings)
{
    return std::ranges::find(settings.rules, Rule::SevenT) != settings.rules.end();
}

/// The chain that gives exact answers for so many sets, where there is one.
std::optional<RuleChain> powerChain(RuleSettings settings, std::size_t sets, AfterAlarm after = AfterAlarm::Fresh)
{
    if (readsTrend(settings) && sets >= kTrendResults)
        return std::nullopt;
    std::erase(settings.rules, Rule::SevenT);
    return ruleChain(settings, sets, after);
}

} // namespace

base::Result<std::vector<PowerFigure>> rejectionChances(const RuleSettings& settings, std::span<const MethodError> errors, std::size_t sets)
{
    if (const auto checked = checkPower(settings, errors); !checked)
        return checked.error();
    if (sets < 1 || sets > kMostPowerSets)
        return base::badInput("the number of sets must be 1 to %1", kMostPowerSets);
    const auto chain = powerChain(settings, sets);
    std::vector<PowerFigure> chances;
    for (const MethodError& error : errors) {
        if (chain) {
            chances.push_back({ chainRejection(*chain, error, sets), std::nullopt });
        } else {
            const Simulated chance = simulatedRejection(settings, error, sets);
            chances.push_back({ chance.value, chance.standardError });
        }
    }
    return chances;
}

base::Result<std::vector<std::optional<PowerFigure>>> averageRunLengths(const RuleSettings& settings, std::span<const MethodError> errors)
{
    if (const auto checked = checkPower(settings, errors); !checked)
        return checked.error();
    const auto chain = powerChain(settings, kAnyNumberOfSets);
    std::vector<std::optional<PowerFigure>> lengths;
    for (const MethodError& error : errors) {
        if (!chain) {
            const Simulated length = simulatedRunLength(settings, error);
            lengths.push_back(PowerFigure { length.value, length.standardError });
        } else if (const auto length = chainRunLength(*chain, error)) {
            lengths.push_back(PowerFigure { *length, std::nullopt });
        } else {
            lengths.push_back(std::nullopt);
        }
    }
    return lengths;
}

base::Result<std::vector<PowerFigure>> firingShares(const RuleSettings& settings, std::span<const MethodError> errors)
{
    if (const auto checked = checkPower(settings, errors); !checked)
        return checked.error();
    const auto chain = powerChain(settings, kAnyNumberOfSets, AfterAlarm::GoOn);
    std::vector<PowerFigure> shares;
    for (const MethodError& error : errors) {
        if (chain) {
            shares.push_back({ chainFiringShare(*chain, error), std::nullopt });
        } else {
            const Simulated share = simulatedFiringShare(settings, error);
            shares.push_back({ share.value, share.standardError });
        }
    }
    return shares;
}

std::optional<std::size_t> exactCombinations(const RuleSettings& settings, std::size_t sets)
{
    const auto chain = powerChain(settings, sets);
    if (!chain)
        return std::nullopt;
    return std::max(chain->verdicts.size(), chain->steps.size());
}

double daysUntilFound(double arlSets, double setsPerDay)
{
    return (arlSets - 0.5) / setsPerDay;
}

double falseAlarms(double meters, double setsPerDay, double days, double arlInControl)
{
    return meters * setsPerDay * days / arlInControl;
}

double falseAlarmsGoingOn(double meters, double setsPerDay, double days, double firingShare)
{
    return meters * setsPerDay * days * firingShare;
}

} // namespace mk::stats
