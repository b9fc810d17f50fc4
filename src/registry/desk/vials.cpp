// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/vials.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/lots.h"
#include "registry/lots/consumables.h"
#include "registry/lots/expiry.h"
#include "registry/desk/refusal.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
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
};

Done lotMayBeOpened(const Opening& opening, const Zone& zone)
{
    if (opening.status == LotEventKind::Quarantined || opening.status == LotEventKind::Rejected)
        return refuse(Refusal::VialOfStoppedLot, opening.vial, opening.lot, *opening.status);
    if (!opening.status && opening.needsRelease)
        return refuse(Refusal::VialOfUnreleasedLot, opening.vial, opening.lot);
    if (opening.expiry && opening.expiry->lastDay < zone.dateOf(*opening.opened))
        return refuse(Refusal::VialOfExpiredLot, opening.vial, opening.lot, opening.expiry->lastDay);
    return {};
}

Done noNoticeNames(const Desk& desk, const Opening& opening)
{
    const auto notices = desk.facts.notices();
    if (!notices)
        return notices.error();
    for (const auto& notice : **notices)
        if (!notice.closed && (hitsWholeLot(notice.notice, opening.lot) || hitsVial(notice.notice, opening.vial, opening.lot)))
            return refuse(Refusal::OpeningNamedByNotice, opening.vial, notice.notice.notice);
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
    return (*person)->act.role == Role::Coordinator ? Done()
                                                    : Done(refuse(Refusal::OpenedTooLongAgo, opening.vial, *opening.opened, limit));
}

/// May a person open it, now? What stands against it is said with what to do instead (handbook 2.3 to 2.5).
Done mayOpen(const Desk& desk, const Opening& opening)
{
    if (opening.foundOpen == YesNo::Yes)
        return opening.opened ? Done(refuse(Refusal::FoundOpenWithTime, opening.vial)) : Done();
    if (!opening.opened)
        return refuse(Refusal::OpeningTimeMissing, opening.vial);
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
        opening.status = lotStatus(**lot, desk.occasion.now);
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
        return refuse(Refusal::VialUnknown, a.vial);
    const bool imported = desk.occasion.imported;
    if (!imported)
        if (const Done may = mayRecord(**person); !may)
            return may;
    const auto& ended = *strip != nullptr ? (*strip)->newestEnd : (*control)->newestEnd;
    const bool thrownAway = !imported && ended && ended->act.how == VialEndKind::Quarantined && a.how == VialEndKind::Discarded;
    return ended && !thrownAway ? Done(refuse(Refusal::VialEndedAlready, a.vial, ended->seq)) : Done();
}

/// It may concern runs that were judged without it.
Done follow(const Desk& desk, Seq seq, const acts::VialEnded& act)
{
    return desk.judging.markLate(act.vial, ownTimeOf(act), seq, desk.person);
}

} // namespace mk::registry::desk
