// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/lots.h"

#include "base/unread.h"
#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/runs.h"
#include "registry/facts/lot_evidence.h"
#include "registry/lots/expiry.h"

#include <algorithm>

namespace mk::registry::desk {

using base::badInput;
using base::Done;
using base::Moment;
using base::refused;
using base::Result;
using base::Seq;
using base::unread;

namespace {

/// A lot of either kind; the other is null.
struct EitherLot {
    const StripLotRecord* strip = nullptr;
    const ControlLotRecord* control = nullptr;

    std::optional<LotEventKind> statusAt(Moment at) const
    {
        return strip != nullptr ? lotStatus(*strip, at) : controlLotStatus(*control, at);
    }
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
        return unread("the records of lot '" + id + "'", strip, control);
    if (*strip == nullptr && *control == nullptr)
        return unknown("lot", id);
    return EitherLot { *strip, *control };
}

std::string missingInWords(const std::vector<std::string>& missing)
{
    std::string text;
    for (const auto& each : missing)
        text += (text.empty() ? "" : "; ") + each;
    return text;
}

/// The evidence of handbook 2.3; a lot that was taken over needs none of what files cannot carry.
Done evidenceIsThere(const Desk& desk, const acts::LotEvent& event, const StripLotRecord& lot)
{
    const auto entry = desk.facts.entry(lot.seq);
    if (!entry)
        return entry.error();
    if (*entry && (*entry)->imported)
        return {};
    const Moment now = desk.occasion.now;
    auto verification = verificationOf(desk.facts, lot.lot.lot, now);
    if (!verification)
        return verification.error();
    verification->noSamples = event.noSamples;
    const auto missing = missingForRelease(*verification, desk.facts.policyAt(now));
    return missing.empty() ? Done() : Done(refused("lot '" + event.lot + "' may not be released yet: " + missingInWords(missing)));
}

Done mayRelease(const Desk& desk, const acts::LotEvent& a, const EitherLot& lot)
{
    const auto status = lot.statusAt(desk.occasion.now);
    if (status == LotEventKind::Released)
        return conflict("lot '" + a.lot + "' is released already");
    if (status == LotEventKind::Rejected)
        return refused("lot '" + a.lot + "' was rejected, and that is final");
    if (status == LotEventKind::Quarantined && !a.detail)
        return badInput("say in the detail why lot '" + a.lot + "' may be used again");
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
    return targets ? onlyCoordinator(**author, "sets mean and SD; enter low and high from the label") : mayRecord(**author);
}

Done isOfLevel(Level has, Level given, const std::string& what)
{
    return has == given ? Done() : Done(badInput(what + " is of level " + std::string(word(has)) + ", not " + std::string(word(given))));
}

} // namespace

std::optional<LotEventKind> controlLotStatus(const ControlLotRecord& lot, Moment at)
{
    std::optional<LotEventKind> status;
    for (const auto& event : lot.events)
        if (event.act.at <= at)
            status = event.act.what;
    return status;
}

Done admit(const Desk& desk, const acts::StripLotReceived& a)
{
    const auto model = needModel(desk, a.model);
    return model ? Done() : Done(model.error());
}

Done admit(const Desk& desk, const acts::RangeAssigned& a)
{
    if (const auto strip = needStripLot(desk, a.stripLot); !strip)
        return strip.error();
    const auto control = needControlLot(desk, a.controlLot);
    if (!control)
        return control.error();
    if (const Done level = isOfLevel((*control)->lot.level, a.level, "control lot '" + a.controlLot.value + "'"); !level)
        return level;
    if (a.high < a.low)
        return badInput("the range ends below its beginning; check low and high on the label");
    if (a.sd && a.sd->mantissa() < 0)
        return badInput("an SD is never below zero; check it");
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
    if (a.what == LotEventKind::Quarantined) // anybody may stop a lot
        return mayRecord(**person);
    const bool releases = a.what == LotEventKind::Released;
    if (const Done may = onlyCoordinator(**person, releases ? "releases a lot" : "rejects a lot; quarantine it"); !may)
        return may;
    if (releases)
        return mayRelease(desk, a, *lot);
    return lot->statusAt(desk.occasion.now) == LotEventKind::Rejected ? Done(conflict("lot '" + a.lot + "' is rejected already")) : Done();
}

Done admit(const Desk& desk, const acts::ShipmentReceived& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    if (const auto lot = needLot(desk, a.lot); !lot)
        return lot.error();
    const auto shipments = desk.facts.facts<acts::ShipmentReceived>(a.lot);
    if (!shipments)
        return unread("the records of lot '" + a.lot + "'", shipments);
    if (a.vials && (a.vials->decimals() != 0 || a.vials->mantissa() <= 0))
        return badInput("a shipment holds a whole number of vials, not '" + a.vials->typed() + "'");
    for (const auto& each : *shipments)
        if (each.act.shipment == a.shipment)
            return conflict("shipment '" + a.shipment + "' of lot '" + a.lot + "' is on record as entry " + std::to_string(each.seq.value)
                + "; a second delivery has a number of its own");
    return {};
}

Done admit(const Desk& desk, const acts::RangeConfirmed& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    const auto range = desk.facts.range(a.stripLot, a.controlLot, a.level, a.at);
    if (!range)
        return range.error();
    if (*range == nullptr)
        return notFound("no " + std::string(word(a.level)) + " range of '" + a.stripLot.value + "' with '" + a.controlLot.value
            + "' is on record to be typed again; enter it first");
    const auto entry = desk.facts.entry((*range)->seq);
    if (!entry)
        return entry.error();
    return *entry ? confirms(a, **range, (*entry)->person) : Done();
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
        return refused("lot '" + a.lot.value + "' is released; record a control of the meter instead");
    if ((*meter)->act.model != (*lot)->lot.model)
        return badInput("lot '" + a.lot.value + "' is for model '" + (*lot)->lot.model.value + "', not for meter '" + a.meter.value + "'");
    const auto controlLot = desk.facts.controlLot((*vial)->vial.lot);
    if (!controlLot)
        return controlLot.error();
    if (*controlLot != nullptr)
        if (const Done level = isOfLevel((*controlLot)->lot.level, a.level, "control vial '" + a.controlVial.value + "'"); !level)
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
        return refused("lot '" + a.lot.value + "' is released; samples are compared before that");
    if (lotStatus(**current, now) != LotEventKind::Released)
        return refused("lot '" + a.currentLot.value + "' is not the lot in use: it is not released");
    const auto earlier = desk.facts.facts<acts::LotSampleCompared>(a.lot.value);
    if (!earlier)
        return unread("the records of lot '" + a.lot.value + "'", earlier);
    for (const auto& each : *earlier)
        if (each.act.sample == a.sample && each.act.meter == a.meter)
            return conflict(
                "sample '" + a.sample + "' on meter '" + a.meter.value + "' is on record as entry " + std::to_string(each.seq.value));
    return {};
}

// A fact about a lot may concern runs that were judged without it.
Done follow(const Desk& desk, Seq seq, const acts::RangeAssigned& act)
{
    return desk.judging.markLate(act.stripLot.value, ownTimeOf(act), seq, desk.person);
}

Done follow(const Desk& desk, Seq seq, const acts::LotEvent& act)
{
    return desk.judging.markLate(act.lot, ownTimeOf(act), seq, desk.person);
}

} // namespace mk::registry::desk
