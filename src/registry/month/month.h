// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/fitness.h"
#include "registry/month/occasions.h"
#include "registry/policy/policy.h"
#include "registry/acts/records.h"

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

/// The monthly figures of the audit (handbook 7.2). Pure: everything on record comes in, figures come out.
namespace mk::registry {

struct Month {
    int year = 0;
    unsigned month = 0; ///< 1 to 12

    friend auto operator<=>(const Month&, const Month&) = default;
};

/// input YYYY-MM, year 1900 to 2199; errors BadInput
base::Result<Month> parseMonth(std::string_view text);
std::string toText(Month month);
base::Date firstDayOf(Month month);
base::Date lastDayOf(Month month);

/// How far before and after the month a meter's sets are looked at: for the clearance of the first day, and for how the last set ended.
inline constexpr int kMonthDaysBefore = 40;
inline constexpr int kMonthDaysAfter = 7;

/// One meter's part of the record. Nothing in it is later than the cut-off.
/// sets        whose last run lies from kMonthDaysBefore days before the month to kMonthDaysAfter behind it; oldest first
/// incidents   all that may fall into the month; only the declarations of days without use are read
struct MonthMeterInput {
    MeterRecord meter;
    std::vector<SetRecord> sets;
    std::vector<StateSpell> states; ///< oldest first
    std::vector<WardSpell> wards;   ///< oldest first
    std::vector<IncidentRecord> incidents;
    std::vector<StopRecord> stops;
    std::vector<LookbackRecord> lookbacks;
    std::map<base::Seq, base::Moment> toldBy {}; ///< of incidents that a person entered: when
    std::vector<base::SetId> acceptedLate {};    ///< entered late without paper, and accepted by a coordinator
};

/// One meter's results of one level on one pair of lots. A set belongs to the month, and to the ward, of its last run.
/// n         valid numbers, those out of limits and repeats among them (handbook 6.1)
/// invalid   runs that do not count, whatever they showed; high, low, errors: valid runs that gave no number
/// target    the newest mean and SD that judged a result here; nothing while only a range was on record
/// sdi       (mean - mean of the others' results) / SD of the others' single results; nothing for too small a group
/// cvRatio   CV / CV of the others' results; nothing for too small a group
struct LevelFigures {
    Level level {};
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    base::GlucoseUnit unit {};
    base::Moment firstAt, lastAt; ///< of all runs here, counted or not
    std::size_t n = 0;
    std::size_t invalid = 0, high = 0, low = 0, errors = 0;
    std::optional<double> mean, sd, cvPercent, min, max;
    std::optional<double> targetMean, targetSd, biasPercent;
    std::size_t groupMeters = 0; ///< with results here, this one counted
    std::size_t othersResults = 0;
    std::optional<double> othersMean, othersSd, sdi, cvRatio;
    std::size_t rejected = 0, warned = 0;

    std::size_t excluded() const { return invalid + high + low + errors; }
};

/// Everything on one pair of lots at one level, all meters of all wards together.
struct GroupFigures {
    Level level {};
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    base::GlucoseUnit unit {};
    std::size_t meters = 0, results = 0;
    std::optional<double> mean, sd;        ///< of the single results
    std::optional<double> sdBetweenMeters; ///< of the meters' means
};

struct RuleCount {
    std::string rule;
    std::size_t runs = 0;
};

/// A set with a rejected run or an error code, and how it ended.
struct RejectedSet {
    SetRecord set;
    std::optional<base::Moment> clearedAt; ///< the last run of the first accepted set from then on, this one counted
    bool bySameSet = false;                ///< a repeat within the set cleared it
    std::vector<StopRecord> stops;         ///< that this set caused
    std::vector<LookbackRecord> lookbacks; ///< that it or its stops opened
    std::string badVial {};                ///< the control vial that was the cause; empty: none is known to be
};

struct MeterMonth {
    base::MeterId meter;
    std::vector<LevelFigures> levels;                                              ///< by level, then by first use of the lots
    std::vector<OccasionDay> days;                                                 ///< oldest first
    std::size_t met = 0, late = 0, missed = 0, excused = 0, excusedAfterwards = 0; ///< excused counts both kinds
    std::vector<RejectedSet> rejectedSets;                                         ///< oldest first
    std::vector<RuleCount> rules; ///< that fired on valid runs, in the order of their first firing
    std::size_t sets = 0, acceptedSets = 0, attempts = 0;
    std::size_t high = 0, low = 0, errors = 0, invalid = 0;
    std::size_t recordedLate = 0, unproven = 0; ///< of the met ones; neither met nor missed
    std::size_t open = 0;                       ///< can still be met
    std::size_t eventDriven = 0;                ///< of the met ones: beside the routine, because something asked for it
    NotCleared notCleared;
    bool drift = false;                                 ///< a drift signal stood at some set of the month
    std::optional<base::Moment> driftFound, driftBegan; ///< the first signal of the newest excursion; where it began, an estimate

    std::size_t required() const { return met + late + missed + unproven + open; }
    std::optional<double> compliancePercent() const { return percentOf(met, required() - open); }
    /// Attempts at a set for one accepted set; nothing without one.
    std::optional<double> attemptsPerAcceptedSet() const;
    /// The largest |SDI| among its levels, with its sign.
    std::optional<double> largestSdi() const;
};

struct MonthTotals {
    std::size_t met = 0, late = 0, missed = 0, excused = 0, excusedAfterwards = 0;
    std::size_t rejectedSets = 0, sets = 0, acceptedSets = 0, attempts = 0, invalidRuns = 0;
    std::size_t recordedLate = 0, unproven = 0, open = 0, eventDriven = 0;
    NotCleared notCleared; ///< sums; the longest of any meter

    std::size_t required() const { return met + late + missed + unproven + open; }
    /// met / (required - open), rounded half up to one decimal; 100.0 only where none is missing
    std::optional<double> compliancePercent() const { return percentOf(met, required() - open); }
    std::optional<double> attemptsPerAcceptedSet() const;
};

/// One ward's month (or all wards'), by meter id.
struct MonthFigures {
    Month month;
    std::optional<base::WardId> ward;
    base::Moment cutOff;
    bool complete = false; ///< the month was over at the cut-off
    CountedBy countedBy = CountedBy::Occasion;
    std::vector<MeterMonth> meters;
    std::vector<GroupFigures> groups;
    MonthTotals totals;
};

/// Whether a meter needs a human eye this month: a rejected set that no bad control vial explains, drift, or an SDI at or beyond the
/// policy's caution mark.
bool isToWatch(const MeterMonth& meter, const Policy& policy);

/// input     every meter of all wards, for the groups; `ward` picks what is shown
/// cutOff    what can still be met by then is open
/// countedBy which occasions are required and what is in time: see occasions.h
/// source    handbook 7.2, 6.6, 4.1, 6.1
MonthFigures monthFigures(std::span<const MonthMeterInput> input, Month month, const std::optional<base::WardId>& ward,
    const Policy& policy, const Zone& zone, base::Moment cutOff, CountedBy countedBy = CountedBy::Occasion);

} // namespace mk::registry
