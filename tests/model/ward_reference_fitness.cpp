// SPDX-License-Identifier: GPL-3.0-or-later
// What the reference expects of a meter at a moment (interface.md, Reasons; what counts as missing).
#include "model/ward_reference.h"

#include <algorithm>

namespace mk::model {

using namespace registry;
using S = MeterState;

namespace {

const std::set<std::string> kNoControl { "no-control-yet", "control-overdue" };

/// Were there three error codes within a day by then, in whatever order they were told?
bool errorCodesPileUp(const Reference& reference, const std::string& meter, std::int64_t at, std::int64_t known)
{
    std::vector<std::int64_t> codes;
    for (const auto* fact : reference.all<acts::IncidentReported>(known))
        if (const auto& incident = Reference::as<acts::IncidentReported>(*fact);
            incident.meter.value == meter && incident.what == IncidentKind::ErrorCode && incident.at.utcMs <= at)
            codes.push_back(incident.at.utcMs);
    for (const auto* fact : reference.all<acts::ControlRun>(known))
        if (const auto& run = Reference::runAt(*fact, known);
            run.meter.value == meter && std::holds_alternative<ErrorCode>(run.result) && run.at.utcMs <= at)
            codes.push_back(run.at.utcMs);
    std::ranges::sort(codes);
    for (std::size_t i = 2; i < codes.size(); ++i)
        if (codes[i] - codes[i - 2] < kDay)
            return true;
    return false;
}

} // namespace

Expected Reference::expect(const std::string& meter, std::int64_t at, std::int64_t known) const
{
    Expected expected;
    expected.state = stateAt(meter, at, known);
    expected.may = { "look-back-open", "not-in-service", "drift", "clock-suspect" };
    for (const auto* fact : all<acts::MeterEnrolled>(known)) {
        if (as<acts::MeterEnrolled>(*fact).meter.value != meter)
            continue;
        for (const auto* model : all<acts::ModelAdded>(known))
            if (as<acts::ModelAdded>(*model).model == as<acts::MeterEnrolled>(*fact).model
                && as<acts::ModelAdded>(*model).sharedUse != YesNo::Yes)
                expected.must.insert("not-for-shared-use");
    }
    const auto sets = this->sets(meter, at, known);
    if (!sets.empty()) {
        const Judged& newest = sets.back();
        if (newest.verdict == Verdict::Rejected)
            expected.must.insert("control-rejected");
        if (newest.verdict == Verdict::Partial)
            expected.must.insert("set-partial");
        if (newest.verdict == Verdict::Rejected || newest.verdict == Verdict::Invalid)
            expected.may.insert("set-partial"); // a level may lack beside it
        if (!newest.causes.empty()) {
            expected.must.insert("run-invalid");
            expected.listed.insert(newest.causes.begin(), newest.causes.end());
            expected.may.insert(newest.causes.begin(), newest.causes.end());
            expected.may.insert(
                { "no-strip-vial", "no-control-vial", "control-vial-ended", "strip-vial-not-open", "control-vial-not-open" });
        }
        expectMaterials(meter, newest, at, known, expected);
    }
    expectClearance(meter, at, known, expected);
    expectComparison(meter, at, known, expected);
    std::int64_t soiled = -1, cleaned = -1;
    for (const auto* fact : all<acts::IncidentReported>(known)) {
        const auto& incident = as<acts::IncidentReported>(*fact);
        if (incident.meter.value != meter || incident.at.utcMs > at)
            continue;
        if (incident.what == IncidentKind::Soiled)
            soiled = std::max(soiled, incident.at.utcMs);
        if (incident.what == IncidentKind::Cleaned)
            cleaned = std::max(cleaned, incident.at.utcMs);
    }
    if (errorCodesPileUp(*this, meter, at, known)) // also where the first of them is told last
        expected.may.insert("error-codes");
    if (soiled > cleaned)
        expected.must.insert("cleaning-overdue");
    if (noticeStandsOpen(meter, at, known)) // said in every state (17.20)
        expected.must.insert("field-notice");
    if (const auto stops = m_stops.find(meter); stops != m_stops.end())
        for (const auto& stop : stops->second) {
            if (stop.seq > known || stop.since > at || stop.code.empty())
                continue;
            const bool open = stop.ended > at || stop.endedSeq > known;
            const auto annulled = std::ranges::any_of(
                m_facts, [&](const Fact& fact) { return fact.seq == stop.because && fact.annulled <= known && fact.annulled != kNever; });
            if (stop.code == "found" || stop.code == "eqa-failed") // said by the state
                expected.may.insert(stop.code);
            else if (annulled || stop.code == "control-rejected" || stop.code == "comparison-failed" || stop.soft
                || (!open && stop.code == "error-codes"))
                expected.may.insert(stop.code);
            else if (open)
                expected.must.insert(stop.code);
        }
    return expected;
}

/// Does a notice name the meter that nobody has closed, with nothing done about this one?
bool Reference::noticeStandsOpen(const std::string& meter, std::int64_t at, std::int64_t known) const
{
    std::string model;
    for (const auto* fact : all<acts::MeterEnrolled>(known))
        if (as<acts::MeterEnrolled>(*fact).meter.value == meter)
            model = as<acts::MeterEnrolled>(*fact).model.value;
    return std::ranges::any_of(all<acts::NoticeIssued>(known), [&](const Fact* fact) {
        const auto& notice = as<acts::NoticeIssued>(*fact);
        const bool closed = std::ranges::any_of(all<acts::NoticeClosed>(known),
            [&](const Fact* end) { return as<acts::NoticeClosed>(*end).notice == notice.notice && end->told <= at; });
        const bool done = std::ranges::any_of(all<acts::NoticeItemDone>(known), [&](const Fact* item) {
            const auto& act = as<acts::NoticeItemDone>(*item);
            return act.notice == notice.notice && act.item == meter && act.at.utcMs <= at;
        });
        return notice.model && notice.model->value == model && !notice.lot && fact->told <= at && !closed && !done;
    });
}

/// An accepted set in time, on materials nobody has called back, after everything that cancels it (1.5, 4.1, "What counts as missing").
void Reference::expectClearance(const std::string& meter, std::int64_t at, std::int64_t known, Expected& expected) const
{
    const auto all = sets(meter, at, known);
    std::vector<Judged> good, inTime;
    std::ranges::copy_if(all, std::back_inserter(good), &Judged::good);
    std::ranges::copy_if(good, std::back_inserter(inTime), [&](const Judged& set) { return at < set.last + kDay; });
    if (inTime.empty()) {
        expected.oneOf.push_back(kNoControl);
        if (!good.empty() && good.back().last + kDay <= at)
            expected.oneOf.back() = { "control-overdue" };
    }
    const Judged* newest = clearing(good, at, known);
    if (const auto renewals = m_renewals.find(meter); renewals != m_renewals.end())
        for (const auto& renewal : renewals->second)
            if (newest && renewal.seq <= known && renewal.at <= at && renewal.at > newest->first) {
                if (renewal.must && expected.state == S::InService)
                    expected.oneOf.push_back(kNoControl);
                else
                    expected.may.insert(kNoControl.begin(), kNoControl.end());
            }
    if (const auto transfers = m_transfers.find(meter); transfers != m_transfers.end())
        for (const auto& transfer : transfers->second)
            if (transfer.seq <= known && transfer.at <= at && (newest == nullptr || newest->clears < transfer.at))
                expected.must.insert("transferred");
    for (const auto* fact : this->all<acts::IncidentReported>(known)) {
        const auto& incident = as<acts::IncidentReported>(*fact);
        const auto rule = eventRule(incident.what);
        if (incident.meter.value != meter || !rule || incident.at.utcMs > at || incident.what == IncidentKind::FieldNotice)
            continue;
        if (newest == nullptr || newest->clears <= incident.at.utcMs)
            expected.must.insert(rule->code);
    }
    // Cleared only by what was called back: cleared no more (2.9, S37).
    if (!inTime.empty() && std::ranges::all_of(inTime, [&](const Judged& set) { return calledBack(set, at, known); }))
        expected.must.insert("lot-quarantined");
    else if (inTime.empty() && !good.empty() && calledBack(good.back(), at, known))
        expected.may.insert("lot-quarantined");
}

/// Strips of the newest set that may no longer be used; the pages leave open how it is called while another vial stands open.
void Reference::expectMaterials(
    const std::string& meter, const Judged& newest, std::int64_t at, std::int64_t known, Expected& expected) const
{
    if (vialUsable(newest.stripVial, at, known))
        return;
    const std::set<std::string> strips { "strip-expired", "strip-vial-expired", "no-strip-vial", "lot-quarantined", "lot-not-released" };
    expected.may.insert(strips.begin(), strips.end());
    bool other = false;
    for (const auto* fact : all<acts::StripVialOpened>(known))
        other = other
            || (suits(as<acts::StripVialOpened>(*fact).vial.value, meter)
                && vialUsable(as<acts::StripVialOpened>(*fact).vial.value, at, known));
    if (!other)
        expected.oneOf.push_back(strips);
}

void Reference::expectComparison(const std::string& meter, std::int64_t at, std::int64_t known, Expected& expected) const
{
    struct Pair {
        std::int64_t at;
        bool inside;
    };
    std::vector<Pair> pairs;
    for (const auto* fact : all<acts::ComparisonRecorded>(known)) {
        const auto& pair = as<acts::ComparisonRecorded>(*fact);
        const auto both = std::max(pair.meterAt, pair.labAt).utcMs;
        const bool apart = std::abs(pair.meterAt.utcMs - pair.labAt.utcMs) > 15 * kMinute;
        const bool blood = pair.haematocrit && (pair.haematocrit->toDouble() < 20 || pair.haematocrit->toDouble() > 65);
        if (pair.meter.value != meter || both > at || apart || blood)
            continue;
        const double lab = std::get<base::Decimal>(pair.labResult).toDouble(), shown = std::get<base::Decimal>(pair.meterResult).toDouble();
        pairs.push_back({ both, std::abs(shown - lab) <= (lab < 75 ? 12 : lab * 0.12) });
    }
    std::ranges::stable_sort(pairs, {}, &Pair::at);
    std::int64_t anchor = 0;
    for (const auto* fact : all<acts::MeterEnrolled>(known))
        if (as<acts::MeterEnrolled>(*fact).meter.value == meter)
            anchor = as<acts::MeterEnrolled>(*fact).enrolled.utcMs;
    for (const auto& pair : pairs)
        if (pair.inside)
            anchor = std::max(anchor, pair.at);
    const base::WallTime wall = base::wallOf(m_zone.at(anchor));
    if (at >= m_zone.resolve({ base::addMonths(wall.date, 6), wall.millisecondOfDay }).first.utcMs)
        expected.must.insert("comparison-overdue");
    if (!pairs.empty() && !pairs.back().inside)
        expected.must.insert("comparison-failed");
    const auto n = pairs.size();
    if (n >= 2 && !pairs[n - 1].inside && !pairs[n - 2].inside
        && m_zone.dateOf(m_zone.at(pairs[n - 1].at)) == m_zone.dateOf(m_zone.at(pairs[n - 2].at)))
        expected.listed.insert("outside-twice");
}

} // namespace mk::model
