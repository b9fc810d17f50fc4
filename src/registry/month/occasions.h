// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/terms/zone.h"

#include <map>
#include <optional>
#include <vector>

/// Which controls a meter owed in a month, and what became of each (handbook 6.6). Pure: accepted sets and times of service come in.
namespace mk::registry {

/// Unproven: the only control of that occasion was entered long after, without its paper, and nobody has accepted it.
/// Open: it can still be met; nothing is said of it yet.
enum class Occasion { Met, Late, Missed, Excused, ExcusedAfterwards, Unproven, Open };

template <>
struct Words<Occasion> {
    static constexpr std::string_view what = "occasion";
    static constexpr std::string_view all[] = { "met", "late", "missed", "excused", "excused-afterwards", "unproven", "open" };
};

/// One occasion: a day in service, and where the clearance is not one of 24 h, an end of it or a shift. Several may lie in one day.
struct OccasionDay {
    base::Date day;
    Occasion what = Occasion::Missed;
    std::int64_t lateMinutes = 0; ///< of a late control: how long nothing had cleared the meter
    bool recordedLate = false;    ///< met, and entered later than the policy's minutes after it was done
};

/// From `from` on, up to `to`.
struct TimeSpan {
    base::Moment from, to;
};

/// A control set as far as it clears a meter.
/// at       its last run; since: what happened later than that is not cleared by it
/// until    of an accepted one: the end of its clearance
/// triggered  it says that something asked for it (D2 to D11)
struct ClearingSet {
    base::Moment at, since, until;
    bool accepted = true;
    bool unproven = false;
    bool recordedLate = false;
    bool triggered = false;
    bool onWard = true;
};

/// What one meter's occasions are made of. Nothing in it is later than the cut-off.
/// sets       oldest first, from `known` on
/// service    when it was in service on the ward, oldest first, from its beginning on; the last span ends at the cut-off
/// unused     days declared unused, and whether they were declared afterwards
/// cancelled  when something took the clearance from it: a fall, a battery change
struct OccasionInput {
    base::Date first, last; ///< of the month
    base::Moment cutOff;
    base::Moment known; ///< no set before that was looked for
    std::vector<ClearingSet> sets;
    std::vector<TimeSpan> service;
    std::map<base::Date, bool> unused;
    std::vector<base::Moment> cancelled;
};

/// Hours in service, not declared unused, without clearance.
struct NotCleared {
    std::int64_t ms = 0, longestMs = 0;
    std::int64_t serviceMs = 0; ///< the hours in service that they are a part of

    double hours() const;
    double longestHours() const;
    /// Of the hours in service, to one decimal; nothing where there are none.
    std::optional<double> percent() const;
};

/// eventDriven  met ones that something asked for beside the routine; one that fell together with a routine occasion is that occasion
struct MonthOccasions {
    std::vector<OccasionDay> days; ///< oldest first
    std::size_t eventDriven = 0;
    NotCleared notCleared;
};

/// By handbook 6.6.
MonthOccasions occasionsOf(const OccasionInput& input, const Policy& policy, const Zone& zone);

/// As months were counted before: each day against yesterday's minute. A month that was signed then keeps its figures.
MonthOccasions occasionsByMinute(const OccasionInput& input, const Zone& zone);

/// Rounded half up to one decimal; 100.0 only where nothing is missing. Nothing of nothing.
std::optional<double> percentOf(std::size_t part, std::size_t whole);

} // namespace mk::registry
