// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/lots.h"

#include "base/unread.h"
#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/lookbacks.h"
#include "registry/desk/mending.h"
#include "registry/desk/second_person.h"
#include "registry/desk/runs.h"
#include "registry/facts/lot_evidence.h"
#include "registry/desk/refusal.h"
#include "registry/lots/assigned_range.h"
#include "registry/lots/expiry.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;
using base::unread;

namespace {

/// A lot of either kind; the other is null.
struct EitherLot {
    const StripLotRecord* strip = nullptr;
    const ControlLotRecord* control = nullptr;

    std::optional<LotEventKind> statusAt(Moment at) const { return strip != nullptr ? lotStatus(*strip, at) : lotStatus(*control, at); }
    bool wasEverReleased() const
    {
        return strip != nullptr && (strip->lot.released || std::ranges::any_of(strip->events, [](const auto& event) {
            return event.act.what == LotEventKind::Released;
        }));
    }
};

Result<EitherLot> needLot(const Desk& desk, const std::string& id)
{
    const auto strip = desk.facts.stripLot(base::StripLotId(id));
    const auto control = desk.facts.controlLot(base::ControlLotId(id));
    if (!strip || !control)
        return unread("the records of lot '%1' cannot be read; run verify", id, strip, control);
    if (*strip == nullptr && *control == nullptr)
        return refuse(Refusal::LotUnknown, id);
    return EitherLot { *strip, *control };
}

std::string missingInWords(const std::vector<std::string>& missing)
{
    std::string text;
    for (const auto& each : missing)
        text += (text.empty() ? "" : "; ") + each;
    return text;
}

/// The evidence of handbook 2.3, or the document of whoever verified the lot elsewhere (17.2).
Done evidenceIsThere(const Desk& desk, const acts::LotEvent& event, const StripLotRecord& lot)
{
    if (event.releasedElsewhere)
        return {};
    const Moment now = desk.occasion.now;
    auto verification = verificationOf(desk.facts, lot.lot.lot, now);
    if (!verification)
        return verification.error();
    verification->noSamples = event.noSamples;
    const auto missing = missingForRelease(*verification, desk.facts.policyAt(now));
    return missing.empty() ? Done() : Done(refuse(Refusal::LotNotReady, event.lot, missingInWords(missing)));
}

Done mayRelease(const Desk& desk, const acts::LotEvent& a, const EitherLot& lot)
{
    const auto status = lot.statusAt(desk.occasion.now);
    if (status == LotEventKind::Released)
        return refuse(Refusal::LotReleasedAlready, a.lot);
    if (status == LotEventKind::Rejected)
        return refuse(Refusal::LotRejectedForGood, a.lot);
    if (status == LotEventKind::Quarantined && !a.detail)
        return refuse(Refusal::LotReasonMissing, a.lot);
    return lot.strip == nullptr || lot.wasEverReleased() ? Done() : evidenceIsThere(desk, a, *lot.strip);
}

/// Low and high stand on the label; targets are the coordinator's.
Done mayAssign(const Desk& desk, const acts::RangeAssigned& a)
{
    if (desk.occasion.imported || desk.occasion.author.empty())
        return {};
    const auto author = needPerson(desk, desk.occasion.author);
    if (!author)
        return author.error();
    const bool targets = a.mean || a.sd || (a.stage && *a.stage != Stage::Range) || a.meter;
    return targets ? onlyCoordinator(**author, Refusal::CoordinatorSetsTargets) : mayRecord(**author);
}

/// A nurse's range asks a second person as corrections do: competent for the meters that the strips are made for (handbook 17.12).
Done mayTypeAgain(const Desk& desk, const acts::RangeConfirmed& a, const std::string& typedBy)
{
    const auto lot = needStripLot(desk, a.stripLot);
    return lot ? maySecond(desk, a.by, (*lot)->lot.model, { typedBy }) : Done(lot.error());
}

Done isOfLevel(Level has, Level given, Refusal otherwise, const std::string& id)
{
    return has == given ? Done() : Done(refuse(otherwise, id, has, given));
}

} // namespace

Done admit(const Desk& desk, const acts::StripLotReceived& a)
{
    if (const auto model = needModel(desk, a.model); !model)
        return model.error();
    // Files carry it; a person signs it by an act of its own.
    const bool typed = !desk.occasion.imported && !desk.occasion.author.empty();
    return typed && a.released ? Done(refuse(Refusal::ReleaseOfItsOwn, a.lot.value)) : Done();
}

Done admit(const Desk& desk, const acts::RangeAssigned& a)
{
    if (const auto strip = needStripLot(desk, a.stripLot); !strip)
        return strip.error();
    const auto control = needControlLot(desk, a.controlLot);
    if (!control)
        return control.error();
    if (const Done level = isOfLevel((*control)->lot.level, a.level, Refusal::ControlLotOfOtherLevel, a.controlLot.value); !level)
        return level;
    if (a.high < a.low)
        return refuse(Refusal::RangeReversed);
    if (a.sd && a.sd->mantissa() < 0)
        return refuse(Refusal::SdBelowZero);
    if (a.meter)
        if (const auto meter = needMeter(desk, *a.meter); !meter)
            return meter.error();
    return mayAssign(desk, a);
}

Done admit(const Desk& desk, const acts::LotEvent& a)
{
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    const auto lot = needLot(desk, a.lot);
    if (!lot)
        return lot.error();
    if (desk.occasion.imported)
        return {};
    if (a.what == LotEventKind::Quarantined) { // anybody may stop a lot
        const bool asked = lot->strip != nullptr && !desk.occasion.author.empty();
        return asked && !a.inDoubt ? Done(refuse(Refusal::LotDoubtUnsaid, a.lot)) : mayRecord(**person);
    }
    const bool releases = a.what == LotEventKind::Released;
    if (const Done may = onlyCoordinator(**person, releases ? Refusal::CoordinatorReleasesLots : Refusal::CoordinatorRejectsLots); !may)
        return may;
    if (releases)
        return mayRelease(desk, a, *lot);
    return lot->statusAt(desk.occasion.now) == LotEventKind::Rejected ? Done(refuse(Refusal::LotRejectedAlready, a.lot)) : Done();
}

Done admit(const Desk& desk, const acts::ShipmentReceived& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    if (const auto lot = needLot(desk, a.lot); !lot)
        return lot.error();
    const auto shipments = desk.facts.facts<acts::ShipmentReceived>(a.lot);
    if (!shipments)
        return unread("the records of lot '%1' cannot be read; run verify", a.lot, shipments);
    if (a.vials && (a.vials->decimals() != 0 || a.vials->mantissa() <= 0))
        return refuse(Refusal::VialsNotWhole, a.vials->typed());
    for (const auto& each : *shipments)
        if (each.act.shipment == a.shipment)
            return refuse(Refusal::ShipmentKnown, a.shipment, a.lot, each.seq);
    return {};
}

Done admit(const Desk& desk, const acts::RangeConfirmed& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    const auto ranges = desk.facts.ranges(a.stripLot);
    if (!ranges)
        return ranges.error();
    const auto* waiting = rangeThatWaits(**ranges, a.controlLot, a.level);
    const auto* range = waiting != nullptr ? waiting : rangeInForce(**ranges, a.controlLot, a.level, a.at, std::nullopt);
    if (range == nullptr)
        return refuse(Refusal::RangeUnknown, a.level, a.stripLot.value, a.controlLot.value);
    const auto entry = desk.facts.entry(range->seq);
    if (!entry)
        return entry.error();
    if (!*entry)
        return {};
    const Done same = confirms(a, *range, (*entry)->person);
    return same && waiting != nullptr ? mayTypeAgain(desk, a, (*entry)->person) : same;
}

Done complete(const Desk& desk, acts::RangeAssigned& a)
{
    const Moment now = desk.occasion.keptSince.value_or(desk.occasion.now);
    a.typedAt = now;
    a.waits.reset();
    const auto author = desk.occasion.author.empty() ? Result<const OperatorRecord*>(nullptr) : desk.facts.person(desk.occasion.author);
    if (!author)
        return author.error();
    const bool coordinators = *author == nullptr || (*author)->act.role == Role::Coordinator;
    if (!coordinators)
        a.waits = desk.facts.policyAt(now).secondPerson ? YesNo::Yes : YesNo::No;
    return {};
}

Done complete(const Desk& desk, acts::RangeConfirmed& a)
{
    a.typedAt = desk.occasion.keptSince.value_or(desk.occasion.now);
    return {};
}

Done admit(const Desk& desk, const acts::LotControlChecked& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    const auto lot = needStripLot(desk, a.lot);
    const auto meter = lot ? needMeter(desk, a.meter) : Result<const MeterRecord*>(lot.error());
    const auto vial = meter ? needControlVial(desk, a.controlVial) : Result<const ControlVialRecord*>(meter.error());
    if (!vial)
        return vial.error();
    if (lotStatus(**lot, desk.occasion.now) == LotEventKind::Released)
        return refuse(Refusal::LotInUseAlready, a.lot.value);
    if ((*meter)->act.model != (*lot)->lot.model)
        return refuse(Refusal::LotOfOtherModel, a.lot.value, (*lot)->lot.model.value, a.meter.value);
    const auto controlLot = desk.facts.controlLot((*vial)->vial.lot);
    if (!controlLot)
        return controlLot.error();
    if (*controlLot != nullptr)
        if (const Done level = isOfLevel((*controlLot)->lot.level, a.level, Refusal::ControlVialOfOtherLevel, a.controlVial.value); !level)
            return level;
    return mayShow(desk, a.meter, a.result, a.unit);
}

Done admit(const Desk& desk, const acts::LotSampleCompared& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    const auto lot = needStripLot(desk, a.lot);
    const auto current = lot ? needStripLot(desk, a.currentLot) : lot;
    if (!current)
        return current.error();
    if (const auto meter = needMeter(desk, a.meter); !meter)
        return meter.error();
    const Moment now = desk.occasion.now;
    if (lotStatus(**lot, now) == LotEventKind::Released)
        return refuse(Refusal::LotComparedTooLate, a.lot.value);
    if (lotStatus(**current, now) != LotEventKind::Released)
        return refuse(Refusal::CurrentLotNotReleased, a.currentLot.value);
    const auto earlier = desk.facts.facts<acts::LotSampleCompared>(a.lot.value);
    if (!earlier)
        return unread("the records of lot '%1' cannot be read; run verify", a.lot.value, earlier);
    for (const auto& each : *earlier)
        if (each.act.sample == a.sample && each.act.meter == a.meter)
            return refuse(Refusal::SampleOnMeterKnown, a.sample, a.meter.value, each.seq);
    return {};
}

/// A file's range may concern runs that were judged without it; what a person types judges later runs only.
Done follow(const Desk& desk, Seq seq, const acts::RangeAssigned& act)
{
    return desk.occasion.imported ? desk.judging.markLate(act.stripLot.value, ownTimeOf(act), seq, desk.person) : Done();
}

// It may concern runs that were judged without it.
Done follow(const Desk& desk, Seq seq, const acts::LotEvent& act)
{
    if (act.what == LotEventKind::Quarantined && act.inDoubt == YesNo::Yes)
        if (const Done opened = openLotLookbacks(desk, base::StripLotId(act.lot), desk.effective(act.at), seq); !opened)
            return opened;
    return desk.judging.markLate(act.lot, ownTimeOf(act), seq, desk.person);
}

} // namespace mk::registry::desk
