// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/eqa.h"

#include "registry/comparison/eqa.h"
#include "registry/desk/known.h"
#include "registry/desk/nonconformity.h"
#include "registry/desk/stops.h"
#include "registry/desk/refusal.h"
#include "registry/facts/eqa_samples.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

template <typename A>
Result<EqaSample> knownSample(const Desk& desk, const A& a)
{
    auto found = eqaSample(desk.facts, a.scheme, a.event, a.sample);
    if (!found)
        return found.error();
    if (!*found)
        return refuse(Refusal::SampleUnknown, a.scheme, a.event, a.sample);
    return std::move(**found);
}

/// The commonest cause of a failed round is clerical.
Done mayBeInUnit(const Desk& desk, base::GlucoseUnit unit, const base::MeterId& meter)
{
    const auto model = modelOfMeter(desk, meter);
    if (!model)
        return model.error();
    if (*model == nullptr || (*model)->act.unit == unit)
        return {};
    return refuse(Refusal::OtherUnit, unit, meter.value, (*model)->act.unit);
}

struct Failure {
    base::Seq because;
    std::string why;
    bool accuracy = false; ///< else it was missing or late
};

/// What a failed proficiency sample leads to. A missing or late return says nothing of the meter: it needs another proof, and stops
/// nothing.
Done followFailedSample(const Desk& desk, const acts::EqaReceived& sample, Moment at, const Failure& failure)
{
    if (!desk.occasion.imported) {
        acts::NcOpened opened;
        opened.at = desk.effective(at);
        opened.type = code(ReasonCode::EqaFailed);
        opened.subject = sample.meter.value;
        opened.description = "Proficiency sample " + sample.scheme + " " + sample.event + " " + sample.sample + " on " + sample.meter.value
            + " failed: " + failure.why + ". Find the cause, and prove the meter.";
        opened.because = failure.because;
        if (const Done done = openNonconformity(desk, std::move(opened)); !done)
            return done;
    }
    const EqaFailure follows = desk.facts.policyAt(at).eqaFailure;
    if (!failure.accuracy || follows == EqaFailure::None)
        return {};
    const auto open = openStops(desk, sample.meter);
    if (!open)
        return open.error();
    if (std::ranges::any_of(
            *open, [&](const StopRecord& s) { return s.stop.cause == code(ReasonCode::EqaFailed) && s.stop.at >= sample.at; }))
        return {}; // scored again with a cause or an action: the stop stands already
    return stopFor(desk, sample.meter, desk.effective(at), { ReasonCode::EqaFailed, failure.because, follows == EqaFailure::Withdraw });
}

} // namespace

Done admit(const Desk& desk, const acts::EqaReceived& a)
{
    if (const Done known = needMeterAndPerson(desk, a.meter, a.by); !known)
        return known;
    if (eqaDueUntil(a, desk.facts.zone()) <= a.at)
        return refuse(Refusal::SampleDueBeforeArrival);
    const auto known = eqaSample(desk.facts, a.scheme, a.event, a.sample);
    if (!known)
        return known.error();
    return *known ? Done(refuse(Refusal::SampleKnown, a.scheme, a.event, a.sample, (*known)->received.seq)) : Done();
}

Done admit(const Desk& desk, const acts::EqaReturned& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    const auto sample = knownSample(desk, a);
    if (!sample)
        return sample.error();
    if (sample->returned)
        return refuse(Refusal::SampleReturnedAlready, a.scheme, a.event, a.sample, sample->returned->seq);
    if (a.attested != YesNo::Yes)
        return refuse(Refusal::NotAttested);
    if (a.at < sample->received.act.at)
        return refuse(Refusal::SampleRunBeforeArrival);
    if (const auto vial = needStripVial(desk, a.stripVial); !vial)
        return vial.error();
    return mayBeInUnit(desk, a.unit, sample->received.act.meter);
}

Done admit(const Desk& desk, const acts::EqaScored& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    const auto sample = knownSample(desk, a);
    if (!sample)
        return sample.error();
    if (a.assigned.has_value() != a.sd.has_value())
        return refuse(Refusal::ScoreHalfGiven);
    if (a.sd && a.sd->mantissa() <= 0)
        return refuse(Refusal::ScoreSdNotPositive);
    if (!sample->returned && a.assigned && a.at < eqaDueUntil(sample->received.act, desk.facts.zone()))
        return refuse(Refusal::SampleStillInTime, a.scheme, a.event, a.sample);
    const bool scored = sample->scored && sample->scored->act.assigned;
    return scored && a.assigned && (*a.assigned != *sample->scored->act.assigned || *a.sd != *sample->scored->act.sd)
        ? Done(refuse(Refusal::SampleScoredOtherwise, a.scheme, a.event, a.sample, sample->scored->seq))
        : Done();
}

Done admit(const Desk& desk, const acts::CalibrationVerified& a)
{
    if (const Done known = needMeterAndPerson(desk, a.meter, a.by); !known)
        return known;
    if (!(a.lowAssigned < a.midAssigned && a.midAssigned < a.highAssigned))
        return refuse(Refusal::AssignedValuesDoNotRise);
    return mayBeInUnit(desk, a.unit, a.meter);
}

Done follow(const Desk& desk, Seq seq, const acts::EqaReturned& returned)
{
    const auto sample = knownSample(desk, returned);
    if (!sample)
        return sample.error();
    const bool late = judgeEqa(*sample, returned.at, desk.facts.zone()).band == EqaBand::Late;
    return late ? followFailedSample(desk, sample->received.act, returned.at, { seq, "returned late" }) : Done();
}

Done follow(const Desk& desk, Seq seq, const acts::EqaScored& scored)
{
    const auto sample = knownSample(desk, scored);
    if (!sample)
        return sample.error();
    const acts::EqaReceived& received = sample->received.act;
    switch (judgeEqa(*sample, scored.at, desk.facts.zone()).band) {
    case EqaBand::Action:
        return followFailedSample(desk, received, scored.at, { seq, "|z| is 3 or more, or the result is no number", true });
    case EqaBand::Missing: return followFailedSample(desk, received, scored.at, { seq, "not returned" });
    default: return {};
    }
}

} // namespace mk::registry::desk
