// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_commands.h"

#include "cli/study_anova.h"
#include "cli/study_compare.h"
#include "cli/study_drift.h"
#include "cli/study_grid.h"
#include "cli/study_linearity.h"
#include "cli/study_lots.h"
#include "cli/study_power.h"
#include "cli/study_precision.h"
#include "cli/study_robust.h"
#include "cli/study_rules.h"
#include "cli/study_sigma.h"
#include "cli/study_summary.h"
#include "cli/usage_words.h"

#include <CLI/CLI.hpp>

namespace mk::cli {

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
    for (CLI::App* command : study->get_subcommands(nullptr))
        refuseOddValues(*command);
}

} // namespace mk::cli
