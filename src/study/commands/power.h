// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "study/commands/rules.h"
#include "report/drawing/study_plot.h"
#include "stats/power/rule_power.h"

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace CLI {
class App;
}

namespace mk::study {

/// The span over which false alarms are counted.
inline constexpr double kAlarmDays = 30;

/// How a ward controls: meters, and control sets a day on each; the bounds are those of checkSchedule.
struct StudySchedule {
    double meters = 1;
    double setsPerDay = 1;
};

/// rules     those that only warn are left out
/// shifts    in SD; randoms   factors on the SD: each shift is tried with each factor
/// sets      within how many sets a rule is to reject
struct StudyPowerOptions {
    std::vector<StudyRule> rules;
    std::size_t levels = 2;
    stats::RangeReading rangeReading = stats::RangeReading::Opposite;
    std::vector<double> shifts = { 0, 1, 2, 3 };
    std::vector<double> randoms = { 1, 1.5, 2 };
    std::size_t sets = 1;
    std::optional<StudySchedule> schedule;
};

struct StudyPowerPoint {
    stats::MethodError error;
    stats::PowerFigure rejection;
};

/// sets   nothing where no rule can ever fire; days   until the shift is found, with a schedule and a shift other than 0
struct StudyRunLength {
    double shift = 0;
    std::optional<stats::PowerFigure> sets;
    std::optional<double> days;
};

/// falseAlarms          in 30 days, where counts start anew after each alarm
/// falseAlarmsGoingOn   where they go on, as study rules counts: a pattern that goes on alarms with every set
struct StudyPowerReport {
    stats::RuleSettings settings; // the rules that reject
    std::vector<std::string> warnOnly;
    std::size_t sets = 1;
    stats::PowerFigure falseRejection;
    std::vector<double> shifts, randoms;
    std::vector<StudyPowerPoint> points; // by random error, then by shift, as asked for
    std::vector<StudyRunLength> lengths;
    std::optional<StudySchedule> schedule;
    std::optional<double> falseAlarms;
    std::optional<stats::PowerFigure> falseAlarmsGoingOn;
};

/// errors  BadInput: meters not a whole number from 1 to 100,000, sets a day not above 0 or above 1,000
base::Done checkSchedule(const StudySchedule& schedule);
/// "2 meters, 1 set a day each".
std::string scheduleText(const StudySchedule& schedule);

/// errors  BadInput: no rule that rejects, or a number out of bounds; see stats/rule_power.h
base::Result<StudyPowerReport> studyPower(const StudyPowerOptions& options);
std::string studyPowerJson(const StudyPowerReport& report);
std::string studyPowerTable(const StudyPowerReport& report);
/// Rejection against the shift, a curve for each random error; below it the average run length.
report::PlotScene studyPowerPlot(const StudyPowerReport& report);

/// How rejection grows with the shift, in percent, as a curve of 81 points between the two shifts.
report::PlotCurve powerCurve(const stats::RuleSettings& settings, double random, std::size_t sets, double lower, double upper);
/// The rules as `--rules` takes them: "1-3s,2-2s".
std::string rulesText(const std::vector<stats::Rule>& rules);

/// Adds `power` to the studies; parameters as for addStudyCommands.
void addStudyPower(CLI::App& study, const bool& json, std::function<int()>& chosen);

} // namespace mk::study
