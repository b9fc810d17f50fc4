// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/precision.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "stats/basics/input_checks.h"

#include <CLI/CLI.hpp>

#include <memory>

namespace mk::study {

namespace {

constexpr const char* kPrecisionMethod = "Sequential sums of squares, negative components count as 0; degrees of freedom within "
                                         "laboratory by Satterthwaite, SD intervals by chi-square.";

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

std::vector<std::string> componentRow(const char* name, const stats::PrecisionComponent& component, const std::string& bounds)
{
    return { name, shortNumber(component.sd), maybeText(component.cvPercent), std::to_string(component.df), bounds,
        shortNumber(component.varianceRaw), shortNumber(component.ms) };
}

std::string precisionNotes(const StudyPrecisionReport& report)
{
    std::string notes;
    for (const auto* component : { &report.precision.betweenRun, &report.precision.betweenDay }) {
        if (*component && (*component)->varianceRaw < 0)
            notes += std::string(component == &report.precision.betweenRun ? "Between runs" : "Between days")
                + " the variance comes out below 0: its SD counts as 0.\n";
    }
    if (report.runs && !report.precision.betweenRun)
        notes += "No day has two runs, so nothing is told between runs.\n";
    if (!report.precision.withinLaboratory)
        notes += "All results are of one day, so nothing is told between days or within the laboratory.\n";
    return notes;
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
    std::vector<std::vector<std::string>> rows = { { "", "SD", "CV %", "df", "SD, " + percentText(report.confidence), "variance",
        "mean square" } };
    rows.push_back(componentRow("repeatability", precision.repeatability, boundsText(precision.repeatabilitySdCi)));
    if (precision.betweenRun)
        rows.push_back(componentRow("between runs", *precision.betweenRun, {}));
    if (precision.betweenDay)
        rows.push_back(componentRow("between days", *precision.betweenDay, {}));
    if (const auto& within = precision.withinLaboratory)
        rows.push_back({ "within laboratory", shortNumber(within->sd), maybeText(within->cvPercent), maybeText(within->df),
            boundsText(within->sdCi), shortNumber(within->variance), {} });
    const std::string where = report.runs ? " results in " + std::to_string(precision.runs) + " runs on " : std::string(" results on ");
    return std::to_string(precision.n) + where + std::to_string(precision.dayMeans.size()) + " days, mean " + shortNumber(precision.mean)
        + (precision.balanced ? ", balanced.\n" : ", not balanced.\n") + alignedTable(rows) + precisionNotes(report) + kPrecisionMethod
        + '\n' + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyPrecisionPlot(const StudyPrecisionReport& report)
{
    const stats::Precision& precision = report.precision;
    report::PlotPanel panel;
    panel.x.names = axisNames(report.days.names);
    panel.x.wholeNumbers = panel.x.names.empty();
    panel.x.title = panel.x.names.empty() ? "Day, numbered in the order of the file" : "Day";
    panel.y.title = "Value";
    panel.points = { { report.runs ? "result, runs side by side" : "result", precisionPlaces(report), report.values,
        report::PlotShape::Ring } };
    panel.curves = { meanStrokes("mean of the day", precision.dayMeans) };
    panel.limits = { { precision.mean, "mean", report::PlotStroke::Solid } };
    const auto sdAndCv = [](double sd, const std::optional<double>& cv) {
        return titleNumber(sd) + (cv ? " (CV " + titleNumber(*cv) + " %)" : std::string());
    };
    std::string title = "SD of repeatability " + sdAndCv(precision.repeatability.sd, precision.repeatability.cvPercent);
    if (const auto& within = precision.withinLaboratory)
        title += ", within laboratory " + sdAndCv(within->sd, within->cvPercent);
    return { title, kPrecisionMethod, { panel } };
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
