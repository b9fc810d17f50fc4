// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/notices.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/nonconformity.h"
#include "registry/desk/stops.h"
#include "registry/desk/refusal.h"
#include "registry/facts/traces.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// Null where none is called so.
Result<const NoticeRecord*> findNotice(const Desk& desk, const std::string& name)
{
    const auto notices = desk.facts.notices();
    if (!notices)
        return notices.error();
    const auto found = std::ranges::find_if(**notices, [&](const NoticeRecord& each) { return each.notice.notice == name; });
    return found == (*notices)->end() ? nullptr : &*found;
}

Result<const NoticeRecord*> needNotice(const Desk& desk, const std::string& name)
{
    const auto found = findNotice(desk, name);
    return found && *found == nullptr ? Result<const NoticeRecord*>(refuse(Refusal::NoticeUnknown, name)) : found;
}

std::string listed(const std::vector<std::string>& items)
{
    std::string text;
    for (std::size_t i = 0; i < items.size() && i < 8; ++i)
        text += (i == 0 ? "" : ", ") + items[i];
    return items.size() > 8 ? text + " and " + std::to_string(items.size() - 8) + " more" : text;
}

Done quarantineVials(const Desk& desk, const std::vector<TracedVial>& vials, const base::OperatorId& by)
{
    for (const auto& vial : vials)
        if (!vial.ended)
            if (const Done done = desk.letFollow(acts::VialEnded { desk.occasion.now, vial.vial, by, VialEndKind::Quarantined }); !done)
                return done;
    return {};
}

Done quarantineLots(const Desk& desk, const std::vector<std::string>& lots, const acts::NoticeIssued& notice)
{
    const Moment now = desk.occasion.now;
    for (const auto& lot : lots) {
        const auto traced = traceLot(desk.facts, lot, now);
        if (!traced)
            return traced.error();
        if (traced->state == LotState::Quarantined || traced->state == LotState::Rejected)
            continue;
        if (const Done done = desk.letFollow(acts::LotEvent { now, lot, notice.by, LotEventKind::Quarantined, "notice " + notice.notice });
            !done)
            return done;
    }
    return {};
}

} // namespace

Done admit(const Desk& desk, const acts::ExcursionReported& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    if (const Done ward = needWard(desk, a.ward); !ward)
        return ward;
    if (a.to < a.from || a.to > desk.occasion.now)
        return refuse(Refusal::ExcursionTimes);
    for (const auto& id : idsOf(a.vials.value_or("")))
        if (const auto vial = traceVial(desk.facts, id, a.to); !vial)
            return vial.error();
    return {};
}

Done follow(const Desk& desk, Seq, const acts::ExcursionReported& a)
{
    if (const Done settled = desk.judging.settle(); !settled) // runs made before it are judged before it
        return settled;
    const auto vials = vialsInExcursion(desk.facts, a, desk.occasion.now);
    return vials ? quarantineVials(desk, *vials, a.by) : Done(vials.error());
}

Done admit(const Desk& desk, const acts::VialReleased& a)
{
    if (const Done may = onlyCoordinatorRecords(desk, a.by, Refusal::CoordinatorReleasesVials); !may)
        return may;
    const auto vial = traceVial(desk.facts, a.vial, a.at);
    const auto notices = desk.facts.notices();
    if (!vial || !notices)
        return vial ? notices.error() : vial.error();
    if (!vial->ended || vial->ended->act.how != VialEndKind::Quarantined)
        return refuse(Refusal::VialNotQuarantined, a.vial);
    if (a.reason.empty())
        return refuse(Refusal::VialReasonMissing, a.vial);
    for (const auto& notice : **notices)
        if (!notice.closed && hitsVial(notice.notice, vial->vial, vial->lot))
            return refuse(Refusal::VialNamedByNotice, a.vial, notice.notice.notice);
    return {};
}

Done admit(const Desk& desk, const acts::NoticeIssued& a)
{
    if (const Done may = onlyCoordinatorRecords(desk, a.by, Refusal::CoordinatorIssuesNotices); !may)
        return may;
    const auto known = findNotice(desk, a.notice);
    if (!known)
        return known.error();
    if (*known != nullptr)
        return refuse(Refusal::NoticeKnown, a.notice, (*known)->seq);
    if (!namesMeters(a) && !a.lot)
        return refuse(Refusal::NoticeNamesNothing, a.notice);
    if ((a.vialFrom || a.vialTo) && !a.lot)
        return refuse(Refusal::VialsWithoutLot, a.notice);
    for (const auto& [from, to] : { std::pair(a.serialFrom, a.serialTo), std::pair(a.vialFrom, a.vialTo) })
        if ((from || to) && from != to && !isSpan(from, to))
            return refuse(Refusal::SpanWithoutOrder, from.value_or("…"), to.value_or("…"));
    const auto model = a.model ? desk.facts.model(*a.model) : Result<const ModelRecord*>(nullptr);
    if (!model)
        return model.error();
    if (a.model && *model == nullptr) // a model that nobody has is a slip of the pen
        return refuse(Refusal::ModelOfNoticeUnknown, a.model->value);
    // A lot or serial that is not here yet is stopped when it comes: whoever records it says so.
    const auto hits = hitsOf(desk.facts, a, desk.occasion.now);
    if (!hits)
        return hits.error();
    return hits->items().empty() && a.hitsNothing != YesNo::Yes ? Done(refuse(Refusal::NoticeMissesAll, a.notice)) : Done();
}

Done follow(const Desk& desk, Seq seq, const acts::NoticeIssued& a)
{
    if (const Done settled = desk.judging.settle(); !settled)
        return settled;
    const Moment now = desk.occasion.now;
    const auto hits = hitsOf(desk.facts, a, now);
    if (!hits)
        return hits.error();
    for (const auto& meter : hits->meters)
        if (const Done stopped = stopFor(desk, meter, now, { ReasonCode::FieldNotice, seq, true }); !stopped)
            return stopped;
    if (const Done lots = quarantineLots(desk, hits->lots, a); !lots)
        return lots;
    if (const Done vials = quarantineVials(desk, hits->vials, a.by); !vials)
        return vials;
    // A meter that was stopped has its own nonconformity; lots and vials share the notice's.
    if (hits->lots.empty() && hits->vials.empty())
        return {};
    acts::NcOpened opened;
    opened.at = now;
    opened.type = code(ReasonCode::FieldNotice);
    opened.subject = a.notice;
    opened.description = "Notice " + a.notice + " names lots or vials of this site. Trace them, and record what was done about each.";
    opened.because = seq;
    return openNonconformity(desk, std::move(opened));
}

Done admit(const Desk& desk, const acts::NoticeItemDone& a)
{
    if (const Done may = mayRecord(desk, a.by); !may)
        return may;
    const auto notice = needNotice(desk, a.notice);
    if (!notice)
        return notice.error();
    if ((*notice)->closed)
        return refuse(Refusal::NoticeClosedAlready, a.notice);
    if (a.action.empty())
        return refuse(Refusal::ItemActionMissing, a.item);
    const auto hits = hitsOf(desk.facts, (*notice)->notice, a.at);
    if (!hits)
        return hits.error();
    const auto items = hits->items();
    if (items.empty())
        return refuse(Refusal::NoticeHitsNothing, a.notice, a.item);
    return std::ranges::find(items, a.item) != items.end() ? Done() : Done(refuse(Refusal::ItemNotHit, a.notice, a.item, listed(items)));
}

Done admit(const Desk& desk, const acts::NoticeClosed& a)
{
    if (const Done may = onlyCoordinatorRecords(desk, a.by, Refusal::CoordinatorClosesNotices); !may)
        return may;
    const auto notice = needNotice(desk, a.notice);
    if (!notice)
        return notice.error();
    if ((*notice)->closed)
        return refuse(Refusal::NoticeClosedAlready, a.notice);
    const auto hits = hitsOf(desk.facts, (*notice)->notice, a.at);
    if (!hits)
        return hits.error();
    const auto left = itemsLeft(*hits, **notice);
    return left.empty() ? Done() : Done(refuse(Refusal::NoticeItemsLeft, a.notice, listed(left)));
}

Done noNoticeBars(const Desk& desk, const base::MeterId& meter)
{
    const auto record = needMeter(desk, meter);
    if (!record)
        return record.error();
    const auto open = openNoticesOf(desk.facts, (*record)->act, desk.occasion.now);
    if (!open)
        return open.error();
    return open->empty() ? Done() : Done(refuse(Refusal::MeterNamedByNotice, meter.value, open->front().notice.notice));
}

Done needNoticeItems(const Desk& desk, const acts::ReturnStep& step)
{
    if (step.step != ReturnStepKind::Signed || desk.occasion.imported)
        return {};
    const auto open = openStops(desk, step.meter);
    const auto notices = desk.facts.notices();
    if (!open || !notices)
        return open ? notices.error() : open.error();
    for (const auto& notice : **notices) {
        const bool stopped = std::ranges::any_of(*open, [&](const StopRecord& s) { return s.stop.because == notice.seq; });
        const bool handled = notice.closed
            || std::ranges::any_of(notice.items, [&](const auto& item) { return item.act.item == step.meter.value; });
        if (stopped && !handled)
            return refuse(Refusal::MeterNamedByNotice, step.meter.value, notice.notice.notice);
    }
    return {};
}

} // namespace mk::registry::desk
