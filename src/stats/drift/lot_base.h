// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "stats/drift/own_usual.h"

#include <map>
#include <optional>
#include <string>
#include <utility>

namespace mk::stats {

/// The defaults are those of handbook 6.5, step 1.
/// inUse, frozen   from so many results on it serves, and from so many it stands; meters   that they must come from
struct BaseSettings {
    std::int64_t inUse = 20;
    std::int64_t frozen = 60;
    std::int64_t meters = 3;
};

/// What the group of meters reads on one pair of lots at one level: the middle one of the meters' means, each freed of what the meter
/// usually reads off. In the units of the results.
class LotBase {
public:
    explicit LotBase(const BaseSettings& settings) : m_settings(settings) { }

    /// value  a counted result, a number
    /// level  the meter's level as it stood before the set
    void add(const std::string& meter, double value, const UsualLevel& level, const UsualSettings& settings);

    /// It is on record so, and takes nothing more in.
    void freeze(double value, double cvPercent) { m_frozen = { value, cvPercent }; }
    /// Nothing until it serves.
    std::optional<double> value() const;
    /// The SD of one result within the meters, in percent of the base; nothing below 20 degrees of freedom.
    std::optional<double> cvPercent() const;
    bool isFrozen() const;
    std::int64_t results() const { return m_results; }
    std::size_t meters() const { return m_meters.size(); }

private:
    struct Sums {
        std::int64_t n = 0;
        double mean = 0, squares = 0;
    };
    BaseSettings m_settings;
    std::map<std::string, Sums> m_meters;
    std::int64_t m_results = 0;
    std::optional<std::pair<double, double>> m_frozen; ///< value, SD in percent
};

} // namespace mk::stats
