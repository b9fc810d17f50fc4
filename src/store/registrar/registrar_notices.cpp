// SPDX-License-Identifier: GPL-3.0-or-later
// Excursions and makers' notices: what is admitted, and what is stopped at once (handbook 2.6, 2.9).
#include "registry/lots/expiry.h"
#include "store/read/lot_records.h"
#include "store/registrar/registrar_batch.h"

#include <algorithm>

namespace mk::store {

using base::badInput;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::refused;
using base::Seq;
using namespace registry;

namespace {

Done needRole(const base::Result<const OperatorRecord*>& person, Role role, const std::string& what)
{
    if (!person)
        return person.error();
    const Role has = (*person)->act.role;
    if (has == Role::Inspector)
        return refused("an inspector reads and records nothing");
    return has == role || role == Role::Nurse ? Done() : Done(refused("only the coordinator " + what));
}

base::Result<const NoticeRecord*> noticeNamed(Reader& reader, const std::string& name)
{
    const auto notices = reader.notices();
    if (!notices)
        return notices.error();
    for (const auto& notice : **notices)
        if (notice.notice.notice == name)
            return &notice;
    return Fault { FaultKind::NotFound, "no notice is called '" + name + "'; record it first, or check how it is written" };
}

std::string listed(const std::vector<std::string>& items)
{
    std::string text;
    for (std::size_t i = 0; i < items.size() && i < 8; ++i)
        text += (i == 0 ? "" : ", ") + items[i];
    return items.size() > 8 ? text + " and " + std::to_string(items.size() - 8) + " more" : text;
}

} // namespace

template <>
Done ActBatch::check(const acts::ExcursionReported& a)
{
    if (const Done may = needRole(needPerson(a.by), Role::Nurse, ""); !may)
        return may;
    if (const Done ward = needWard(a.ward); !ward)
        return ward;
    if (a.to < a.from || a.to.utcMs > m_nowMs)
        return badInput("an excursion ends after it began, and by now; check from and to");
    for (const auto& id : idsOf(a.vials.value_or("")))
        if (const auto vial = traceVial(m_reader, id, a.to); !vial)
            return vial.error();
    return {};
}

Done ActBatch::followExcursion(const acts::ExcursionReported& a)
{
    if (const Done settled = settle(); !settled) // runs made before it are judged before it
        return settled;
    m_person = m_author.person.empty() ? a.by.value : m_author.person.value;
    const Moment now = m_reader.zone().at(m_nowMs);
    const auto vials = vialsInExcursion(m_reader, a, now);
    if (!vials)
        return vials.error();
    for (const auto& vial : *vials)
        if (!vial.ended)
            if (const Done done = appendConsequence(acts::VialEnded { now, vial.vial, a.by, VialEndKind::Quarantined }); !done)
                return done;
    return {};
}

template <>
Done ActBatch::check(const acts::VialReleased& a)
{
    if (const Done may = needRole(needPerson(a.by), Role::Coordinator, "lets a quarantined vial be used again"); !may)
        return may;
    const auto vial = traceVial(m_reader, a.vial, a.at);
    const auto notices = m_reader.notices();
    if (!vial || !notices)
        return vial ? notices.error() : vial.error();
    if (!vial->ended || vial->ended->act.how != VialEndKind::Quarantined)
        return Fault { FaultKind::Conflict, "vial '" + a.vial + "' is not quarantined" };
    if (a.reason.empty())
        return badInput("say why vial '" + a.vial + "' may be used again");
    for (const auto& notice : **notices)
        if (!notice.closed && hitsVial(notice.notice, vial->vial, vial->lot))
            return refused("vial '" + a.vial + "' is named by notice '" + notice.notice.notice + "'; close that first");
    return {};
}

template <>
Done ActBatch::check(const acts::NoticeIssued& a)
{
    if (const Done may = needRole(needPerson(a.by), Role::Coordinator, "records a maker's notice; stop the meter and tell the coordinator");
        !may)
        return may;
    const auto known = noticeNamed(m_reader, a.notice);
    if (known)
        return Fault { FaultKind::Conflict, "notice '" + a.notice + "' is on record as entry " + std::to_string((*known)->seq.value) };
    if (known.error().kind != FaultKind::NotFound)
        return known.error();
    if (!namesMeters(a) && !a.lot)
        return badInput("notice '" + a.notice + "' names nothing: give model, serial numbers, firmware or lot");
    if ((a.vialFrom || a.vialTo) && !a.lot)
        return badInput("vials are named within a lot; give the lot of notice '" + a.notice + "'");
    if (!a.model)
        return {};
    const auto model = m_reader.model(*a.model);
    if (!model)
        return model.error();
    // A lot or serial that is not here yet is stopped when it comes; a model that nobody has is a slip of the pen.
    return *model != nullptr ? Done()
                             : Done(Fault { FaultKind::NotFound, "no model is called '" + a.model->value + "'; check how it is written" });
}

Done ActBatch::followNotice(Seq seq, const acts::NoticeIssued& a)
{
    if (const Done settled = settle(); !settled)
        return settled;
    m_person = m_author.person.empty() ? a.by.value : m_author.person.value;
    const Moment now = m_reader.zone().at(m_nowMs);
    const auto hits = hitsOf(m_reader, a, now);
    if (!hits)
        return hits.error();
    for (const auto& meter : hits->meters)
        if (const Done stopped = stop(meter, now, true, "field-notice", seq, true); !stopped)
            return stopped;
    for (const auto& lot : hits->lots) {
        const auto traced = traceLot(m_reader, lot, now);
        if (!traced)
            return traced.error();
        if (traced->state == LotState::Quarantined || traced->state == LotState::Rejected)
            continue;
        if (const Done done = appendConsequence(acts::LotEvent { now, lot, a.by, LotEventKind::Quarantined, "notice " + a.notice }); !done)
            return done;
    }
    for (const auto& vial : hits->vials)
        if (!vial.ended)
            if (const Done done = appendConsequence(acts::VialEnded { now, vial.vial, a.by, VialEndKind::Quarantined }); !done)
                return done;
    // A meter that was stopped has its own nonconformity; lots and vials share the notice's.
    if (hits->lots.empty() && hits->vials.empty())
        return {};
    return openNonconformity("field-notice", a.notice,
        "Notice " + a.notice + " names lots or vials of this site. Trace them, and record what was done about each.", seq, now);
}

template <>
Done ActBatch::check(const acts::NoticeItemDone& a)
{
    if (const Done may = needRole(needPerson(a.by), Role::Nurse, ""); !may)
        return may;
    const auto notice = noticeNamed(m_reader, a.notice);
    if (!notice)
        return notice.error();
    if ((*notice)->closed)
        return Fault { FaultKind::Conflict, "notice '" + a.notice + "' is closed" };
    if (a.action.empty())
        return badInput("say what was done about '" + a.item + "'");
    const auto hits = hitsOf(m_reader, (*notice)->notice, a.at);
    if (!hits)
        return hits.error();
    const auto items = hits->items();
    return std::ranges::find(items, a.item) != items.end()
        ? Done()
        : Done(Fault { FaultKind::NotFound,
            "notice '" + a.notice + "' does not hit '" + a.item + "'; it hits " + (items.empty() ? "nothing on record" : listed(items)) });
}

template <>
Done ActBatch::check(const acts::NoticeClosed& a)
{
    if (const Done may = needRole(needPerson(a.by), Role::Coordinator, "closes a notice"); !may)
        return may;
    const auto notice = noticeNamed(m_reader, a.notice);
    if (!notice)
        return notice.error();
    if ((*notice)->closed)
        return Fault { FaultKind::Conflict, "notice '" + a.notice + "' is closed already" };
    const auto hits = hitsOf(m_reader, (*notice)->notice, a.at);
    if (!hits)
        return hits.error();
    const auto left = itemsLeft(*hits, **notice);
    return left.empty() ? Done() : Done(refused("notice '" + a.notice + "' stays open: say what was done about " + listed(left)));
}

/// A meter that a notice stopped comes back when it is on record what was done about it (handbook 1.5).
Done ActBatch::needNoticeItems(const acts::ReturnStep& step)
{
    if (step.step != ReturnStepKind::Signed || m_imported)
        return {};
    const auto open = openStops(step.meter);
    const auto notices = m_reader.notices();
    if (!open || !notices)
        return open ? notices.error() : open.error();
    for (const auto& notice : **notices) {
        const bool stopped = std::ranges::any_of(*open, [&](const StopRecord& s) { return s.stop.because == notice.seq; });
        const bool handled = notice.closed
            || std::ranges::any_of(notice.items, [&](const auto& item) { return item.act.item == step.meter.value; });
        if (stopped && !handled)
            return refused("meter '" + step.meter.value + "' is named by notice '" + notice.notice.notice
                + "': record what was done about it before it is signed");
    }
    return {};
}

} // namespace mk::store
