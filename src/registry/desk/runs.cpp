// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/runs.h"

#include "registry/control/failure_ladder.h"
#include "registry/desk/failures.h"
#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/refusal.h"
#include "registry/desk/stops.h"

#include <algorithm>
#include <tuple>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

bool isReasonCode(const std::string& text)
{
    if (text.size() < 2 || text.size() > 3 || text[0] != 'D')
        return false;
    const auto number = base::Decimal::parse(text.substr(1));
    return number && number->decimals() == 0 && number->mantissa() >= 1 && number->mantissa() <= 14 && text[1] != '0';
}

Done mayBeOfThesePeople(const Desk& desk, const acts::ControlRun& run)
{
    if (run.question.has_value() != run.answer.has_value())
        return refuse(Refusal::QuestionHalfGiven);
    if (!run.supervisor)
        return {};
    if (*run.supervisor == run.by)
        return refuse(Refusal::OwnSupervisor);
    const auto supervisor = needPerson(desk, *run.supervisor);
    return supervisor ? Done() : Done(supervisor.error());
}

/// The runs that the set had before this batch; it must not be another meter's.
Result<std::vector<RunRecord>> runsOfItsSet(const Desk& desk, const acts::ControlRun& run)
{
    if (const auto* waiting = desk.judging.waitingOn(run.meter); waiting != nullptr && waiting->set == run.set)
        return std::vector<RunRecord>();
    const auto owner = desk.facts.meterOfSet(run.set);
    if (!owner)
        return owner.error();
    if (!*owner)
        return std::vector<RunRecord>();
    if (**owner != run.meter)
        return refuse(Refusal::SetOfOtherMeter, run.set.value, (*owner)->value);
    return desk.facts.runs(run.set);
}

/// A run of somebody else, as whoever runs the same meter is told of it.
struct OthersRun {
    std::string by;
    Level level {};
    Moment at;
    base::SetId set;
};

std::string lineOf(const OthersRun& other, const acts::ControlRun& run, const Zone& zone)
{
    return other.by + " recorded the " + std::string(word(other.level)) + " level of " + run.meter.value + " at "
        + base::toText(zone.at(other.at.utcMs)).substr(11, 5)
        + (other.set == run.set ? " in this set too; both stay." : " in set " + other.set.value + ", which is not complete.");
}

/// What somebody else ran in the same batch: another set is judged first, this one is not known to the facts yet.
Result<std::vector<OthersRun>> othersInBatch(const Desk& desk, const acts::ControlRun& run)
{
    std::vector<OthersRun> others;
    const auto* waiting = desk.judging.waitingOn(run.meter);
    if (waiting == nullptr)
        return others;
    if (waiting->set != run.set) {
        const Done settled = desk.judging.settleMeter(run.meter);
        return settled ? Result<std::vector<OthersRun>>(others) : settled.error();
    }
    for (const auto& [seq, other] : waiting->runs)
        if (other.by != run.by && other.level == run.level)
            others.push_back({ other.by.value, other.level, other.at, other.set });
    return others;
}

/// What somebody else ran in this set, or in one that is not complete.
Result<std::vector<OthersRun>> othersOnRecord(const Desk& desk, const acts::ControlRun& run, Moment since)
{
    auto sets = desk.facts.sets(run.meter, since, base::kEndOfTime);
    if (!sets)
        return sets.error();
    std::ranges::sort(*sets, [](const SetRecord& a, const SetRecord& b) {
        return std::tie(b.judged.lastAt, b.judged.set) < std::tie(a.judged.lastAt, a.judged.set);
    });
    std::vector<OthersRun> others;
    for (const auto& set : *sets) {
        const bool same = set.judged.set == run.set;
        if (set.judged.firstAt > run.at || (!same && set.judged.verdict != Verdict::Partial))
            continue;
        for (const auto& each : set.runs)
            if (each.run.by != run.by && (!same || each.run.level == run.level))
                others.push_back({ each.run.by.value, each.run.level, each.run.at, set.judged.set });
    }
    return others;
}

/// What somebody else has begun on the same meter and not completed: nothing is merged, each is told of the other.
Result<std::vector<std::string>> toldOfOthers(const Desk& desk, const acts::ControlRun& run)
{
    const Moment since = base::plusMs(run.at, -desk.facts.policyAt(run.at).setWindowMinutes * std::int64_t { 60'000 });
    auto others = othersInBatch(desk, run);
    const auto recorded = others ? othersOnRecord(desk, run, since) : others;
    if (!recorded)
        return recorded.error();
    others->insert(others->end(), recorded->begin(), recorded->end());
    std::vector<std::string> told;
    for (const auto& other : *others) {
        std::string line = lineOf(other, run, desk.facts.zone());
        if (other.at >= since && std::ranges::find(told, line) == told.end())
            told.push_back(std::move(line));
    }
    return told;
}

Result<std::ptrdiff_t> errorCodesOfRuns(const Desk& desk, const base::MeterId& meter, Moment from, Moment to)
{
    const auto sets = desk.facts.setsWithRuns(meter);
    if (!sets)
        return sets.error();
    std::ptrdiff_t count = 0;
    for (auto id = sets->rbegin(); id != sets->rend(); ++id) {
        const auto runs = desk.facts.runs(*id);
        if (!runs)
            return runs.error();
        if (runs->empty() || runs->back().run.at <= from)
            break;
        count += std::ranges::count_if(*runs, [&](const RunRecord& each) {
            return std::holds_alternative<ErrorCode>(each.run.result) && each.run.at > from && each.run.at <= to;
        });
    }
    return count;
}

/// A repeat names a set of its meter that failed, and that no accepted set has followed: else a day's first set could be called a repeat,
/// and no rule would count it.
Done mayRepeatSet(const Desk& desk, const acts::ControlRun& run)
{
    if (!run.repeatOf || *run.repeatOf == run.set.value)
        return {};
    const base::SetId named(*run.repeatOf);
    const auto set = desk.facts.set(named);
    const auto runs = desk.facts.runs(named);
    if (!set || !runs)
        return set ? runs.error() : set.error();
    const bool waits = !*set && !runs->empty(); // run before what was judged already: its verdict comes last
    const auto& first = waits ? runs->front().run.meter : *set ? (*set)->judged.meter : base::MeterId();
    if (first != run.meter || (*set && ((*set)->judged.lastAt > run.at || !failsAfter(false, **set))))
        return refuse(Refusal::RepeatOfNoFailure, named.value, run.meter.value);
    if (waits)
        return {};
    const auto since = desk.facts.sets(run.meter, (*set)->judged.lastAt, run.at);
    if (!since)
        return since.error();
    for (const auto& each : *since)
        if (each.judged.set != named && each.judged.set != run.set && isAccepted(each))
            return refuse(Refusal::RepeatOfEndedFailure, named.value, run.meter.value, each.judged.set.value);
    return {};
}

} // namespace

Done mayShow(const Desk& desk, const base::MeterId& meter, const Reading& result, base::GlucoseUnit unit)
{
    const auto model = modelOfMeter(desk, meter);
    if (!model)
        return model.error();
    const auto* number = std::get_if<base::Decimal>(&result);
    if (*model == nullptr || number == nullptr || unit != (*model)->act.unit)
        return {};
    const auto& limits = (*model)->act;
    if ((limits.low && *number < *limits.low) || (limits.high && *number > *limits.high))
        return refuse(Refusal::ResultBeyondModel, number->typed(), limits.model.value, (limits.low ? limits.low->typed() : "…"),
            (limits.high ? limits.high->typed() : "…"), limits.unit);
    return {};
}

Result<std::vector<RunRecord>> mayRun(const Desk& desk, const acts::ControlRun& run)
{
    if (const Done known = needMeterAndPerson(desk, run.meter, run.by); !known)
        return known.error();
    if (const Done people = mayBeOfThesePeople(desk, run); !people)
        return people.error();
    if (const auto strip = needStripVial(desk, run.stripVial); !strip)
        return strip.error();
    if (const auto control = needControlVial(desk, run.controlVial); !control)
        return control.error();
    if (run.reason && !isReasonCode(*run.reason))
        return refuse(Refusal::NoReasonCode, *run.reason);
    if (const Done shown = mayShow(desk, run.meter, run.result, run.unit); !shown)
        return shown.error();
    return runsOfItsSet(desk, run);
}

Result<Admitted> admit(const Desk& desk, const acts::ControlRun& run)
{
    auto known = mayRun(desk, run);
    if (!known)
        return known.error();
    Admitted admitted { std::move(known).value() };
    if (desk.occasion.imported)
        return admitted;
    const auto waits = [&] {
        const auto* waiting = desk.judging.waitingOn(run.meter);
        return waiting != nullptr && waiting->set == run.set;
    };
    const bool waited = waits();
    // What a person records is held to the ladder's limit on repeats; a correction is not one.
    const auto askedBeyondRuns = mayRepeat(desk, run);
    auto told = askedBeyondRuns ? toldOfOthers(desk, run) : Result<std::vector<std::string>>(askedBeyondRuns.error());
    if (!told)
        return told.error();
    if (const Done repeat = mayRepeatSet(desk, run); !repeat)
        return repeat.error();
    admitted.askedBeyondRuns = *askedBeyondRuns;
    admitted.told = std::move(told).value();
    if (!waited || waits())
        return admitted;
    // Its set was judged for that: the runs of this batch are on record, and the next verdict is on all of them.
    auto ofItsSet = desk.facts.runs(run.set);
    if (!ofItsSet)
        return ofItsSet.error();
    admitted.ofItsSet = std::move(ofItsSet).value();
    return admitted;
}

Done follow(const Desk& desk, Seq seq, const acts::ControlRun& run, Admitted admitted)
{
    // What a file's set repeats is judged with this run, and only then is it known whether it failed.
    if (desk.occasion.imported && run.repeatOf) {
        if (const auto* waiting = desk.judging.waitingOn(run.meter); waiting != nullptr && waiting->set != run.set)
            if (const Done settled = desk.judging.settleMeter(run.meter); !settled)
                return settled;
        if (const Done repeat = mayRepeatSet(desk, run); !repeat)
            return repeat;
    }
    if (const Done expected = desk.judging.expect(seq, run, std::move(admitted.ofItsSet), desk.person); !expected)
        return expected;
    return std::holds_alternative<ErrorCode>(run.result) ? followErrorCode(desk, run.meter, run.at, seq) : Done();
}

Done followErrorCode(const Desk& desk, const base::MeterId& meter, Moment at, Seq seq)
{
    const Policy& policy = desk.facts.policyAt(at);
    const Moment from = base::plusMs(at, -policy.errorCodeHours * std::int64_t { 3'600'000 });
    const auto incidents = desk.facts.incidents(meter);
    if (!incidents)
        return incidents.error();
    const auto reported = std::ranges::count_if(
        *incidents, [&](const IncidentRecord& i) { return i.act.what == IncidentKind::ErrorCode && i.act.at > from && i.act.at <= at; });
    const auto shown = errorCodesOfRuns(desk, meter, from, at);
    const auto open = shown ? openStops(desk, meter) : Result<std::vector<StopRecord>>(shown.error());
    if (!open)
        return open.error();
    if (reported + *shown < policy.errorCodes || stoppedFor(*open, ReasonCode::ErrorCodes))
        return {};
    return stopFor(desk, meter, desk.effective(at), { ReasonCode::ErrorCodes, seq });
}

} // namespace mk::registry::desk
