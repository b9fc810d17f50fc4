// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/sigma.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <memory>

namespace mk::study {

namespace {

stats::RuleSettings sigmaSettings(const stats::RuleChoice& choice)
{
    stats::RuleSettings settings;
    settings.rules = choice.rules;
    settings.levels = choice.levels;
    return settings;
}

/// The critical shift as far as power can be asked; beyond that rejection is certain.
double shiftToFind(const StudySigmaReport& report)
{
    return std::min(report.metric.criticalShift, stats::kLargestPowerShift);
}

/// Power and run lengths of the chosen rules; all are exact for the two schemes.
base::Done addSigmaPower(StudySigmaReport& report)
{
    std::vector<stats::MethodError> errors = { {} };
    if (report.metric.criticalShift > 0)
        errors.push_back({ shiftToFind(report), 1 });
    const stats::RuleSettings settings = sigmaSettings(report.choice);
    const auto chances = stats::rejectionChances(settings, errors, report.choice.sets);
    const auto lengths = stats::averageRunLengths(settings, errors);
    if (!chances || !lengths)
        return chances ? lengths.error() : chances.error();
    report.falseRejection = chances->front().value;
    report.lengthInControl = lengths->front().value().value;
    if (errors.size() == 1)
        return {};
    report.detection = chances->back().value;
    report.lengthAtCritical = lengths->back().value().value;
    return {};
}

void addSigmaSchedule(StudySigmaReport& report, const StudySchedule& schedule)
{
    report.falseAlarms = stats::falseAlarms(schedule.meters, schedule.setsPerDay, kAlarmDays, report.lengthInControl);
    if (report.lengthAtCritical)
        report.daysUntilFound = stats::daysUntilFound(*report.lengthAtCritical, schedule.setsPerDay);
}

std::string sigmaSetsText(const stats::RuleChoice& choice)
{
    const std::string levels = std::to_string(choice.levels);
    return choice.sets == 1 ? said(StudyTexts::tr("%1 levels, judged in one set"), levels)
                            : said(StudyTexts::tr("%1 levels, judged over %2 sets"), levels, std::to_string(choice.sets));
}

/// What the number means for the method.
std::string sigmaMeaning(const StudySigmaReport& report)
{
    if (report.metric.sigma <= 0)
        return said(StudyTexts::tr(
            "The bias alone uses up the allowable error: no control rule can make this method meet the goal. Remove the bias first."));
    if (report.metric.criticalShift <= 0)
        return said(
            StudyTexts::tr("More than 5 % of results are beyond the allowable error even without a shift: control rules cannot make "
                           "this method meet the goal."));
    if (report.metric.sigma < 3)
        return said(StudyTexts::tr("Below 3 sigma even small shifts matter: improve the method, and use every rule until then."));
    return said(
        StudyTexts::tr("A shift of %1 SD would put 5 % of results beyond the allowable error."), titleNumber(report.metric.criticalShift));
}

/// How the numbers came about, for table and plot.
std::vector<std::string> sigmaMethod()
{
    return { said(StudyTexts::tr("Sigma = (allowable - |bias|) / CV; critical random error = sigma / 1.96.")),
        said(StudyTexts::tr("Critical shift = sigma - 1.65 (1.644854 rounded, as published tables have it).")),
        said(StudyTexts::tr("Control rules by sigma: the less room, the more rules. The steps are our choice: hold them against your own "
                            "quality plan. Power is exact (Markov chain).")) };
}

std::vector<std::vector<std::string>> sigmaRows(const StudySigmaReport& report)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("sigma")), shortNumber(report.metric.sigma) },
        { said(StudyTexts::tr("critical shift")), said(StudyTexts::tr("%1 SD"), shortNumber(report.metric.criticalShift)) },
        { said(StudyTexts::tr("critical random error")),
            report.metric.sigma > 0 ? said(StudyTexts::tr("x %1"), shortNumber(report.metric.criticalRandom)) : "-" },
        { said(StudyTexts::tr("beyond allowable now")), percentText(report.beyondAllowable) },
        { said(StudyTexts::tr("rules")), rulesText(report.choice.rules) }, { "", sigmaSetsText(report.choice) },
        { said(StudyTexts::tr("false rejection")), percentText(report.falseRejection) } };
    if (report.detection) {
        rows.push_back({ said(StudyTexts::tr("critical shift rejected")), percentText(*report.detection) });
        rows.push_back({ said(StudyTexts::tr("sets until rejected")), shortNumber(*report.lengthAtCritical) });
    }
    if (report.falseAlarms)
        rows.push_back({ said(StudyTexts::tr("false alarms in 30 days")),
            said(StudyTexts::tr("%1 (%2)"), shortNumber(*report.falseAlarms), scheduleText(*report.options.schedule)) });
    if (report.daysUntilFound)
        rows.push_back({ said(StudyTexts::tr("days until found")), shortNumber(*report.daysUntilFound) });
    return rows;
}

struct StudySigmaArguments {
    StudySigmaOptions options;
    std::optional<double> meters, setsPerDay;
    std::string plot;
};

base::Result<StudySigmaReport> studySigmaOf(const StudySigmaArguments& arguments)
{
    StudySigmaOptions options = arguments.options;
    if (arguments.meters || arguments.setsPerDay)
        options.schedule = StudySchedule { arguments.meters.value_or(1), arguments.setsPerDay.value_or(1) };
    return studySigma(options);
}

int runStudySigma(const StudySigmaArguments& arguments, bool json)
{
    return printStudy(studySigmaOf(arguments), json, arguments.plot, studySigmaJson, studySigmaTable, studySigmaPlot);
}

} // namespace

base::Result<StudySigmaReport> studySigma(const StudySigmaOptions& options)
{
    if (options.levels != 2 && options.levels != 3)
        return base::fault(base::FaultKind::BadInput, "--levels must be 2 or 3: the scheme gives rules for these");
    if (options.schedule) {
        if (const auto checked = checkSchedule(*options.schedule); !checked)
            return checked.error();
    }
    const auto metric = stats::sigmaMetric(options.allowable, options.bias, options.cv);
    if (!metric)
        return metric.error();
    StudySigmaReport report;
    report.options = options;
    report.metric = *metric;
    report.choice = stats::rulesForSigma(metric->sigma, options.levels);
    report.beyondAllowable = stats::chanceBeyondAllowable(options.allowable / options.cv, options.bias / options.cv);
    if (const auto done = addSigmaPower(report); !done)
        return done.error();
    if (options.schedule)
        addSigmaSchedule(report, *options.schedule);
    return report;
}

std::string studySigmaJson(const StudySigmaReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("sigma").value(report.metric.sigma);
    json.key("critical_shift").value(report.metric.criticalShift).key("critical_random");
    if (report.metric.sigma > 0)
        json.value(report.metric.criticalRandom);
    else
        json.null(); // a spread cannot shrink below none
    json.key("rules").value(rulesText(report.choice.rules)).key("levels").value(report.choice.levels).key("sets").value(report.choice.sets);
    json.key("beyond_allowable").value(report.beyondAllowable).key("false_rejection").value(report.falseRejection);
    json.key("critical_shift_rejection").value(report.detection).key("average_run_length").beginArray();
    json.beginObject().key("shift").value(0).key("sets").value(report.lengthInControl).endObject();
    if (report.lengthAtCritical)
        json.beginObject().key("shift").value(report.metric.criticalShift).key("sets").value(*report.lengthAtCritical).endObject();
    json.endArray().key("schedule");
    if (report.options.schedule) {
        json.beginObject()
            .key("meters")
            .value(report.options.schedule->meters)
            .key("sets_per_day")
            .value(report.options.schedule->setsPerDay);
        json.key("days").value(kAlarmDays).key("false_alarms").value(report.falseAlarms);
        json.key("days_until_found").value(report.daysUntilFound).endObject();
    } else {
        json.null();
    }
    json.key("meaning").value(sigmaMeaning(report)).endObject();
    return json.text() + '\n';
}

std::string studySigmaTable(const StudySigmaReport& report)
{
    return alignedTable(sigmaRows(report)) + sigmaMeaning(report) + '\n' + joined(sigmaMethod(), "\n") + '\n';
}

report::PlotScene studySigmaPlot(const StudySigmaReport& report)
{
    report::PlotPanel panel;
    panel.x.title = said(StudyTexts::tr("Shift, in SD"));
    panel.y = { said(StudyTexts::tr("Rejected, %")), -2, 102, false, {} }; // room for marks at 0 and 100
    panel.title = said(StudyTexts::tr("%1: %2"), rulesText(report.choice.rules), sigmaSetsText(report.choice));
    const double upper = std::clamp(std::ceil(report.metric.criticalShift + 0.5), 5.0, stats::kLargestPowerShift);
    panel.curves = { powerCurve(sigmaSettings(report.choice), 1, report.choice.sets, 0, upper) };
    if (report.detection) {
        const double critical = report.metric.criticalShift;
        if (critical > upper) { // certain long before
            panel.curves[0].x.push_back(critical);
            panel.curves[0].y.push_back(100);
        }
        panel.points = { { {}, { critical }, { 100 * *report.detection }, report::PlotShape::Circle } };
        panel.limits = { { critical, said(StudyTexts::tr("critical shift %1"), titleNumber(critical)), report::PlotStroke::Dashed,
            report::PlotLimit::Way::Vertical } };
    }
    const std::string sigma = titleNumber(report.metric.sigma);
    const std::string title = report.detection ? said(StudyTexts::tr("Sigma %1: %2 % of critical shifts rejected, false rejection %3 %"),
                                  sigma, titleNumber(100 * *report.detection), titleNumber(100 * report.falseRejection))
                                               : said(StudyTexts::tr("Sigma %1: %2"), sigma, sigmaMeaning(report));
    return { title, joined(sigmaMethod(), " "), { panel } };
}

void addStudySigma(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("sigma", "Sigma metric, critical errors, and the control rules that suit the method");
    auto arguments = std::make_shared<StudySigmaArguments>();
    StudySigmaOptions& options = arguments->options;
    command->add_option("--allowable", options.allowable, "Total allowable error, in percent")->required();
    command->add_option("--bias", options.bias, "Bias against the reference, in percent, either sign")->required();
    command->add_option("--cv", options.cv, "CV within the laboratory, in percent")->required();
    command->add_option("--levels", options.levels, "Control levels in each set, 2 or 3")->capture_default_str();
    command->add_option("--meters", arguments->meters, "Meters on the ward: gives false alarms in 30 days");
    command->add_option(
        "--sets-per-day", arguments->setsPerDay, "Control sets a day on each meter: gives days until the critical shift is found");
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  Sigma = (allowable - |bias|) / CV. The critical shift is sigma - 1.65 (1.644854 rounded), the critical random error\n"
        "  sigma / 1.96. Control rules by sigma, for 2 or 3 levels: the less room, the more rules; the steps are our\n"
        "  choice.\n"
        "Example:\n  meterkeep-cli study sigma --allowable 15 --bias 2 --cv 3");
    whenChosen(*command, chosen, [arguments, &json] { return runStudySigma(*arguments, json); });
}

} // namespace mk::study
