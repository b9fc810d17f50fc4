// SPDX-License-Identifier: GPL-3.0-or-later
// What follows from failed controls (handbook 4.6): the limit on repeats, the vial that was the cause, the withdrawal, look-backs.
#include "registry/control/failure_ladder.h"
#include "registry/meter/lookback.h"
#include "store/read/read_ladder.h"
#include "store/registrar/registrar_batch.h"

#include <algorithm>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

constexpr int kSetsOfLongestRule = 26;

std::string meterNames(const std::vector<base::MeterId>& meters)
{
    std::string text;
    for (const auto& meter : meters)
        text += (text.empty() ? "" : ", ") + meter.value;
    return text;
}

std::optional<std::string> givenText(std::string text)
{
    return text.empty() ? std::nullopt : std::optional(std::move(text));
}

} // namespace

Done ActBatch::checkRepeat(const acts::ControlRun& run)
{
    const auto sameMaterials = [&](const acts::ControlRun& other) {
        return other.level == run.level && other.stripVial == run.stripVial && other.controlVial == run.controlVial;
    };
    const auto pending = m_pending.find(run.meter);
    const auto waiting = pending == m_pending.end()
        ? 0
        : std::ranges::count_if(pending->second.runs, [&](const auto& each) { return sameMaterials(each.second); });
    const auto work = workOf(run.meter);
    if (!work)
        return work.error();
    if (waiting < 2 && !((*work)->failing))
        return {};
    // A third of one batch cannot be told from a second one before those before it are judged.
    if (waiting > 0)
        if (const Done settled = settleMeter(run.meter); !settled)
            return settled;
    m_lookedAround = true;
    const auto ladder = ladderAt(m_reader, run.meter, run.at);
    return ladder ? mayAttempt(run, *ladder, m_reader.policyAt(run.at).repeatsPerStep) : Done(ladder.error());
}

template <>
Done ActBatch::check(const acts::TechniqueChecked& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role == Role::Inspector)
        return base::refused("an inspector reads; whoever runs the controls records the technique check");
    if (a.observed)
        if (const auto observed = needPerson(*a.observed); !observed)
            return observed.error();
    return a.found ? checkTechniqueWords(*a.found) : Done();
}

/// An act that a person would make, made by the registry as a consequence.
Done ActBatch::appendFollowing(const Act& act)
{
    if (const Done appended = appendConsequence(act); !appended)
        return appended;
    if (m_imported)
        return {};
    auto entry = entryAt(m_session, m_head.seq);
    if (!entry)
        return entry.error();
    if (*entry)
        m_consequences.push_back(std::move(**entry));
    return {};
}

Done ActBatch::openLookback(const acts::LookbackOpened& lookback)
{
    const auto known = m_reader.lookbacks(lookback.meter);
    if (!known)
        return known.error();
    // Judging again never asks twice for the same interval.
    const bool there = std::ranges::any_of(*known, [&](const LookbackRecord& r) {
        return r.lookback.cause == lookback.cause && r.lookback.from == lookback.from && r.lookback.scope == lookback.scope;
    });
    return there ? Done() : appendConsequence(lookback);
}

/// The last accepted set before a failure; a meter that has none was never cleared, so its whole service is in question.
Result<Moment> ActBatch::lastGoodBefore(const base::MeterId& meter, Moment failure)
{
    const auto accepted = m_reader.newestAcceptedSet(meter, base::plusMs(failure, -1));
    const auto record = m_reader.meter(meter);
    if (!accepted || !record)
        return accepted ? record.error() : accepted.error();
    if (*accepted)
        return (*accepted)->judged.lastAt;
    return *record != nullptr ? std::min((*record)->act.enrolled, failure) : failure;
}

/// When testing on it ended: with the stop that stood first, and no later than the failure itself.
Result<Moment> ActBatch::stoppedBy(const base::MeterId& meter, Moment from, Moment failure)
{
    const auto stops = m_reader.stops(meter);
    if (!stops)
        return stops.error();
    Moment stopped = failure;
    for (const auto& stop : *stops)
        if (stop.stop.at >= from && (!stop.endedAt || *stop.endedAt > failure))
            stopped = std::min(stopped, stop.stop.at);
    return stopped;
}

Done ActBatch::followFailure(const SetRecord& set, Moment at)
{
    const base::MeterId& meter = set.judged.meter;
    const auto ladder = ladderAt(m_reader, meter, set.judged.lastAt);
    if (!ladder)
        return ladder.error();
    if (set.judged.shift && !m_imported)
        if (const Done opened = openShiftLookback(set, at, "shift", set.seq); !opened)
            return opened;
    if (!ladder->exhaustedBy)
        return {};
    const auto open = openStops(meter);
    if (!open)
        return open.error();
    if (std::ranges::any_of(*open, [](const StopRecord& s) { return s.stop.cause == "ladder-exhausted"; }))
        return {};
    const Seq before = m_head.seq;
    if (const Done stopped = stop(meter, at, true, "ladder-exhausted", set.seq, true); !stopped)
        return stopped;
    if (m_head.seq == before)
        return {}; // not in a state that can be withdrawn
    const Seq withdrawal { before.value + 1 };
    const auto sets = m_reader.sets(meter, *ladder->firstFailure, set.judged.lastAt);
    const auto from = lastGoodBefore(meter, *ladder->firstFailure);
    const auto to = from ? stoppedBy(meter, *from, *ladder->firstFailure) : from;
    if (!sets || !to)
        return sets ? to.error() : sets.error();
    return openLookback({ meter, at, *from, *to, "ladder-exhausted", withdrawal, {}, {}, {}, givenText(errorInWords(*sets)) });
}

Done ActBatch::openShiftLookback(const SetRecord& newest, Moment at, const std::string& cause, Seq because)
{
    const base::MeterId& meter = newest.judged.meter;
    auto sets = m_reader.newestSets(meter, newest.judged.lastAt, kSetsOfLongestRule);
    if (!sets)
        return sets.error();
    std::erase_if(*sets, [&](const SetRecord& set) { return set.judged.lastAt > newest.judged.lastAt; });
    std::ranges::reverse(*sets);
    if (sets->empty() || sets->back().judged.set != newest.judged.set)
        return {};
    Moment from = sequenceStart(*sets);
    if (cause == "drift" && newest.judged.drift.began) {
        from = std::min(from, *newest.judged.drift.began);
        for (const auto& set : *sets)
            if (set.judged.lastAt == *newest.judged.drift.began)
                from = std::min(from, set.judged.firstAt); // an estimate names its set by the last run
    }
    const auto alternative = lastGoodBefore(meter, from);
    const auto to = alternative ? stoppedBy(meter, from, cause == "drift" ? at : newest.judged.lastAt) : alternative;
    if (!to)
        return to.error();
    std::string direction = cause == "drift" ? std::string() : errorInWords({ &sets->back(), 1 });
    for (const auto& bias : newest.judged.drift.bias)
        if (cause == "drift")
            direction += (direction.empty() ? "" : ", ") + std::string(word(bias.level)) + " control " + biasInWords(bias);
    return openLookback({ meter, at, from, std::max(*to, from), cause, because, *alternative, {}, {}, givenText(std::move(direction)) });
}

Done ActBatch::followPass(const SetRecord& set, Moment at)
{
    const base::MeterId& meter = set.judged.meter;
    const auto ladder = ladderEndedBy(m_reader, set);
    if (!ladder)
        return ladder.error();
    if (!ladder->ending || *ladder->ending == LadderEnding::Exhausted)
        return {};
    const bool random = *ladder->ending == LadderEnding::Random;
    if (random && ladder->shift)
        return {}; // the shift has a look-back of its own, and one good value does not explain it
    for (const auto& vial : ladder->spentVials)
        if (const Done ended = endSpentVial(vial, *ladder->ending, at); !ended)
            return ended;
    const auto climbed = m_reader.sets(meter, *ladder->firstFailure, set.judged.lastAt);
    const auto from = lastGoodBefore(meter, *ladder->firstFailure);
    const auto to = from ? stoppedBy(meter, *from, *ladder->firstFailure) : from;
    if (!climbed || !to)
        return climbed ? to.error() : climbed.error();
    const auto direction = givenText(errorInWords(*climbed));
    if (*ladder->ending == LadderEnding::StripVial) {
        for (const auto& vial : ladder->spentVials)
            if (const Done opened = openVialLookbacks(base::StripVialId(vial), meter, *ladder->firstFailure, at, set.seq, direction);
                !opened)
                return opened;
        return {};
    }
    if (!m_reader.policyAt(at).lookbackAfterRepeat)
        return {};
    std::optional<std::string> scope;
    for (const auto& vial : ladder->spentVials) {
        const auto judgedWithIt = metersOnVial(m_reader, vial);
        if (!judgedWithIt)
            return judgedWithIt.error();
        scope = (scope ? *scope + "; " : std::string()) + "control vial " + vial
            + ", meters judged with it since it was opened: " + meterNames(*judgedWithIt);
    }
    return openLookback({ meter, at, *from, *to, std::string(word(*ladder->ending)), set.seq, {}, {}, scope, direction });
}

Done ActBatch::endSpentVial(const std::string& vial, LadderEnding ending, Moment at)
{
    const bool strip = ending == LadderEnding::StripVial;
    const auto stripVial = m_reader.stripVial(base::StripVialId(vial));
    const auto controlVial = m_reader.controlVial(base::ControlVialId(vial));
    if (!stripVial || !controlVial)
        return stripVial ? controlVial.error() : stripVial.error();
    const bool ended = strip ? *stripVial != nullptr && (*stripVial)->ended : *controlVial != nullptr && (*controlVial)->ended;
    if (ended)
        return {};
    if (const Done done = appendFollowing(
            acts::VialEnded { at, vial, base::OperatorId(m_person), strip ? VialEndKind::Quarantined : VialEndKind::Discarded });
        !done)
        return done;
    // Runs with it that are entered about an earlier time stay what they are; later ones are judged anew.
    return markLate(vial, base::plusMs(at, 1), m_head.seq);
}

/// Every meter that used a strip vial is looked back on, each from its own last good run with it.
Done ActBatch::openVialLookbacks(const base::StripVialId& vial, const base::MeterId& failed, Moment failure, Moment at, Seq because,
    const std::optional<std::string>& direction)
{
    const auto record = m_reader.stripVial(vial);
    const auto meters = metersOnVial(m_reader, vial.value);
    if (!record || !meters)
        return record ? meters.error() : record.error();
    const std::optional<Moment> opened = *record != nullptr ? (*record)->vial.opened : std::nullopt;
    for (const auto& meter : *meters) {
        // The failing meter is cleared again by now; the others are up to this moment.
        const Moment until = meter == failed ? base::plusMs(failure, -1) : at;
        const auto meterRecord = m_reader.meter(meter);
        if (!meterRecord)
            return meterRecord.error();
        const Moment earliest = *meterRecord != nullptr ? (*meterRecord)->act.enrolled : until;
        auto sets = m_reader.sets(meter, opened.value_or(earliest), until);
        if (!sets)
            return sets.error();
        std::erase_if(
            *sets, [](const SetRecord& set) { return set.judged.verdict != Verdict::Accepted && set.judged.verdict != Verdict::Warned; });
        const VialDoubt doubt = doubtOf(vial, *sets, opened, earliest);
        const auto to = stoppedBy(meter, doubt.from, meter == failed ? failure : at);
        if (!to)
            return to.error();
        if (const Done done = openLookback({ meter, at, doubt.from, std::max(*to, doubt.from), std::string(word(LadderEnding::StripVial)),
                because, doubt.alternative, {}, "strip vial " + vial.value, meter == failed ? direction : std::nullopt });
            !done)
            return done;
    }
    return {};
}

/// The coordinator takes a drifting meter out of use: what it measured since the drift began waits for a look-back.
Done ActBatch::followWithdrawal(const base::MeterId& meter, Moment at, Seq because)
{
    if (m_imported)
        return {};
    const auto counted = m_reader.newestCountedSet(meter, at);
    if (!counted)
        return counted.error();
    if (!*counted || (*counted)->judged.drift.flags.empty())
        return {};
    return openShiftLookback(**counted, at, "drift", because);
}

} // namespace mk::store
