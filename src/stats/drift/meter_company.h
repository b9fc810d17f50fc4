// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/drift/own_usual.h"

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

namespace mk::stats {

inline constexpr std::int64_t kCompanyMs = std::int64_t(7) * 24 * 60 * 60 * 1000; ///< so long after its newest set a meter is company

/// Numbers in order, so that the middle one is found without a walk over all.
class SortedValues {
public:
    void insert(double value);
    void erase(double value);
    /// Nothing of an empty list.
    std::optional<double> middle() const;
    std::size_t size() const { return m_values.size(); }

private:
    std::vector<double> m_values;
};

/// Where a meter stands after its newest counted set, as the others on its lots see it.
/// at          when that set ended, milliseconds
/// stripLot    with the model: who is on one stands in one company; controlLot   empty where the level was never counted
/// slow        the slow mean in percent; moved   in SD, where the meter has five controls
struct MeterStanding {
    struct Level {
        std::string controlLot {};
        double slow = 0;
        std::optional<double> moved {};
        friend bool operator==(const Level&, const Level&) = default;
    };
    std::int64_t at = 0;
    std::string stripLot {};
    std::array<std::optional<Level>, kUsualLevels> levels {};
};

/// How a level stands after its newest control; nothing where it has none.
std::optional<MeterStanding::Level> standingOf(
    const UsualLevel& level, const std::string& controlLot, double cv, const UsualSettings& settings);

/// Meters by where they stand, of the last seven days. One meter stands on one strip lot: that of its newest set.
class MeterCompany {
public:
    /// meters  of the group, this one counted, from which on its middle one is a measure
    explicit MeterCompany(std::int64_t meters = 5) : m_fewest(meters) { }

    void stand(const std::string& meter, MeterStanding standing);
    void leave(const std::string& meter);
    /// Leaves out those whose newest set lies more than seven days before that moment.
    void expire(std::int64_t now);

    /// The middle one of the slow means on that strip lot; 0 where too few meters stand there. This meter has left before.
    double slowOfOthers(const std::string& stripLot, std::size_t level) const;
    /// The middle one of the moves on both lots, SD; nothing below two.
    std::optional<double> moveOfOthers(const std::string& stripLot, const std::string& controlLot, std::size_t level) const;
    /// How many others stand on that strip lot with a slow mean of the level.
    std::size_t othersOn(const std::string& stripLot, std::size_t level) const;

private:
    using Key = std::pair<std::string, std::size_t>; ///< lots, level
    void change(const MeterStanding& standing, void (SortedValues::*how)(double));

    std::int64_t m_fewest;
    std::map<std::string, MeterStanding> m_meters;
    std::multimap<std::int64_t, std::string> m_byTime;
    std::map<Key, SortedValues> m_slow, m_moved;
};

} // namespace mk::stats
