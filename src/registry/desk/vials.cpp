// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/vials.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/lots.h"
#include "registry/lots/consumables.h"
#include "registry/lots/expiry.h"
#include "registry/meter/fitness.h"

#include <algorithm>

namespace mk::registry::desk {

using base::badInput;
using base::Done;
using base::Moment;
using base::refused;
using base::Seq;

namespace {

constexpr std::int64_t kMinuteMs = 60'000;

/// An opening of a vial of either kind.
struct Opening {
    std::string vial, lot;
    std::optional<base::PrintedDate> expiry;
    std::optional<LotEventKind> status; ///< of the lot, now
    bool needsRelease;
    std::optional<Moment> opened;
    std::optional<YesNo> foundOpen;

    base::Fault no(const std::string& why) const { return refused("vial '" + vial + "' may not be opened: " + why); }
};

Done lotMayBeOpened(const Opening& opening, const Zone& zone)
{
    const std::string lot = "lot '" + opening.lot + "'";
    if (opening.status == LotEventKind::Quarantined || opening.status == LotEventKind::Rejected)
        return opening.no(lot + " is " + std::string(word(*opening.status)) + "; open a vial of another lot");
    if (!opening.status && opening.needsRelease)
        return opening.no(lot + " is not released; open a vial of a released lot, or ask the coordinator to release this one");
    if (opening.expiry && opening.expiry->lastDay < zone.dateOf(*opening.opened))
        return opening.no(lot + " was good to " + inWords(opening.expiry->lastDay) + "; open a vial of a lot in date");
    return {};
}

Done noNoticeNames(const Desk& desk, const Opening& opening)
{
    const auto notices = desk.facts.notices();
    if (!notices)
        return notices.error();
    for (const auto& notice : **notices)
        if (!notice.closed && (hitsWholeLot(notice.notice, opening.lot) || hitsVial(notice.notice, opening.vial, opening.lot)))
            return opening.no("notice '" + notice.notice.notice + "' names it; set it aside and open another");
    return {};
}

/// Later than the policy's minutes only the coordinator enters an opening.
Done isInTime(const Desk& desk, const Opening& opening)
{
    const Moment now = desk.occasion.now;
    const int limit = desk.facts.policyAt(now).lateEntryMinutes;
    if (desk.occasion.author.empty() || now.utcMs - opening.opened->utcMs <= limit * kMinuteMs)
        return {};
    const auto person = needPerson(desk, desk.occasion.author);
    if (!person)
        return person.error();
    return (*person)->act.role == Role::Coordinator
        ? Done()
        : Done(refused("vial '" + opening.vial + "' would be opened " + inWords(*opening.opened, desk.facts.zone()) + ", more than "
            + std::to_string(limit)
            + " minutes ago: say found_open yes, then discard or quarantine it, or ask the coordinator to enter the opening"));
}

/// May a person open it, now? What stands against it is said with what to do instead (handbook 2.3 to 2.5).
Done mayOpen(const Desk& desk, const Opening& opening)
{
    if (opening.foundOpen == YesNo::Yes)
        return opening.opened ? Done(badInput("vial '" + opening.vial
                   + "' was found open, so nobody knows since when: leave out opened; it can be discarded or quarantined"))
                              : Done();
    if (!opening.opened)
        return badInput(
            "say when vial '" + opening.vial + "' was opened; if it stood open and nobody knows since when, say found_open yes");
    if (const Done lot = lotMayBeOpened(opening, desk.facts.zone()); !lot)
        return lot;
    if (const Done notices = noNoticeNames(desk, opening); !notices)
        return notices;
    return isInTime(desk, opening);
}

template <typename A>
Opening openingOf(const A& act)
{
    return { act.vial.value, act.lot.value, {}, {}, false, act.opened, act.foundOpen };
}

} // namespace

Done admit(const Desk& desk, const acts::StripVialOpened& a)
{
    const auto lot = needStripLot(desk, a.lot);
    if (!lot)
        return lot.error();
    if (!desk.occasion.imported) {
        Opening opening = openingOf(a);
        opening.expiry = (*lot)->lot.expiry;
        opening.status = lotStatus(**lot, desk.occasion.now);
        opening.needsRelease = true;
        if (const Done may = mayOpen(desk, opening); !may)
            return may;
    }
    return a.ward ? needWard(desk, *a.ward) : Done();
}

Done admit(const Desk& desk, const acts::ControlVialOpened& a)
{
    const auto lot = needControlLot(desk, a.lot);
    if (!lot)
        return lot.error();
    if (!desk.occasion.imported) {
        Opening opening = openingOf(a);
        opening.expiry = (*lot)->lot.expiry;
        opening.status = controlLotStatus(**lot, desk.occasion.now);
        if (const Done may = mayOpen(desk, opening); !may)
            return may;
    }
    return a.ward ? needWard(desk, *a.ward) : Done();
}

Done admit(const Desk& desk, const acts::VialEnded& a)
{
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    const auto strip = desk.facts.stripVial(base::StripVialId(a.vial));
    const auto control = desk.facts.controlVial(base::ControlVialId(a.vial));
    if (!strip || !control)
        return strip ? control.error() : strip.error();
    if (*strip == nullptr && *control == nullptr)
        return unknown("vial", a.vial);
    const bool imported = desk.occasion.imported;
    if (!imported)
        if (const Done may = mayRecord(**person); !may)
            return may;
    const auto& ended = *strip != nullptr ? (*strip)->newestEnd : (*control)->newestEnd;
    const bool thrownAway = !imported && ended && ended->act.how == VialEndKind::Quarantined && a.how == VialEndKind::Discarded;
    return ended && !thrownAway ? Done(conflict("vial '" + a.vial + "' was ended already (entry " + std::to_string(ended->seq.value) + ")"))
                                : Done();
}

/// It may concern runs that were judged without it.
Done follow(const Desk& desk, Seq seq, const acts::VialEnded& act)
{
    return desk.judging.markLate(act.vial, ownTimeOf(act), seq, desk.person);
}

} // namespace mk::registry::desk
