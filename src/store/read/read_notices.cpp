// SPDX-License-Identifier: GPL-3.0-or-later
// Notices, and what they and quarantines take from clearances.
#include "registry/lots/consumables.h"
#include "registry/lots/expiry.h"
#include "registry/meter/fitness.h"
#include "store/journal/journal.h"
#include "store/read/reader.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

constexpr int kSetsOfADay = 50; ///< newest sets among which one still in time is looked for

/// The quarantine or rejection that stands against a lot.
template <typename L>
std::optional<Record<acts::LotEvent>> standsAgainst(const L& lot, Moment at)
{
    std::optional<Record<acts::LotEvent>> last;
    for (const auto& event : lot.events)
        if (event.act.at <= at)
            last = event;
    return last && last->act.what != LotEventKind::Released ? last : std::nullopt;
}

} // namespace

Result<const std::vector<NoticeRecord>*> Reader::notices()
{
    if (m_notices)
        return &*m_notices;
    const auto issued = facts<acts::NoticeIssued>();
    if (!issued)
        return issued.error();
    std::vector<NoticeRecord> notices;
    for (const auto& each : *issued) {
        auto items = facts<acts::NoticeItemDone>(each.act.notice);
        const auto closed = facts<acts::NoticeClosed>(each.act.notice);
        const auto entry = entryAt(*m_session, each.seq);
        if (!items || !closed || !entry || !*entry)
            return unread("notice '%1' cannot be read; run verify", each.act.notice, items, closed, entry);
        NoticeRecord notice { each.seq, each.act, m_zone.at((*entry)->at), {}, std::move(items).value() };
        if (!closed->empty()) {
            const auto end = entryAt(*m_session, closed->front().seq);
            if (!end || !*end)
                return unread("notice '%1' cannot be read; run verify", each.act.notice, end);
            notice.closed = m_zone.at((*end)->at);
        }
        notices.push_back(std::move(notice));
    }
    m_notices = std::move(notices);
    return &*m_notices;
}

Result<std::optional<Revocation>> Reader::revocationOf(const SetRecord& set, Moment at)
{
    const auto all = notices();
    if (!all)
        return all.error();
    const auto byEvent = [](Revocation::Of what, const std::string& lot, const Record<acts::LotEvent>& event) {
        return std::optional(Revocation { what, lot, event.act.what, {}, { event.seq } });
    };
    for (const auto& run : set.runs) {
        const auto stripLotFound = stripLot(run.judged.stripLot);
        const auto controlLotFound = controlLot(run.judged.controlLot);
        if (!stripLotFound || !controlLotFound)
            return stripLotFound ? controlLotFound.error() : stripLotFound.error();
        if (*stripLotFound != nullptr)
            if (const auto event = standsAgainst(**stripLotFound, at); event && lotStatus(**stripLotFound, at) != LotEventKind::Released)
                return byEvent(Revocation::Of::StripLot, run.judged.stripLot.value, *event);
        if (*controlLotFound != nullptr)
            if (const auto event = standsAgainst(**controlLotFound, at))
                return byEvent(Revocation::Of::ControlLot, run.judged.controlLot.value, *event);
        for (const auto& notice : **all) {
            if (notice.known > at)
                continue;
            for (const auto& [vial, lot] : { std::pair(run.run.stripVial.value, run.judged.stripLot.value),
                     std::pair(run.run.controlVial.value, run.judged.controlLot.value) }) {
                if (!hitsVial(notice.notice, vial, lot))
                    continue;
                const auto releases = facts<acts::VialReleased>(vial);
                if (!releases)
                    return releases.error();
                // The coordinator let that vial be used again since: what was run with it counts.
                if (std::ranges::none_of(*releases, [&](const auto& release) { return release.seq > notice.seq && release.act.at <= at; }))
                    return std::optional(Revocation { Revocation::Of::Vial, vial, {}, notice.notice.notice, { notice.seq } });
            }
        }
    }
    return std::optional<Revocation>();
}

/// An accepted set on what was quarantined clears no more from then on; one before it may still be in time.
Done Reader::historyOfClearance(MeterHistory& history, Moment at)
{
    if (!history.newestAccepted)
        return {};
    auto revoked = revocationOf(*history.newestAccepted, at);
    if (!revoked)
        return revoked.error();
    if (!*revoked)
        return {};
    const auto sets = newestSets(history.meter.act.meter, at, kSetsOfADay);
    if (!sets)
        return sets.error();
    for (const auto& set : *sets) {
        const bool accepted = isAccepted(set.judged.verdict);
        if (!accepted || set.judged.lastAt > at || clearedUntil(set, policyAt(at), m_zone) <= at)
            continue;
        const auto itsOwn = revocationOf(set, at);
        if (!itsOwn)
            return itsOwn.error();
        if (!*itsOwn) {
            history.newestAccepted = set;
            return {};
        }
    }
    history.revoked = std::move(**revoked);
    return {};
}

} // namespace mk::store
