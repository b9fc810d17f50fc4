// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

/// The control chart of one meter as a value: everything that is to be seen, and nothing about how it is drawn.
namespace mk::report {

/// One vocabulary on screen and paper: circle holds, ring watch, square with bar does not, cross does not count.
enum class RunShape { Circle, Ring, SquareWithBar, Cross };
/// Where a run stands: at its value, or on the frame, for what is no number.
enum class RunPlace { AtValue, UpperFrame, LowerFrame };

/// One run of the panel's level.
/// x        seconds on the wall clock of the registry's zone; all runs of a set stand at its first run
/// value    nothing where the run showed no number
/// label    what is written beside it: "1-3s", "HI", "E-4", "invalid: no range"; empty for most
/// shortLabel   where that has no room; given only for runs that do not count
/// stemTo   index in the panel of the first attempt that this run repeats
/// facts    its lines for the tooltip: value, targets, verdict, who
struct ScenePoint {
    std::size_t set = 0; ///< index in ControlChartScene::sets
    double x = 0;
    std::optional<double> value;
    RunPlace place = RunPlace::AtValue;
    RunShape shape = RunShape::Circle;
    bool rejected = false;
    std::string label, shortLabel;
    std::optional<std::size_t> stemTo;
    std::string facts;
};

/// Targets and printed range in force over a stretch of time. mean and sd are absent while only a range is on record.
struct TargetSegment {
    double from = 0, to = 0;
    std::optional<double> low, high, mean, sd;
    std::string lowText, highText, meanText;
};

/// Points that a rule counted, oldest first, and the one that completed it.
struct RuleLine {
    std::string rule;
    std::vector<std::size_t> points;
    std::size_t completedBy = 0;
    bool mark = false; ///< nothing followed from it: the run that completed it was accepted
};

/// The meter against itself at a set: its usual value, and the mean of its newest controls where there are enough; in the units of the
/// results. told   a move was told of then
struct UsualPoint {
    double x = 0, usual = 0;
    std::optional<double> newest;
    bool told = false;
};

struct LevelPanel {
    registry::Level level {};
    std::string title; ///< "High control, mg/dL"
    std::vector<ScenePoint> points;
    std::vector<TargetSegment> targets; ///< oldest first, without gaps
    std::vector<RuleLine> ruleLines;
    std::vector<UsualPoint> usual; ///< oldest first; none where the policy does not judge by it
    double lower = 0, upper = 1;   ///< bounds of the value axis
};

/// Something that happened to the meter at a time.
struct EventMark {
    double x = 0;
    std::string word;   ///< short: "fall", "strip lot S2611", "drift begins, estimate"
    std::string detail; ///< one line with its date
};

/// One set: what the arrow keys step through.
struct SceneSet {
    base::SetId set;
    base::Seq seq;
    double x = 0;
    std::string facts; ///< one line for tooltip and screen reader
};

struct ControlChartScene {
    base::MeterId meter;
    std::string title;              ///< the finding
    std::string description;        ///< a sentence or two from the data, for who cannot see the chart
    double from = 0, to = 0;        ///< bounds of the time axis, on whole days
    std::vector<LevelPanel> panels; ///< the highest level first; only levels that were run
    std::vector<EventMark> events;  ///< oldest first
    std::vector<SceneSet> sets;     ///< oldest first
};

/// What the scene is made of. sets oldest first; states and incidents oldest first, those out of the period are left out.
struct ControlChartInput {
    base::MeterId meter;
    std::span<const registry::SetRecord> sets;
    std::span<const registry::IncidentRecord> incidents;
    std::span<const registry::StateSpell> states;
};

/// from, to   the period; the axis runs from the start of the first day to the end of the last
ControlChartScene controlChartScene(const ControlChartInput& input, const registry::Zone& zone, base::Moment from, base::Moment to);

} // namespace mk::report
