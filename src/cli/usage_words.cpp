// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/usage_words.h"

#include "cli/study_input.h"

#include <CLI/CLI.hpp>

namespace mk::cli {

namespace {

/// Puts `to` where `from` stands first; the text as it is where it does not.
std::string reworded(std::string text, const std::string& from, const std::string& to)
{
    const auto at = text.find(from);
    if (at != std::string::npos)
        text.replace(at, from.size(), to);
    return text;
}

std::string withoutLast(std::string text, char last)
{
    if (text.ends_with(last))
        text.pop_back();
    return text;
}

} // namespace

std::string plainUsageError(const CLI::ParseError& error)
{
    const std::string text = error.what();
    if (const std::string said = "Could not convert: "; text.starts_with(said))
        return reworded(text.substr(said.size()), " = ", ": '") + "' is not a number; write digits with at most one point, such as 5.6";
    if (const auto at = text.find(" not in {"); at != std::string::npos)
        return withoutLast(reworded(reworded(text, ": ", ": '"), " not in {", "' is none of its words; choose from "), '}');
    if (const auto at = text.find(": 1 required"); at != std::string::npos)
        return text.substr(0, at) + " has no value; give one behind it, or leave it out";
    if (const auto at = text.find(": At Most 1 required"); at != std::string::npos)
        return text.substr(0, at) + " is given twice; keep one of them";
    return text + "; see --help";
}

void refuseOddValues(CLI::App& command)
{
    command.parse_complete_callback([&command] {
        for (const CLI::Option* option : command.get_options()) {
            for (const std::string& value : option->results()) {
                if (value.empty())
                    throw CLI::ValidationError(option->get_name() + " has an empty value; give one, or leave it out");
                if (value.starts_with("--")) // a forgotten value would swallow the option behind it
                    throw CLI::ValidationError(option->get_name() + " has no value before '" + value + "'; give one, or leave it out");
                if (option->get_type_name() == "FLOAT" && !studyReal(value))
                    throw CLI::ConversionError(option->get_name(), std::vector<std::string> { value });
            }
        }
    });
}

} // namespace mk::cli
