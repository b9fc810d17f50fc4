// SPDX-License-Identifier: GPL-3.0-or-later
// What the registry's people tell the reference, and the states that follow (handbook 1.4, 1.5, 4.6, 5.6).
#include "model/ward_reference.h"

#include <algorithm>

namespace mk::model {

using namespace registry;
using S = MeterState;

namespace {

template <typename T>
std::string text(T state)
{
    return std::string(word(state));
}

} // namespace

std::optional<EventRule> eventRule(IncidentKind kind)
{
    switch (kind) {
    case IncidentKind::Dropped: return EventRule { "dropped", false };
    case IncidentKind::Wet: return EventRule { "wet", true };
    case IncidentKind::Damaged: return EventRule { "damaged", true };
    case IncidentKind::ImplausibleResult: return EventRule { "implausible-result", false };
    case IncidentKind::BatteryChanged: return EventRule { "battery-changed", false };
    case IncidentKind::SoftwareUpdated: return EventRule { "software-changed", false };
    case IncidentKind::ClockWrong: return EventRule { "clock-wrong", false };
    case IncidentKind::WrongUnit: return EventRule { "wrong-unit", true };
    case IncidentKind::Temperature: return EventRule { "temperature", false };
    case IncidentKind::FieldNotice: return EventRule { "field-notice", true };
    default: return std::nullopt;
    }
}

bool isTransition(S from, S to, Role who, bool byReturnStep)
{
    if (from == S::Retired || from == to || who == Role::Inspector)
        return false;
    const bool coordinator = who == Role::Coordinator;
    if (byReturnStep) // T6, T8
        return (from == S::OnHold && to == S::InService)
            || (from == S::Withdrawn && coordinator && (to == S::InService || to == S::Reserve));
    if (to == S::Missing) // T13
        return true;
    if (to == S::Retired) // T15
        return coordinator;
    switch (from) {
    case S::Received: return coordinator && to == S::Acceptance;                                             // T2
    case S::Acceptance: return coordinator && (to == S::InService || to == S::Reserve || to == S::AtRepair); // T3, T4
    case S::InService: return to == S::OnHold || to == S::Withdrawn || (to == S::Reserve && coordinator);    // T5, T7, T11
    case S::OnHold: return to == S::Withdrawn;                                                               // T7
    case S::Reserve: return to == S::Withdrawn || (to == S::InService && coordinator);                       // T7, T11
    case S::Withdrawn: return coordinator && to == S::AtRepair;                                              // T9
    case S::AtRepair: return coordinator && to == S::Acceptance;                                             // T10
    case S::Missing: return to == S::Withdrawn;                                                              // T14
    default: return false;
    }
}

const acts::ControlRun& Reference::runAt(const Fact& fact, std::int64_t known)
{
    const auto* newest = &as<acts::ControlRun>(fact);
    for (const auto& [seq, version] : fact.versions)
        if (seq <= known)
            newest = &version;
    return *newest;
}

std::vector<std::string> Reference::meters() const
{
    std::vector<std::string> ids;
    for (const auto* fact : all<acts::MeterEnrolled>())
        ids.push_back(as<acts::MeterEnrolled>(*fact).meter.value);
    return ids;
}

std::string Reference::wardOf(const std::string& meter) const
{
    std::string ward;
    for (const auto& fact : m_facts) {
        if (const auto* enrolled = std::get_if<acts::MeterEnrolled>(&fact.act); enrolled && enrolled->meter.value == meter)
            ward = enrolled->ward.value;
        if (const auto* move = std::get_if<acts::MeterMoved>(&fact.act); move && move->meter.value == meter && move->toWard)
            ward = move->toWard->value;
    }
    return ward;
}

std::optional<Role> Reference::roleOf(const std::string& person) const
{
    for (const auto* fact : all<acts::OperatorEnrolled>())
        if (as<acts::OperatorEnrolled>(*fact).id.value == person)
            return as<acts::OperatorEnrolled>(*fact).role;
    return std::nullopt;
}

S Reference::stateAt(const std::string& meter, std::int64_t at, std::int64_t known) const
{
    S state = S::Received;
    if (const auto spells = m_spells.find(meter); spells != m_spells.end())
        for (const auto& spell : spells->second)
            if (spell.since <= at && spell.seq <= known)
                state = spell.state;
    return state;
}

void Reference::moveTo(const std::string& meter, S to, std::int64_t told, std::int64_t head)
{
    m_spells[meter].push_back({ to, told, head });
}

void Reference::endStops(const std::string& meter, std::int64_t told, std::int64_t head)
{
    for (auto& stop : m_stops[meter])
        if (stop.ended == kNever)
            stop.ended = told, stop.endedSeq = head;
}

void Reference::stop(const std::string& meter, bool withdraw, const std::string& code, const std::string& set, std::int64_t told,
    std::int64_t head, std::int64_t because)
{
    const S state = stateAt(meter, told);
    const bool stoppable = state == S::InService || state == S::OnHold || state == S::Withdrawn || (state == S::Reserve && withdraw)
        || (state == S::Missing && code == "found"); // missing until it is found: T14
    m_stops[meter].push_back({ code, set, told, head, !stoppable, because });
    if (withdraw && stoppable && state != S::Withdrawn)
        moveTo(meter, S::Withdrawn, told, head); // T7
    else if (!withdraw && state == S::InService)
        moveTo(meter, S::OnHold, told, head); // T5
}

std::string Reference::accept(const std::vector<std::pair<std::int64_t, Act>>& acts, const Delivery& how, const Followed& followed)
{
    std::string wrong;
    m_room.clear();
    m_head = how.head;
    const auto add = [&](std::int64_t seq, const Act& act) {
        Fact& fact = m_facts.emplace_back();
        fact.seq = seq, fact.told = how.told, fact.act = act, fact.takenOver = how.takenOver;
        const auto named = personOf(act);
        fact.person = how.person.empty() && named ? named->value : how.person;
    };
    for (const auto& [seq, act] : acts) {
        add(seq, act);
        wrong += take(Fact(m_facts.back()), how.head);
    }
    const Fact newest = m_facts.back();
    for (const auto& [seq, act] : followed.acts)
        add(seq, act);
    for (const auto& meter : meters())
        followVerdicts(meter, newest, how.told, how.head);
    return wrong + takeFollowed(followed, how.told, how.head);
}

/// What the registry stopped by itself is taken as it says; that it had a reason is checked.
std::string Reference::takeFollowed(const Followed& followed, std::int64_t told, std::int64_t head)
{
    std::string wrong;
    for (const auto& [seq, act] : followed.acts)
        if (const auto* end = std::get_if<acts::VialEnded>(&act); end && end->how == VialEndKind::Empty)
            wrong += "ended by itself as empty: vial " + end->vial + "\n";
    for (const auto& stopped : followed.stops) {
        if (stopped.cause == "ladder-exhausted" && !ladderClimbed(stopped.meter))
            wrong += stopped.meter + " is withdrawn as ladder-exhausted before two strip vials and two control vials of a level failed\n";
        stop(stopped.meter, stopped.withdrawn, stopped.cause, {}, told, head);
    }
    return wrong;
}

void Reference::settle(const std::string& meter, S observed)
{
    const auto room = m_room.find(meter);
    const S state = stateAt(meter, kNever - 1);
    if (room == m_room.end() || observed == state || !room->second.contains(observed))
        return;
    if (observed == S::OnHold) // then what was believed answered is not
        for (auto& stop : m_stops[meter])
            if (stop.endedSeq == m_head)
                stop.ended = stop.endedSeq = kNever;
    if (observed == S::OnHold && std::ranges::none_of(m_stops[meter], [](const Stop& stop) { return stop.ended == kNever; }))
        for (const auto& set : sets(meter, kNever)) // an answer was taken back: the failure behind it speaks again
            if (set.verdict == Verdict::Rejected)
                m_stops[meter].push_back({ "control-rejected", set.set, m_facts.back().told, m_head });
    auto spell = m_spells[meter].back();
    spell.state = observed, spell.since = m_facts.back().told, spell.seq = m_facts.back().seq;
    m_spells[meter].push_back(spell);
}

std::string Reference::take(const Fact& fact, std::int64_t head)
{
    if (const auto* meter = std::get_if<acts::MeterEnrolled>(&fact.act))
        m_spells[meter->meter.value].push_back(
            { meter->state.value_or(S::InService), std::min(meter->enrolled.utcMs, fact.told), fact.seq });
    if (const auto* vial = std::get_if<acts::StripVialOpened>(&fact.act))
        m_lotOfVial[vial->vial.value] = vial->lot.value;
    if (const auto* vial = std::get_if<acts::ControlVialOpened>(&fact.act))
        m_lotOfVial[vial->vial.value] = vial->lot.value;
    if (const auto* release = std::get_if<acts::VialReleased>(&fact.act)) {
        bool quarantined = false;
        for (const auto* other : all<acts::VialEnded>())
            if (const auto& end = as<acts::VialEnded>(*other); end.vial == release->vial) {
                const auto earlier = all<acts::VialReleased>();
                const bool lifted = std::ranges::any_of(earlier, [&](const Fact* each) {
                    return as<acts::VialReleased>(*each).vial == end.vial && each->seq > other->seq && each->seq < fact.seq;
                });
                if (!lifted && end.how != VialEndKind::Quarantined)
                    return "accepted: the release of vial " + end.vial + ", which is " + std::string(word(end.how)) + "\n"; // 2.5
                quarantined = quarantined || !lifted;
            }
        return quarantined ? std::string() : "accepted: the release of vial " + release->vial + ", which is not quarantined\n";
    }
    if (std::holds_alternative<acts::MeterMoved>(fact.act))
        return takeMovement(fact, head);
    if (std::holds_alternative<acts::ReturnStep>(fact.act))
        return takeStep(fact, head);
    if (std::holds_alternative<acts::IncidentReported>(fact.act))
        takeIncident(fact, head);
    if (const auto* run = std::get_if<acts::ControlRun>(&fact.act); run && std::holds_alternative<ErrorCode>(run->result))
        takeErrorCode(run->meter.value, run->at.utcMs, fact.told, head);
    if (const auto* pair = std::get_if<acts::ComparisonRecorded>(&fact.act)) {
        const Expected expected = expect(pair->meter.value, fact.told);
        if (expected.listed.contains("outside-twice"))
            stop(pair->meter.value, true, "comparison-failed", {}, fact.told, head); // 5.6
    }
    if (std::holds_alternative<acts::EntryAnnulled>(fact.act) || std::holds_alternative<acts::EntryCorrected>(fact.act))
        return takeMending(m_facts.back());
    if (std::holds_alternative<acts::CorrectionConfirmed>(fact.act))
        return takeWord(fact);
    if (std::holds_alternative<acts::RangeAssigned>(fact.act))
        return takeRange(m_facts.back());
    if (std::holds_alternative<acts::RangeConfirmed>(fact.act))
        return takeAgain(fact);
    return {};
}

std::string Reference::takeMovement(const Fact& fact, std::int64_t head)
{
    const auto& move = as<acts::MeterMoved>(fact);
    const std::string meter = move.meter.value;
    if (move.toWard)
        m_transfers[meter].push_back({ fact.told, fact.seq }); // T12, D11: "control before use there (policy)"
    if (!move.toState)
        return {};
    const S from = stateAt(meter, fact.told);
    std::string wrong;
    if (!isTransition(from, *move.toState, roleOf(move.by.value).value_or(Role::Inspector), false))
        wrong = "accepted: " + meter + " moved from " + text(from) + " to " + text(*move.toState) + " by " + move.by.value + "\n";
    const S to = *move.toState;
    if (to == S::OnHold || (to == S::Withdrawn && from != S::OnHold) || to == S::Withdrawn)
        m_stops[meter].push_back({ "", {}, fact.told, head });
    if (from == S::Acceptance && (to == S::InService || to == S::Reserve))
        endStops(meter, fact.told, head); // T3: the coordinator signs for all of it
    if (to == S::Reserve || from == S::AtRepair)
        m_renewals[meter].push_back({ fact.told, fact.seq, true }); // D7, D11: before first use
    if (to == S::InService)
        m_renewals[meter].push_back({ fact.told, fact.seq, false });
    moveTo(meter, to, fact.told, head);
    return wrong;
}

std::string Reference::takeStep(const Fact& fact, std::int64_t head)
{
    const auto& step = as<acts::ReturnStep>(fact);
    const std::string meter = step.meter.value;
    const S from = stateAt(meter, fact.told);
    if (from != S::OnHold && from != S::Withdrawn)
        return "accepted: a return step of " + meter + ", which is " + text(from) + "\n";
    if (step.step != ReturnStepKind::Signed)
        return {};
    std::string wrong;
    const auto role = roleOf(step.by.value).value_or(Role::Inspector);
    if (!isTransition(from, S::InService, role, true))
        wrong += "accepted: " + meter + " signed back from " + text(from) + " by " + step.by.value + "\n";
    std::int64_t since = 0;
    bool comparison = false, inspection = false;
    for (const auto& stop : m_stops[meter])
        if (stop.ended == kNever
            && std::ranges::none_of(m_facts, [&](const Fact& other) { return other.seq == stop.because && other.annulled != kNever; })) {
            since = std::max(since, stop.since);
            comparison = comparison || stop.code == "damaged" || stop.code == "comparison-failed";
            inspection = inspection || stop.code == "dropped" || stop.code == "damaged" || stop.code == "found";
        }
    const auto sets = this->sets(meter, step.at.utcMs);
    const int demanded = from == S::Withdrawn ? 2 : 1;
    int inARow = 0;
    for (auto set = sets.rbegin(); set != sets.rend() && set->good(); ++set)
        ++inARow;
    if (inARow < demanded)
        wrong += "accepted: " + meter + " signed back from " + text(from) + " after " + std::to_string(inARow) + " accepted sets\n";
    const auto evidence = [&](const auto& holds) {
        return std::ranges::any_of(m_facts, [&](const Fact& other) { return other.annulled == kNever && holds(other); });
    };
    if (inspection && !evidence([&](const Fact& other) {
            const auto* done = std::get_if<acts::ReturnStep>(&other.act);
            return done && done->meter.value == meter && done->step == ReturnStepKind::Inspected;
        }))
        wrong += "accepted: " + meter + " signed back, never inspected\n";
    if (comparison && !evidence([&](const Fact& other) {
            const auto* pair = std::get_if<acts::ComparisonRecorded>(&other.act);
            return pair && pair->meter.value == meter;
        }))
        wrong += "accepted: " + meter + " signed back, never compared\n";
    endStops(meter, fact.told, head);
    moveTo(meter, S::InService, fact.told, head);
    return wrong;
}

void Reference::takeIncident(const Fact& fact, std::int64_t head)
{
    const auto& incident = as<acts::IncidentReported>(fact);
    if (incident.what == IncidentKind::Found && stateAt(incident.meter.value, fact.told) == S::Missing)
        stop(incident.meter.value, true, "found", {}, fact.told, head, fact.seq); // T14
    if (const auto rule = eventRule(incident.what))
        stop(incident.meter.value, rule->withdraws, rule->code, {}, fact.told, head, fact.seq);
    if (incident.what == IncidentKind::ErrorCode)
        takeErrorCode(incident.meter.value, incident.at.utcMs, fact.told, head);
}

void Reference::takeErrorCode(const std::string& meter, std::int64_t at, std::int64_t told, std::int64_t head)
{
    int within = 0;
    for (const auto& fact : m_facts) {
        if (fact.annulled != kNever)
            continue;
        const auto counts = [&](std::int64_t when) { return when <= at && when > at - kDay; };
        if (const auto* run = std::get_if<acts::ControlRun>(&fact.act); run && run->meter.value == meter)
            within += std::holds_alternative<ErrorCode>(runAt(fact, kNever).result) && counts(run->at.utcMs);
        if (const auto* incident = std::get_if<acts::IncidentReported>(&fact.act); incident && incident->meter.value == meter)
            within += incident->what == IncidentKind::ErrorCode && counts(incident->at.utcMs);
    }
    if (within >= 3)
        stop(meter, false, "error-codes", {}, told, head);
}

void Reference::followVerdicts(const std::string& meter, const Fact& newest, std::int64_t told, std::int64_t head)
{
    const auto known = sets(meter, kNever);
    const Act* effect = effectOf(newest);
    const auto* correction = effect == nullptr ? nullptr : std::get_if<acts::EntryCorrected>(effect);
    const bool annuls = effect != nullptr && std::holds_alternative<acts::EntryAnnulled>(*effect);
    const auto answered = [&](const std::string& failed) {
        if (const auto of = std::ranges::find(known, failed, &Judged::set); of != known.end())
            m_failedAt[failed] = of->last;
        return std::ranges::any_of(
            known, [&](const Judged& set) { return set.good() && (set.set == failed || set.first > m_failedAt[failed]); });
    };
    for (const auto& set : known) {
        const auto before = m_verdicts.find(set.set);
        const bool fresh = set.verdict == Verdict::Rejected && (before == m_verdicts.end() || before->second != Verdict::Rejected);
        m_verdicts[set.set] = set.verdict;
        if (set.verdict == Verdict::Rejected && !fresh && stateAt(meter, told) == S::InService)
            m_room[meter].insert(S::OnHold); // a correction made it so: the hold may wait for the second person's word
        // Taken back or put right, and not in the newest set: does the hold begin now, or was it answered by what came after?
        const bool mended = annuls || (correction != nullptr && &set != &known.back());
        if (fresh && mended)
            m_room[meter].insert(stateAt(meter, told));
        if (fresh && !answered(set.set))
            stop(meter, false, "control-rejected", set.set, told, head);
    }
    bool ended = false, open = false;
    for (auto& stop : m_stops[meter]) {
        if (stop.ended == kNever && stop.code == "control-rejected" && answered(stop.set))
            stop.ended = told, stop.endedSeq = head, ended = true;
        open = open || stop.ended == kNever;
    }
    if (ended && !known.back().good())
        m_room[meter].insert(
            S::OnHold); // answered by a set told late, and what was run since is no answer: does the hold end now, or with the next set?
    if (ended && !open && stateAt(meter, told) == S::OnHold)
        moveTo(meter, S::InService, told, head);
}

} // namespace mk::model
