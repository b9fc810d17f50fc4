// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/drift.h"

#include "study/commands/own_usual.h"
#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"
#include "stats/rules/control_rules.h"
#include "stats/basics/input_checks.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <functional>
#include <initializer_list>
#include <memory>

namespace mk::study {

namespace {

base::Done checkDriftOptions(const StudyDriftOptions& options)
{
    if (!std::isfinite(options.target))
        return base::fault(base::FaultKind::BadInput, "--target must be a number, in the units of the data");
    if (!(options.sd > 0) || !std::isfinite(options.sd))
        return base::fault(base::FaultKind::BadInput, "--sd must be above 0; drift cannot be evaluated without an SD");
    if (!(options.lambda > 0 && options.lambda <= 1))
        return base::fault(base::FaultKind::BadInput, "--lambda must be above 0 and at most 1, such as 0.2");
    if (!(options.width > 0) || !std::isfinite(options.width))
        return base::fault(base::FaultKind::BadInput, "--width must be above 0, such as 3");
    if (!(options.k >= 0) || !std::isfinite(options.k))
        return base::fault(base::FaultKind::BadInput, "--k must be 0 or more, such as 0.5");
    if (!(options.h > 0) || !std::isfinite(options.h))
        return base::fault(base::FaultKind::BadInput, "--h must be above 0, such as 4");
    return {};
}

/// The points whose 1-based numbers are given.
report::PlotPoints pointsAt(const std::vector<std::size_t>& chosen, const std::vector<double>& y, const std::string& legend)
{
    report::PlotPoints points { chosen.empty() ? "" : legend, {}, {}, report::PlotShape::SquareWithBar };
    for (const std::size_t number : chosen) {
        points.x.push_back(static_cast<double>(number));
        points.y.push_back(y[number - 1]);
    }
    return points;
}

bool chartsAreFinite(const StudyDriftReport& report)
{
    return std::ranges::all_of(std::initializer_list<const std::vector<double>*> { &report.ewma.lower, &report.ewma.upper,
                                   &report.ewma.values, &report.cusum.high, &report.cusum.low },
        [](const std::vector<double>* series) { return std::ranges::all_of(*series, [](double one) { return std::isfinite(one); }); });
}

std::vector<std::size_t> trendSignals(const std::vector<double>& values)
{
    std::vector<stats::RuleMask> masks(values.size());
    stats::ruleMasks(values, stats::OnLimit::In, masks); // 7T reads steps only, in whatever unit
    std::vector<std::size_t> signals;
    for (std::size_t i = 0; i < masks.size(); ++i) {
        if ((masks[i] & maskOf(stats::Rule::SevenT)) != 0)
            signals.push_back(i + 1);
    }
    return signals;
}

std::string slopeText(const StudyDriftReport& report)
{
    if (!report.slope)
        return report.values.size() > stats::kMostDriftPoints
            ? said(StudyTexts::tr("Slope: not computed above %1 values; thin the series, such as to daily means."),
                std::to_string(stats::kMostDriftPoints))
            : said(StudyTexts::tr("Slope: needs at least two values."));
    const auto& interval = report.slope->slopeCi;
    const std::string text = said(
        StudyTexts::tr("Slope %1 a value, 95 % interval %2."), shortNumber(report.slope->slope), boundsText(interval));
    if (!interval)
        return text;
    return text + ' '
        + said(interval->lower > 0 || interval->upper < 0 ? StudyTexts::tr("The interval leaves out 0: the series drifts.")
                                                          : StudyTexts::tr("The interval holds 0: no drift is shown."));
}

std::string driftFinding(const StudyDriftReport& report)
{
    std::string text = said(StudyTexts::tr("EWMA signals: %1. CUSUM signals: %2."), std::to_string(report.ewma.signalled.size()),
        std::to_string(report.cusum.signalled.size()));
    if (report.cusum.began)
        text += ' '
            + said(StudyTexts::tr("The first CUSUM signal is no %1; its excursion began at no %2."),
                std::to_string(report.cusum.signalled.front()), std::to_string(*report.cusum.began));
    if (!report.trend.empty())
        text += ' ' + said(StudyTexts::tr("7T first at no %1."), std::to_string(report.trend.front()));
    return text;
}

std::string signalText(const StudyDriftReport& report, std::size_t number)
{
    const bool ewma = std::ranges::binary_search(report.ewma.signalled, number);
    const bool cusum = std::ranges::binary_search(report.cusum.signalled, number);
    const bool trend = std::ranges::binary_search(report.trend, number);
    std::string text = ewma ? "EWMA" : "";
    text += cusum ? std::string(text.empty() ? "" : " ") + "CUSUM" : "";
    return text + (trend ? std::string(text.empty() ? "" : " ") + "7T" : "");
}

/// k, h, target and SD: what a file of values and one of sets take differently.
struct StudyDriftArguments {
    std::string file;
    std::string plot;
    std::string limits = "exact";
    std::string unit = "mg/dL";
    std::optional<double> target, sd, k;
    StudyDriftOptions options;
    StudyUsualOptions usual;
};

int runStudyUsual(const StudyFile& file, const StudyDriftArguments& arguments, bool json)
{
    if (arguments.target || arguments.sd)
        return printFault(base::badInput("--target and --sd belong to a file of values; this one gives a base for each result"));
    StudyUsualOptions options = arguments.usual;
    options.settings.k = arguments.k.value_or(options.settings.k);
    options.settings.h = arguments.options.h;
    options.unit = arguments.unit == "mmol/L" ? base::GlucoseUnit::MmolPerL : base::GlucoseUnit::MgPerDl;
    if (!(options.settings.k >= 0) || !std::isfinite(options.settings.k) || !(options.settings.h > 0) || !std::isfinite(options.settings.h))
        return printFault(base::badInput("--k must be 0 or more, and --h above 0, such as --k 1 --h 4"));
    if (!(options.settings.prior > 0 && options.settings.prior <= 1000))
        return printFault(base::badInput("--prior must be above 0 and at most 1000, such as 2"));
    return printStudy(studyUsual(file, options), json, arguments.plot, studyUsualJson, studyUsualTable, studyUsualPlot);
}

int runStudyDrift(const StudyDriftArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    if (holdsUsualSets(*file))
        return runStudyUsual(*file, arguments, json);
    if (!arguments.target || !arguments.sd)
        return printFault(base::badInput("--target and --sd are needed: the mean and the SD of one value, in the units of the data"));
    StudyDriftOptions options = arguments.options;
    options.target = *arguments.target;
    options.sd = *arguments.sd;
    options.k = arguments.k.value_or(options.k);
    options.limits = arguments.limits == "steady" ? stats::EwmaLimits::Steady : stats::EwmaLimits::Exact;
    return printStudy(studyDrift(*file, options), json, arguments.plot, studyDriftJson, studyDriftTable, studyDriftPlot);
}

} // namespace

base::Result<StudyDriftReport> studyDrift(const StudyFile& file, const StudyDriftOptions& options)
{
    if (const auto checked = checkDriftOptions(options); !checked)
        return checked.error();
    auto values = file.numbers("value");
    if (!values)
        return values.error();
    StudyDriftReport report;
    report.options = options;
    report.values = std::move(values).value();
    report.ewma = stats::ewmaChart(report.values, options.target, options.sd, options.lambda, options.width, options.limits);
    report.cusum = stats::cusumChart(report.values, options.target, options.sd, options.k, options.h);
    if (!chartsAreFinite(report))
        return file.fault(stats::tooFarApart());
    report.trend = trendSignals(report.values);
    if (report.values.size() >= 2 && report.values.size() <= stats::kMostDriftPoints) {
        const auto slope = stats::driftSlope(runningNumbers(report.values.size()), report.values);
        if (!slope)
            return file.fault(slope.error());
        report.slope = *slope;
    }
    report.ignoredColumns = file.ignored({ "value" });
    return report;
}

std::string studyDriftJson(const StudyDriftReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1);
    json.key("ewma").beginObject();
    json.key("lower").array(report.ewma.lower).key("upper").array(report.ewma.upper);
    json.key("values").array(report.ewma.values).key("signals").array(report.ewma.signalled).endObject();
    json.key("cusum").beginObject();
    json.key("high").array(report.cusum.high).key("low").array(report.cusum.low);
    json.key("signals").array(report.cusum.signalled).key("began").value(report.cusum.began).endObject();
    json.key("trend_7t").beginObject().key("signals").array(report.trend).endObject();
    json.key("slope");
    if (report.slope) {
        json.beginObject().key("per_value").value(report.slope->slope);
        writeBounds(json.key("ci"), report.slope->slopeCi);
        json.endObject();
    } else {
        json.null();
    }
    json.key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyDriftTable(const StudyDriftReport& report)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("no")), said(StudyTexts::tr("value")),
        said(StudyTexts::tr("ewma")), said(StudyTexts::tr("lower")), said(StudyTexts::tr("upper")), said(StudyTexts::tr("cusum high")),
        said(StudyTexts::tr("cusum low")), said(StudyTexts::tr("signals")) } };
    for (std::size_t i = 0; i < report.values.size(); ++i) {
        rows.push_back({ std::to_string(i + 1), shortNumber(report.values[i]), shortNumber(report.ewma.values[i]),
            shortNumber(report.ewma.lower[i]), shortNumber(report.ewma.upper[i]), shortNumber(report.cusum.high[i]),
            shortNumber(report.cusum.low[i]), signalText(report, i + 1) });
    }
    return alignedTable(rows) + driftFinding(report) + '\n' + slopeText(report) + '\n' + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyDriftPlot(const StudyDriftReport& report)
{
    using report::PlotShape;
    using report::PlotStroke;
    const std::vector<double> numbers = runningNumbers(report.values.size());
    report::PlotPanel ewma;
    ewma.title = said(report.options.limits == stats::EwmaLimits::Exact ? StudyTexts::tr("EWMA, weight %1, limits of %2 SD, exact")
                                                                        : StudyTexts::tr("EWMA, weight %1, limits of %2 SD, steady"),
        shortNumber(report.options.lambda), shortNumber(report.options.width));
    ewma.y.title = said(StudyTexts::tr("Value"));
    ewma.limits = { { report.options.target, said(StudyTexts::tr("target")), PlotStroke::Solid } };
    ewma.curves = { { said(StudyTexts::tr("EWMA")), numbers, report.ewma.values, PlotStroke::Strong },
        { said(StudyTexts::tr("its limits")), numbers, report.ewma.lower, PlotStroke::Dashed },
        { {}, numbers, report.ewma.upper, PlotStroke::Dashed } };
    ewma.points = { { said(StudyTexts::tr("value")), numbers, report.values, PlotShape::Ring },
        pointsAt(report.ewma.signalled, report.ewma.values, said(StudyTexts::tr("signal"))) };

    report::PlotPanel cusum;
    cusum.title = said(
        StudyTexts::tr("CUSUM, slack %1 SD, decision limit %2 SD"), shortNumber(report.options.k), shortNumber(report.options.h));
    cusum.x.title = said(StudyTexts::tr("Number of the value"));
    cusum.x.wholeNumbers = true;
    ewma.x.wholeNumbers = true;
    cusum.y.title = said(StudyTexts::tr("Sum, in SD"));
    std::vector<double> low = report.cusum.low;
    std::ranges::transform(low, low.begin(), std::negate());
    std::vector<double> furthest = report.cusum.high;
    for (std::size_t i = 0; i < furthest.size(); ++i)
        furthest[i] = report.cusum.high[i] > report.cusum.low[i] ? report.cusum.high[i] : low[i];
    const auto limit = [&](double at, const char* label) {
        return report::PlotLimit { at, label, at == 0 ? PlotStroke::Solid : PlotStroke::Dashed };
    };
    cusum.limits = { limit(report.options.h, "+h"), limit(0, "0"), limit(-report.options.h, "-h") };
    cusum.curves = { { said(StudyTexts::tr("high sum, above 0")), numbers, report.cusum.high, PlotStroke::Solid },
        { said(StudyTexts::tr("low sum, drawn below 0")), numbers, low, PlotStroke::Dotted } };
    cusum.points = { pointsAt(report.cusum.signalled, furthest, said(StudyTexts::tr("signal"))) };
    if (report.cusum.began)
        cusum.limits.push_back({ static_cast<double>(*report.cusum.began), said(StudyTexts::tr("excursion begins")), PlotStroke::Dotted,
            report::PlotLimit::Way::Vertical });
    return { driftFinding(report),
        slopeText(report) + ' '
            + said(StudyTexts::tr("Nothing restarts after a signal. Signals are strict: a value exactly on its limit is none.")),
        { ewma, cusum } };
}

void addStudyDrift(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("drift", "EWMA and CUSUM charts of a series");
    auto arguments = std::make_shared<StudyDriftArguments>();
    StudyDriftOptions& options = arguments->options;
    command
        ->add_option("FILE", arguments->file,
            "CSV with the column value, oldest first; or set, level, value, base, cv_percent: one meter against its own usual value")
        ->required();
    command->add_option("--target", arguments->target, "Target mean of a file of values, in the units of the data");
    command->add_option("--sd", arguments->sd, "SD of one value of such a file, in the units of the data");
    command->add_option("--lambda", options.lambda, "EWMA: weight of the newest value")->capture_default_str();
    command->add_option("--width", options.width, "EWMA: limits, in SD of the average")->capture_default_str();
    oneOf(command->add_option(
              "--limits", arguments->limits, "EWMA: limits that widen from the first value on (exact), or final ones (steady)"),
        { "exact", "steady" })
        ->capture_default_str();
    command->add_option("--k", arguments->k, "Sums: slack, in SD; without it 0.5 for values, 1 for sets");
    command->add_option("--h", options.h, "CUSUM: decision limit, in SD")->capture_default_str();
    stats::UsualSettings& usual = arguments->usual.settings;
    between(command->add_option("--usual", usual.learned, "Sets: so many controls make the usual value"), 5, 1000)->capture_default_str();
    command->add_option("--prior", usual.prior, "Sets: weight of the group in the usual value, in controls")->capture_default_str();
    between(command->add_option("--newest", usual.newest, "Sets: so many newest controls say where the meter stands"), 3, 1000)
        ->capture_default_str();
    oneOf(command->add_option("--unit", arguments->unit, "Sets: unit of the results, for the limit of low ones"), { "mg/dL", "mmol/L" })
        ->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  The average starts at the target; sums start at 0 and nothing restarts after a signal. A signal is strictly beyond its\n"
        "  limit. k and h are in SD of one value. The slope is Theil and Sen's median of all slopes, per value, with Sen's interval;\n"
        "  it is counted as a trend only where the interval leaves out 0. 7T is seven values, each strictly above (below) the last.\n"
        "  A file of sets: each first attempt is scored against the meter's usual value, learned from its first controls and started at\n"
        "  the base; a row with the level act and the value restart or accept happens before the next set.\n"
        "  Blank lines are skipped and not counted. Signals are a result of the study: the exit status is 0.\n"
        "Example:\n  meterkeep-cli study drift series.csv --target 5.6 --sd 0.3 --h 5");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyDrift(*arguments, json); });
}

} // namespace mk::study
