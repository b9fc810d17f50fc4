// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_output.h"

#include "cli/terminal_text.h"
#include "words/faults.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cstdio>
#include <utility>

namespace mk::cli {

namespace {

/// How many characters the UTF-8 text has, which is what a terminal lines up by.
std::size_t shownWidth(const std::string& text)
{
    return static_cast<std::size_t>(std::ranges::count_if(text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

constexpr std::size_t kLongestFault = 2000;

} // namespace

int printText(const std::string& given)
{
    const std::string text = visible(given);
    const bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0;
    return written
        ? kExitDone
        : printFault({ base::FaultKind::Io, "the result could not be written to standard output; free some room and try again" });
}

int printFault(const base::Fault& fault)
{
    std::string line = words::said(fault).toStdString();
    if (fault.kind == base::FaultKind::Unreachable)
        line += ". Nothing is kept here to be sent later";
    std::ranges::replace(line, '\n', ' ');
    line = visible(line);
    if (line.size() > kLongestFault) {
        std::size_t end = kLongestFault;
        while ((static_cast<unsigned char>(line[end]) & 0xC0U) == 0x80U) // not inside a character
            --end;
        line = line.substr(0, end) + "…";
    }
    std::fprintf(stderr, "%s\n", line.c_str());
    return kExitBadInput;
}

int printedStatus(int printed, bool finding)
{
    return finding && printed == kExitDone ? kExitFinding : printed;
}

void addPlotOption(CLI::App& command, std::string& plotFile)
{
    command.add_option("--plot", plotFile, "Save the plot as .png, .svg or .pdf");
}

void whenChosen(CLI::App& command, std::function<int()>& chosen, std::function<int()> run)
{
    command.callback([&chosen, run = std::move(run)] { chosen = run; });
}

std::string alignedTable(const std::vector<std::vector<std::string>>& given)
{
    std::vector<std::vector<std::string>> rows = given;
    for (auto& row : rows)
        std::ranges::transform(row, row.begin(), visibleCell);
    std::vector<std::size_t> widths;
    for (const auto& row : rows) {
        widths.resize(std::max(widths.size(), row.size()));
        for (std::size_t i = 0; i < row.size(); ++i)
            widths[i] = std::max(widths[i], shownWidth(row[i]));
    }
    std::string text;
    for (const auto& row : rows) {
        std::string line;
        for (std::size_t i = 0; i < row.size(); ++i)
            line += row[i] + std::string(widths[i] - shownWidth(row[i]) + 2, ' ');
        line.erase(line.find_last_not_of(' ') + 1);
        text += line + '\n';
    }
    return text;
}

std::string ignoredLine(const std::vector<std::string>& columns)
{
    return columns.empty() ? "" : "Ignored columns: " + joined(columns, ", ") + ".\n";
}

std::string joined(const std::vector<std::string>& texts, const char* separator)
{
    std::string all;
    for (const std::string& text : texts)
        all += (all.empty() ? "" : separator) + text;
    return all;
}

} // namespace mk::cli
