// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"
#include "exchange/json_writer.h"
#include "report/drawing/study_plot.h"
#include "words/numbers.h"
#include "words/terminal_text.h"

#include <QCoreApplication>

#include <functional>
#include <string>

namespace CLI {
class App;
}

namespace mk::study {

using exchange::JsonWriter;
using words::alignedTable;
using words::ignoredLine;
using words::joined;

/// The sentences of the studies: StudyTexts::tr.
struct StudyTexts {
    Q_DECLARE_TR_FUNCTIONS(Study)
};

/// A translated sentence with what stands in its places, all filled at once.
template <typename... Parts>
std::string said(const QString& sentence, const Parts&... parts)
{
    if constexpr (sizeof...(parts) == 0)
        return sentence.toStdString();
    else
        return sentence.arg(words::text(parts)...).toStdString();
}

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

} // namespace mk::study
