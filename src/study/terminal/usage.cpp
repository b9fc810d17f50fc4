// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/usage.h"

#include "study/terminal/typed_numbers.h"
#include "words/terminal_text.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <optional>
#include <utility>

namespace mk::study {

namespace {

/// An error with a sentence of ours, which passes through the parser as its own do.
class SaidPlainly final : public CLI::ParseError {
public:
    explicit SaidPlainly(base::Fault fault)
        : CLI::ParseError("SaidPlainly", fault.text, CLI::ExitCodes::ValidationError),
          m_fault(std::move(fault))
    {
    }
    const base::Fault& fault() const { return m_fault; }

private:
    base::Fault m_fault;
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

std::optional<std::int64_t> wholeNumber(std::string_view text)
{
    if (text.starts_with('+') && !text.starts_with("+-"))
        text.remove_prefix(1);
    std::int64_t number = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    return error == std::errc() && end == text.data() + text.size() ? std::optional(number) : std::nullopt;
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
    const std::string name = option.get_name();
    if (kind == ValueKind::Real && !studyReal(value))
        throw SaidPlainly(base::badInput("%1: '%2' is not a number; write digits with at most one point, such as 5.6", name, value));
    if (kind == ValueKind::Whole && !wholeNumber(value))
        throw SaidPlainly(base::badInput("%1: '%2' is not a whole number; write digits, such as 12", name, value));
    if (kind == ValueKind::Whole && beginsWithZero(value))
        throw SaidPlainly(base::badInput("%1: '%2' begins with a zero; leave it out, such as 12", name, value));
}

void refuseTwice(const CLI::Option& option)
{
    if (option.get_multi_option_policy() == CLI::MultiOptionPolicy::Throw
        && option.results().size() > static_cast<std::size_t>(std::max(option.get_items_expected_max(), 1)))
        throw SaidPlainly(base::badInput("%1 is given twice; keep one of them", option.get_name()));
}

void refuseOddValue(const CLI::Option& option, const std::string& value)
{
    if (value.empty())
        throw SaidPlainly(base::badInput("%1 has an empty value; give one, or leave it out", option.get_name()));
    if (value.starts_with("--")) // a forgotten value would swallow the option behind it
        throw SaidPlainly(base::badInput("%1 has no value before '%2'; give one, or leave it out", option.get_name(), value));
}

/// The app and the commands that the words named, outermost first.
std::vector<const CLI::App*> namedCommands(const CLI::App& app)
{
    std::vector<const CLI::App*> all { &app };
    while (!all.back()->get_subcommands().empty())
        all.push_back(all.back()->get_subcommands().front());
    return all;
}

const CLI::Option* optionNamed(const std::vector<const CLI::App*>& commands, const std::string& word)
{
    for (const CLI::App* command : commands)
        if (const CLI::Option* option = word.starts_with('-') ? command->get_option_no_throw(word) : nullptr)
            return option;
    return nullptr;
}

std::optional<base::Fault> missingFault(const std::vector<const CLI::App*>& commands)
{
    for (const CLI::App* command : commands)
        for (const CLI::Option* option : command->get_options([](const CLI::Option*) { return true; }))
            if (option->get_required() && option->count() == 0)
                return base::badInput("%1 is required; see --help", option->get_name());
    if (commands.back()->get_require_subcommand_min() > 0)
        return base::badInput("a command is required; see --help");
    return std::nullopt;
}

/// An option that takes a value and stands last, or before another option.
std::optional<base::Fault> valuelessFault(const std::vector<const CLI::App*>& commands, const std::vector<std::string>& words)
{
    for (std::size_t at = 0; at < words.size(); ++at) {
        const CLI::Option* option = optionNamed(commands, words[at]);
        if (option == nullptr || option->get_items_expected_min() == 0)
            continue;
        if (at + 1 == words.size() || optionNamed(commands, words[at + 1]) != nullptr)
            return base::badInput("%1 has no value; give one behind it, or leave it out", words[at]);
    }
    return std::nullopt;
}

/// The option whose value could not be kept: the last whose turn it was.
std::optional<base::Fault> unkeptFault(const std::vector<const CLI::App*>& commands)
{
    const CLI::Option* last = nullptr;
    for (const CLI::App* command : commands)
        for (const CLI::Option* option : command->get_options([](const CLI::Option*) { return true; }))
            last = option->count() > 0 && option->get_callback_run() ? option : last;
    if (last == nullptr || last->results().empty())
        return std::nullopt;
    return base::badInput("%1 cannot take '%2'; see --help", last->get_name(), last->results().front());
}

} // namespace

CLI::Option* oneOf(CLI::Option* option, std::vector<std::string> words)
{
    const std::string shown = words::joined(words, ",");
    const auto refuseOthers = [option, words = std::move(words), shown](const std::string& value) -> std::string {
        if (!value.empty() && std::ranges::find(words, value) == words.end()) // what is empty has a sentence of its own
            throw SaidPlainly(base::badInput("%1: '%2' is none of its words; choose from %3", option->get_name(), value, shown));
        return {};
    };
    return option->check(CLI::Validator(refuseOthers, '{' + shown + '}'));
}

CLI::Option* between(CLI::Option* option, std::int64_t least, std::int64_t most)
{
    const auto refuseOthers = [option, least, most](const std::string& value) -> std::string {
        const auto number = wholeNumber(value);
        if (!number || *number < least || *number > most)
            throw SaidPlainly(base::badInput("%1: '%2' is not a whole number from %3 to %4", option->get_name(), value, least, most));
        return {};
    };
    return option->check(CLI::Validator(refuseOthers, '{' + std::to_string(least) + ".." + std::to_string(most) + '}'));
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

base::Fault usageFault(const CLI::App& app, const CLI::ParseError& error, const std::vector<std::string>& words)
{
    if (const auto* plain = dynamic_cast<const SaidPlainly*>(&error)) // before what seems unknown since an option took the word before it
        return plain->fault();
    const auto commands = namedCommands(app);
    if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr) // it stops the parser: what follows only seems unknown
        if (const auto valueless = valuelessFault(commands, words))
            return *valueless;
    if (const auto unknown = app.remaining(true); !unknown.empty())
        return base::badInput("'%1' is not known here; see --help for the commands and options", unknown.front());
    std::optional<base::Fault> found;
    if (dynamic_cast<const CLI::RequiredError*>(&error) != nullptr)
        found = missingFault(commands);
    else if (dynamic_cast<const CLI::ConversionError*>(&error) != nullptr)
        found = unkeptFault(commands);
    return found ? *found : base::badInput("these options do not go together; see --help");
}

} // namespace mk::study
