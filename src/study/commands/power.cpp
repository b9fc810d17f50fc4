// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/power.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"
#include "study/terminal/typed_numbers.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <memory>

namespace mk::study {

namespace {

constexpr std::size_t kMostPowerPoints = 1000;

stats::RuleSettings powerSettingsOf(const StudyPowerOptions& options)
{
    stats::RuleSettings settings;
    settings.levels = options.levels;
    settings.rangeReading = options.rangeReading;
    for (const StudyRule& rule : options.rules) {
        if (rule.role == StudyRole::Reject)
            settings.rules.push_back(rule.rule);
    }
    return settings;
}

base::Done addPowerPoints(StudyPowerReport& report)
{
    std::vector<stats::MethodError> errors = { {} };
    for (const double random : report.randoms) {
        for (const double shift : report.shifts)
            errors.push_back({ shift, random });
    }
    const auto chances = stats::rejectionChances(report.settings, errors, report.sets);
    if (!chances)
        return chances.error();
    report.falseRejection = chances->front();
    for (std::size_t i = 1; i < errors.size(); ++i)
        report.points.push_back({ errors[i], (*chances)[i] });
    return {};
}

base::Done addRunLengths(StudyPowerReport& report)
{
    std::vector<stats::MethodError> errors = { {} };
    for (const double shift : report.shifts)
        errors.push_back({ shift, 1 });
    const auto lengths = stats::averageRunLengths(report.settings, errors);
    if (!lengths)
        return lengths.error();
    for (std::size_t i = 1; i < errors.size(); ++i) {
        StudyRunLength length { errors[i].shift, (*lengths)[i], std::nullopt };
        if (report.schedule && length.sets && length.shift != 0)
            length.days = stats::daysUntilFound(length.sets->value, report.schedule->setsPerDay);
        report.lengths.push_back(length);
    }
    if (report.schedule)
        report.falseAlarms = lengths->front()
            ? stats::falseAlarms(report.schedule->meters, report.schedule->setsPerDay, kAlarmDays, lengths->front()->value)
            : 0;
    return {};
}

base::Done addAlarmsGoingOn(StudyPowerReport& report)
{
    const auto shares = stats::firingShares(report.settings, std::vector { stats::MethodError {} });
    if (!shares)
        return shares.error();
    const auto alarms = [&](double share) {
        return stats::falseAlarmsGoingOn(report.schedule->meters, report.schedule->setsPerDay, kAlarmDays, share);
    };
    const stats::PowerFigure& share = shares->front();
    report.falseAlarmsGoingOn = stats::PowerFigure { alarms(share.value),
        share.standardError ? std::optional(alarms(*share.standardError)) : std::nullopt };
    return {};
}

struct StudyPowerArguments {
    std::string rules = kStudyDefaultRules;
    std::string rangeReading = "opposite";
    std::string shifts = "0,1,2,3";
    std::string randoms = "1,1.5,2";
    std::optional<double> meters, setsPerDay;
    StudyPowerOptions options;
    std::string plot;
};

base::Result<StudyPowerReport> studyPowerOf(const StudyPowerArguments& arguments)
{
    StudyPowerOptions options = arguments.options;
    auto rules = parseStudyRules(arguments.rules);
    auto shifts = studyReals("--shift", arguments.shifts);
    auto randoms = studyReals("--random", arguments.randoms);
    if (!rules || !shifts || !randoms)
        return !rules ? rules.error() : (!shifts ? shifts.error() : randoms.error());
    options.rules = *rules;
    options.shifts = *shifts;
    options.randoms = *randoms;
    options.rangeReading = arguments.rangeReading == "range" ? stats::RangeReading::Difference : stats::RangeReading::Opposite;
    if (arguments.meters || arguments.setsPerDay)
        options.schedule = StudySchedule { arguments.meters.value_or(1), arguments.setsPerDay.value_or(1) };
    return studyPower(options);
}

int runStudyPower(const StudyPowerArguments& arguments, bool json)
{
    return printStudy(studyPowerOf(arguments), json, arguments.plot, studyPowerJson, studyPowerTable, studyPowerPlot);
}

} // namespace

base::Done checkSchedule(const StudySchedule& schedule)
{
    if (!(schedule.meters >= 1 && schedule.meters <= 100'000) || schedule.meters != std::floor(schedule.meters))
        return base::fault(base::FaultKind::BadInput, "--meters must be a whole number from 1 to 100000");
    if (!(schedule.setsPerDay > 0 && schedule.setsPerDay <= 1000))
        return base::fault(base::FaultKind::BadInput, "--sets-per-day must be above 0, at most 1000; for one set a week give 0.143");
    return {};
}

std::string scheduleText(const StudySchedule& schedule)
{
    const std::string meters = shortNumber(schedule.meters), sets = shortNumber(schedule.setsPerDay);
    if (schedule.meters == 1)
        return said(
            schedule.setsPerDay == 1 ? StudyTexts::tr("%1 meter, %2 set a day") : StudyTexts::tr("%1 meter, %2 sets a day"), meters, sets);
    return said(schedule.setsPerDay == 1 ? StudyTexts::tr("%1 meters, %2 set a day each") : StudyTexts::tr("%1 meters, %2 sets a day each"),
        meters, sets);
}

std::string rulesText(const std::vector<stats::Rule>& rules)
{
    std::vector<std::string> names;
    for (const stats::Rule rule : rules)
        names.emplace_back(stats::name(rule));
    return joined(names, ",");
}

base::Result<StudyPowerReport> studyPower(const StudyPowerOptions& options)
{
    if (options.shifts.empty() || options.randoms.empty() || options.shifts.size() * options.randoms.size() > kMostPowerPoints)
        return base::fault(base::FaultKind::BadInput, "ask for 1 to 1000 points: each --shift is tried with each --random");
    StudyPowerReport report;
    report.settings = powerSettingsOf(options);
    for (const StudyRule& rule : options.rules) {
        if (rule.role == StudyRole::Warn)
            report.warnOnly.emplace_back(stats::name(rule.rule));
    }
    if (report.settings.rules.empty())
        return base::fault(base::FaultKind::BadInput, "--rules: no rule rejects; leave out :warn behind at least one");
    if (options.schedule) {
        if (const auto checked = checkSchedule(*options.schedule); !checked)
            return checked.error();
    }
    report.sets = options.sets;
    report.shifts = options.shifts;
    report.randoms = options.randoms;
    report.schedule = options.schedule;
    if (const auto done = addPowerPoints(report); !done)
        return done.error();
    if (const auto done = addRunLengths(report); !done)
        return done.error();
    if (report.schedule) {
        if (const auto done = addAlarmsGoingOn(report); !done)
            return done.error();
    }
    return report;
}

void addStudyPower(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("power", "How likely control rules are to reject, and after how many sets");
    auto arguments = std::make_shared<StudyPowerArguments>();
    StudyPowerOptions& options = arguments->options;
    command->add_option("--rules", arguments->rules, "Rules in use, as for study rules; those with :warn are left out")
        ->capture_default_str();
    command->add_option("--levels", options.levels, "Control levels in each set, 1 to 4")->capture_default_str();
    command->add_option("--shift", arguments->shifts, "Systematic errors, in SD, -10 to 10")->capture_default_str();
    command->add_option("--random", arguments->randoms, "Random errors, as factors on the SD, above 0, up to 100")->capture_default_str();
    command->add_option("--sets", options.sets, "Within how many sets a rule is to reject, 1 to 1000")->capture_default_str();
    oneOf(command->add_option(
              "--r4s", arguments->rangeReading, "R-4s: one beyond +2 SD and one beyond -2 SD (opposite), or more than 4 SD apart (range)"),
        { "opposite", "range" })
        ->capture_default_str();
    command->add_option("--meters", arguments->meters, "Meters on the ward: gives false alarms in 30 days");
    command->add_option("--sets-per-day", arguments->setsPerDay, "Control sets a day on each meter: gives days until a shift is found");
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  Chances when nothing is wrong, at a shift, and at a larger spread. Results are taken as normal and independent, all levels off\n"
        "  alike; counts start empty. Rules are those of study rules, with every reading: within a level, across the levels of a set, and\n"
        "  on from set to set. Exact, except 7T and very many states: simulated.\n"
        "  False alarms are told twice: where counts start anew after each alarm, one for each average number of sets; and where they go\n"
        "  on, as study rules counts, the sets on which a rule fires: a run that goes on alarms with every set.\n"
        "Example:\n  meterkeep-cli study power --rules 1-3s,2-2s,R-4s --levels 2 --shift 0,1,2,3 --meters 12 --sets-per-day 1");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyPower(*arguments, json); });
}

} // namespace mk::study
