// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/record_commands.h"

#include "cli/output.h"
#include "cli/registry_commands.h"
#include "words/numbers.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>
#include <QStringList>

#include <map>

namespace mk::cli {

using namespace registry;
using base::Result;

base::Fault noOperator()
{
    return base::fault(base::FaultKind::BadInput, "nobody is named; say who records with --operator ID");
}

std::optional<std::string> given(const std::string& text)
{
    return text.empty() ? std::nullopt : std::optional(text);
}

namespace {

// `act KIND`: the options of each kind come from the act's own description.

using Texts = std::map<std::string, std::string>;

std::string optionName(std::string_view field)
{
    std::string name = "--";
    for (const char c : field)
        name += c == '_' ? '-' : c;
    return name;
}

/// Adds an option for each field, except those that the options for all commands carry.
struct OptionAdder {
    CLI::App& command;
    Texts& texts;
    bool personIsSubject;  ///< the field `operator` names a new operator, not who records
    std::string fields {}; ///< for the list of kinds

    template <typename T>
    void operator()(std::string_view name, const T& value, acts::Field)
    {
        add(name, value, true);
    }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>&, acts::Field field)
    {
        if (field != acts::Field::Program)
            add(name, T(), false);
    }

private:
    template <typename T>
    void add(std::string_view name, const T&, bool needed)
    {
        if (name == "at" || (name == "operator" && !personIsSubject))
            return;
        const std::string optionText = name == "operator" ? "--id" : optionName(name);
        auto* option = command.add_option(optionText, texts[std::string(name)]);
        if constexpr (Worded<T>) {
            const std::vector<std::string> words(std::begin(Words<T>::all), std::end(Words<T>::all));
            describe(command, *option, "One of %1", { joined(words, ", ") });
        }
        const bool required = needed && name != "old" && name != "new";
        if (required)
            option->required();
        fields += required ? " " + optionText : " [" + optionText + "]";
    }
};

/// Fills an act from the options given.
struct OptionReader {
    const Texts& texts;
    ReadContext context;
    base::Moment at;
    std::string person;
    bool personIsSubject;
    std::optional<base::Fault> wrong;

    template <typename T>
    void operator()(std::string_view name, T& value, acts::Field)
    {
        take(name, value);
    }
    template <typename T>
    void operator()(std::string_view name, std::optional<T>& value, acts::Field)
    {
        if (name == "opened" && textOf(name).empty() && textOf("found_open") != "yes") {
            if constexpr (std::is_same_v<T, base::Moment>)
                value = at; // a vial opened at the bench is opened now
        } else if (!textOf(name).empty()) {
            take(name, value.emplace());
        }
    }

private:
    std::string textOf(std::string_view name) const
    {
        const auto found = texts.find(std::string(name));
        return found == texts.end() ? std::string() : found->second;
    }
    template <typename T>
    void take(std::string_view name, T& value)
    {
        if constexpr (std::is_same_v<T, base::Moment>) {
            if (name == "at") {
                value = at;
                return;
            }
        }
        const std::string text = name == "operator" && !personIsSubject ? person : textOf(name);
        auto read = TextForm<T>::read(text, context);
        if (read)
            value = std::move(read).value();
        else if (!wrong)
            wrong = base::fault(read.error().kind, "%1: %2", optionName(name), read.error());
    }
};

struct ActTexts {
    Q_DECLARE_TR_FUNCTIONS(Record)
};

std::string recordedInWords(const store::Outcome& outcome)
{
    QStringList lines {
        (outcome.repeated ? ActTexts::tr("On record already as entry %1.") : ActTexts::tr("Recorded as entry %1.")).arg(outcome.seq.value)
    };
    for (const auto& entry : outcome.consequences)
        lines << QStringLiteral("  ")
                + ActTexts::tr("followed by entry %1: %2")
                      .arg(QString::number(entry.seq.value), words::text(entry.act) + QLatin1Char(' ') + words::text(entry.subject));
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

int recordAct(const Globals& globals, const std::function<Result<Act>(OpenRegistry&)>& make, const std::string& id)
{
    if (globals.person.empty())
        return printFault(noOperator());
    auto open = openForWriting(globals);
    if (!open)
        return printFault(open.error());
    auto act = make(*open);
    if (!act)
        return printFault(act.error());
    auto registrar = store::Registrar::open(*open->session, store::machineClock);
    if (!registrar)
        return printFault(registrar.error());
    const store::NewAct newAct { std::move(act).value(), id };
    const auto outcomes = (*registrar)->record(std::span(&newAct, 1), open->author);
    if (!outcomes)
        return printFault(outcomes.error());
    const auto& outcome = outcomes->front();
    if (globals.json) {
        JsonWriter json;
        json.beginObject()
            .key("format")
            .value(1)
            .key("seq")
            .value(outcome.seq.value)
            .key("repeated")
            .value(outcome.repeated)
            .key("followed")
            .beginArray();
        for (const auto& entry : outcome.consequences)
            json.beginObject()
                .key("seq")
                .value(entry.seq.value)
                .key("act")
                .value(entry.act)
                .key("subject")
                .value(entry.subject)
                .endObject();
        json.endArray().endObject();
        return printText(json.text() + "\n");
    }
    return printText(recordedInWords(outcome));
}

template <typename A>
void addActCommand(CLI::App& act, const Globals& globals, std::function<int()>& chosen)
{
    if constexpr (std::is_same_v<A, acts::ControlRun>) {
        return; // run add
    } else {
        constexpr bool personIsSubject = std::is_same_v<A, acts::OperatorEnrolled>;
        auto* command = act.add_subcommand(std::string(A::word))->fallthrough();
        auto texts = std::make_shared<Texts>();
        auto id = std::make_shared<std::string>();
        OptionAdder adder { *command, *texts, personIsSubject };
        const A example;
        A::describe(adder, example);
        describe(*command, "Records %1:%2", { std::string(A::kind), adder.fields });
        command->add_option("--entry-id", *id, "A UUID made by the sender, so that a repeated delivery is recognised");
        command->callback([texts, id, &globals, &chosen] {
            chosen = [texts, id, &globals] {
                return recordAct(
                    globals,
                    [&](OpenRegistry& open) -> Result<Act> {
                        A made;
                        OptionReader reader { *texts, { &open.reader->zone(), nullptr }, open.at, globals.person, personIsSubject, {} };
                        A::describe(reader, made);
                        if (reader.wrong)
                            return *reader.wrong;
                        return Act(std::move(made));
                    },
                    *id);
            };
        });
    }
}

/// `hold` and `withdraw`: stopping a meter in three words.
void addStopCommand(CLI::App& act, const Globals& globals, std::function<int()>& chosen, const char* name, const char* what, MeterState to)
{
    auto* command = act.add_subcommand(name, what)->fallthrough();
    auto meter = std::make_shared<std::string>();
    auto reason = std::make_shared<std::string>();
    auto labelled = std::make_shared<std::string>();
    auto replacement = std::make_shared<std::string>();
    command->add_option("--meter", *meter)->required();
    command->add_option("--reason", *reason)->required();
    command->add_option("--labelled", *labelled, "yes or no: a label on the meter says that it is out of use");
    command->add_option("--replacement", *replacement, "The meter that is used instead");
    command->callback([meter, reason, labelled, replacement, &globals, &chosen, to] {
        chosen = [meter, reason, labelled, replacement, &globals, to] {
            return recordAct(globals,
                [&](OpenRegistry& open) -> Result<Act> {
                    acts::MeterMoved moved { open.at, base::MeterId(*meter), base::OperatorId(globals.person), to, std::nullopt, *reason };
                    moved.replacement = given(*replacement);
                    if (!labelled->empty()) {
                        moved.labelled = valueOf<YesNo>(*labelled);
                        if (!moved.labelled)
                            return base::badInput("--labelled takes yes or no, not '%1'", *labelled);
                    }
                    return Act(std::move(moved));
                },
                {});
        };
    });
}

} // namespace

void addRecordCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    addRunCommand(app, globals, chosen);
    auto* act = app.add_subcommand("act", "Records any other act; --at gives its time")->fallthrough();
    act->require_subcommand(1);
    addExample(*act, "--registry ward5.mkr --operator n-arlen act incident --meter M-11 --kind dropped --detail \"fell off the trolley\"");
    forEachPersonsAct([&]<typename A>() { addActCommand<A>(*act, globals, chosen); });
    addStopCommand(*act, globals, chosen, "hold", QT_TRANSLATE_NOOP("Help", "Puts a meter on hold"), MeterState::OnHold);
    addStopCommand(
        *act, globals, chosen, "withdraw", QT_TRANSLATE_NOOP("Help", "Puts a meter out of use: withdrawn"), MeterState::Withdrawn);
}

} // namespace mk::cli
