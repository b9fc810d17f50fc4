// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/anova.h"

#include "base/number_text.h"
#include "study/table/figures.h"
#include "study/terminal/printing.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <memory>

namespace mk::study {

namespace {

std::string anovaMethod()
{
    return said(StudyTexts::tr("One-way, fixed groups; P is the upper tail of F, residual SD the root of the mean square within."));
}

void writeAnovaSource(JsonWriter& json, const stats::AnovaSource& source)
{
    json.beginObject().key("df").value(source.df).key("ss").value(source.ss).key("ms").value(source.ms).endObject();
}

std::vector<std::string> anovaRow(const std::string& name, const stats::AnovaSource& source)
{
    return { name, std::to_string(source.df), shortNumber(source.ss), shortNumber(source.ms) };
}

/// How many digits the means need to be told apart: down to a hundredth of the residual SD, but no more than a double has.
int anovaMeanDigits(const stats::Anova& anova)
{
    constexpr int kUsual = 6; // as shortNumber
    constexpr int kWithoutSpread = 10;
    constexpr int kMost = 15;
    double largest = 0;
    for (const stats::AnovaGroup& group : anova.groups)
        largest = std::max(largest, std::abs(group.mean));
    if (anova.residualSd == 0 || largest == 0)
        return kWithoutSpread;
    const double before = std::floor(std::log10(largest)) - std::floor(std::log10(anova.residualSd));
    return static_cast<int>(std::clamp(before + 3, static_cast<double>(kUsual), static_cast<double>(kMost)));
}

struct StudyAnovaArguments {
    std::string file;
    std::string plot;
};

int runStudyAnova(const StudyAnovaArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    return printStudy(studyAnova(*file), json, arguments.plot, studyAnovaJson, studyAnovaTable, studyAnovaPlot);
}

} // namespace

base::Result<StudyAnovaReport> studyAnova(const StudyFile& file)
{
    auto groups = studyLabels(file, "group");
    if (!groups)
        return groups.error();
    auto offsets = studyOffsets(file, "value");
    if (!offsets)
        return offsets.error();
    auto anova = stats::oneWayAnova(groups->numbers, offsets->offsets, offsets->origin);
    if (!anova)
        return file.fault(anova.error());
    return StudyAnovaReport { std::move(offsets->values), std::move(groups).value(), std::move(anova).value(),
        file.ignored({ "group", "value" }) };
}

std::string studyAnovaJson(const StudyAnovaReport& report)
{
    const stats::Anova& anova = report.anova;
    JsonWriter json;
    json.beginObject().key("format").value(1);
    writeAnovaSource(json.key("between"), anova.between);
    writeAnovaSource(json.key("within"), anova.within);
    json.key("f").value(anova.f).key("r_squared").value(anova.rSquared).key("residual_sd").value(anova.residualSd);
    json.key("p").value(anova.pValue).key("n").value(report.values.size()).key("mean").value(anova.mean).key("groups").beginArray();
    for (std::size_t i = 0; i < anova.groups.size(); ++i) {
        json.beginObject().key("group").value(report.groups.names[i]).key("n").value(anova.groups[i].n);
        json.key("mean").value(anova.groups[i].mean).endObject();
    }
    json.endArray().key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyAnovaTable(const StudyAnovaReport& report)
{
    const stats::Anova& anova = report.anova;
    std::vector<std::vector<std::string>> rows = { { "", said(StudyTexts::tr("df")), said(StudyTexts::tr("sum of squares")),
        said(StudyTexts::tr("mean square")), said(StudyTexts::tr("F")), said(StudyTexts::tr("P")) } };
    rows.push_back(anovaRow(said(StudyTexts::tr("between groups")), anova.between));
    rows.back().insert(rows.back().end(), { maybeText(anova.f), maybeText(anova.pValue) });
    rows.push_back(anovaRow(said(StudyTexts::tr("within groups")), anova.within));
    const int digits = anovaMeanDigits(anova);
    std::vector<std::vector<std::string>> groups = { { said(StudyTexts::tr("group")), said(StudyTexts::tr("n")),
        said(StudyTexts::tr("mean")) } };
    for (std::size_t i = 0; i < anova.groups.size(); ++i)
        groups.push_back(
            { report.groups.names[i], std::to_string(anova.groups[i].n), base::significantText(anova.groups[i].mean, digits) });
    const QString spread = anova.f ? StudyTexts::tr("Residual SD %1, R squared %2.")
                                   : StudyTexts::tr("Residual SD %1, R squared %2. No value differs from its group, so there is no F.");
    return alignedTable(groups) + '\n' + alignedTable(rows) + said(spread, shortNumber(anova.residualSd), maybeText(anova.rSquared)) + '\n'
        + anovaMethod() + '\n' + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyAnovaPlot(const StudyAnovaReport& report)
{
    const stats::Anova& anova = report.anova;
    std::vector<double> places;
    for (const std::size_t group : report.groups.numbers)
        places.push_back(static_cast<double>(group) + 1);
    std::vector<double> means;
    for (const stats::AnovaGroup& group : anova.groups)
        means.push_back(group.mean);
    report::PlotPanel panel;
    panel.x.names = axisNames(report.groups.names);
    panel.x.wholeNumbers = panel.x.names.empty();
    panel.x.title = panel.x.names.empty() ? said(StudyTexts::tr("Group, numbered in the order of the file"))
                                          : said(StudyTexts::tr("Group"));
    panel.y.title = said(StudyTexts::tr("Value"));
    panel.points = { { said(StudyTexts::tr("value")), places, report.values, report::PlotShape::Ring } };
    panel.curves = { meanStrokes(said(StudyTexts::tr("mean of the group")), means) };
    panel.limits = { { anova.mean, said(StudyTexts::tr("mean")), report::PlotStroke::Solid } };
    const std::string residual = titleNumber(anova.residualSd);
    const std::string title = anova.f
        ? said(StudyTexts::tr("F %1, P %2, residual SD %3"), titleNumber(*anova.f), titleNumber(anova.pValue.value_or(0)), residual)
        : said(StudyTexts::tr("No F, residual SD %1"), residual);
    const std::string key = panel.x.names.empty() ? ' ' + said(StudyTexts::tr("Groups: %1."), namesKey(report.groups.names)) : "";
    return { title, anovaMethod() + key, { panel } };
}

void addStudyAnova(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("anova", "One-way analysis of variance");
    auto arguments = std::make_shared<StudyAnovaArguments>();
    command->add_option("FILE", arguments->file, "CSV with group,value")->required();
    addPlotOption(*command, arguments->plot);
    command->footer("How it is computed:\n"
                    "  Fixed groups; P is the upper tail of F. Values are subtracted as decimals before they are squared.\n"
                    "Example:\n  meterkeep-cli study anova meters.csv --plot meters.png");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyAnova(*arguments, json); });
}

} // namespace mk::study
