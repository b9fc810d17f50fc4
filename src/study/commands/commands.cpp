// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/commands.h"

#include "study/commands/anova.h"
#include "study/commands/compare.h"
#include "study/commands/drift.h"
#include "study/commands/grid.h"
#include "study/commands/linearity.h"
#include "study/commands/lots.h"
#include "study/commands/power.h"
#include "study/commands/precision.h"
#include "study/commands/robust.h"
#include "study/commands/rules.h"
#include "study/commands/sigma.h"
#include "study/commands/summary.h"
#include "study/terminal/help.h"
#include "study/terminal/usage.h"

#include <CLI/CLI.hpp>

namespace mk::study {

void addStudyCommands(CLI::App& app, const bool& json, std::function<int()>& chosen)
{
    auto* study = app.add_subcommand("study", "Statistics of a file: numbers in, numbers out, no registry");
    study->require_subcommand(1);
    study->fallthrough(); // inherited by the subcommands below: --json may follow them
    addExample(*study, "study rules controls.csv");
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

} // namespace mk::study
