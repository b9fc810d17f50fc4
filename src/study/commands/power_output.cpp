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
    json.key("days").value(kAlarmDays).key("false_alarms").value(report.falseAlarms);
    json.key("counts_after_alarm").value("start-anew"); // what false_alarms, and every run length, takes for granted
    json.key("counts_go_on").beginObject();
    writePowerFigure(json, "false_alarms", report.falseAlarmsGoingOn);
    json.endObject().endObject();
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
        return said(StudyTexts::tr("never"));
    return withStandardError(
        shortNumber(length->value), length->standardError ? std::optional(shortNumber(*length->standardError)) : std::nullopt);
}

/// One sentence for one set, another for several.
std::string forSets(std::size_t sets, const QString& inOne, const QString& within)
{
    return sets == 1 ? said(inOne) : said(within, std::to_string(sets));
}

std::string powerLevelsText(std::size_t levels)
{
    return said(levels == 1 ? StudyTexts::tr("%1 level") : StudyTexts::tr("%1 levels"), std::to_string(levels));
}

bool powerReadsRange(const stats::RuleSettings& settings)
{
    return settings.levels > 1 && std::ranges::find(settings.rules, stats::Rule::RFourS) != settings.rules.end();
}

enum class Shown { Table, Plot };

/// Which numbers are exact, and how the others are told apart.
std::string powerExactness(const StudyPowerReport& report, Shown where)
{
    const bool table = where == Shown::Table;
    if (report.falseRejection.standardError)
        return said(
            table ? StudyTexts::tr("Simulated; +- is one standard error.") : StudyTexts::tr("Simulated; the table gives standard errors."));
    if (std::ranges::any_of(report.lengths, [](const StudyRunLength& length) { return length.sets && length.sets->standardError; }))
        return said(table
                ? StudyTexts::tr("Chances are exact (Markov chain), numbers of sets simulated; +- is one standard error.")
                : StudyTexts::tr("Chances are exact (Markov chain), numbers of sets simulated; the table gives standard errors."));
    return said(StudyTexts::tr("Exact (Markov chain)."));
}

/// How the numbers came about, for table and plot.
std::vector<std::string> powerMethod(const StudyPowerReport& report, Shown where)
{
    std::vector<std::string> lines;
    if (std::ranges::any_of(report.lengths, [](const StudyRunLength& length) { return !length.sets; }))
        lines.push_back(said(StudyTexts::tr("R-4s reads two results of a set: with 1 level it never fires.")));
    if (powerReadsRange(report.settings))
        lines.push_back(said(report.settings.rangeReading == stats::RangeReading::Opposite
                ? StudyTexts::tr("R-4s: one beyond +2 SD and one beyond -2 SD of a set.")
                : StudyTexts::tr("R-4s: two of a set more than 4 SD apart.")));
    lines.push_back(said(StudyTexts::tr("Results are normal and independent, all levels are off alike; counts start empty.")));
    lines.push_back(powerExactness(report, where));
    return lines;
}

std::string powerHeading(const StudyPowerReport& report)
{
    std::vector<std::string> names;
    for (const stats::Rule rule : report.settings.rules)
        names.emplace_back(stats::name(rule));
    return said(StudyTexts::tr("%1 with %2"), joined(names, "/"), powerLevelsText(report.settings.levels));
}

/// What the rules do when nothing is wrong.
std::string powerResult(const StudyPowerReport& report)
{
    const std::string heading = powerHeading(report), chance = powerChanceText(report.falseRejection);
    return report.sets == 1 ? said(StudyTexts::tr("%1, in one set: false rejection %2."), heading, chance)
                            : said(StudyTexts::tr("%1, within %2 sets: false rejection %3."), heading, std::to_string(report.sets), chance);
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
    return { said(StudyTexts::tr("Shift, in SD")), lower - edge, upper + edge, false, {} };
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
    panel.title = forSets(report.sets, StudyTexts::tr("Rejected in one set"), StudyTexts::tr("Rejected within %1 sets"));
    panel.x = powerShiftAxis(report.shifts);
    panel.y = { said(StudyTexts::tr("Rejected, %")), -2, 102, false, {} }; // room for marks at 0 and 100
    const auto [lower, upper] = powerCurveRange(report.shifts);
    const bool quick = isQuickCurve(report.settings, report.sets);
    for (std::size_t i = 0; i < report.randoms.size(); ++i) {
        const std::string legend = said(StudyTexts::tr("random error x %1"), shortNumber(report.randoms[i]));
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
    panel.title = said(StudyTexts::tr("Sets until one is rejected, on average"));
    panel.x = powerShiftAxis(report.shifts);
    panel.y.title = said(StudyTexts::tr("Sets"));
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

/// With what each figure assumes of the counts after an alarm.
std::string falseAlarmLines(const StudyPowerReport& report)
{
    return said(StudyTexts::tr("%1: %2 false alarms in 30 days, when each ends with fresh counts."), scheduleText(*report.schedule),
               shortNumber(*report.falseAlarms))
        + '\n'
        + said(StudyTexts::tr("%1 where counts go on after an alarm, as study rules counts: a run that goes on alarms with every set."),
            runLengthText(report.falseAlarmsGoingOn))
        + '\n' + said(StudyTexts::tr("A shift begins at any moment between two sets.")) + '\n';
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
    std::vector<std::vector<std::string>> points = { { said(StudyTexts::tr("shift SD")), said(StudyTexts::tr("random x")),
        said(StudyTexts::tr("rejected")) } };
    for (const StudyPowerPoint& point : report.points)
        points.push_back({ shortNumber(point.error.shift), shortNumber(point.error.random), powerChanceText(point.rejection) });
    std::vector<std::vector<std::string>> lengths = { { said(StudyTexts::tr("shift SD")), said(StudyTexts::tr("sets until rejected")) } };
    if (report.schedule)
        lengths[0].push_back(said(StudyTexts::tr("days until found")));
    for (const StudyRunLength& length : report.lengths) {
        lengths.push_back({ shortNumber(length.shift), runLengthText(length.sets) });
        if (report.schedule)
            lengths.back().push_back(length.days ? shortNumber(*length.days) : "-");
    }
    std::string text = powerResult(report) + '\n';
    if (!report.warnOnly.empty())
        text += said(StudyTexts::tr("Left out, since they only warn: %1."), joined(report.warnOnly, ", ")) + '\n';
    text += alignedTable(points) + said(StudyTexts::tr("On average, at random error x 1:")) + '\n' + alignedTable(lengths);
    if (report.falseAlarms && report.falseAlarmsGoingOn)
        text += falseAlarmLines(report);
    return text + joined(powerMethod(report, Shown::Table), "\n") + '\n';
}

report::PlotScene studyPowerPlot(const StudyPowerReport& report)
{
    std::vector<report::PlotPanel> panels = { powerPanel(report) };
    if (std::ranges::any_of(report.lengths, [](const StudyRunLength& length) { return length.sets.has_value(); }))
        panels.push_back(runLengthPanel(report));
    const std::string heading = powerHeading(report), chance = titleNumber(100 * report.falseRejection.value);
    const std::string title = report.sets == 1
        ? said(StudyTexts::tr("%1: false rejection %2 % in one set"), heading, chance)
        : said(StudyTexts::tr("%1: false rejection %2 % within %3 sets"), heading, chance, std::to_string(report.sets));
    return { title, joined(powerMethod(report, Shown::Plot), " "), std::move(panels) };
}

} // namespace mk::study
