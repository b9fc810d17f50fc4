// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/moment.h"

#include <QTimeZone>

#include <string>

namespace mk::registry {

/// The registry's time zone: gives wall times their meaning, and instants their day.
class Zone {
public:
    /// errors BadInput for a name that the machine's zone tables do not hold
    static base::Result<Zone> named(const std::string& name);
    static Zone utc();

    const std::string& name() const noexcept { return m_name; }

    enum class Kind { Unique, Twice, Never };
    struct Resolved {
        Kind kind;
        base::Moment first;  ///< the only one, or the earlier of two
        base::Moment second; ///< the later of two; else the same
    };
    /// What a wall clock reading means here: once, twice (autumn) or never (spring).
    Resolved resolve(base::WallTime wall) const;

    base::Moment at(std::int64_t utcMs) const;
    base::Date dateOf(base::Moment moment) const;
    /// The first instant of that day, also where the clock skips midnight.
    base::Moment startOf(base::Date date) const;
    /// The first instant after that day: what holds through the day ends here.
    base::Moment endOf(base::Date date) const { return startOf(base::addDays(date, 1)); }

private:
    Zone(std::string name, QTimeZone zone) : m_name(std::move(name)), m_zone(std::move(zone)) { }
    int offsetAt(std::int64_t utcMs) const;

    std::string m_name;
    QTimeZone m_zone;
};

} // namespace mk::registry
