// SPDX-License-Identifier: GPL-3.0-or-later
// Proficiency samples and calibration verifications: what they must satisfy, and what follows.
#include "registry/comparison/eqa.h"
#include "store/read/read_quality.h"
#include "store/registrar/registrar_batch.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::refused;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

template <typename A>
std::string sampleName(const A& a)
{
    return a.scheme + " " + a.event + ", sample " + a.sample;
}

template <typename A>
Result<EqaSample> knownSample(Reader& reader, const A& a)
{
    auto found = eqaSample(reader, a.scheme, a.event, a.sample);
    if (!found)
        return found.error();
    if (!*found)
        return Fault { FaultKind::NotFound,
            "no proficiency sample is on record as " + sampleName(a) + "; record its receipt first, or check how it is written" };
    return std::move(**found);
}

/// The unit that a meter shows; nothing where its model is not on record.
Result<std::optional<base::GlucoseUnit>> unitOfMeter(Reader& reader, const base::MeterId& id)
{
    const auto meter = reader.meter(id);
    const auto model = meter && *meter != nullptr ? reader.model((*meter)->act.model) : Result<const ModelRecord*>(nullptr);
    if (!meter || !model)
        return meter ? model.error() : meter.error();
    return *model == nullptr ? std::optional<base::GlucoseUnit>() : std::optional((*model)->act.unit);
}

Fault otherUnit(base::GlucoseUnit given, base::GlucoseUnit shown, const base::MeterId& meter)
{
    return badInput("the unit is given as " + std::string(base::toText(given)) + ", and meter '" + meter.value + "' shows "
        + std::string(base::toText(shown)) + "; look at the display and write what it shows");
}

} // namespace

template <>
Done ActBatch::check(const acts::EqaReceived& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (a.due <= a.at)
        return badInput("the sample is due before it arrived; check at and due");
    const auto known = eqaSample(m_reader, a.scheme, a.event, a.sample);
    if (!known)
        return known.error();
    return *known ? Done(Fault {
               FaultKind::Conflict, sampleName(a) + " is on record as entry " + std::to_string((*known)->received.seq.value) + " already" })
                  : Done();
}

template <>
Done ActBatch::check(const acts::EqaReturned& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    const auto sample = knownSample(m_reader, a);
    if (!sample)
        return sample.error();
    if (sample->returned)
        return Fault { FaultKind::Conflict,
            sampleName(a) + " was returned already (entry " + std::to_string(sample->returned->seq.value)
                + "); a result is returned once" };
    if (a.attested != YesNo::Yes)
        return refused(
            "a proficiency result is recorded only with the attestation that it was treated like a patient's sample and discussed with nobody");
    if (a.at < sample->received.act.at)
        return badInput("the sample was run before it arrived; check the time");
    const auto vial = m_reader.stripVial(a.stripVial);
    if (!vial)
        return vial.error();
    if (*vial == nullptr)
        return Fault { FaultKind::NotFound,
            "no strip vial is called '" + a.stripVial.value + "'; record it first, or check how it is written" };
    const auto unit = unitOfMeter(m_reader, sample->received.act.meter);
    if (!unit)
        return unit.error();
    // The commonest cause of a failed round is clerical.
    return *unit && **unit != a.unit ? Done(otherUnit(a.unit, **unit, sample->received.act.meter)) : Done();
}

template <>
Done ActBatch::check(const acts::EqaScored& a)
{
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    const auto sample = knownSample(m_reader, a);
    if (!sample)
        return sample.error();
    if (a.assigned.has_value() != a.sd.has_value())
        return badInput("a score needs both the assigned value and its SD, or neither");
    if (a.sd && a.sd->mantissa() <= 0)
        return badInput("the SD of the assigned value must be above zero; check the scheme's report");
    if (!sample->returned && a.assigned && a.at <= sample->received.act.due)
        return refused(sampleName(a) + " is not returned yet and still in time; record the result first");
    const bool scored = sample->scored && sample->scored->act.assigned;
    return scored && a.assigned && (*a.assigned != *sample->scored->act.assigned || *a.sd != *sample->scored->act.sd)
        ? Done(Fault { FaultKind::Conflict,
            sampleName(a) + " was scored otherwise in entry " + std::to_string(sample->scored->seq.value)
                + "; annul that entry if it is wrong" })
        : Done();
}

template <>
Done ActBatch::check(const acts::CalibrationVerified& a)
{
    if (const Done meter = needMeter(a.meter); !meter)
        return meter;
    if (const auto person = needPerson(a.by); !person)
        return person.error();
    if (!(a.lowAssigned < a.midAssigned && a.midAssigned < a.highAssigned))
        return badInput("the assigned values must rise from low over mid to high; check the material's sheet");
    const auto unit = unitOfMeter(m_reader, a.meter);
    if (!unit)
        return unit.error();
    return *unit && **unit != a.unit ? Done(otherUnit(a.unit, **unit, a.meter)) : Done();
}

Done ActBatch::followEqaReturn(Seq seq, const acts::EqaReturned& returned)
{
    const auto sample = knownSample(m_reader, returned);
    if (!sample)
        return sample.error();
    const EqaJudged judged = judgeEqa(*sample, returned.at);
    return judged.band == EqaBand::Late ? followEqaFailure(sample->received.act, returned.at, seq, "returned late", false) : Done();
}

Done ActBatch::followEqaScore(Seq seq, const acts::EqaScored& scored)
{
    const auto sample = knownSample(m_reader, scored);
    if (!sample)
        return sample.error();
    const EqaJudged judged = judgeEqa(*sample, scored.at);
    if (judged.band == EqaBand::Action)
        return followEqaFailure(sample->received.act, scored.at, seq, "|z| is 3 or more, or the result is no number", true);
    return judged.band == EqaBand::Missing ? followEqaFailure(sample->received.act, scored.at, seq, "not returned", false) : Done();
}

/// What a failed proficiency sample leads to. A missing or late return says nothing of the meter: it needs another proof, and stops
/// nothing.
Done ActBatch::followEqaFailure(const acts::EqaReceived& sample, Moment at, Seq because, const std::string& why, bool accuracyFailed)
{
    if (!m_imported)
        if (const Done opened = openNonconformity("eqa-failed", sample.meter.value,
                "Proficiency sample " + sample.scheme + " " + sample.event + " " + sample.sample + " on " + sample.meter.value
                    + " failed: " + why + ". Find the cause, and prove the meter.",
                because, effective(at));
            !opened)
            return opened;
    const EqaFailure follows = m_reader.policyAt(at).eqaFailure;
    if (!accuracyFailed || follows == EqaFailure::None)
        return {};
    const auto open = openStops(sample.meter);
    if (!open)
        return open.error();
    if (std::ranges::any_of(*open, [&](const StopRecord& s) { return s.stop.cause == "eqa-failed" && s.stop.at >= sample.at; }))
        return {}; // scored again with a cause or an action: the stop stands already
    return stop(sample.meter, effective(at), follows == EqaFailure::Withdraw, "eqa-failed", because, true);
}

} // namespace mk::store
