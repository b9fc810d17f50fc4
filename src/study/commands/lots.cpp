// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/lots.h"

#include "study/table/columns.h"
#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"
#include "stats/basics/input_checks.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <memory>
#include <unordered_map>

namespace mk::study {

namespace {

/// Whether what is judged, if anything, are the samples and not their mean.
bool judgesEach(const StudyLotsReport& report)
{
    return report.options.judgement == stats::LotJudgement::EachSample;
}

std::string lotsLimit(const StudyLotsReport& report)
{
    const stats::Allowance& allowance = report.options.allowance;
    const bool both = allowance.percent && allowance.absolute;
    if (judgesEach(report))
        return said(both ? StudyTexts::tr("Every sample must lie within what is allowed, the larger limit counts.")
                         : StudyTexts::tr("Every sample must lie within what is allowed."));
    return said(both ? StudyTexts::tr("The mean difference must lie within what is allowed of that mean, the larger limit counts: %1.")
                     : StudyTexts::tr("The mean difference must lie within what is allowed of that mean: %1."),
        shortNumber(report.lots.allowedMean.value_or(0)));
}

std::string lotsMethod(const StudyLotsReport& report)
{
    const QString method = judgesEach(report)
        ? StudyTexts::tr("A difference is candidate less current; percent is the mean of the samples' percentages of the current lot; %1 t "
                         "interval.")
        : StudyTexts::tr("A difference is candidate less current; percent is of the mean of the current lot's results; %1 t interval.");
    const std::string text = said(method, percentText(report.options.confidence));
    return report.options.allowance.given() ? text + ' ' + lotsLimit(report) : text;
}

std::string beyondNames(const StudyLotsReport& report)
{
    std::vector<std::string> names;
    for (const std::size_t number : report.lots.beyond)
        names.push_back(report.samples[number - 1]);
    return joined(names, ", ");
}

/// What the means differ by. In one sentence with what follows: a semicolon joins whole parts.
std::string lotsDifference(const StudyLotsReport& report)
{
    const stats::LotComparison& lots = report.lots;
    const auto& percent = judgesEach(report) ? lots.meanPercent : lots.percentOfMeans;
    return percent ? said(StudyTexts::tr("Candidate less current: %1 (%2 %)"), titleNumber(lots.meanDifference), titleNumber(*percent))
                   : said(StudyTexts::tr("Candidate less current: %1"), titleNumber(lots.meanDifference));
}

std::string lotsFinding(const StudyLotsReport& report)
{
    const stats::LotComparison& lots = report.lots;
    const std::string difference = lotsDifference(report);
    if (!lots.met)
        return difference;
    if (judgesEach(report) && !lots.beyond.empty())
        return said(*lots.met ? StudyTexts::tr("%1; within what is allowed, %2 of %3 samples beyond it")
                              : StudyTexts::tr("%1; not within what is allowed, %2 of %3 samples beyond it"),
            difference, std::to_string(lots.beyond.size()), std::to_string(lots.n));
    return said(*lots.met ? StudyTexts::tr("%1; within what is allowed") : StudyTexts::tr("%1; not within what is allowed"), difference);
}

bool lotsInPercent(const StudyLotsReport& report)
{
    const bool onlyAbsolute = report.options.allowance.absolute && !report.options.allowance.percent;
    return judgesEach(report) && !onlyAbsolute && report.lots.meanPercent.has_value();
}

std::vector<report::PlotCurve> lotsAllowedCurves(const StudyLotsReport& report, bool percent)
{
    const auto [from, to] = std::ranges::minmax(report.current);
    return allowedCurves(from, to, [&](double at) -> std::optional<stats::Interval> {
        const auto allowed = stats::allowedAt(report.options.allowance, at);
        if (!allowed || (percent && at == 0))
            return std::nullopt;
        const double reach = percent ? 100 * *allowed / std::abs(at) : *allowed;
        return stats::Interval { -reach, reach };
    });
}

base::Result<std::vector<std::string>> lotSamples(const StudyFile& file)
{
    std::vector<std::string> samples;
    std::unordered_map<std::string, std::size_t> lineOf;
    const auto column = file.table.column("sample");
    for (const exchange::CsvRow& row : file.table.rows) {
        samples.push_back(column ? row.text(*column) : std::to_string(samples.size() + 1));
        if (samples.back().empty())
            return file.fault(
                row, base::fault(base::FaultKind::BadInput, "the cell under 'sample' is empty; name the sample or leave the row out"));
        const auto [known, isNew] = lineOf.try_emplace(samples.back(), row.line);
        if (!isNew)
            return file.fault(row,
                base::badInput(
                    "sample '%1' stands on line %2 already; give each sample one row, with the mean of its results if it has several",
                    samples.back(), known->second));
    }
    return samples;
}

std::vector<std::string> lotRow(const StudyLotsReport& report, std::size_t i)
{
    const double difference = report.candidate[i] - report.current[i];
    const auto allowed = stats::allowedAt(report.options.allowance, report.current[i]);
    std::vector<std::string> row = { report.samples[i], shortNumber(report.current[i]), shortNumber(report.candidate[i]),
        shortNumber(difference), report.current[i] == 0 ? "-" : shortNumber(100 * difference / report.current[i]) };
    if (allowed && judgesEach(report)) {
        row.push_back(shortNumber(*allowed));
        row.push_back(yesNoText(!std::ranges::binary_search(report.lots.beyond, i + 1)));
    }
    return row;
}

struct StudyLotsArguments {
    std::string file;
    std::string plot;
    std::string judge = "each";
    stats::LotOptions options;
};

int runStudyLots(const StudyLotsArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    stats::LotOptions options = arguments.options;
    options.judgement = arguments.judge == "each" ? stats::LotJudgement::EachSample : stats::LotJudgement::Mean;
    const auto report = studyLots(*file, options);
    const int printed = printStudy(report, json, arguments.plot, studyLotsJson, studyLotsTable, studyLotsPlot);
    return printedStatus(printed, report && report->lots.met == false);
}

} // namespace

base::Result<StudyLotsReport> studyLots(const StudyFile& file, const stats::LotOptions& options)
{
    if (const auto checked = stats::checkAllowance(options.allowance); !checked)
        return checked.error();
    if (const auto checked = stats::checkConfidence(options.confidence); !checked)
        return checked.error();
    auto samples = lotSamples(file);
    if (!samples)
        return samples.error();
    auto current = file.numbers("current");
    if (!current)
        return current.error();
    auto candidate = file.numbers("candidate");
    if (!candidate)
        return candidate.error();
    auto lots = stats::compareLots(*current, *candidate, options);
    if (!lots)
        return file.fault(lots.error());
    return StudyLotsReport { std::move(samples).value(), std::move(current).value(), std::move(candidate).value(), options,
        std::move(lots).value(), file.ignored({ "sample", "current", "candidate" }) };
}

std::string studyLotsJson(const StudyLotsReport& report)
{
    const stats::LotComparison& lots = report.lots;
    JsonWriter json;
    json.beginObject().key("format").value(1).key("n").value(lots.n).key("mean_difference").value(lots.meanDifference);
    json.key("percent").value(lots.meanPercent);
    writeBounds(json.key("ci"), lots.meanCi);
    json.key("met").value(lots.met).key("judged").value(judgesEach(report) ? "each" : "mean");
    json.key("sd_difference").value(lots.sdDifference).key("percent_of_means").value(lots.percentOfMeans);
    json.key("sd_percent").value(lots.sdPercent).key("largest_percent").value(lots.largestPercent);
    json.key("t").value(lots.t).key("p").value(lots.pValue).key("beyond").beginArray();
    for (const std::size_t number : lots.beyond)
        json.value(report.samples[number - 1]);
    json.endArray().key("confidence").value(report.options.confidence).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyLotsTable(const StudyLotsReport& report)
{
    const stats::LotComparison& lots = report.lots;
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("sample")), said(StudyTexts::tr("current")),
        said(StudyTexts::tr("candidate")), said(StudyTexts::tr("difference")), "%" } };
    if (report.options.allowance.given() && judgesEach(report))
        rows.front().insert(rows.front().end(), { said(StudyTexts::tr("allowed")), said(StudyTexts::tr("within")) });
    for (std::size_t i = 0; i < report.samples.size(); ++i)
        rows.push_back(lotRow(report, i));
    const std::vector<std::vector<std::string>> figures = { { said(StudyTexts::tr("n")), std::to_string(lots.n) },
        { said(StudyTexts::tr("mean difference")), shortNumber(lots.meanDifference) },
        { said(StudyTexts::tr("its %1 interval"), percentText(report.options.confidence)), boundsText(lots.meanCi) },
        { said(StudyTexts::tr("SD of the differences")), maybeText(lots.sdDifference) },
        { said(StudyTexts::tr("mean of the percentages")), maybeText(lots.meanPercent) },
        { said(StudyTexts::tr("percent of the means")), maybeText(lots.percentOfMeans) },
        { said(StudyTexts::tr("P of no difference")), maybeText(lots.pValue) } };
    return alignedTable(rows) + '\n' + alignedTable(figures) + lotsFinding(report)
        + (lots.beyond.empty() || !judgesEach(report) ? "" : ": " + beyondNames(report)) + ".\n" + lotsMethod(report) + '\n'
        + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyLotsPlot(const StudyLotsReport& report)
{
    const stats::LotComparison& lots = report.lots;
    const bool percent = lotsInPercent(report);
    const bool samplesJudged = report.options.allowance.given() && judgesEach(report);
    report::PlotPoints within { samplesJudged ? said(StudyTexts::tr("sample within")) : "", {}, {}, report::PlotShape::Circle };
    report::PlotPoints beyond { {}, {}, {}, report::PlotShape::SquareWithBar };
    if (samplesJudged && !lots.beyond.empty())
        beyond.legend = said(StudyTexts::tr("sample beyond what is allowed"));
    for (std::size_t i = 0; i < report.current.size(); ++i) {
        const double difference = report.candidate[i] - report.current[i];
        report::PlotPoints& points = samplesJudged && std::ranges::binary_search(lots.beyond, i + 1) ? beyond : within;
        points.x.push_back(report.current[i]);
        points.y.push_back(percent ? 100 * difference / report.current[i] : difference);
    }
    report::PlotPanel panel;
    panel.x.title = said(StudyTexts::tr("Result with the current lot"));
    panel.y.title = said(percent ? StudyTexts::tr("Candidate less current, %") : StudyTexts::tr("Candidate less current"));
    panel.points = { within, beyond };
    panel.limits = { { 0, "0", report::PlotStroke::Solid },
        { percent ? *lots.meanPercent : lots.meanDifference, said(StudyTexts::tr("mean")), report::PlotStroke::Dotted } };
    if (samplesJudged) {
        panel.curves = lotsAllowedCurves(report, percent);
    } else if (lots.allowedMean) {
        panel.limits.push_back({ *lots.allowedMean, said(StudyTexts::tr("allowed")), report::PlotStroke::Dashed });
        panel.limits.push_back({ -*lots.allowedMean, said(StudyTexts::tr("allowed")), report::PlotStroke::Dashed });
    }
    return { lotsFinding(report), lotsMethod(report), { panel } };
}

void addStudyLots(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("lots", "A candidate lot against the current one on the same samples");
    auto arguments = std::make_shared<StudyLotsArguments>();
    stats::LotOptions& options = arguments->options;
    command->add_option("FILE", arguments->file, "CSV with sample,current,candidate; one row a sample")->required();
    command->add_option("--allow-percent", options.allowance.percent, "Allowed difference, in percent of the current lot's result");
    command->add_option("--allow-absolute", options.allowance.absolute, "Allowed difference, in the units of the data");
    oneOf(command->add_option("--judge", arguments->judge,
              "What must be within: the difference of each sample, or the mean difference, which lets differences of both signs cancel"),
        { "each", "mean" })
        ->capture_default_str();
    command->add_option("--confidence", options.confidence, "Of the interval")->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  A difference is candidate less current, with a paired t interval. The larger of both allowances counts, on the limit is\n"
        "  within, and a percentage is of the current lot's result. With --judge mean the mean difference is held against the\n"
        "  larger of the absolute allowance and the percentage of the mean of the current lot's results, and the percentage printed\n"
        "  beside it is of that mean. Exit status 1 when the lot is not within it.\n"
        "Example:\n  meterkeep-cli study lots new-lot.csv --allow-percent 15 --allow-absolute 12");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyLots(*arguments, json); });
}

} // namespace mk::study
