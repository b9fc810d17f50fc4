// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/people_commands.h"

#include "cli/board_output.h"
#include "cli/output.h"
#include "store/read/people.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <CLI/CLI.hpp>

#include <QCoreApplication>

namespace mk::cli {

using namespace registry;

namespace {

void writeCompetency(JsonWriter& json, const std::optional<base::ModelId>& model, const Competency& competency)
{
    json.beginObject().key("model").value(model ? std::optional(model->value) : std::nullopt).key("standing").value(word(competency.state));
    json.key("counts")
        .value(competency.holds())
        .key("from")
        .value(competency.from ? std::optional(base::toText(*competency.from)) : std::nullopt);
    json.key("until").value(competency.until ? std::optional(base::toText(*competency.until)) : std::nullopt);
    json.key("missing_elements").array(competency.missingElements);
    json.key("seq").value(competency.evidence ? std::optional(competency.evidence->value) : std::nullopt).endObject();
}

void writeSignIn(JsonWriter& json, const SignIn& signIn, const Zone& zone)
{
    json.beginObject().key("at");
    writeMoment(json, signIn.at, zone);
    json.key("ward").value(signIn.ward.value).key("station").value(signIn.station).key("seq").value(signIn.seq.value).endObject();
}

struct PeopleTexts {
    Q_DECLARE_TR_FUNCTIONS(People)
};

QString stateSaid(CompetencyState state)
{
    switch (state) {
    case CompetencyState::Unknown: return PeopleTexts::tr("not-on-record");
    case CompetencyState::Training: return PeopleTexts::tr("training");
    case CompetencyState::Competent: return PeopleTexts::tr("competent");
    case CompetencyState::Due: return PeopleTexts::tr("due");
    case CompetencyState::Lapsed: return PeopleTexts::tr("lapsed");
    case CompetencyState::Suspended: return PeopleTexts::tr("suspended");
    case CompetencyState::Closed: return PeopleTexts::tr("closed");
    }
    return {};
}

QString standingSaid(const Competency& competency)
{
    const QString state = stateSaid(competency.state);
    if (!competency.until || (!competency.holds() && competency.state != CompetencyState::Lapsed))
        return state;
    const QString day = words::longDay(*competency.until);
    return competency.state == CompetencyState::Lapsed ? PeopleTexts::tr("%1 since %2").arg(state, day)
                                                       : PeopleTexts::tr("%1 until %2").arg(state, day);
}

QString clashSaid(const SignInClash& clash, const Zone& zone)
{
    //: %1 a person, %2 and %5 wards, %3 and %6 workstations, %4 and %7 when
    return PeopleTexts::tr("%1 signed in on %2 (%3) at %4 and on %5 (%6) at %7. Ask whose badge it was.")
        .arg(words::text(clash.second.person.value), words::text(clash.first.ward.value), words::text(clash.first.station),
            words::full(clash.first.at, zone), words::text(clash.second.ward.value), words::text(clash.second.station),
            words::full(clash.second.at, zone));
}

std::string peopleInWords(const std::vector<store::PersonLine>& people, const std::vector<SignInClash>& clashes, const Zone& zone)
{
    std::vector<std::vector<std::string>> table { {} };
    for (const QString& column : { PeopleTexts::tr("operator"), PeopleTexts::tr("name"), PeopleTexts::tr("role"), PeopleTexts::tr("model"),
             PeopleTexts::tr("standing"), PeopleTexts::tr("last control") })
        table.front().push_back(column.toStdString());
    for (const auto& line : people) {
        const auto add = [&](const std::string& model, const Competency& competency) {
            const QString last = line.lastControl ? words::full(*line.lastControl, zone) : PeopleTexts::tr("none");
            table.push_back({ line.person.act.id.value, line.person.act.name.value_or(""), words::role(line.person.act.role).toStdString(),
                model, standingSaid(competency).toStdString(), last.toStdString() });
        };
        add(PeopleTexts::tr("every").toStdString(), line.forAll);
        for (const auto& [model, competency] : line.models)
            add(model.value, competency);
    }
    std::string text = people.empty()
        ? PeopleTexts::tr("Nobody is on record. Import operators.csv, or record act operator.").toStdString() + "\n"
        : alignedTable(table);
    for (const auto& clash : clashes)
        text += clashSaid(clash, zone).toStdString() + "\n";
    return text;
}

int runOperators(const Globals& globals)
{
    auto open = openForReading(globals);
    if (!open)
        return printFault(open.error());
    if (const base::Done view = open->session->beginRead(); !view) // one view, while others write
        return printFault(view.error());
    store::Reader& reader = *open->reader;
    const auto people = store::readPeople(reader, open->at);
    const auto signIns = store::readSignIns(reader, open->at);
    if (!people || !signIns)
        return printFault(people ? signIns.error() : people.error());
    const auto clashes = clashesOf(*signIns, reader.policyAt(open->at).sameBadgeMinutes);
    if (!globals.json)
        return printText(peopleInWords(*people, clashes, reader.zone()));
    JsonWriter json;
    json.beginObject().key("format").value(1).key("at");
    writeMoment(json, open->at, reader.zone());
    json.key("operators").beginArray();
    for (const auto& line : *people) {
        json.beginObject().key("operator").value(line.person.act.id.value).key("name").value(line.person.act.name);
        json.key("role").value(word(line.person.act.role)).key("closed").value(line.forAll.state == CompetencyState::Closed);
        json.key("standing").value(word(line.forAll.state)).key("last_control");
        if (line.lastControl)
            writeMoment(json, *line.lastControl, reader.zone());
        else
            json.null();
        json.key("technique_audits").value(line.observed).key("competency").beginArray();
        writeCompetency(json, std::nullopt, line.forAll);
        for (const auto& [model, competency] : line.models)
            writeCompetency(json, model, competency);
        json.endArray().endObject();
    }
    json.endArray().key("sign_ins").value(signIns->size()).key("clashes").beginArray();
    for (const auto& clash : clashes) {
        json.beginObject().key("operator").value(clash.second.person.value).key("first");
        writeSignIn(json, clash.first, reader.zone());
        json.key("second");
        writeSignIn(json, clash.second, reader.zone());
        json.endObject();
    }
    json.endArray().endObject();
    return printText(json.text() + "\n");
}

} // namespace

void addPeopleCommands(CLI::App& app, const Globals& globals, std::function<int()>& chosen)
{
    auto* operators = app.add_subcommand("operators", "Whose controls count, and until when; badges that were at two places")
                          ->fallthrough();
    addExample(*operators, "--registry ward5.mkr operators --json");
    operators->callback([&globals, &chosen] { chosen = [&globals] { return runOperators(globals); }; });
}

} // namespace mk::cli
