// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_ladder.h"

#include "registry/meter/fitness.h"
#include "store/journal/act_codec.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <algorithm>
#include <set>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

constexpr Moment kBeginningOfTime { std::numeric_limits<std::int64_t>::min() / 2, 0 };

bool setIsAccepted(const SetRecord& set)
{
    return set.judged.verdict == Verdict::Accepted || set.judged.verdict == Verdict::Warned;
}

/// Technique checks that people made of themselves; an observer's look at somebody is no step of the ladder.
Result<std::vector<Moment>> techniqueChecksOf(Reader& reader, const base::MeterId& meter)
{
    const auto checks = reader.facts<acts::TechniqueChecked>(meter.value);
    if (!checks)
        return checks.error();
    std::vector<Moment> times;
    for (const auto& check : *checks)
        if (!check.act.observed)
            times.push_back(check.act.at);
    std::ranges::sort(times);
    return times;
}

/// The moment after which sets belong to the climb: the last accepted set by then, or a way back through acceptance.
Result<Moment> climbBegins(Reader& reader, const base::MeterId& meter, Moment by)
{
    const auto accepted = reader.newestAcceptedSet(meter, by);
    const auto states = reader.states(meter);
    if (!accepted || !states)
        return accepted ? states.error() : accepted.error();
    Moment begin = *accepted ? base::plusMs((*accepted)->judged.lastAt, 1) : kBeginningOfTime;
    for (const auto& spell : *states)
        if (spell.state == MeterState::Acceptance && spell.since <= by)
            begin = std::max(begin, spell.since);
    return begin;
}

} // namespace

Result<Ladder> ladderAt(Reader& reader, const base::MeterId& meter, Moment at)
{
    const auto begin = climbBegins(reader, meter, at);
    if (!begin)
        return begin.error();
    const auto sets = reader.sets(meter, *begin, at);
    const auto checks = techniqueChecksOf(reader, meter);
    if (!sets || !checks)
        return sets ? checks.error() : sets.error();
    return climb(*sets, *checks);
}

Result<Ladder> ladderEndedBy(Reader& reader, const SetRecord& accepted)
{
    const base::MeterId& meter = accepted.judged.meter;
    const auto begin = climbBegins(reader, meter, base::plusMs(accepted.judged.firstAt, -1));
    if (!begin)
        return begin.error();
    auto sets = reader.sets(meter, *begin, accepted.judged.lastAt);
    const auto checks = techniqueChecksOf(reader, meter);
    if (!sets || !checks)
        return sets ? checks.error() : sets.error();
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.set == accepted.judged.set; });
    sets->push_back(accepted);
    return climb(*sets, *checks);
}

Result<std::vector<Ladder>> climbsOf(Reader& reader, const base::MeterId& meter, Moment from, Moment to)
{
    const auto begin = climbBegins(reader, meter, from);
    if (!begin)
        return begin.error();
    const auto sets = reader.sets(meter, *begin, to);
    const auto checks = techniqueChecksOf(reader, meter);
    if (!sets || !checks)
        return sets ? checks.error() : sets.error();
    return climbsIn(*sets, *checks);
}

Result<std::vector<Nonconformity>> nonconformities(Reader& reader, const std::optional<std::string>& subject, std::optional<Moment> by)
{
    const auto opened = reader.facts<acts::NcOpened>(subject);
    if (!opened)
        return opened.error();
    std::vector<Nonconformity> folded;
    for (const auto& record : *opened) {
        if (by && record.act.at > *by)
            continue;
        auto steps = reader.facts<acts::NcStep>("entry " + std::to_string(record.seq.value));
        if (!steps)
            return steps.error();
        if (by)
            std::erase_if(*steps, [&](const Record<acts::NcStep>& step) { return step.act.at > *by; });
        folded.push_back(foldNonconformity(record, *steps));
    }
    return folded;
}

Result<std::optional<Nonconformity>> nonconformityOf(Reader& reader, Seq entry)
{
    const auto found = entryAt(reader.session(), entry);
    if (!found)
        return found.error();
    if (!*found || entry > reader.asOf() || (*found)->act != acts::NcOpened::kind)
        return std::optional<Nonconformity>();
    const auto body = Json::parse((*found)->body);
    const auto act = body ? actFrom((*found)->act, *body) : Result<Act>(body.error());
    const auto steps = reader.facts<acts::NcStep>("entry " + std::to_string(entry.value));
    if (!act || !steps)
        return act ? steps.error() : act.error();
    return std::optional(foldNonconformity(Record<acts::NcOpened> { entry, std::get<acts::NcOpened>(*act) }, *steps));
}

Result<std::vector<FailurePattern>> patternsOf(Reader& reader, const base::MeterId& meter, Moment at)
{
    // A set that held at its first attempt has no such run: the others are few, and have an index. CROSS JOIN keeps SQLite to this order.
    static const Sql sql(
        "SELECT r.at, s.meter, r.operator, r.strip_vial, r.control_vial, v.level FROM set_verdict s CROSS JOIN run_verdict v"
        " CROSS JOIN control_run r WHERE (s.attempt > 1 OR s.verdict NOT IN ('accepted', 'warned'))"
        " AND v.set_id = s.set_id AND v.attempt = 1 AND v.verdict = 'rejected' AND "
        + known("v") + " AND r.set_id = v.set_id AND r.run_seq = v.run_seq AND " + known("r") + " AND " + known("s")
        + " AND s.last_at > :begin AND s.first_at <= :at");
    std::vector<FailedFirst> failures;
    const std::int64_t from = at.utcMs - kPatternDays * std::int64_t { 86'400'000 };
    const Done read = eachRow(
        reader.session(), sql, reader.asKnown({ { "begin", bound(from) }, { "at", bound(at.utcMs) } }), [&](const Statement& row) {
            FailedFirst failure { momentFrom(row.text("at")), base::MeterId(row.text("meter")), base::OperatorId(row.text("operator")),
                base::StripVialId(row.text("strip_vial")), base::ControlVialId(row.text("control_vial")) };
            const Done word = wordFrom(row.text("level"), failure.level);
            failures.push_back(std::move(failure));
            return word;
        });
    if (!read)
        return read.error();
    auto climbs = climbsOf(reader, meter, { from, at.offsetMinutes }, at);
    if (!climbs)
        return climbs.error();
    std::erase_if(*climbs, [&](const Ladder& ladder) { return ladder.attempts.back().at.utcMs <= from; });

    std::set<std::string> concerned { meter.value };
    for (const auto& failure : failures)
        if (failure.meter == meter)
            concerned.insert({ failure.stripVial.value, failure.controlVial.value, failure.by.value });
    auto patterns = failurePatterns(failures, *climbs, at);
    std::erase_if(
        patterns, [&](const FailurePattern& pattern) { return pattern.kind != "late-pass" && !concerned.contains(pattern.subject); });
    return patterns;
}

Result<std::vector<base::MeterId>> metersOnVial(Reader& reader, const std::string& vial)
{
    static const Sql sql("SELECT meter FROM control_run WHERE strip_vial = :vial AND " + known()
        + " UNION SELECT meter FROM control_run WHERE control_vial = :vial AND " + known()
        + " UNION SELECT meter FROM comparison WHERE strip_vial = :vial AND " + known() + " ORDER BY 1");
    std::vector<base::MeterId> meters;
    const Done read = eachRow(reader.session(), sql, reader.asKnown({ { "vial", bound(vial) } }), [&](const Statement& row) {
        meters.emplace_back(row.text("meter"));
        return Done();
    });
    if (!read)
        return read.error();
    return meters;
}

Result<std::optional<acts::LookbackClosed>> closingOf(Reader& reader, const LookbackRecord& lookback)
{
    if (!lookback.closedBy)
        return std::optional<acts::LookbackClosed>();
    const auto closings = reader.facts<acts::LookbackClosed>("entry " + std::to_string(lookback.seq.value));
    if (!closings)
        return closings.error();
    return closings->empty() ? std::nullopt : std::optional(closings->back().act);
}

Done historyOfLadder(Reader& reader, MeterHistory& history, Moment at)
{
    if (!history.newestSet)
        return {};
    const SetRecord newest = setUpTo(*history.newestSet, at, reader.policyAt(at));
    if (setIsAccepted(newest))
        return {};
    const base::MeterId& meter = history.meter.act.meter;
    const auto begin = climbBegins(reader, meter, at);
    const auto checks = techniqueChecksOf(reader, meter);
    auto sets = begin ? reader.sets(meter, *begin, at) : Result<std::vector<SetRecord>>(begin.error());
    if (!checks || !sets)
        return checks ? sets.error() : checks.error();
    if (newest.judged.lastAt >= *begin && (sets->empty() || sets->back().judged.set != newest.judged.set))
        sets->push_back(newest); // some of its runs came later
    std::vector<Moment> before;
    std::ranges::copy_if(*checks, std::back_inserter(before), [&](Moment check) { return check <= at; });
    Ladder ladder = climb(*sets, before);
    if (ladder.step > 0)
        history.ladder = LadderStanding { ladder.step, std::move(ladder.next) };
    return {};
}

} // namespace mk::store
