// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "report/drawing/study_plot.h"

#include <functional>
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace mk::cli {

/// Exit statuses of every command: done; a finding or a failed check; bad usage or input.
inline constexpr int kExitDone = 0;
inline constexpr int kExitFinding = 1;
inline constexpr int kExitBadInput = 2;

/// Prints to standard output. returns kExitDone, or kExitBadInput with a line on standard error when it could not be written
int printText(const std::string& text);
/// Prints one plain line on standard error. returns kExitBadInput
int printFault(const base::Fault& fault);

/// Saves the plot of a report where one was asked for, and prints the report as JSON or as a table; or prints its fault.
/// plotFile   empty: no plot
/// returns    kExitDone or kExitBadInput; nothing is printed on standard output when the plot could not be saved
template <typename Report, typename Json, typename Table, typename Plot>
int printStudy(const base::Result<Report>& outcome, bool json, const std::string& plotFile, Json asJson, Table asTable, Plot asPlot)
{
    if (!outcome)
        return printFault(outcome.error());
    if (!plotFile.empty()) {
        if (const auto saved = report::savePlot(asPlot(*outcome), plotFile); !saved)
            return printFault(saved.error());
    }
    return printText(json ? asJson(*outcome) : asTable(*outcome));
}

/// The status of a study that may find something amiss: what printing it gave, and kExitFinding where all is printed and it did.
int printedStatus(int printed, bool finding);

/// The option --plot FILE, which every study has.
void addPlotOption(CLI::App& command, std::string& plotFile);
/// Puts what the command does into `chosen` once its arguments are parsed.
void whenChosen(CLI::App& command, std::function<int()>& chosen, std::function<int()> run);

/// Columns of text, first row the heading, padded to line up; a line end behind each row.
std::string alignedTable(const std::vector<std::vector<std::string>>& rows);
/// "Ignored columns: a, b." with a line end, or nothing when there are none.
std::string ignoredLine(const std::vector<std::string>& columns);
/// The texts with a separator between them.
std::string joined(const std::vector<std::string>& texts, const char* separator);

} // namespace mk::cli
