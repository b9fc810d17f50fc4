// SPDX-License-Identifier: GPL-3.0-or-later
// People: changes to their accounts, their assessments, who may count, and who is told of whom.
#include "store/registrar_batch.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::refused;
using base::Result;
using base::Seq;
using namespace registry;

Result<const OperatorRecord*> ActBatch::needActive(const base::OperatorId& person)
{
    const auto known = needPerson(person);
    if (!known)
        return known;
    const auto competency = m_reader.competency(**known, std::nullopt, m_reader.zone().at(m_nowMs));
    if (!competency)
        return competency.error();
    if (competency->state == CompetencyState::Closed)
        return refused("the account of '" + person.value + "' is closed; somebody whose account is open records it");
    return known;
}

Done ActBatch::needCoordinator(const base::OperatorId& person, const std::string& what)
{
    const auto known = needActive(person);
    if (!known)
        return known.error();
    return (*known)->act.role == Role::Coordinator ? Done() : refused("a " + std::string(word((*known)->act.role)) + " may not " + what + "; the coordinator does");
}

template <>
Done ActBatch::check(const acts::OperatorChanged& a)
{
    if (const auto person = needPerson(a.person); !person)
        return person.error();
    if (const Done may = needCoordinator(a.by, "change an account"); !may)
        return may;
    if (!a.name && !a.role && !a.closed)
        return badInput("nothing changes for '" + a.person.value + "'; give --name, --role or --closed");
    if (a.person == a.by && (a.role || a.closed))
        return refused("nobody changes their own role or closes their own account; another coordinator does");
    return {};
}

template <>
Done ActBatch::check(const acts::CompetencyAssessed& a)
{
    if (const auto person = needPerson(a.person); !person)
        return person.error();
    if (const Done may = needCoordinator(a.by, "record an assessment"); !may)
        return may;
    if (a.person == a.by)
        return refused("nobody assesses themselves; another coordinator records it");
    if (a.model) {
        const auto model = m_reader.model(*a.model);
        if (!model)
            return model.error();
        if (*model == nullptr)
            return base::Fault { base::FaultKind::NotFound, "no model is called '" + a.model->value + "'; record it first, or check how it is written" };
    }
    const auto elements = readElements(a.elements.value_or(""));
    if (!elements)
        return elements.error();
    if (a.standing != CompetencyStanding::Competent)
        return a.until ? Done(badInput("only 'competent' holds until a day; leave out --until")) : Done();
    if (elements->empty())
        return badInput("say which elements were assessed with --elements, such as \"observed-testing recording\"");
    return a.until && *a.until < m_reader.zone().dateOf(a.at) ? Done(badInput("it would end before the day of the assessment; check --until")) : Done();
}

template <>
Done ActBatch::check(const acts::ShiftBegun& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    return needWard(a.ward);
}

template <>
Done ActBatch::check(const acts::ShiftEnded& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    return needWard(a.ward);
}

Done ActBatch::checkPeopleOf(const acts::ControlRun& run)
{
    if (run.question.has_value() != run.answer.has_value())
        return badInput("a question and its answer belong together; give both --question and --answer, or neither");
    if (!run.supervisor)
        return {};
    if (*run.supervisor == run.by)
        return badInput("a supervisor is another person than the one who runs the control; check --supervisor");
    const auto supervisor = needPerson(*run.supervisor);
    return supervisor ? Done() : Done(supervisor.error());
}

/// Judged by what was on record before the run: what is assessed later changes no verdict.
Result<bool> ActBatch::mayCount(Seq seq, const acts::ControlRun& run, const MeterRecord& meter)
{
    const auto person = needPerson(run.by);
    if (!person)
        return person.error();
    const auto own = m_reader.competency(**person, meter.act.model, run.at, seq);
    if (!own)
        return own.error();
    if (own->state != CompetencyState::Training || !run.supervisor)
        return own->holds();
    const auto supervisor = m_reader.person(*run.supervisor);
    if (!supervisor)
        return supervisor.error();
    if (*supervisor == nullptr)
        return false;
    const auto theirs = m_reader.competency(**supervisor, meter.act.model, run.at, seq);
    if (!theirs)
        return theirs.error();
    return theirs->holds();
}

/// What somebody else has begun on the same meter and not completed: nothing is merged, each is told of the other.
Done Registrar::tellOfOthers(std::span<const NewAct> newActs, std::vector<Outcome>& outcomes)
{
    Reader& reader = workingReader();
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
        const auto* run = std::get_if<acts::ControlRun>(&newActs[i].act);
        if (run == nullptr || outcomes[i].repeated)
            continue;
        const std::int64_t window = reader.policyAt(run->at).setWindowMinutes * std::int64_t { 60'000 };
        const auto sets = reader.newestSets(run->meter, run->at, 4);
        if (!sets)
            return sets.error();
        for (const auto& set : *sets) {
            const bool own = set.judged.set == run->set;
            if (!own && set.judged.verdict != Verdict::Partial)
                continue;
            for (const auto& other : set.runs) {
                const bool counts = other.run.by != run->by && other.seq < outcomes[i].seq && run->at.utcMs - other.run.at.utcMs <= window;
                const bool same = own && other.run.level == run->level;
                if (!counts || (own && !same))
                    continue;
                const std::string line = other.run.by.value + " recorded the " + std::string(word(other.run.level)) + " level of " + run->meter.value + " at "
                    + base::toText(reader.zone().at(other.run.at.utcMs)).substr(11, 5)
                    + (own ? " in this set too; both stay." : " in set " + set.judged.set.value + ", which is not complete.");
                if (std::ranges::find(outcomes[i].told, line) == outcomes[i].told.end())
                    outcomes[i].told.push_back(line);
            }
        }
    }
    return {};
}

} // namespace mk::store
