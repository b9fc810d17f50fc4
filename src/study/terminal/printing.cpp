// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/printing.h"

#include "words/faults.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cstdio>
#include <utility>

namespace mk::study {

namespace {

constexpr std::size_t kLongestFault = 2000;

} // namespace

int printText(const std::string& given)
{
    const std::string text = words::visible(given);
    const bool written = std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0;
    return written
        ? kExitDone
        : printFault(base::fault(base::FaultKind::Io, "the result could not be written to standard output; free some room and try again"));
}

int printFault(const base::Fault& fault)
{
    const base::Fault whole = fault.kind == base::FaultKind::Unreachable
        ? base::fault(fault.kind, "%1. Nothing is kept here to be sent later", fault)
        : fault;
    std::string line = words::said(whole).toStdString();
    std::ranges::replace(line, '\n', ' ');
    line = words::visible(line);
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

} // namespace mk::study
