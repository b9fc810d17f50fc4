// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/linearity.h"

#include "study/table/columns.h"
#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>

namespace mk::study {

namespace {

bool againstLine(const StudyLinearityReport& report)
{
    return report.options.against == stats::LinearityAgainst::Line;
}

std::string allowanceText(const stats::Allowance& allowance)
{
    if (allowance.percent && allowance.absolute)
        return said(StudyTexts::tr("%1 % or %2 (the larger)"), shortNumber(*allowance.percent), shortNumber(*allowance.absolute));
    if (allowance.percent)
        return percentText(*allowance.percent / 100);
    return allowance.absolute ? shortNumber(*allowance.absolute) : said(StudyTexts::tr("nothing"));
}

std::string linearityMethod(const StudyLinearityReport& report)
{
    return said(againstLine(report)
            ? StudyTexts::tr("Deviations are means less the least-squares line through all results; percentages are of the assigned value. "
                             "b2 and b3 are tested at 5 % as in EP06-A.")
            : StudyTexts::tr("Deviations are means less the assigned value; percentages are of the assigned value. "
                             "b2 and b3 are tested at 5 % as in EP06-A."));
}

/// Whether the levels lie within what is allowed; nothing where nothing is allowed.
std::string levelsFinding(const StudyLinearityReport& report)
{
    const stats::Linearity& linearity = report.linearity;
    if (!linearity.met)
        return {};
    const std::string allowed = allowanceText(report.options.allowance), all = std::to_string(linearity.levels.size());
    if (*linearity.met)
        return said(StudyTexts::tr("Every level lies within %1."), allowed) + ' ';
    const auto beyond = std::ranges::count_if(linearity.levels, [](const stats::LinearityLevel& level) { return level.met == false; });
    return said(beyond == 1 ? StudyTexts::tr("%1 of %2 levels lies beyond %3.") : StudyTexts::tr("%1 of %2 levels lie beyond %3."),
               std::to_string(beyond), all, allowed)
        + ' ';
}

std::string linearityFinding(const StudyLinearityReport& report)
{
    const auto& curved = report.linearity.curvedOrder;
    return levelsFinding(report)
        + (curved ? said(StudyTexts::tr("The results bend: a curve of order %1 fits better."), std::to_string(*curved))
                  : said(StudyTexts::tr("No curvature is significant.")));
}

void writeLevels(JsonWriter& json, const stats::Linearity& linearity)
{
    json.key("levels").beginArray();
    for (const stats::LinearityLevel& level : linearity.levels) {
        json.beginObject().key("assigned").value(level.assigned).key("mean").value(level.mean);
        json.key("recovery_percent").value(level.recoveryPercent).key("deviation").value(level.deviation).key("met").value(level.met);
        json.key("n").value(level.n).key("line").value(level.line).key("deviation_percent").value(level.deviationPercent);
        json.key("allowed").value(level.allowed).key("deviation_from_line").value(level.mean - level.line);
        json.key("deviation_from_assigned").value(level.mean - level.assigned).endObject();
    }
    json.endArray();
}

void writeFits(JsonWriter& json, const stats::Linearity& linearity)
{
    json.key("polynomials").beginArray();
    for (const stats::LinearityFit& one : linearity.fits) {
        json.beginObject().key("order").value(one.order).key("coefficients").array(one.fit.coefficients);
        json.key("standard_errors").array(one.fit.standardErrors).key("residual_sd").value(one.fit.residualSd).key("df").value(one.fit.df);
        json.key("tests").beginArray();
        for (const stats::CurvatureTest& test : one.tests) {
            json.beginObject().key("power").value(test.power).key("t").value(test.t).key("p").value(test.pValue);
            json.key("significant").value(test.significant).endObject();
        }
        json.endArray().key("less_line").array(one.deviations).endObject();
    }
    json.endArray();
}

std::vector<std::vector<std::string>> fitRows(const stats::Linearity& linearity)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("order")), said(StudyTexts::tr("residual SD")),
        said(StudyTexts::tr("df")), said(StudyTexts::tr("P of b2")), said(StudyTexts::tr("P of b3")),
        said(StudyTexts::tr("farthest from the line")) } };
    for (const stats::LinearityFit& one : linearity.fits) {
        double farthest = 0;
        for (const double deviation : one.deviations)
            farthest = std::max(farthest, std::abs(deviation));
        const auto pValue = [&](std::size_t test) { return test < one.tests.size() ? maybeText(one.tests[test].pValue) : std::string(); };
        rows.push_back({ std::to_string(one.order), shortNumber(one.fit.residualSd), std::to_string(one.fit.df), pValue(0), pValue(1),
            one.order == 1 ? std::string() : shortNumber(farthest) });
    }
    return rows;
}

/// What is allowed along the levels; edges(level, allowance there) says where it is drawn.
template <typename Edges>
std::vector<report::PlotCurve> linearityAllowed(const StudyLinearityReport& report, Edges edges)
{
    const auto& levels = report.linearity.levels;
    return allowedCurves(levels.front().assigned, levels.back().assigned, [&](double at) -> std::optional<stats::Interval> {
        const auto allowed = stats::allowedAt(report.options.allowance, at);
        return allowed ? edges(at, *allowed) : std::nullopt;
    });
}

/// The levels, those beyond what is allowed by a mark of their own; heightOf says where one stands.
template <typename Height>
std::vector<report::PlotPoints> levelMarks(const stats::Linearity& linearity, Height heightOf)
{
    report::PlotPoints within { said(StudyTexts::tr("mean of a level")), {}, {}, report::PlotShape::Circle };
    report::PlotPoints beyond { linearity.met == false ? said(StudyTexts::tr("mean beyond what is allowed")) : "", {}, {},
        report::PlotShape::SquareWithBar };
    for (const stats::LinearityLevel& level : linearity.levels) {
        report::PlotPoints& points = level.met == false ? beyond : within;
        points.x.push_back(level.assigned);
        points.y.push_back(heightOf(level));
    }
    return { within, beyond };
}

report::PlotPanel linearityResultsPanel(const StudyLinearityReport& report)
{
    const stats::Linearity& linearity = report.linearity;
    const auto lineAt = [&](double x) { return linearity.intercept + linearity.slope * x; };
    const double from = linearity.levels.front().assigned;
    const double to = linearity.levels.back().assigned;
    report::PlotPanel panel;
    panel.title = said(StudyTexts::tr("Results and line"));
    panel.y.title = said(StudyTexts::tr("Result"));
    panel.points = levelMarks(linearity, [](const stats::LinearityLevel& level) { return level.mean; });
    panel.points.insert(panel.points.begin(), { said(StudyTexts::tr("result")), report.assigned, report.values, report::PlotShape::Ring });
    if (report.options.allowance.given())
        panel.curves = linearityAllowed(report, [&](double at, double allowed) {
            const double middle = againstLine(report) ? lineAt(at) : at;
            return std::optional(stats::Interval { middle - allowed, middle + allowed });
        });
    panel.curves.push_back(
        { said(StudyTexts::tr("least-squares line")), { from, to }, { lineAt(from), lineAt(to) }, report::PlotStroke::Solid });
    return panel;
}

report::PlotPanel linearityDeviationPanel(const StudyLinearityReport& report)
{
    report::PlotPanel panel;
    panel.title = said(
        againstLine(report) ? StudyTexts::tr("Deviation from the line") : StudyTexts::tr("Deviation from the assigned value"));
    panel.x.title = said(StudyTexts::tr("Assigned value"));
    panel.y.title = said(StudyTexts::tr("% of assigned"));
    panel.points = levelMarks(report.linearity,
        [](const stats::LinearityLevel& level) { return level.deviationPercent.value_or(std::numeric_limits<double>::quiet_NaN()); });
    for (report::PlotPoints& points : panel.points)
        points.legend.clear();
    panel.limits = { { 0, {}, report::PlotStroke::Solid } };
    if (report.options.allowance.given())
        panel.curves = linearityAllowed(report, [](double at, double allowed) {
            const double percent = 100 * allowed / std::abs(at);
            return at == 0 ? std::nullopt : std::optional(stats::Interval { -percent, percent });
        });
    for (report::PlotCurve& curve : panel.curves)
        curve.legend.clear(); // the panel above names it
    return panel;
}

struct StudyLinearityArguments {
    std::string file;
    std::string plot;
    std::string against = "line";
    stats::Allowance allowance;
};

int runStudyLinearity(const StudyLinearityArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    const auto against = arguments.against == "line" ? stats::LinearityAgainst::Line : stats::LinearityAgainst::Assigned;
    const auto report = studyLinearity(*file, { arguments.allowance, against });
    const int printed = printStudy(report, json, arguments.plot, studyLinearityJson, studyLinearityTable, studyLinearityPlot);
    return printedStatus(printed, report && report->linearity.met == false);
}

} // namespace

base::Result<StudyLinearityReport> studyLinearity(const StudyFile& file, const StudyLinearityOptions& options)
{
    if (const auto checked = stats::checkAllowance(options.allowance); !checked)
        return checked.error();
    auto assigned = file.numbers("assigned");
    if (!assigned)
        return assigned.error();
    auto values = file.numbers("value");
    if (!values)
        return values.error();
    auto linearity = stats::linearityOf(*assigned, *values, options.allowance, options.against);
    if (!linearity)
        return file.fault(linearity.error());
    return StudyLinearityReport { std::move(assigned).value(), std::move(values).value(), options, std::move(linearity).value(),
        file.ignored({ "assigned", "value" }) };
}

std::string studyLinearityJson(const StudyLinearityReport& report)
{
    const stats::Linearity& linearity = report.linearity;
    JsonWriter json;
    json.beginObject().key("format").value(1).key("slope").value(linearity.slope).key("intercept").value(linearity.intercept);
    writeLevels(json, linearity);
    json.key("met").value(linearity.met).key("against").value(againstLine(report) ? "line" : "assigned");
    json.key("n").value(report.values.size()).key("repeatability_sd").value(linearity.repeatabilitySd);
    json.key("curved_order").value(linearity.curvedOrder);
    writeFits(json, linearity);
    json.key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyLinearityTable(const StudyLinearityReport& report)
{
    const stats::Linearity& linearity = report.linearity;
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("assigned")), said(StudyTexts::tr("n")),
        said(StudyTexts::tr("mean")), said(StudyTexts::tr("recovery %")), said(StudyTexts::tr("deviation")),
        said(StudyTexts::tr("deviation %")), said(StudyTexts::tr("allowed")), said(StudyTexts::tr("met")) } };
    for (const stats::LinearityLevel& level : linearity.levels)
        rows.push_back({ shortNumber(level.assigned), std::to_string(level.n), shortNumber(level.mean), maybeText(level.recoveryPercent),
            shortNumber(level.deviation), maybeText(level.deviationPercent), maybeText(level.allowed), yesNoText(level.met) });
    const std::string slope = shortNumber(linearity.slope), intercept = shortNumber(linearity.intercept);
    const std::string line = linearity.repeatabilitySd ? said(StudyTexts::tr("Line: slope %1, intercept %2, repeatability SD %3."), slope,
                                 intercept, shortNumber(*linearity.repeatabilitySd))
                                                       : said(StudyTexts::tr("Line: slope %1, intercept %2."), slope, intercept);
    return alignedTable(rows) + '\n' + alignedTable(fitRows(linearity)) + line + '\n' + linearityFinding(report) + '\n'
        + linearityMethod(report) + '\n' + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyLinearityPlot(const StudyLinearityReport& report)
{
    return { linearityFinding(report), linearityMethod(report), { linearityResultsPanel(report), linearityDeviationPanel(report) } };
}

void addStudyLinearity(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("linearity", "Recovery, deviation from a straight line, and curvature at assigned values");
    auto arguments = std::make_shared<StudyLinearityArguments>();
    command->add_option("FILE", arguments->file, "CSV with assigned,value; one row a result, at least three levels")->required();
    command->add_option(
        "--allow-percent", arguments->allowance.percent, "Allowed deviation of a level's mean, in percent of the assigned value");
    command->add_option("--allow-absolute", arguments->allowance.absolute, "Allowed deviation of a level's mean, in the units of the data");
    oneOf(command->add_option("--against", arguments->against, "Deviation from the least-squares line, or from the assigned value itself"),
        { "line", "assigned" })
        ->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  The line is of least squares through all results; b2 and b3 of polynomials are tested at 5 %. The larger of both allowances\n"
        "  counts, on the limit is within, and a percentage is of the assigned value. Exit status 1 when a level is not within it.\n"
        "Example:\n  meterkeep-cli study linearity levels.csv --allow-percent 10 --allow-absolute 8");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyLinearity(*arguments, json); });
}

} // namespace mk::study
