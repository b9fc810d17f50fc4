// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_commands.h"

#include "cli/study_anova.h"
#include "cli/study_compare.h"
#include "cli/study_grid.h"
#include "cli/study_linearity.h"
#include "cli/study_lots.h"
#include "cli/study_output.h"
#include "cli/study_power.h"
#include "cli/study_precision.h"
#include "cli/study_robust.h"
#include "cli/study_rules.h"
#include "cli/study_series.h"
#include "cli/study_sigma.h"

#include <CLI/CLI.hpp>

#include <memory>

namespace mk::cli {

namespace {

struct StudyRulesArguments {
    std::string file;
    std::string plot;
    std::string rules = kStudyDefaultRules;
    std::string onLimit = "in";
    std::string rangeReading = "opposite";
};

int runStudyRules(const StudyRulesArguments& arguments, bool json)
{
    const auto rules = parseStudyRules(arguments.rules);
    if (!rules)
        return printFault(rules.error());
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    const auto onLimit = arguments.onLimit == "out" ? stats::OnLimit::Out : stats::OnLimit::In;
    const auto reading = arguments.rangeReading == "range" ? stats::RangeReading::Difference : stats::RangeReading::Opposite;
    return printStudy(studyRules(*file, *rules, onLimit, reading), json, arguments.plot, studyRulesJson, studyRulesTable, studyRulesPlot);
}

struct StudyDriftArguments {
    std::string file;
    std::string plot;
    std::string limits = "exact";
    StudyDriftOptions options;
};

int runStudyDrift(const StudyDriftArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    StudyDriftOptions options = arguments.options;
    options.limits = arguments.limits == "steady" ? stats::EwmaLimits::Steady : stats::EwmaLimits::Exact;
    return printStudy(studyDrift(*file, options), json, arguments.plot, studyDriftJson, studyDriftTable, studyDriftPlot);
}

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
    return printStudy(studySummary(*file, arguments.confidence), json, arguments.plot, studySummaryJson, studySummaryTable, studySummaryPlot);
}

void addStudyRules(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("rules", "Apply control rules to the sets of a file");
    auto arguments = std::make_shared<StudyRulesArguments>();
    command->add_option("FILE", arguments->file, "CSV with set,level,z or set,level,value,mean,sd; rows of a set stand together")
        ->required();
    command
        ->add_option("--rules", arguments->rules,
            "Rules in use, each with :warn or :reject (default reject): 1-2s 1-3s 2-2s R-4s 4-1s 6x 8x 9x 10x 12x 3-1s 2of3-2s 7T")
        ->capture_default_str();
    command->add_option("--on-limit", arguments->onLimit, "Whether a score exactly on a limit is in or out; never asked of the mean")
        ->check(CLI::IsMember({ "in", "out" }))
        ->capture_default_str();
    command
        ->add_option(
            "--r4s", arguments->rangeReading, "R-4s: one beyond +2 SD and one beyond -2 SD (opposite), or more than 4 SD apart (range)")
        ->check(CLI::IsMember({ "opposite", "range" }))
        ->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer("How the rules are read:\n"
                    "  Beyond a limit is strictly beyond, in the decimals as they stand; exactly on the mean is on no side and ends a run.\n"
                    "  A rule fires on the set that completes its pattern, and on every set that goes on with it.\n"
                    "  2-2s, 3-1s, 4-1s and the x rules count within a level from set to set; across levels 2-2s (3-1s and 2of3-2s with three\n"
                    "  levels) reads one complete set, 4-1s and the x rules read complete, adjacent sets. R-4s reads one set, never two.\n"
                    "  7T is seven results of a level, each strictly above (below) the one before. No rule is a gate for another.\n"
                    "  With fewer results than its pattern needs a rule does not fire. A column restart with yes starts every count again.\n"
                    "Example:\n  meterkeep-cli study rules controls.csv --rules 1-2s:warn,1-3s,2-2s,R-4s");
    command->callback([arguments, &json, &chosen] { chosen = [arguments, &json] { return runStudyRules(*arguments, json); }; });
}

void addStudyDrift(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("drift", "EWMA and CUSUM charts of a series");
    auto arguments = std::make_shared<StudyDriftArguments>();
    StudyDriftOptions& options = arguments->options;
    command->add_option("FILE", arguments->file, "CSV with the column value, oldest first")->required();
    command->add_option("--target", options.target, "Target mean, in the units of the data")->required();
    command->add_option("--sd", options.sd, "SD of one value, in the units of the data")->required();
    command->add_option("--lambda", options.lambda, "EWMA: weight of the newest value")->capture_default_str();
    command->add_option("--width", options.width, "EWMA: limits, in SD of the average")->capture_default_str();
    command->add_option("--limits", arguments->limits, "EWMA: limits that widen from the first value on (exact), or final ones (steady)")
        ->check(CLI::IsMember({ "exact", "steady" }))
        ->capture_default_str();
    command->add_option("--k", options.k, "CUSUM: slack, in SD")->capture_default_str();
    command->add_option("--h", options.h, "CUSUM: decision limit, in SD")->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer("How it is computed:\n"
                    "  The average starts at the target; sums start at 0 and nothing restarts after a signal. A signal is strictly beyond its\n"
                    "  limit. k and h are in SD of one value. The slope is Theil and Sen's median of all slopes, per value, with Sen's interval;\n"
                    "  it is counted as a trend only where the interval leaves out 0. 7T is seven values, each strictly above (below) the last.\n"
                    "Example:\n  meterkeep-cli study drift series.csv --target 5.6 --sd 0.3 --h 5");
    command->callback([arguments, &json, &chosen] { chosen = [arguments, &json] { return runStudyDrift(*arguments, json); }; });
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
                    "Example:\n  meterkeep-cli study summary results.csv --json");
    command->callback([arguments, &json, &chosen] { chosen = [arguments, &json] { return runStudySummary(*arguments, json); }; });
}

} // namespace

void addStudyCommands(CLI::App& app, const bool& json, std::function<int()>& chosen)
{
    auto* study = app.add_subcommand("study", "Statistics of a file: numbers in, numbers out, no registry");
    study->require_subcommand(1);
    study->fallthrough(); // inherited by the subcommands below: --json may follow them
    study->footer("Example:\n  meterkeep-cli study rules controls.csv");
    addStudyRules(*study, json, chosen);
    addStudyDrift(*study, json, chosen);
    addStudySummary(*study, json, chosen);
    addStudyRobust(*study, json, chosen);
    addStudyPrecision(*study, json, chosen);
    addStudyAnova(*study, json, chosen);
    addStudyLinearity(*study, json, chosen);
    addStudyLots(*study, json, chosen);
    addStudyCompare(*study, json, chosen);
    addStudyGrid(*study, json, chosen);
    addStudyPower(*study, json, chosen);
    addStudySigma(*study, json, chosen);
}

} // namespace mk::cli
