// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/help.h"

#include "words/numbers.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>

#include <map>
#include <memory>

namespace mk::study {

namespace {

struct HelpTexts {
    Q_DECLARE_TR_FUNCTIONS(Help)
};

QString inPlaces(const QString& sentence, const std::vector<std::string>& parts)
{
    const auto part = [&](std::size_t at) { return words::text(parts.at(at)); };
    switch (parts.size()) {
    case 0: return sentence;
    case 1: return sentence.arg(part(0));
    case 2: return sentence.arg(part(0), part(1));
    default: return sentence.arg(part(0), part(1), part(2));
    }
}

std::string translated(const std::string& key)
{
    return key.empty() ? key : HelpTexts::tr(key.c_str()).toStdString();
}

/// What the parser keeps in a value, as a person calls it; behind it the choice, if there is one, as it is typed.
std::string kindSaid(const CLI::Option& option)
{
    const std::string kind = option.get_type_name();
    const std::string choice = kind.find(":{") == std::string::npos ? std::string() : kind.substr(kind.find(":{"));
    const QString said = kind.starts_with("TEXT") ? HelpTexts::tr("TEXT") : HelpTexts::tr("NUMBER");
    return said.toStdString() + choice;
}

class SpokenHelp final : public CLI::Formatter {
public:
    void remember(const void* whose, const char* sentence, const std::vector<std::string>& parts) { m_made[whose] = { sentence, parts }; }
    /// By the footer itself, which the commands below may have inherited.
    void rememberFooter(const std::string& footer, const char* sentence, const std::vector<std::string>& parts)
    {
        m_footers[footer] = { sentence, parts };
    }

    std::string make_group(std::string group, bool positional, std::vector<const CLI::Option*> options) const override
    {
        return CLI::Formatter::make_group(headed(group), positional, std::move(options));
    }
    std::string make_description(const CLI::App* app) const override
    {
        const std::string said = saidOf(app, app->get_description());
        return said.empty() ? said : said + '\n';
    }
    std::string make_usage(const CLI::App* app, std::string name) const override
    {
        QString line = QString::fromStdString(name) + QLatin1Char(' ') + HelpTexts::tr("[OPTIONS]");
        for (const auto* option : app->get_options([](const CLI::Option* each) { return each->get_positional(); }))
            line += QLatin1Char(' ') + QString::fromStdString(make_option_usage(option));
        if (!app->get_subcommands({}).empty())
            line += QLatin1Char(' ') + HelpTexts::tr("SUBCOMMAND");
        return HelpTexts::tr("Usage: %1").arg(line.trimmed()).toStdString() + '\n';
    }
    std::string make_subcommands(const CLI::App* app, CLI::AppFormatMode) const override
    {
        std::string text;
        for (const auto* command : app->get_subcommands({}))
            text += make_subcommand(command);
        return text.empty() ? text : '\n' + headed("Subcommands") + ":\n" + text;
    }
    std::string make_subcommand(const CLI::App* command) const override
    {
        std::stringstream line;
        CLI::detail::format_help(line, command->get_name(), saidOf(command, command->get_description()), get_column_width());
        return line.str();
    }
    std::string make_footer(const CLI::App* app) const override
    {
        const auto made = m_footers.find(app->get_footer());
        const std::string said = made == m_footers.end() ? translated(app->get_footer()) : madeSaid(made->second);
        return said.empty() ? said : said + '\n';
    }
    std::string make_option_opts(const CLI::Option* option) const override
    {
        if (option->get_items_expected_max() == 0) // a flag
            return {};
        std::string text = ' ' + kindSaid(*option);
        if (!option->get_default_str().empty())
            text += '=' + option->get_default_str();
        if (option->get_expected_max() == CLI::detail::expected_max_vector_size)
            text += " ...";
        return option->get_required() ? text + ' ' + HelpTexts::tr("REQUIRED").toStdString() : text;
    }
    std::string make_option_desc(const CLI::Option* option) const override { return saidOf(option, option->get_description()); }

private:
    struct Made {
        const char* sentence;
        std::vector<std::string> parts;
    };

    static std::string headed(const std::string& group)
    {
        const QString said = group == "Positionals" ? HelpTexts::tr("Positionals")
            : group == "Subcommands"                ? HelpTexts::tr("Subcommands")
                                                    : HelpTexts::tr("Options");
        return said.toStdString();
    }
    std::string saidOf(const void* whose, const std::string& key) const
    {
        const auto made = m_made.find(whose);
        return made == m_made.end() ? translated(key) : madeSaid(made->second);
    }
    static std::string madeSaid(const Made& made) { return inPlaces(HelpTexts::tr(made.sentence), made.parts).toStdString(); }

    std::map<const void*, Made> m_made;
    std::map<std::string, Made> m_footers;
};

/// Nothing where the app speaks with the parser's own voice, as in a test of one command.
SpokenHelp* helpOf(const CLI::App& command)
{
    return dynamic_cast<SpokenHelp*>(command.get_formatter().get());
}

std::string inEnglish(const char* sentence, const std::vector<std::string>& parts)
{
    return inPlaces(QString::fromUtf8(sentence), parts).toStdString();
}

} // namespace

void speakHelp(CLI::App& app)
{
    app.formatter(std::make_shared<SpokenHelp>());
    app.set_help_flag("-h,--help", "Print this help message and exit");
}

void describe(CLI::App& command, const char* sentence, const std::vector<std::string>& parts)
{
    command.description(inEnglish(sentence, parts));
    if (auto* help = helpOf(command))
        help->remember(&command, sentence, parts);
}

void describe(CLI::App& command, CLI::Option& option, const char* sentence, const std::vector<std::string>& parts)
{
    option.description(inEnglish(sentence, parts));
    if (auto* help = helpOf(command))
        help->remember(&option, sentence, parts);
}

void addFooter(CLI::App& command, const char* sentence, const std::vector<std::string>& parts)
{
    command.footer(inEnglish(sentence, parts));
    if (auto* help = helpOf(command))
        help->rememberFooter(command.get_footer(), sentence, parts);
}

void addExample(CLI::App& command, const std::string& words)
{
    addFooter(command, "Example: %1", { "meterkeep-cli " + words });
}

} // namespace mk::study
