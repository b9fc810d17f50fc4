// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/power.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace mk::study {

namespace {

void writePowerFigure(JsonWriter& json, const char* name, const std::optional<stats::PowerFigure>& figure)
{
    json.key(name).value(figure ? std::optional(figure->value) : std::nullopt);
    json.key("method").value(!figure || !figure->standardError ? "exact" : "simulated");
    json.key("standard_error").value(figure ? figure->standardError : std::nullopt);
}

void writePowerSchedule(JsonWriter& json, const StudyPowerReport& report)
{
    json.key("schedule");
    if (!report.schedule) {
        json.null();
        return;
    }
    json.beginObject().key("meters").value(report.schedule->meters).key("sets_per_day").value(report.schedule->setsPerDay);
    json.key("days").value(kAlarmDays).key("false_alarms").value(report.falseAlarms).endObject();
}

std::string withStandardError(const std::string& value, const std::optional<std::string>& standardError)
{
    return standardError ? value + " +- " + *standardError : value;
}

std::string powerChanceText(const stats::PowerFigure& chance)
{
    return withStandardError(
        percentText(chance.value), chance.standardError ? std::optional(percentText(*chance.standardError)) : std::nullopt);
}

std::string runLengthText(const std::optional<stats::PowerFigure>& length)
{
    if (!length)
        return "never";
    return withStandardError(
        shortNumber(length->value), length->standardError ? std::optional(shortNumber(*length->standardError)) : std::nullopt);
}

std::string powerSetsText(std::size_t sets)
{
    return sets == 1 ? "in one set" : "within " + std::to_string(sets) + " sets";
}

std::string powerLevelsText(std::size_t levels)
{
    return std::to_string(levels) + (levels == 1 ? " level" : " levels");
}

bool powerReadsRange(const stats::RuleSettings& settings)
{
    return settings.levels > 1 && std::ranges::find(settings.rules, stats::Rule::RFourS) != settings.rules.end();
}

/// Which numbers are exact, and how the others are told apart. errors: where standard errors are to be found
std::string powerExactness(const StudyPowerReport& report, const std::string& errors)
{
    if (report.falseRejection.standardError)
        return "Simulated; " + errors + '.';
    if (std::ranges::any_of(report.lengths, [](const StudyRunLength& length) { return length.sets && length.sets->standardError; }))
        return "Chances are exact (Markov chain), numbers of sets simulated; " + errors + '.';
    return "Exact (Markov chain).";
}

/// How the numbers came about, for table and plot.
std::vector<std::string> powerMethod(const StudyPowerReport& report, const std::string& errors)
{
    std::vector<std::string> lines;
    if (std::ranges::any_of(report.lengths, [](const StudyRunLength& length) { return !length.sets; }))
        lines.emplace_back("R-4s reads two results of a set: with 1 level it never fires.");
    if (powerReadsRange(report.settings))
        lines.emplace_back(report.settings.rangeReading == stats::RangeReading::Opposite
                ? "R-4s: one beyond +2 SD and one beyond -2 SD of a set."
                : "R-4s: two of a set more than 4 SD apart.");
    lines.emplace_back("Results are normal and independent, all levels are off alike; counts start empty.");
    lines.push_back(powerExactness(report, errors));
    return lines;
}

std::string powerHeading(const StudyPowerReport& report)
{
    std::vector<std::string> names;
    for (const stats::Rule rule : report.settings.rules)
        names.emplace_back(stats::name(rule));
    return joined(names, "/") + " with " + powerLevelsText(report.settings.levels);
}

/// Where curves are drawn: from 0 to the shifts that were asked for, at least to 4.
std::pair<double, double> powerCurveRange(const std::vector<double>& shifts)
{
    const auto [least, most] = std::ranges::minmax(shifts);
    return { std::min(least, 0.0), least < 0 ? std::max(most, 0.0) : std::max(most, 4.0) };
}

/// The same for both panels, whether or not they have curves.
report::PlotAxis powerShiftAxis(const std::vector<double>& shifts)
{
    const auto [lower, upper] = powerCurveRange(shifts);
    const double edge = (upper - lower) / 20;
    return { "Shift, in SD", lower - edge, upper + edge, false, {} };
}

std::vector<double> powerCurveShifts(double lower, double upper)
{
    constexpr int kSteps = 80;
    std::vector<double> shifts;
    for (int i = 0; i <= kSteps; ++i)
        shifts.push_back(lower + (upper - lower) * i / kSteps);
    return shifts;
}

/// Whether a point of a curve is computed in some 20 ms: a person waits for all of them.
bool isQuickCurve(const stats::RuleSettings& settings, std::size_t sets)
{
    constexpr std::size_t kSetsUntilSteady = 60;
    const auto combinations = stats::exactCombinations(settings, sets);
    return combinations && *combinations * std::min(sets, kSetsUntilSteady) <= 2'000'000;
}

constexpr std::array kPowerStrokes = { report::PlotStroke::Strong, report::PlotStroke::Dashed, report::PlotStroke::Dotted,
    report::PlotStroke::Solid, report::PlotStroke::Faint };
constexpr std::array kPowerShapes = { report::PlotShape::Circle, report::PlotShape::Ring, report::PlotShape::Diamond,
    report::PlotShape::Triangle, report::PlotShape::Cross };

/// Curves where they are quick to compute, and the points that were asked for.
report::PlotPanel powerPanel(const StudyPowerReport& report)
{
    report::PlotPanel panel;
    panel.title = "Rejected " + powerSetsText(report.sets);
    panel.x = powerShiftAxis(report.shifts);
    panel.y = { "Rejected, %", -2, 102, false, {} }; // room for marks at 0 and 100
    const auto [lower, upper] = powerCurveRange(report.shifts);
    const bool quick = isQuickCurve(report.settings, report.sets);
    for (std::size_t i = 0; i < report.randoms.size(); ++i) {
        const std::string legend = "random error x " + shortNumber(report.randoms[i]);
        if (quick) {
            panel.curves.push_back(powerCurve(report.settings, report.randoms[i], report.sets, lower, upper));
            panel.curves.back().stroke = kPowerStrokes.at(i % kPowerStrokes.size());
        }
        report::PlotPoints points { legend, {}, {}, kPowerShapes.at(i % kPowerShapes.size()) };
        for (std::size_t j = 0; j < report.shifts.size(); ++j) {
            points.x.push_back(report.shifts[j]);
            points.y.push_back(100 * report.points[i * report.shifts.size() + j].rejection.value);
        }
        panel.points.push_back(std::move(points));
    }
    return panel;
}

report::PlotPanel runLengthPanel(const StudyPowerReport& report)
{
    report::PlotPanel panel;
    panel.title = "Sets until one is rejected, on average";
    panel.x = powerShiftAxis(report.shifts);
    panel.y.title = "Sets";
    panel.y.logarithmic = true;
    report::PlotPoints points { {}, {}, {}, report::PlotShape::Circle };
    for (const StudyRunLength& length : report.lengths) {
        if (length.sets) {
            points.x.push_back(length.shift);
            points.y.push_back(length.sets->value);
        }
    }
    panel.points = { std::move(points) };
    if (!isQuickCurve(report.settings, stats::kAnyNumberOfSets))
        return panel;
    const auto [lower, upper] = powerCurveRange(report.shifts);
    report::PlotCurve curve { {}, powerCurveShifts(lower, upper), {}, report::PlotStroke::Strong };
    std::vector<stats::MethodError> errors;
    for (const double shift : curve.x)
        errors.push_back({ shift, 1 });
    for (const auto& length : stats::averageRunLengths(report.settings, errors).value())
        curve.y.push_back(length ? length->value : std::nan(""));
    panel.curves = { std::move(curve) };
    return panel;
}

} // namespace

report::PlotCurve powerCurve(const stats::RuleSettings& settings, double random, std::size_t sets, double lower, double upper)
{
    report::PlotCurve curve { {}, powerCurveShifts(lower, upper), {}, report::PlotStroke::Strong };
    std::vector<stats::MethodError> errors;
    for (const double shift : curve.x)
        errors.push_back({ shift, random });
    const auto chances = stats::rejectionChances(settings, errors, sets);
    for (std::size_t i = 0; i < errors.size(); ++i)
        curve.y.push_back(chances ? 100 * (*chances)[i].value : std::nan(""));
    return curve;
}

std::string studyPowerJson(const StudyPowerReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("rules").value(rulesText(report.settings.rules));
    json.key("levels").value(report.settings.levels).key("sets").value(report.sets);
    json.key("r4s").value(report.settings.rangeReading == stats::RangeReading::Opposite ? "opposite" : "range");
    json.key("warn_only").array(report.warnOnly);
    json.key("false_rejection").value(report.falseRejection.value);
    json.key("false_rejection_method").value(report.falseRejection.standardError ? "simulated" : "exact");
    json.key("false_rejection_standard_error").value(report.falseRejection.standardError).key("points").beginArray();
    for (const StudyPowerPoint& point : report.points) {
        json.beginObject().key("shift").value(point.error.shift).key("random").value(point.error.random);
        writePowerFigure(json, "rejection", point.rejection);
        json.endObject();
    }
    json.endArray().key("average_run_length").beginArray();
    for (const StudyRunLength& length : report.lengths) {
        json.beginObject().key("shift").value(length.shift);
        writePowerFigure(json, "sets", length.sets);
        json.key("days").value(length.days).endObject();
    }
    json.endArray();
    writePowerSchedule(json, report);
    json.endObject();
    return json.text() + '\n';
}

std::string studyPowerTable(const StudyPowerReport& report)
{
    std::vector<std::vector<std::string>> points = { { "shift SD", "random x", "rejected" } };
    for (const StudyPowerPoint& point : report.points)
        points.push_back({ shortNumber(point.error.shift), shortNumber(point.error.random), powerChanceText(point.rejection) });
    std::vector<std::vector<std::string>> lengths = { { "shift SD", "sets until rejected" } };
    if (report.schedule)
        lengths[0].push_back("days until found");
    for (const StudyRunLength& length : report.lengths) {
        lengths.push_back({ shortNumber(length.shift), runLengthText(length.sets) });
        if (report.schedule)
            lengths.back().push_back(length.days ? shortNumber(*length.days) : "-");
    }
    std::string text = powerHeading(report) + ", " + powerSetsText(report.sets) + ": false rejection "
        + powerChanceText(report.falseRejection) + ".\n";
    if (!report.warnOnly.empty())
        text += "Left out, since they only warn: " + joined(report.warnOnly, ", ") + ".\n";
    text += alignedTable(points) + "On average, at random error x 1:\n" + alignedTable(lengths);
    if (report.falseAlarms)
        text += scheduleText(*report.schedule) + ": " + shortNumber(*report.falseAlarms)
            + " false alarms in 30 days, when each ends with fresh counts.\nA shift begins at any moment between two sets.\n";
    return text + joined(powerMethod(report, "+- is one standard error"), "\n") + '\n';
}

report::PlotScene studyPowerPlot(const StudyPowerReport& report)
{
    std::vector<report::PlotPanel> panels = { powerPanel(report) };
    if (std::ranges::any_of(report.lengths, [](const StudyRunLength& length) { return length.sets.has_value(); }))
        panels.push_back(runLengthPanel(report));
    return { powerHeading(report) + ": false rejection " + titleNumber(100 * report.falseRejection.value) + " % "
            + powerSetsText(report.sets),
        joined(powerMethod(report, "the table gives standard errors"), " "), std::move(panels) };
}

} // namespace mk::study
