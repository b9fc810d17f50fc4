// SPDX-License-Identifier: GPL-3.0-or-later
// People: changes to their accounts, their assessments, who may count, and who is told of whom.
#include "store/registrar/registrar_batch.h"
#include "store/db/rows.h"

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
    return (*known)->act.role == Role::Coordinator
        ? Done()
        : refused("a " + std::string(word((*known)->act.role)) + " may not " + what + "; the coordinator does");
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
            return base::Fault { base::FaultKind::NotFound,
                "no model is called '" + a.model->value + "'; record it first, or check how it is written" };
    }
    const auto elements = readElements(a.elements.value_or(""));
    if (!elements)
        return elements.error();
    if (a.standing != CompetencyStanding::Competent)
        return a.until ? Done(badInput("only 'competent' holds until a day; leave out --until")) : Done();
    if (elements->empty())
        return badInput("say which elements were assessed with --elements, such as \"observed-testing recording\"");
    return a.until && *a.until < m_reader.zone().dateOf(a.at)
        ? Done(badInput("it would end before the day of the assessment; check --until"))
        : Done();
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
Result<std::vector<std::string>> ActBatch::othersOn(const acts::ControlRun& run)
{
    std::vector<std::string> told;
    const std::int64_t since = run.at.utcMs - m_reader.policyAt(run.at).setWindowMinutes * std::int64_t { 60'000 };
    const auto tell = [&](const std::string& by, const std::string& level, base::Moment at, const std::string& set) {
        if (at.utcMs < since)
            return;
        std::string line = by + " recorded the " + level + " level of " + run.meter.value + " at "
            + base::toText(m_reader.zone().at(at.utcMs)).substr(11, 5)
            + (set == run.set.value ? " in this set too; both stay." : " in set " + set + ", which is not complete.");
        if (std::ranges::find(told, line) == told.end())
            told.push_back(std::move(line));
    };
    // What somebody else ran in the same batch: another set is judged first, this one is not known to the index yet.
    if (const auto waiting = m_pending.find(run.meter); waiting != m_pending.end() && waiting->second.set != run.set) {
        if (const Done settled = settleMeter(run.meter); !settled)
            return settled.error();
    } else if (waiting != m_pending.end()) {
        for (const auto& [seq, other] : waiting->second.runs)
            if (other.by != run.by && other.level == run.level)
                tell(other.by.value, std::string(word(other.level)), other.at, other.set.value);
    }
    const Done read = eachRow(m_session,
        "SELECT v.set_id, r.operator, r.level, r.at FROM set_verdict v JOIN control_run r ON r.set_id = v.set_id AND r.to_seq IS NULL"
        " WHERE v.meter = ? AND v.last_at >= ? AND v.first_at <= ? AND v.to_seq IS NULL AND r.operator <> ?"
        " AND ((v.set_id = ? AND r.level = ?) OR (v.set_id <> ? AND v.verdict = 'partial')) ORDER BY v.last_at DESC, v.set_id DESC, r.run_seq",
        { bound(run.meter.value), bound(since), bound(run.at.utcMs), bound(run.by.value), bound(run.set.value),
            bound(std::string(word(run.level))), bound(run.set.value) },
        [&](const Statement& row) {
            tell(row.text(1), row.text(2), momentFrom(row.text(3)), row.text(0));
            return Done();
        });
    if (!read)
        return read.error();
    return told;
}

} // namespace mk::store
