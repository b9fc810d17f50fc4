// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/robust.h"

#include "study/table/columns.h"
#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "stats/basics/summary.h"

#include <CLI/CLI.hpp>

#include <cmath>
#include <memory>

namespace mk::study {

namespace {

std::string robustMethod()
{
    return said(StudyTexts::tr("MAD times 1.482602. Algorithm A of ISO 13528: k 1.5, starts at the median and 1.483 MAD, SD factor "
                               "1.134, steps until nothing moves."));
}

std::string robustNote(const StudyRobustReport& report)
{
    if (report.values.size() < 2)
        return said(StudyTexts::tr("Algorithm A needs at least two values."));
    if (!report.algorithmA && report.madScaled == 0)
        return said(StudyTexts::tr("Algorithm A has no answer: more than half of the values are the same, so the SD to start from is 0."));
    if (!report.algorithmA)
        return said(StudyTexts::tr("Algorithm A has no answer: its steps do not come to rest."));
    if (std::abs(report.algorithmA->mean - report.median) > report.madScaled && report.madScaled > 0)
        return said(StudyTexts::tr(
            "Algorithm A lies more than one scaled MAD from the median: too many values are wild for it. Trust the median."));
    return {};
}

struct StudyRobustArguments {
    std::string file;
    std::string plot;
};

int runStudyRobust(const StudyRobustArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    return printStudy(studyRobust(*file), json, arguments.plot, studyRobustJson, studyRobustTable, studyRobustPlot);
}

} // namespace

base::Result<StudyRobustReport> studyRobust(const StudyFile& file)
{
    auto values = file.numbers("value");
    if (!values)
        return values.error();
    if (const auto rows = file.hasRows("value"); !rows)
        return rows.error();
    StudyRobustReport report;
    report.values = std::move(values).value();
    report.median = stats::median(report.values);
    report.madScaled = stats::scaledMad(report.values);
    if (report.values.size() >= 2) {
        const auto robust = stats::algorithmA(report.values);
        if (!robust)
            return file.fault(robust.error());
        report.algorithmA = *robust;
    }
    report.note = robustNote(report);
    report.ignoredColumns = file.ignored({ "value" });
    return report;
}

std::string studyRobustJson(const StudyRobustReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("n").value(report.values.size());
    json.key("median").value(report.median).key("mad_scaled").value(report.madScaled).key("algorithm_a");
    if (report.algorithmA) {
        json.beginObject().key("mean").value(report.algorithmA->mean).key("sd").value(report.algorithmA->sd);
        json.key("iterations").value(report.algorithmA->iterations).endObject();
    } else {
        json.null();
    }
    json.key("note");
    if (report.note.empty())
        json.null();
    else
        json.value(report.note);
    json.key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyRobustTable(const StudyRobustReport& report)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("n")), std::to_string(report.values.size()) },
        { said(StudyTexts::tr("median")), shortNumber(report.median) },
        { said(StudyTexts::tr("scaled MAD")), shortNumber(report.madScaled) } };
    if (report.algorithmA) {
        rows.push_back({ said(StudyTexts::tr("Algorithm A mean")), shortNumber(report.algorithmA->mean) });
        rows.push_back({ said(StudyTexts::tr("Algorithm A SD")), shortNumber(report.algorithmA->sd) });
        rows.push_back({ said(StudyTexts::tr("iterations")), std::to_string(report.algorithmA->iterations) });
    }
    return alignedTable(rows) + (report.note.empty() ? "" : report.note + '\n') + robustMethod() + '\n'
        + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyRobustPlot(const StudyRobustReport& report)
{
    using report::PlotStroke;
    report::PlotPanel panel;
    panel.x.title = said(StudyTexts::tr("Number of the value"));
    panel.x.wholeNumbers = true;
    panel.y.title = said(StudyTexts::tr("Value"));
    panel.points = { { {}, runningNumbers(report.values.size()), report.values, report::PlotShape::Circle } };
    panel.limits = { { report.median, said(StudyTexts::tr("median")), PlotStroke::Solid } };
    if (report.madScaled > 0) {
        panel.limits.push_back({ report.median + report.madScaled, said(StudyTexts::tr("+1 scaled MAD")), PlotStroke::Dashed });
        panel.limits.push_back({ report.median - report.madScaled, said(StudyTexts::tr("-1 scaled MAD")), PlotStroke::Dashed });
    }
    const std::string n = std::to_string(report.values.size()), median = titleNumber(report.median), mad = titleNumber(report.madScaled);
    std::string title = said(StudyTexts::tr("n %1, median %2, scaled MAD %3"), n, median, mad);
    if (report.algorithmA) {
        panel.limits.push_back({ report.algorithmA->mean, said(StudyTexts::tr("Algorithm A mean")), PlotStroke::Dotted });
        title = said(StudyTexts::tr("n %1, median %2, scaled MAD %3, Algorithm A mean %4 and SD %5"), n, median, mad,
            titleNumber(report.algorithmA->mean), titleNumber(report.algorithmA->sd));
    }
    return { title, (report.note.empty() ? "" : report.note + ' ') + robustMethod(), { panel } };
}

void addStudyRobust(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("robust", "Median, scaled MAD and Algorithm A of a series");
    auto arguments = std::make_shared<StudyRobustArguments>();
    command->add_option("FILE", arguments->file, "CSV with the column value")->required();
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  The MAD is scaled by 1.482602 (some standards round to 1.483). Algorithm A keeps the standard's rounded factors 1.483 and\n"
        "  1.134 and steps until mean and SD stand still. Blank lines are skipped.\n"
        "Example:\n  meterkeep-cli study robust results.csv --plot results.png");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyRobust(*arguments, json); });
}

} // namespace mk::study
