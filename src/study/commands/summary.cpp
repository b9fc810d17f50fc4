// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/summary.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"

#include <CLI/CLI.hpp>

#include <memory>

namespace mk::study {

namespace {

struct StudySummaryArguments {
    std::string file;
    std::string plot;
    double confidence = 0.95;
};

int runStudySummary(const StudySummaryArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    return printStudy(
        studySummary(*file, arguments.confidence), json, arguments.plot, studySummaryJson, studySummaryTable, studySummaryPlot);
}

} // namespace

base::Result<StudySummaryReport> studySummary(const StudyFile& file, double confidence)
{
    auto values = file.numbers("value");
    if (!values)
        return values.error();
    if (const auto rows = file.hasRows("value"); !rows)
        return rows.error();
    const auto summary = stats::summarize(*values, confidence);
    if (!summary)
        return file.fault(summary.error());
    return StudySummaryReport { std::move(values).value(), *summary, confidence, file.ignored({ "value" }) };
}

std::string studySummaryJson(const StudySummaryReport& report)
{
    const stats::Summary& summary = report.summary;
    JsonWriter json;
    json.beginObject().key("format").value(1).key("n").value(summary.n).key("mean").value(summary.mean).key("sd").value(summary.sd);
    json.key("cv_percent").value(summary.cvPercent).key("median").value(summary.median);
    json.key("min").value(summary.min).key("max").value(summary.max);
    writeBounds(json.key("mean_ci"), summary.meanCi);
    writeBounds(json.key("sd_ci"), summary.sdCi);
    json.key("confidence").value(report.confidence).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studySummaryTable(const StudySummaryReport& report)
{
    const stats::Summary& summary = report.summary;
    const std::string percent = percentText(report.confidence);
    return alignedTable(
               { { said(StudyTexts::tr("n")), std::to_string(summary.n) }, { said(StudyTexts::tr("mean")), shortNumber(summary.mean) },
                   { said(StudyTexts::tr("SD")), maybeText(summary.sd) }, { said(StudyTexts::tr("CV %")), maybeText(summary.cvPercent) },
                   { said(StudyTexts::tr("median")), shortNumber(summary.median) },
                   { said(StudyTexts::tr("min")), shortNumber(summary.min) }, { said(StudyTexts::tr("max")), shortNumber(summary.max) },
                   { said(StudyTexts::tr("mean, %1"), percent), boundsText(summary.meanCi) },
                   { said(StudyTexts::tr("SD, %1"), percent), boundsText(summary.sdCi) } })
        + ignoredLine(report.ignoredColumns);
}

report::PlotScene studySummaryPlot(const StudySummaryReport& report)
{
    const stats::Summary& summary = report.summary;
    report::PlotPanel panel;
    panel.x.title = said(StudyTexts::tr("Number of the value"));
    panel.x.wholeNumbers = true;
    panel.y.title = said(StudyTexts::tr("Value"));
    panel.points = { { {}, runningNumbers(report.values.size()), report.values, report::PlotShape::Circle } };
    const auto limit = [&](double at, const QString& label, report::PlotStroke stroke) {
        panel.limits.push_back({ at, said(label), stroke });
    };
    limit(summary.mean, StudyTexts::tr("mean"), report::PlotStroke::Solid);
    if (summary.sd && *summary.sd > 0) {
        limit(summary.mean - 2 * *summary.sd, StudyTexts::tr("-2 SD"), report::PlotStroke::Dashed);
        limit(summary.mean + 2 * *summary.sd, StudyTexts::tr("+2 SD"), report::PlotStroke::Dashed);
    }
    const std::string n = std::to_string(summary.n), mean = shortNumber(summary.mean);
    const std::string title = summary.sd ? said(StudyTexts::tr("n %1, mean %2, SD %3"), n, mean, shortNumber(*summary.sd))
                                         : said(StudyTexts::tr("n %1, mean %2"), n, mean);
    return { title, said(StudyTexts::tr("SD with n - 1.")), { panel } };
}

void addStudySummary(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("summary", "Mean, SD, CV, median and confidence intervals of a series");
    auto arguments = std::make_shared<StudySummaryArguments>();
    command->add_option("FILE", arguments->file, "CSV with the column value")->required();
    command->add_option("--confidence", arguments->confidence, "Of both intervals")->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer("How it is computed:\n"
                    "  SD with n - 1; t interval of the mean, chi-square interval of the SD, both for normal results.\n"
                    "  Blank lines are skipped.\n"
                    "Example:\n  meterkeep-cli study summary results.csv --json");
    whenChosen(*command, chosen, [arguments, &json] { return runStudySummary(*arguments, json); });
}

} // namespace mk::study
