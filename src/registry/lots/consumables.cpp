// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/consumables.h"

#include "registry/lots/expiry.h"

#include <algorithm>
#include <sstream>

namespace mk::registry {

namespace {

/// Digits compared as a number of any length.
std::strong_ordering compareNumbers(std::string a, std::string b)
{
    a.erase(0, std::min(a.find_first_not_of('0'), a.size()));
    b.erase(0, std::min(b.find_first_not_of('0'), b.size()));
    return a.size() != b.size() ? a.size() <=> b.size() : a <=> b;
}

/// "S1-100" is "S1-" and "100".
std::pair<std::string, std::string> splitNumber(const std::string& text)
{
    const auto lastOther = text.find_last_not_of("0123456789");
    const std::size_t begin = lastOther == std::string::npos ? 0 : lastOther + 1;
    return { text.substr(0, begin), text.substr(begin) };
}

LotState usableLotState(const std::optional<base::PrintedDate>& expiry, const LotStock& stock, base::Moment at, const Zone& zone)
{
    if (expiry && expiry->lastDay < zone.dateOf(at))
        return LotState::Expired;
    return stock.unopened && *stock.unopened <= 0 && !stock.anyOpen ? LotState::Exhausted : LotState::Released;
}

} // namespace

LotState lotStateAt(const StripLotRecord& lot, const LotStock& stock, base::Moment at, const Zone& zone)
{
    const auto status = lotStatus(lot, at);
    if (status == LotEventKind::Rejected)
        return LotState::Rejected;
    if (status == LotEventKind::Quarantined)
        return LotState::Quarantined;
    const LotState usable = usableLotState(lot.lot.expiry, stock, at, zone);
    if (status || usable == LotState::Expired)
        return usable;
    return stock.verificationBegan ? LotState::Verifying : LotState::Received;
}

LotState lotStateAt(const ControlLotRecord& lot, const LotStock& stock, base::Moment at, const Zone& zone)
{
    std::optional<LotEventKind> status;
    for (const auto& event : lot.events)
        if (event.act.at <= at)
            status = event.act.what;
    if (status == LotEventKind::Rejected)
        return LotState::Rejected;
    if (status == LotEventKind::Quarantined)
        return LotState::Quarantined;
    return usableLotState(lot.lot.expiry, stock, at, zone);
}

VialState vialStateAt(const std::optional<Record<acts::VialEnded>>& newestEnd, const std::optional<base::Moment>& opened,
    const std::optional<base::Date>& lastDay, base::Moment at, const Zone& zone)
{
    if (newestEnd && newestEnd->act.at <= at)
        switch (newestEnd->act.how) {
        case VialEndKind::Empty: return VialState::Empty;
        case VialEndKind::Discarded: return VialState::Discarded;
        case VialEndKind::Quarantined: return VialState::Quarantined;
        }
    if (!opened)
        return VialState::FoundOpen;
    return !lastDay || *lastDay < zone.dateOf(at) ? VialState::Expired : VialState::Open;
}

bool namesMeters(const acts::NoticeIssued& notice)
{
    return notice.serialFrom || notice.serialTo || notice.firmware || (notice.model && !notice.lot);
}

bool hitsMeter(const acts::NoticeIssued& notice, const acts::MeterEnrolled& meter, const std::optional<std::string>& firmware)
{
    if (!namesMeters(notice) || (notice.model && *notice.model != meter.model))
        return false;
    if ((notice.serialFrom || notice.serialTo) && !(meter.serial && liesBetween(*meter.serial, notice.serialFrom, notice.serialTo)))
        return false;
    return !notice.firmware || firmware == notice.firmware;
}

bool hitsWholeLot(const acts::NoticeIssued& notice, const std::string& lot)
{
    return notice.lot == lot && !notice.vialFrom && !notice.vialTo;
}

bool hitsVial(const acts::NoticeIssued& notice, const std::string& vial, const std::string& lot)
{
    if (notice.lot != lot || (!notice.vialFrom && !notice.vialTo))
        return false;
    const auto [before, number] = splitNumber(vial);
    const auto within = [&](const std::optional<std::string>& bound, bool atLeast) {
        if (!bound)
            return true;
        const auto [boundBefore, boundNumber] = splitNumber(*bound);
        if (!boundBefore.empty() && boundBefore != before)
            return false;
        const auto order = compareNumbers(number, boundNumber);
        return atLeast ? order >= 0 : order <= 0;
    };
    return !number.empty() && within(notice.vialFrom, true) && within(notice.vialTo, false);
}

bool liesBetween(const std::string& text, const std::optional<std::string>& from, const std::optional<std::string>& to)
{
    const auto [before, number] = splitNumber(text);
    const auto alike = [&](const std::optional<std::string>& bound) {
        return !bound || (splitNumber(*bound).first == before && !splitNumber(*bound).second.empty());
    };
    const bool numbers = !number.empty() && alike(from) && alike(to);
    const auto order = [&](const std::string& a, const std::string& b) {
        return numbers ? compareNumbers(splitNumber(a).second, splitNumber(b).second) : a <=> b;
    };
    // Between ids of one pattern lie ids of that pattern.
    if (!numbers && from && to && isSpan(from, to))
        return false;
    return (!from || order(text, *from) >= 0) && (!to || order(text, *to) <= 0);
}

bool isSpan(const std::optional<std::string>& from, const std::optional<std::string>& to)
{
    for (const auto& bound : { from, to })
        if (bound && splitNumber(*bound).second.empty())
            return false;
    if (!from || !to)
        return true;
    const auto [textFrom, numberFrom] = splitNumber(*from);
    const auto [textTo, numberTo] = splitNumber(*to);
    return textFrom == textTo && compareNumbers(numberFrom, numberTo) <= 0;
}

std::vector<std::string> idsOf(const std::string& text)
{
    std::vector<std::string> ids;
    std::istringstream in(text);
    for (std::string id; in >> id;)
        if (std::ranges::find(ids, id) == ids.end())
            ids.push_back(id);
    return ids;
}

} // namespace mk::registry
