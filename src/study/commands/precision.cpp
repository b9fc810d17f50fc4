// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/precision.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "stats/basics/input_checks.h"

#include <CLI/CLI.hpp>

#include <memory>

namespace mk::study {

namespace {

std::string precisionMethod()
{
    return said(StudyTexts::tr("Sequential sums of squares, negative components count as 0; degrees of freedom within "
                               "laboratory by Satterthwaite, SD intervals by chi-square."));
}

void writeComponent(JsonWriter& json, const std::optional<stats::PrecisionComponent>& component)
{
    if (!component) {
        json.null();
        return;
    }
    json.beginObject().key("sd").value(component->sd).key("cv_percent").value(component->cvPercent).key("df").value(component->df);
    json.key("variance").value(component->variance).key("variance_raw").value(component->varianceRaw);
    json.key("ss").value(component->ss).key("ms").value(component->ms).endObject();
}

void writeRepeatability(JsonWriter& json, const stats::Precision& precision)
{
    const stats::PrecisionComponent& component = precision.repeatability;
    json.beginObject().key("sd").value(component.sd).key("cv_percent").value(component.cvPercent).key("df").value(component.df);
    writeBounds(json.key("sd_ci"), precision.repeatabilitySdCi);
    json.key("variance").value(component.variance).key("ss").value(component.ss).key("ms").value(component.ms).endObject();
}

void writeWithin(JsonWriter& json, const std::optional<stats::WithinLaboratory>& within)
{
    if (!within) {
        json.null();
        return;
    }
    json.beginObject().key("sd").value(within->sd).key("cv_percent").value(within->cvPercent).key("df").value(within->df);
    writeBounds(json.key("sd_ci"), within->sdCi);
    json.key("variance").value(within->variance).endObject();
}

std::vector<std::string> componentRow(const std::string& name, const stats::PrecisionComponent& component, const std::string& bounds)
{
    return { name, shortNumber(component.sd), maybeText(component.cvPercent), std::to_string(component.df), bounds,
        shortNumber(component.varianceRaw), shortNumber(component.ms) };
}

std::string precisionNotes(const StudyPrecisionReport& report)
{
    const stats::Precision& precision = report.precision;
    std::string notes;
    const auto note = [&](const QString& text) { notes += said(text) + '\n'; };
    if (precision.betweenRun && precision.betweenRun->varianceRaw < 0)
        note(StudyTexts::tr("Between runs the variance comes out below 0: its SD counts as 0."));
    if (precision.betweenDay && precision.betweenDay->varianceRaw < 0)
        note(StudyTexts::tr("Between days the variance comes out below 0: its SD counts as 0."));
    if (report.runs && !precision.betweenRun)
        note(StudyTexts::tr("No day has two runs, so nothing is told between runs."));
    if (!precision.withinLaboratory)
        note(StudyTexts::tr("All results are of one day, so nothing is told between days or within the laboratory."));
    return notes;
}

std::string precisionHead(const StudyPrecisionReport& report)
{
    const stats::Precision& precision = report.precision;
    const std::string n = std::to_string(precision.n), runs = std::to_string(precision.runs),
                      days = std::to_string(precision.dayMeans.size()), mean = shortNumber(precision.mean);
    if (report.runs)
        return said(precision.balanced ? StudyTexts::tr("%1 results in %2 runs on %3 days, mean %4, balanced.")
                                       : StudyTexts::tr("%1 results in %2 runs on %3 days, mean %4, not balanced."),
            n, runs, days, mean);
    return said(precision.balanced ? StudyTexts::tr("%1 results on %2 days, mean %3, balanced.")
                                   : StudyTexts::tr("%1 results on %2 days, mean %3, not balanced."),
        n, days, mean);
}

/// Runs of a day stand side by side, so that replicates and runs can be told apart by eye.
std::vector<double> precisionPlaces(const StudyPrecisionReport& report)
{
    std::vector<double> places;
    const double runs = report.runs ? static_cast<double>(report.runs->names.size()) : 1;
    const bool apart = runs > 1 && runs <= 8;
    for (std::size_t i = 0; i < report.values.size(); ++i) {
        const double run = apart ? static_cast<double>(report.runs->numbers[i]) : (runs - 1) / 2;
        places.push_back(static_cast<double>(report.days.numbers[i]) + 1 + (run - (runs - 1) / 2) * 0.5 / runs);
    }
    return places;
}

struct StudyPrecisionArguments {
    std::string file;
    std::string plot;
    double confidence = 0.95;
};

int runStudyPrecision(const StudyPrecisionArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    return printStudy(
        studyPrecision(*file, arguments.confidence), json, arguments.plot, studyPrecisionJson, studyPrecisionTable, studyPrecisionPlot);
}

} // namespace

base::Result<StudyPrecisionReport> studyPrecision(const StudyFile& file, double confidence)
{
    if (const auto checked = stats::checkConfidence(confidence); !checked)
        return checked.error();
    auto days = studyLabels(file, "day");
    if (!days)
        return days.error();
    StudyPrecisionReport report;
    report.days = std::move(days).value();
    if (file.has("run")) {
        auto runs = studyLabels(file, "run");
        if (!runs)
            return runs.error();
        report.runs = std::move(runs).value();
    }
    auto offsets = studyOffsets(file, "value");
    if (!offsets)
        return offsets.error();
    const std::span<const std::size_t> runs = report.runs ? std::span<const std::size_t>(report.runs->numbers)
                                                          : std::span<const std::size_t>();
    auto precision = stats::nestedPrecision({ report.days.numbers, runs, offsets->offsets, offsets->origin }, confidence);
    if (!precision)
        return file.fault(precision.error());
    report.precision = std::move(precision).value();
    report.values = std::move(offsets->values);
    report.confidence = confidence;
    report.ignoredColumns = file.ignored({ "day", "run", "value" });
    return report;
}

std::string studyPrecisionJson(const StudyPrecisionReport& report)
{
    const stats::Precision& precision = report.precision;
    JsonWriter json;
    json.beginObject().key("format").value(1).key("n").value(precision.n).key("days").value(precision.dayMeans.size());
    json.key("runs").value(precision.runs).key("balanced").value(precision.balanced).key("mean").value(precision.mean);
    writeRepeatability(json.key("repeatability"), precision);
    writeComponent(json.key("between_run"), precision.betweenRun);
    writeComponent(json.key("between_day"), precision.betweenDay);
    writeWithin(json.key("within_laboratory"), precision.withinLaboratory);
    json.key("confidence").value(report.confidence).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyPrecisionTable(const StudyPrecisionReport& report)
{
    const stats::Precision& precision = report.precision;
    std::vector<std::vector<std::string>> rows = { { "", said(StudyTexts::tr("SD")), said(StudyTexts::tr("CV %")),
        said(StudyTexts::tr("df")), said(StudyTexts::tr("SD, %1"), percentText(report.confidence)), said(StudyTexts::tr("variance")),
        said(StudyTexts::tr("mean square")) } };
    rows.push_back(componentRow(said(StudyTexts::tr("repeatability")), precision.repeatability, boundsText(precision.repeatabilitySdCi)));
    if (precision.betweenRun)
        rows.push_back(componentRow(said(StudyTexts::tr("between runs")), *precision.betweenRun, {}));
    if (precision.betweenDay)
        rows.push_back(componentRow(said(StudyTexts::tr("between days")), *precision.betweenDay, {}));
    if (const auto& within = precision.withinLaboratory)
        rows.push_back({ said(StudyTexts::tr("within laboratory")), shortNumber(within->sd), maybeText(within->cvPercent),
            maybeText(within->df), boundsText(within->sdCi), shortNumber(within->variance), {} });
    return precisionHead(report) + '\n' + alignedTable(rows) + precisionNotes(report) + precisionMethod() + '\n'
        + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyPrecisionPlot(const StudyPrecisionReport& report)
{
    const stats::Precision& precision = report.precision;
    report::PlotPanel panel;
    panel.x.names = axisNames(report.days.names);
    panel.x.wholeNumbers = panel.x.names.empty();
    panel.x.title = said(panel.x.names.empty() ? StudyTexts::tr("Day, numbered in the order of the file") : StudyTexts::tr("Day"));
    panel.y.title = said(StudyTexts::tr("Value"));
    panel.points = { { said(report.runs ? StudyTexts::tr("result, runs side by side") : StudyTexts::tr("result")), precisionPlaces(report),
        report.values, report::PlotShape::Ring } };
    panel.curves = { meanStrokes(said(StudyTexts::tr("mean of the day")), precision.dayMeans) };
    panel.limits = { { precision.mean, said(StudyTexts::tr("mean")), report::PlotStroke::Solid } };
    const auto sdAndCv = [](double sd, const std::optional<double>& cv) {
        return cv ? said(StudyTexts::tr("%1 (CV %2 %)"), titleNumber(sd), titleNumber(*cv)) : titleNumber(sd);
    };
    const std::string repeatability = sdAndCv(precision.repeatability.sd, precision.repeatability.cvPercent);
    const auto& within = precision.withinLaboratory;
    const std::string title = within
        ? said(StudyTexts::tr("SD of repeatability %1, within laboratory %2"), repeatability, sdAndCv(within->sd, within->cvPercent))
        : said(StudyTexts::tr("SD of repeatability %1"), repeatability);
    return { title, precisionMethod(), { panel } };
}

void addStudyPrecision(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("precision", "Repeatability, between-run, between-day and within-laboratory SD");
    auto arguments = std::make_shared<StudyPrecisionArguments>();
    command->add_option("FILE", arguments->file, "CSV with day,run,value; the column run may be absent")->required();
    command->add_option("--confidence", arguments->confidence, "Of the SD intervals")->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  A nested design, balanced or not; run labels are nested in the day. A negative component counts as 0, its raw variance is\n"
        "  shown beside it. Degrees of freedom within the laboratory by Satterthwaite, SD intervals by chi-square.\n"
        "Example:\n  meterkeep-cli study precision twenty-days.csv --json");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyPrecision(*arguments, json); });
}

} // namespace mk::study
