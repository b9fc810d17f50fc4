// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/stops.h"

#include "registry/desk/failures.h"
#include "registry/desk/judging.h"
#include "registry/desk/nonconformity.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// A meter in use, or withdrawn for one more cause; a missing meter stays missing until it is found (T14).
bool mayStop(MeterState state, const StopCause& cause)
{
    return state == MeterState::InService || state == MeterState::OnHold || state == MeterState::Withdrawn
        || (cause.withdrawn && state == MeterState::Reserve) || (state == MeterState::Missing && cause.code == word(StopOnly::Found));
}

Done followRejection(const Desk& desk, const SetRecord& set, Moment at, const std::vector<StopRecord>& open)
{
    const bool shift = set.judged.shift;
    const bool held = std::ranges::any_of(
        open, [&](const StopRecord& s) { return s.stop.cause == code(ReasonCode::ControlRejected) && (s.stop.needsSignature || !shift); });
    if (!held)
        if (const Done done = stopFor(desk, set.judged.meter, at, { ReasonCode::ControlRejected, set.seq, false, shift }); !done)
            return done;
    return followFailure(desk, set, at);
}

} // namespace

Result<std::vector<StopRecord>> openStops(const Desk& desk, const base::MeterId& meter)
{
    auto stops = desk.facts.stops(meter);
    if (stops)
        std::erase_if(*stops, [](const StopRecord& stop) { return stop.endedBy.has_value(); });
    return stops;
}

bool stoppedFor(const std::vector<StopRecord>& open, ReasonCode cause)
{
    return std::ranges::any_of(open, [&](const StopRecord& each) { return each.stop.cause == code(cause); });
}

Result<std::optional<Seq>> stop(const Desk& desk, const base::MeterId& meter, Moment at, const StopCause& cause)
{
    const auto state = desk.judging.stateAt(meter, at);
    if (!state)
        return state.error();
    if (!mayStop(*state, cause))
        return std::optional<Seq>();
    // One more cause for a withdrawn meter does not bring it back to a mere hold.
    const bool stays = *state == MeterState::Withdrawn;
    const acts::MeterStopped stopped { meter, at, cause.withdrawn || stays, std::string(cause.code), cause.because,
        cause.needsSignature || stays, "policy " + std::to_string(desk.facts.policyAt(at).version) };
    const auto seq = desk.enter(stopped);
    if (!seq)
        return seq.error();
    if (const Done followed = followStop(desk, *seq, stopped); !followed)
        return followed.error();
    return std::optional(*seq);
}

Done stopFor(const Desk& desk, const base::MeterId& meter, Moment at, const StopCause& cause)
{
    const auto stopped = stop(desk, meter, at, cause);
    return stopped ? Done() : Done(stopped.error());
}

Done endStops(const Desk& desk, const base::MeterId& meter, Moment at, Seq because, const std::vector<StopRecord>& open,
    bool (*ends)(const StopRecord&), std::optional<MeterState> to)
{
    acts::MeterReturned returned { meter, at, MeterState::InService, because, {} };
    for (const auto& each : open)
        if (ends(each))
            returned.ends.push_back(each.seq);
    if (returned.ends.empty() && !to)
        return {};
    const auto state = desk.judging.stateAt(meter, at);
    if (!state)
        return state.error();
    const bool othersRemain = returned.ends.size() < open.size();
    returned.toState = to ? *to : othersRemain || *state != MeterState::OnHold ? *state : MeterState::InService;
    return desk.letFollow(returned);
}

Done endEveryStop(const Desk& desk, const base::MeterId& meter, Moment at, Seq because, MeterState to)
{
    const auto open = openStops(desk, meter);
    if (!open)
        return open.error();
    return endStops(
        desk, meter, at, because, *open, [](const StopRecord&) { return true; }, to);
}

Done followVerdict(const Desk& desk, const SetRecord& set, Moment at)
{
    const base::MeterId& meter = set.judged.meter;
    const auto open = openStops(desk, meter);
    if (!open)
        return open.error();
    if (set.judged.verdict == Verdict::Rejected)
        return followRejection(desk, set, at, *open);
    const bool accepted = isAccepted(set.judged.verdict);
    const bool afterFailure = std::ranges::any_of(set.runs, [](const RunRecord& run) { return run.judged.verdict == Verdict::Rejected; });
    if (!accepted || (open->empty() && !afterFailure))
        return {};
    const Done ended = endStops(
        desk, meter, at, set.seq, *open, [](const StopRecord& s) { return !s.stop.needsSignature; }, std::nullopt);
    const bool failed = afterFailure || stoppedFor(*open, ReasonCode::ControlRejected);
    // What was taken over had its causes dealt with where it was made.
    return ended && failed && !desk.occasion.imported ? followPass(desk, set, at) : ended;
}

} // namespace mk::registry::desk
