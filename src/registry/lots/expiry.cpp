// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/expiry.h"

#include <algorithm>

namespace mk::registry {

namespace {

std::optional<LotEventKind> lastLotEvent(
    const std::vector<Record<acts::LotEvent>>& events, base::Moment at, std::optional<base::Moment>* when = nullptr)
{
    std::optional<LotEventKind> last;
    for (const auto& event : events) {
        if (event.act.at > at)
            continue;
        last = event.act.what;
        if (when != nullptr)
            *when = event.act.at;
    }
    return last;
}

/// What may stand against a vial of either sort.
struct VialReasons {
    ReasonCode lotExpired, vialExpired, notOpen, ended;
};
constexpr VialReasons kOfStrips { ReasonCode::StripExpired, ReasonCode::StripVialExpired, ReasonCode::StripVialNotOpen,
    ReasonCode::NoStripVial };
constexpr VialReasons kOfControls { ReasonCode::ControlExpired, ReasonCode::ControlVialExpired, ReasonCode::ControlVialNotOpen,
    ReasonCode::ControlVialEnded };

std::vector<ReasonCode> againstVial(const VialReasons& of, const std::optional<base::PrintedDate>& printed,
    const std::optional<base::Moment>& opened, const std::optional<base::Period>& period,
    const std::optional<Record<acts::VialEnded>>& ended, const std::vector<QuarantineSpell>& quarantines, base::Moment at, const Zone& zone)
{
    std::vector<ReasonCode> codes;
    const base::Date today = zone.dateOf(at);
    if (!printed || printed->lastDay < today)
        codes.push_back(of.lotExpired);
    if (!opened || !period || base::lastUsableDay(zone.dateOf(*opened), *period) < today)
        codes.push_back(of.vialExpired);
    else if (*opened > at)
        codes.push_back(of.notOpen);
    const bool quarantined = std::ranges::any_of(
        quarantines, [&](const QuarantineSpell& spell) { return spell.from <= at && at < spell.until; });
    if (quarantined || (ended && ended->act.at <= at))
        codes.push_back(of.ended);
    return codes;
}

} // namespace

std::optional<EffectiveExpiry> effectiveExpiry(const std::optional<base::PrintedDate>& printed, const std::optional<base::Moment>& opened,
    const std::optional<base::Period>& openPeriod, const Zone& zone)
{
    if (!printed || !opened || !openPeriod)
        return std::nullopt;
    const base::Date byOpening = base::lastUsableDay(zone.dateOf(*opened), *openPeriod);
    return EffectiveExpiry { std::min(printed->lastDay, byOpening), byOpening < printed->lastDay };
}

std::optional<LotEventKind> lotStatus(const StripLotRecord& lot, base::Moment at)
{
    std::optional<base::Moment> when;
    const auto event = lastLotEvent(lot.events, at, &when);
    const bool releasedByColumn = lot.lot.released && *lot.lot.released <= at;
    if (releasedByColumn && (!when || *when < *lot.lot.released))
        return LotEventKind::Released;
    return event;
}

std::optional<LotEventKind> lotStatus(const ControlLotRecord& lot, base::Moment at)
{
    return lastLotEvent(lot.events, at);
}

std::vector<ReasonCode> againstStripVial(const StripVialRecord* vial, const StripLotRecord* lot, base::Moment at, const Zone& zone)
{
    if (vial == nullptr || lot == nullptr)
        return { ReasonCode::NoStripVial };
    auto codes = againstVial(kOfStrips, lot->lot.expiry, vial->vial.opened, lot->lot.openPeriod, vial->ended, vial->quarantines, at, zone);
    const auto status = lotStatus(*lot, at);
    if (!status)
        codes.push_back(ReasonCode::LotNotReleased);
    else if (*status != LotEventKind::Released)
        codes.push_back(ReasonCode::LotQuarantined);
    return codes;
}

std::vector<ReasonCode> againstControlVial(const ControlVialRecord* vial, const ControlLotRecord* lot, base::Moment at, const Zone& zone)
{
    if (vial == nullptr || lot == nullptr)
        return { ReasonCode::NoControlVial };
    auto codes = againstVial(
        kOfControls, lot->lot.expiry, vial->vial.opened, lot->lot.openPeriod, vial->ended, vial->quarantines, at, zone);
    const auto status = lotStatus(*lot, at);
    if (status && *status != LotEventKind::Released)
        codes.push_back(ReasonCode::LotQuarantined);
    return codes;
}

} // namespace mk::registry
