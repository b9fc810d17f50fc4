// SPDX-License-Identifier: GPL-3.0-or-later
// Which runs may count and which sets clear a meter (handbook 2.4, 4.2, 4.3, 4.5).
#include "model/ward_reference.h"

#include <algorithm>

namespace mk::model {

using namespace registry;

namespace {

struct LotText {
    std::optional<base::Date> printed;
    std::optional<base::Period> period;
    bool strip = false;
    std::optional<base::Moment> released {};
};

std::optional<LotText> lotText(const Reference& reference, const std::string& lot, std::int64_t known)
{
    for (const auto* fact : reference.all<acts::StripLotReceived>(known))
        if (const auto& a = Reference::as<acts::StripLotReceived>(*fact); a.lot.value == lot)
            return LotText { a.expiry ? std::optional(a.expiry->lastDay) : std::nullopt, a.openPeriod, true, a.released };
    for (const auto* fact : reference.all<acts::ControlLotReceived>(known))
        if (const auto& a = Reference::as<acts::ControlLotReceived>(*fact); a.lot.value == lot)
            return LotText { a.expiry ? std::optional(a.expiry->lastDay) : std::nullopt, a.openPeriod };
    return std::nullopt;
}

struct VialText {
    std::string lot;
    std::optional<base::Moment> opened;
};

std::optional<VialText> vialText(const Reference& reference, const std::string& vial, std::int64_t known)
{
    for (const auto* fact : reference.all<acts::StripVialOpened>(known))
        if (const auto& a = Reference::as<acts::StripVialOpened>(*fact); a.vial.value == vial)
            return VialText { a.lot.value, a.opened };
    for (const auto* fact : reference.all<acts::ControlVialOpened>(known))
        if (const auto& a = Reference::as<acts::ControlVialOpened>(*fact); a.vial.value == vial)
            return VialText { a.lot.value, a.opened };
    return std::nullopt;
}

} // namespace

std::string Reference::lotOfVial(const std::string& vial) const
{
    const auto lot = m_lotOfVial.find(vial);
    return lot == m_lotOfVial.end() ? std::string() : lot->second;
}

bool Reference::suits(const std::string& stripVial, const std::string& meter) const
{
    base::ModelId strips, own;
    for (const auto* fact : all<acts::StripLotReceived>())
        if (as<acts::StripLotReceived>(*fact).lot.value == lotOfVial(stripVial))
            strips = as<acts::StripLotReceived>(*fact).model;
    for (const auto* fact : all<acts::MeterEnrolled>())
        if (as<acts::MeterEnrolled>(*fact).meter.value == meter)
            own = as<acts::MeterEnrolled>(*fact).model;
    return strips == own;
}

/// Why a lot may not be used: the code, or nothing.
std::optional<std::string> Reference::lotBlocked(const std::string& lot, std::int64_t at, std::int64_t known) const
{
    const auto text = lotText(*this, lot, known);
    if (!text)
        return "lot-not-released";
    bool released = !text->strip, quarantined = false;
    std::vector<std::pair<std::int64_t, LotEventKind>> events;
    if (text->released && text->released->utcMs <= at)
        events.emplace_back(text->released->utcMs, LotEventKind::Released);
    for (const auto* fact : all<acts::LotEvent>(known))
        if (const auto& event = as<acts::LotEvent>(*fact); event.lot == lot && event.at.utcMs <= at)
            events.emplace_back(event.at.utcMs, event.what);
    std::ranges::stable_sort(events, {}, &std::pair<std::int64_t, LotEventKind>::first);
    for (const auto& [when, what] : events) {
        quarantined = what != LotEventKind::Released;
        released = released || what == LotEventKind::Released;
    }
    if (quarantined)
        return "lot-quarantined";
    return released ? std::nullopt : std::optional<std::string>("lot-not-released");
}

/// Empty, discarded or quarantined (2.5); a quarantine that the coordinator lifted lasts until then.
bool Reference::vialEnded(const std::string& vial, std::int64_t at, std::int64_t known) const
{
    const auto ends = all<acts::VialEnded>(known);
    const auto releases = all<acts::VialReleased>(known);
    return std::ranges::any_of(ends, [&](const Fact* fact) {
        const auto& end = as<acts::VialEnded>(*fact);
        const bool lifted = std::ranges::any_of(releases, [&](const Fact* release) {
            return as<acts::VialReleased>(*release).vial == vial && release->seq > fact->seq && release->told <= at;
        });
        return end.vial == vial && end.at.utcMs <= at && !lifted;
    });
}

/// Was the set run with a lot that is called back by now, or with a vial that a notice names?
bool Reference::calledBack(const Judged& set, std::int64_t at, std::int64_t known) const
{
    for (const auto& lots : { set.stripLots, set.controlLots })
        for (const auto& lot : lots)
            if (lotBlocked(lot, at, known) == "lot-quarantined")
                return true;
    const auto notices = all<acts::NoticeIssued>(known);
    const auto releases = all<acts::VialReleased>(known);
    return std::ranges::any_of(notices, [&](const Fact* fact) {
        const auto& notice = as<acts::NoticeIssued>(*fact);
        const auto lifted = [&](const std::string& vial) {
            return std::ranges::any_of(releases, [&](const Fact* release) {
                return as<acts::VialReleased>(*release).vial == vial && release->seq > fact->seq && release->told <= at;
            });
        };
        return fact->told <= at && notice.vialFrom && set.vials.contains(*notice.vialFrom) && !lifted(*notice.vialFrom);
    });
}

/// The newest accepted set whose materials stand; where that one's do not, another that is still in time.
const Reference::Judged* Reference::clearing(const std::vector<Judged>& good, std::int64_t at, std::int64_t known) const
{
    if (good.empty())
        return nullptr;
    for (auto set = good.rbegin(); set != good.rend(); ++set)
        if (!calledBack(*set, at, known) && (set == good.rbegin() || at < set->last + kDay))
            return &*set;
    return &good.back();
}

std::int64_t Reference::lastGood(const std::string& meter) const
{
    std::int64_t last = 0;
    for (const auto& set : sets(meter, kNever))
        if (set.good())
            last = std::max(last, set.last);
    return last;
}

/// Did two strip vials and two control vials of one level fail since the last accepted set (4.6)?
bool Reference::ladderClimbed(const std::string& meter) const
{
    const std::int64_t since = lastGood(meter);
    std::map<Level, std::pair<std::set<std::string>, std::set<std::string>>> failed;
    for (const auto* fact : all<acts::ControlRun>()) {
        const auto& run = runAt(*fact, kNever);
        if (run.meter.value != meter || run.at.utcMs <= since || !invalidBecause(run, kNever).empty() || inControl(run, kNever)
            || std::holds_alternative<ErrorCode>(run.result))
            continue;
        failed[run.level].first.insert(run.stripVial.value);
        failed[run.level].second.insert(run.controlVial.value);
    }
    return std::ranges::any_of(failed, [](const auto& level) { return level.second.first.size() > 1 && level.second.second.size() > 1; });
}

bool Reference::tooManyAttempts(const acts::ControlRun& run) const
{
    const std::int64_t since = lastGood(run.meter.value);
    int rejected = 0, errors = 0;
    for (const auto* fact : all<acts::ControlRun>()) {
        const auto& other = runAt(*fact, kNever);
        if (other.meter != run.meter || other.level != run.level || other.stripVial != run.stripVial || other.controlVial != run.controlVial
            || other.at.utcMs <= since)
            continue;
        if (std::holds_alternative<ErrorCode>(other.result))
            ++errors;
        else if (!inControl(other, kNever))
            ++rejected;
    }
    return (rejected >= 2 || errors >= 2) && !run.deviation;
}

void Reference::vialCauses(const std::string& vial, std::int64_t at, std::int64_t known, std::set<std::string>& causes) const
{
    const auto text = vialText(*this, vial, known);
    const auto lot = text ? lotText(*this, text->lot, known) : std::nullopt;
    if (!lot) {
        causes.insert("unknown");
        return;
    }
    const std::string what = lot->strip ? "strip" : "control";
    const base::Date today = m_zone.dateOf(m_zone.at(at));
    if (!lot->printed || *lot->printed < today)
        causes.insert(what + "-expired");
    if (!text->opened || !lot->period || base::lastUsableDay(m_zone.dateOf(*text->opened), *lot->period) < today)
        causes.insert(what + "-vial-expired");
    if (const auto blocked = lotBlocked(text->lot, at, known))
        causes.insert(*blocked);
    if (text->opened && text->opened->utcMs > at)
        causes.insert("vial-not-open");
    if (vialEnded(vial, at, known))
        causes.insert("vial-ended");
}

bool Reference::vialUsable(const std::string& vial, std::int64_t at, std::int64_t known) const
{
    std::set<std::string> causes;
    vialCauses(vial, at, known, causes);
    return causes.empty();
}

/// The newest in force. What a person typed judges no run from before it was typed, or typed again where that was owed (17.12, 17.16).
const acts::RangeAssigned* Reference::rangeFor(const acts::ControlRun& run, std::int64_t known) const
{
    const acts::RangeAssigned* best = nullptr;
    std::int64_t since = 0;
    for (const auto* fact : all<acts::RangeAssigned>(known)) {
        const auto& range = as<acts::RangeAssigned>(*fact);
        if (range.stripLot.value != lotOfVial(run.stripVial.value) || range.controlLot.value != lotOfVial(run.controlVial.value)
            || range.level != run.level || (fact->waits && fact->confirmed > known))
            continue;
        const std::int64_t typed = fact->takenOver ? 0 : fact->waits ? fact->confirmedAt : fact->told;
        const std::int64_t from = std::max(typed, range.from ? range.from->utcMs : 0);
        if (from <= run.at.utcMs && (best == nullptr || from >= since))
            best = &range, since = from;
    }
    return best;
}

/// Why a run may not count (handbook 4.2); empty where it may.
std::set<std::string> Reference::invalidBecause(const acts::ControlRun& run, std::int64_t known) const
{
    std::set<std::string> causes;
    vialCauses(run.stripVial.value, run.at.utcMs, known, causes);
    vialCauses(run.controlVial.value, run.at.utcMs, known, causes);
    if (!suits(run.stripVial.value, run.meter.value))
        causes.insert("model-mismatch");
    if (run.unit != base::GlucoseUnit::MgPerDl)
        causes.insert("unit-mismatch");
    bool competent = false;
    const base::Date today = m_zone.dateOf(run.at);
    for (const auto* fact : all<acts::OperatorEnrolled>(known))
        if (const auto& person = as<acts::OperatorEnrolled>(*fact); person.id == run.by)
            competent = person.competentFrom && person.competentUntil && *person.competentFrom <= today && today <= *person.competentUntil;
    if (!competent)
        causes.insert("operator-not-competent");
    const auto state = stateAt(run.meter.value, run.at.utcMs, known);
    if (state == MeterState::Received || state == MeterState::Missing || state == MeterState::Retired)
        causes.insert("state");
    for (const auto* fact : all<acts::ControlLotReceived>(known))
        if (const auto& lot = as<acts::ControlLotReceived>(*fact);
            lot.lot.value == lotOfVial(run.controlVial.value) && lot.level != run.level)
            causes.insert("level-mismatch");
    if (rangeFor(run, known) == nullptr)
        causes.insert("range-missing");
    return causes;
}

/// Within the range, bounds included, and within 3 SD where the targets' stage lets that rule speak (handbook 4.3, 6.1).
bool Reference::inControl(const acts::ControlRun& run, std::int64_t known) const
{
    const auto* range = rangeFor(run, known);
    const auto* value = std::get_if<base::Decimal>(&run.result);
    if (range == nullptr || value == nullptr || *value < range->low || *value > range->high)
        return false;
    if (!range->mean || !range->sd || range->stage.value_or(Stage::Range) == Stage::Range)
        return true;
    return std::abs(value->toDouble() - range->mean->toDouble()) <= 3 * range->sd->toDouble();
}

/// Rejected, invalid, partial, warned, accepted: the first that applies. Of each level the newest attempt speaks; an attempt that may not
/// count, or gave no result, takes nothing back that was rejected.
Reference::Judged Reference::judge(const std::string& set, std::int64_t at, std::int64_t known) const
{
    struct Attempt {
        const Fact* fact;
        const acts::ControlRun* run;
        std::set<std::string> causes;
    };
    std::map<Level, std::vector<Attempt>> levels;
    Judged judged;
    judged.set = set;
    for (const auto* fact : all<acts::ControlRun>(known)) {
        const auto& run = runAt(*fact, known);
        if (run.set.value != set || run.at.utcMs > at)
            continue;
        levels[run.level].push_back({ fact, &run, invalidBecause(run, known) });
        judged.first = judged.newestSeq == 0 ? run.at.utcMs : std::min(judged.first, run.at.utcMs);
        if (run.at.utcMs >= judged.last)
            judged.last = run.at.utcMs, judged.stripVial = run.stripVial.value;
        judged.newestSeq = std::max(judged.newestSeq, fact->seq);
        judged.stripLots.insert(lotOfVial(run.stripVial.value)), judged.controlLots.insert(lotOfVial(run.controlVial.value));
        judged.vials.insert({ run.stripVial.value, run.controlVial.value });
    }
    judged.clears = judged.last;
    bool rejected = false, invalid = false, partial = false;
    std::int64_t earliest = kNever, latest = 0;
    std::set<std::string> stripLots;
    for (auto& [level, attempts] : levels) {
        std::ranges::stable_sort(attempts, {}, [](const Attempt& attempt) { return attempt.run->at.utcMs; });
        const Attempt* speaks = nullptr;
        for (const auto& attempt : attempts)
            if (attempt.causes.empty() && (speaks == nullptr || !std::holds_alternative<ErrorCode>(attempt.run->result)))
                speaks = &attempt;
        const Attempt& newest = attempts.back();
        judged.clears = std::min(judged.clears, newest.run->at.utcMs);
        invalid = invalid || !newest.causes.empty();
        judged.causes.insert(newest.causes.begin(), newest.causes.end());
        partial = partial || (newest.causes.empty() && std::holds_alternative<ErrorCode>(newest.run->result));
        if (speaks == nullptr)
            continue;
        if (std::holds_alternative<ErrorCode>(speaks->run->result)) {
            partial = true;
        } else {
            rejected = rejected || !inControl(*speaks->run, known);
        }
        earliest = std::min(earliest, speaks->run->at.utcMs), latest = std::max(latest, speaks->run->at.utcMs);
        stripLots.insert(lotOfVial(speaks->run->stripVial.value));
    }
    partial = partial || !levels.contains(Level::Low) || !levels.contains(Level::High) || latest - earliest > 30 * kMinute
        || stripLots.size() > 1;
    judged.verdict = rejected ? Verdict::Rejected : invalid ? Verdict::Invalid : partial ? Verdict::Partial : Verdict::Accepted;
    return judged;
}

bool Reference::overlaps(const std::string& meter, std::int64_t at, std::int64_t known) const
{
    const auto then = sets(meter, at, known);
    const auto whole = sets(meter, kNever, known);
    return std::ranges::any_of(
        whole, [&](const Judged& set) { return set.first <= at && at < set.last && !then.empty() && then.back().set != set.set; });
}

std::vector<Reference::Judged> Reference::sets(const std::string& meter, std::int64_t at, std::int64_t known) const
{
    std::set<std::string> ids;
    for (const auto* fact : all<acts::ControlRun>(known))
        if (const auto& run = as<acts::ControlRun>(*fact); run.meter.value == meter && run.at.utcMs <= at)
            ids.insert(run.set.value);
    std::vector<Judged> judged;
    for (const auto& id : ids)
        judged.push_back(judge(id, at, known));
    std::ranges::sort(
        judged, [](const Judged& a, const Judged& b) { return std::pair(a.last, a.newestSeq) < std::pair(b.last, b.newestSeq); });
    return judged;
}

} // namespace mk::model
