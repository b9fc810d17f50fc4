// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/people.h"

#include "store/index/rows/control_rows.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <algorithm>
#include <map>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;

namespace {

Result<std::map<std::string, Moment>> lastControls(Reader& reader, Moment at)
{
    static const Sql sql({ ControlRunRow::table }, "SELECT operator, at FROM control_run WHERE " + known());
    std::map<std::string, Moment> last;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(), [&](const Statement& row) {
        const Moment ran = momentFrom(row.text("at"));
        if (ran > at)
            return Done();
        const auto [before, fresh] = last.try_emplace(row.text("operator"), ran);
        if (!fresh)
            before->second = std::max(before->second, ran);
        return Done();
    });
    if (!read)
        return read.error();
    return last;
}

template <typename A>
Done addSignIns(Reader& reader, Moment at, bool begins, std::vector<SignIn>& into)
{
    const auto facts = reader.facts<A>();
    if (!facts)
        return facts.error();
    for (const auto& each : *facts) {
        if (each.act.at > at || each.act.ward.empty()) // at the command line: at no bench
            continue;
        const auto entry = entryAt(reader.session(), each.seq);
        if (!entry)
            return entry.error();
        into.push_back({ each.seq, each.act.by, each.act.ward, *entry ? (*entry)->station : std::string(), each.act.at, begins });
    }
    return {};
}

} // namespace

Result<std::vector<PersonLine>> readPeople(Reader& reader, Moment at)
{
    const auto people = reader.people();
    const auto controls = lastControls(reader, at);
    const auto techniques = reader.facts<acts::TechniqueChecked>();
    if (!people)
        return people.error();
    if (!controls || !techniques)
        return controls ? techniques.error() : controls.error();
    std::vector<PersonLine> lines;
    for (const auto& person : *people) {
        PersonLine line;
        line.person = person;
        const auto facts = reader.personFacts(person.act.id);
        const auto forAll = reader.competency(person, std::nullopt, at);
        if (!facts || !forAll)
            return facts ? forAll.error() : facts.error();
        line.forAll = *forAll;
        std::map<base::ModelId, bool> models;
        for (const auto& each : (*facts)->assessments)
            if (each.act.model && each.act.at <= at)
                models[*each.act.model] = true;
        for (const auto& [model, named] : models) {
            const auto onModel = reader.competency(person, model, at);
            if (!onModel)
                return onModel.error();
            line.models.emplace_back(model, *onModel);
        }
        if (const auto last = controls->find(person.act.id.value); last != controls->end())
            line.lastControl = last->second;
        line.observed = std::ranges::count_if(*techniques,
            [&](const auto& each) { return each.act.observed == person.act.id && each.act.by != person.act.id && each.act.at <= at; });
        lines.push_back(std::move(line));
    }
    return lines;
}

Result<std::vector<SignIn>> readSignIns(Reader& reader, Moment at)
{
    std::vector<SignIn> events;
    if (const Done begun = addSignIns<acts::ShiftBegun>(reader, at, true, events); !begun)
        return begun.error();
    if (const Done ended = addSignIns<acts::ShiftEnded>(reader, at, false, events); !ended)
        return ended.error();
    std::ranges::sort(events, {}, &SignIn::seq);
    return events;
}

} // namespace mk::store
