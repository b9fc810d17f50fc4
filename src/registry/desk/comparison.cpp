// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/comparison.h"

#include "base/unread.h"
#include "registry/comparison/comparison.h"
#include "registry/desk/known.h"
#include "registry/desk/lookbacks.h"
#include "registry/desk/stops.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// The comparison that a pair belongs to, if it lies outside and the one before it did.
const Comparison* outAgain(const std::vector<Comparison>& all, const acts::ComparisonRecorded& pair)
{
    const auto own = std::ranges::find_if(all, [&](const Comparison& each) {
        return std::ranges::any_of(each.pairs, [&](const PairRecord& p) { return p.pair.pair == pair.pair; });
    });
    const bool twice = own != all.end() && own != all.begin() && own->judged.outcome == PairOutcome::Outside
        && std::prev(own)->judged.outcome == PairOutcome::Outside;
    return twice ? &*own : nullptr;
}

/// One withdrawal a round, however many of its pairs lie outside.
bool withdrawnSince(const std::vector<StopRecord>& open, Moment since)
{
    return std::ranges::any_of(open, [&](const StopRecord& each) {
        return each.stop.withdrawn && each.stop.cause == code(ReasonCode::ComparisonFailed) && each.stop.at >= since;
    });
}

} // namespace

Done admit(const Desk& desk, const acts::ComparisonRecorded& a)
{
    if (const Done known = needMeterAndPerson(desk, a.meter, a.by); !known || !a.stripVial)
        return known;
    const auto vial = needStripVial(desk, *a.stripVial);
    return vial ? Done() : Done(vial.error());
}

Done follow(const Desk& desk, Seq, const acts::ComparisonRecorded& pair)
{
    const auto model = modelOfMeter(desk, pair.meter);
    const auto earlier = desk.facts.pairs(pair.meter);
    if (!model || !earlier)
        return base::unread("the comparisons of '%1' cannot be read; run verify", pair.meter.value, model, earlier);
    const Moment knownAt = std::max(pair.meterAt, pair.labAt);
    const acts::PairJudged judged = judgePair(pair, *model, desk.facts.policyAt(knownAt));
    const auto verdict = desk.enter(judged);
    if (!verdict)
        return verdict.error();
    if (judged.outcome == PairOutcome::Excluded)
        return {};
    auto pairs = *earlier;
    std::erase_if(pairs, [&](const PairRecord& other) { return other.pair.pair == pair.pair || other.judged.at > knownAt; });
    pairs.push_back({ *verdict, pair, judged });
    const auto all = comparisonsOf(pairs, knownAt, [&](Moment at) -> const Policy& { return desk.facts.policyAt(at); });
    const Comparison* own = outAgain(all, pair);
    if (own == nullptr)
        return {};
    if (pair.round) {
        const auto open = openStops(desk, pair.meter);
        if (!open)
            return open.error();
        if (withdrawnSince(*open, *own->judged.firstAt))
            return {};
    }
    // Out again after the repeat: withdrawn (handbook 5.6).
    const Moment at = desk.effective(knownAt);
    const auto stopped = stop(desk, pair.meter, at, { ReasonCode::ComparisonFailed, *verdict, true });
    if (!stopped || !*stopped)
        return stopped ? Done() : Done(stopped.error());
    const auto inside = std::find_if(
        all.rbegin(), all.rend(), [](const Comparison& each) { return each.judged.outcome == PairOutcome::Inside; });
    return lookBackOnComparison(
        desk, pair.meter, at, **stopped, inside == all.rend() ? std::nullopt : std::optional(inside->judged.lastAt));
}

} // namespace mk::registry::desk
