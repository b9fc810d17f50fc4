// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "study/commands/gs1.h"
#include "study/commands/commands.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"

#include "../reference/reference_table.h"

#include <CLI/CLI.hpp>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <functional>
#include <string>
#include <vector>

/// Runs the studies as a user does, for the tests of their commands.
namespace mk::study::testing_studies {

struct Outcome {
    int status = -1;
    std::string out;
    std::string err;
};

/// Runs these words as the program would, of its commands only `study` and `gs1`; a usage error is status 2 with nothing run.
inline Outcome runProgram(std::vector<std::string> words)
{
    CLI::App app;
    bool json = false;
    app.add_flag("--json", json);
    std::function<int()> chosen;
    addStudyCommands(app, json, chosen);
    addGs1Command(app, json, chosen);
    refuseOddNumbers(app);
    const std::vector<std::string> typed = words;
    std::reverse(words.begin(), words.end()); // as CLI11 wants a vector
    testing::internal::CaptureStdout();
    testing::internal::CaptureStderr();
    Outcome outcome { 2, {}, {} };
    try {
        app.parse(words);
        outcome.status = chosen ? chosen() : 2;
    } catch (const CLI::ParseError& error) {
        outcome.status = printFault(usageFault(app, error, typed));
    }
    outcome.out = testing::internal::GetCapturedStdout();
    outcome.err = testing::internal::GetCapturedStderr();
    return outcome;
}

/// Runs `study` with these words behind it.
inline Outcome runStudies(std::vector<std::string> words)
{
    words.insert(words.begin(), "study");
    return runProgram(std::move(words));
}

/// A file of this test with these bytes; returns its path.
inline std::string studyCsv(const std::string& bytes)
{
    const auto* test = testing::UnitTest::GetInstance()->current_test_info();
    std::string path = testing::TempDir() + test->test_suite_name() + '_' + test->name() + ".csv";
    std::ofstream(path, std::ios::binary) << bytes;
    return path;
}

/// A table of tests/reference with another header line, as such a file.
inline std::string referenceCsv(const std::string& path, const std::string& header)
{
    std::ifstream file(std::string(MK_SOURCE_DIR) + "/tests/reference/" + path);
    std::string bytes;
    for (std::string line; std::getline(file, line);)
        bytes += (bytes.empty() ? header : line) + '\n';
    return studyCsv(bytes);
}

/// The number behind the first "key": of a JSON text, or the one after `after`; fails the test when there is none.
inline double jsonNumber(const std::string& json, const std::string& key, const std::string& after = {})
{
    const std::size_t from = after.empty() ? 0 : json.find('"' + after + "\":");
    const std::size_t at = from == std::string::npos ? from : json.find('"' + key + "\":", from);
    if (at == std::string::npos) {
        ADD_FAILURE() << key << " is not in " << json;
        return 0;
    }
    return std::strtod(json.c_str() + at + key.size() + 3, nullptr);
}

/// What a study says when it refuses these words, from ".csv" on where a file is named: status 2, one line, nothing on standard output.
inline std::string studyRefusal(std::vector<std::string> words)
{
    const Outcome outcome = runStudies(std::move(words));
    EXPECT_EQ(outcome.status, 2);
    EXPECT_EQ(outcome.out, "");
    EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1) << outcome.err;
    const std::size_t name = outcome.err.find(".csv");
    return outcome.err.substr(name == std::string::npos ? 0 : name);
}

/// The same of a file with these bytes, whose name comes behind the study's.
inline std::string studyRefusal(std::vector<std::string> words, const std::string& bytes)
{
    words.insert(words.begin() + 1, studyCsv(bytes));
    return studyRefusal(std::move(words));
}

/// Whether the text holds the part.
inline bool holds(const std::string& text, const std::string& part)
{
    return text.find(part) != std::string::npos;
}

/// The help of a study's command; without a name, of `study` itself.
inline std::string studyHelp(const std::string& study)
{
    CLI::App app;
    const bool json = false;
    std::function<int()> chosen;
    addStudyCommands(app, json, chosen);
    const auto* command = app.get_subcommand("study");
    return (study.empty() ? command : command->get_subcommand(study))->help();
}

} // namespace mk::study::testing_studies
