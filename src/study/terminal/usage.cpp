// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/usage.h"

#include "study/terminal/typed_numbers.h"
#include "words/terminal_text.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <charconv>
#include <cstdint>

namespace mk::study {

namespace {

/// An error with a sentence of ours, which passes through the parser as its own do.
class SaidPlainly final : public CLI::ParseError {
public:
    explicit SaidPlainly(std::string sentence) : CLI::ParseError("SaidPlainly", std::move(sentence), CLI::ExitCodes::ValidationError) { }
};

enum class ValueKind { Real, Whole, Other };

/// The parser names a kind by what its values are stored in, with the names of the checks behind it.
ValueKind kindOf(const CLI::Option& option)
{
    const std::string stored = option.get_type_name();
    if (stored.starts_with("FLOAT"))
        return ValueKind::Real;
    return stored.starts_with("INT") || stored.starts_with("UINT") ? ValueKind::Whole : ValueKind::Other;
}

bool isWholeNumber(std::string_view text)
{
    if (text.starts_with('+') && !text.starts_with("+-"))
        text.remove_prefix(1);
    std::int64_t number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    return error == std::errc() && end == text.data() + text.size();
}

/// A zero before another digit, which the parser would take for a number of base eight.
bool beginsWithZero(std::string_view text)
{
    if (text.starts_with('+') || text.starts_with('-'))
        text.remove_prefix(1);
    return text.size() > 1 && text[0] == '0';
}

void refuseOddNumber(const CLI::Option& option, ValueKind kind, const std::string& value)
{
    const std::string beginning = option.get_name() + ": '" + value + "' is not a ";
    if (kind == ValueKind::Real && !studyReal(value))
        throw SaidPlainly(beginning + "number; write digits with at most one point, such as 5.6");
    if (kind == ValueKind::Whole && !isWholeNumber(value))
        throw SaidPlainly(beginning + "whole number; write digits, such as 12");
    if (kind == ValueKind::Whole && beginsWithZero(value))
        throw SaidPlainly(option.get_name() + ": '" + value + "' begins with a zero; leave it out, such as 12");
}

void refuseTwice(const CLI::Option& option)
{
    if (option.get_multi_option_policy() == CLI::MultiOptionPolicy::Throw
        && option.results().size() > static_cast<std::size_t>(std::max(option.get_items_expected_max(), 1)))
        throw SaidPlainly(option.get_name() + " is given twice; keep one of them");
}

void refuseOddValue(const CLI::Option& option, const std::string& value)
{
    if (value.empty())
        throw SaidPlainly(option.get_name() + " has an empty value; give one, or leave it out");
    if (value.starts_with("--")) // a forgotten value would swallow the option behind it
        throw SaidPlainly(option.get_name() + " has no value before '" + value + "'; give one, or leave it out");
}

} // namespace

CLI::Validator oneOf(std::vector<std::string> words)
{
    const std::string shown = words::joined(words, ",");
    const auto refuseOthers = [words = std::move(words), shown](const std::string& value) -> std::string {
        if (value.empty() || std::ranges::find(words, value) != words.end()) // what is empty has a sentence of its own
            return {};
        return "'" + value + "' is none of its words; choose from " + shown;
    };
    return CLI::Validator(refuseOthers, '{' + shown + '}');
}

void refuseOddNumbers(CLI::App& app)
{
    for (CLI::Option* option : app.get_options())
        option->check([option, kind = kindOf(*option)](const std::string& value) -> std::string {
            refuseTwice(*option);
            refuseOddNumber(*option, kind, value);
            return {};
        });
    for (CLI::App* command : app.get_subcommands(nullptr))
        refuseOddNumbers(*command);
}

void refuseOddValues(CLI::App& command)
{
    for (CLI::Option* option : command.get_options())
        option->check([option](const std::string& value) -> std::string {
            refuseOddValue(*option, value);
            return {};
        });
}

base::Fault plainUsageError(const CLI::ParseError& error, const std::string& lastWord)
{
    const bool ours = dynamic_cast<const SaidPlainly*>(&error) != nullptr;
    if (ours || dynamic_cast<const CLI::ValidationError*>(&error) != nullptr) // the check's sentence behind the option's name
        return base::badInput("%1", error.what());
    if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr)
        return base::badInput("%1 has no value; give one behind it, or leave it out", lastWord);
    return base::badInput("%1; see --help", error.what());
}

} // namespace mk::study
