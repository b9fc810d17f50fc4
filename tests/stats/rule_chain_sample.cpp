// SPDX-License-Identifier: GPL-3.0-or-later
#include "rule_chain_sample.h"

#include <cmath>
#include <cstdlib>
#include <limits>
#include <random>
#include <sstream>

namespace mk::stats {

namespace {

double plainPhi(double x)
{
    return std::erfc(-x / std::sqrt(2.0)) / 2;
}

struct PlainZone {
    double z = 0;
    double chance = 0;
};

std::vector<PlainZone> plainZones(const MethodError& error, const std::vector<double>& cuts)
{
    std::vector<PlainZone> zones;
    double before = 0;
    for (std::size_t i = 0; i <= cuts.size(); ++i) {
        const double up = i < cuts.size() ? plainPhi((cuts[i] - error.shift) / error.random) : 1;
        const double z = i == 0 ? cuts[0] - 0.5 : (i == cuts.size() ? cuts.back() + 0.5 : (cuts[i - 1] + cuts[i]) / 2);
        zones.push_back({ z, up - before });
        before = up;
    }
    return zones;
}

double firedFrom(
    const ControlSeries& series, std::size_t levels, std::vector<LevelScore> set, std::size_t sets, const std::vector<PlainZone>& zones)
{
    double fired = 0;
    for (const PlainZone& zone : zones) {
        std::vector<LevelScore> longer = set;
        longer.push_back({ set.size(), ControlScore::ofZ(zone.z) });
        if (longer.size() < levels) {
            fired += zone.chance * firedFrom(series, levels, longer, sets, zones);
            continue;
        }
        ControlSeries after = series;
        if (!after.add(longer).empty())
            fired += zone.chance;
        else if (sets > 1)
            fired += zone.chance * firedFrom(after, levels, {}, sets - 1, zones);
    }
    return fired;
}

} // namespace

RuleSettings powerSettings(const std::string& text, std::size_t levels, RangeReading reading)
{
    RuleSettings settings;
    settings.levels = levels;
    settings.rangeReading = reading;
    std::istringstream parts(text);
    for (std::string part; std::getline(parts, part, '/');) {
        const auto rule = ruleNamed(part);
        if (!rule)
            std::abort();
        settings.rules.push_back(*rule);
    }
    return settings;
}

double enumeratedRejection(const RuleSettings& settings, const MethodError& error, std::size_t sets, const std::vector<double>& cuts)
{
    return firedFrom(ControlSeries(settings), settings.levels, {}, sets, plainZones(error, cuts));
}

double drawnRejection(const RuleSettings& settings, const MethodError& error, std::size_t sets, std::size_t series, unsigned seed)
{
    std::mt19937_64 random(seed);
    std::normal_distribution<double> deviate(error.shift, error.random);
    ControlSeries rules(settings);
    std::size_t rejected = 0;
    for (std::size_t i = 0; i < series; ++i) {
        rules.restart();
        bool fired = false;
        for (std::size_t set = 0; set < sets && !fired; ++set) {
            std::vector<LevelScore> scores;
            for (std::size_t level = 0; level < settings.levels; ++level)
                scores.push_back({ level, ControlScore::ofZ(deviate(random)) });
            fired = !rules.add(scores).empty();
        }
        rejected += fired ? 1U : 0U;
    }
    return static_cast<double>(rejected) / static_cast<double>(series);
}

} // namespace mk::stats
