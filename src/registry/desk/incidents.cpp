// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/incidents.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/lookbacks.h"
#include "registry/desk/runs.h"
#include "registry/desk/stops.h"
#include "registry/desk/refusal.h"
#include "registry/meter/meter_life.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Seq;

namespace {

/// Handbook 1.5 and CDC: what it was cleaned with, and that it stayed wet as long as the insert says.
Done mayBeCleaned(const Desk& desk, const acts::IncidentReported& incident)
{
    const bool says = incident.agent || incident.contactTimeKept;
    if (says && incident.what != IncidentKind::Cleaned)
        return refuse(Refusal::CleaningFieldsElsewhere);
    if (!desk.occasion.imported && incident.contactTimeKept == YesNo::No)
        return refuse(Refusal::ContactTimeNotKept);
    return {};
}

/// Told after an accepted set already followed: what was done in between waits for a look-back (handbook 1.5).
Done lookBack(const Desk& desk, Seq seq, const acts::IncidentReported& incident, Moment told)
{
    if (incident.what == IncidentKind::WrongUnit && !desk.occasion.imported)
        return lookBackOnWrongUnit(desk, seq, incident, told);
    const bool doubtful = effectOf(incident.what).cancelsClearance && incident.what != IncidentKind::BatteryChanged
        && incident.what != IncidentKind::ClockWrong && incident.what != IncidentKind::SoftwareUpdated;
    return doubtful ? lookBackOnIncident(desk, seq, incident, told) : Done();
}

} // namespace

Done admit(const Desk& desk, const acts::IncidentReported& a)
{
    if (const Done known = needMeterAndPerson(desk, a.meter, a.by); !known)
        return known;
    if (const Done cleaning = mayBeCleaned(desk, a); !cleaning)
        return cleaning;
    return a.noticedAt && *a.noticedAt < a.at ? Done(refuse(Refusal::NoticedBeforeItHappened)) : Done();
}

Done admit(const Desk& desk, const acts::NoteAdded& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    const auto meter = needMeter(desk, a.meter);
    return meter ? Done() : Done(meter.error());
}

Done follow(const Desk& desk, Seq seq, const acts::IncidentReported& incident)
{
    if (const Done settled = desk.judging.settleMeter(incident.meter); !settled)
        return settled;
    if (incident.what == IncidentKind::ErrorCode)
        return followErrorCode(desk, incident.meter, incident.at, seq);
    const Moment told = desk.effective(std::max(incident.noticedAt.value_or(incident.at), incident.at));
    if (incident.what == IncidentKind::Found) {
        const auto state = desk.judging.stateAt(incident.meter, told);
        if (!state)
            return state.error();
        return *state == MeterState::Missing ? stopFor(desk, incident.meter, told, { StopOnly::Found, seq, true }) : Done();
    }
    if (const Done opened = lookBack(desk, seq, incident, told); !opened)
        return opened;
    const IncidentEffect& effect = effectOf(incident.what);
    if (effect.startsSegment)
        desk.judging.forget(incident.meter); // its boundaries changed
    if (!effect.holds && !effect.withdraws)
        return {};
    return stopFor(desk, incident.meter, told, { *effect.reason, seq, effect.withdraws });
}

} // namespace mk::registry::desk
