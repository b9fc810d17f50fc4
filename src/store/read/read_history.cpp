// SPDX-License-Identifier: GPL-3.0-or-later
// Everything that a meter's fitness at one moment rests on.
#include "registry/comparison/comparison.h"
#include "registry/meter/fitness.h"
#include "registry/meter/lookback.h"
#include "registry/meter/meter_life.h"
#include "registry/meter/climbs.h"
#include "registry/meter/new_material.h"
#include "store/read/read_quality.h"
#include "store/read/reader.h"
#include "store/db/rows.h"
#include "store/index/rows/index_rows.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

constexpr std::int64_t kHourMs = 3'600'000;

Fault unreadable(const char* what)
{
    return base::fault(FaultKind::Damaged, "an index row of %1 cannot be read; run verify", what);
}

} // namespace

Done Reader::historyOfSets(MeterHistory& history, Moment at)
{
    const base::MeterId& meter = history.meter.act.meter;
    auto newest = newestSets(meter, at, 8);
    if (!newest)
        return newest.error();
    if (!newest->empty())
        history.newestSet = newest->front();
    const auto take = [&](const SetRecord& set) {
        if (!history.newestAccepted && isAccepted(set) && set.judged.lastAt <= at)
            history.newestAccepted = set;
        if (!history.newestCounted && set.judged.drift.counted && set.judged.lastAt <= at)
            history.newestCounted = set;
    };
    for (const auto& set : *newest)
        take(set);
    // Further back only where the last few do not answer.
    if (!history.newestAccepted) {
        auto found = newestAcceptedSet(meter, at);
        if (!found)
            return found.error();
        history.newestAccepted = std::move(found).value();
    }
    if (!history.newestCounted) {
        auto found = newestCountedSet(meter, at);
        if (!found)
            return found.error();
        history.newestCounted = std::move(found).value();
    }
    // Error codes of runs, from the sets of the policy's time span.
    const Policy& policy = policyAt(at);
    for (const auto& set : *newest)
        for (const auto& run : set.runs)
            if (std::holds_alternative<ErrorCode>(run.run.result) && run.run.at <= at
                && run.run.at.utcMs > at.utcMs - policy.errorCodeHours * kHourMs)
                history.errorCodes.push_back(run.run.at);
    return {};
}

Done Reader::historyOfStripVial(MeterHistory& history, Moment at)
{
    if (!history.newestSet)
        return {};
    const auto& runs = history.newestSet->runs; // the set may have gone on after that moment
    const auto newest = std::find_if(runs.rbegin(), runs.rend(), [&](const RunRecord& run) { return run.run.at <= at; });
    if (newest == runs.rend())
        return {};
    const auto vial = stripVial(newest->run.stripVial);
    if (!vial)
        return vial.error();
    if (*vial == nullptr)
        return {};
    history.stripVial = **vial;
    const auto lot = stripLot((*vial)->vial.lot);
    if (!lot)
        return lot.error();
    if (*lot != nullptr)
        history.stripLot = **lot;
    return {};
}

Result<MeterHistory> Reader::history(const MeterRecord& meter, Moment at)
{
    MeterHistory history;
    history.meter = meter;
    const base::MeterId& id = meter.act.meter;
    const auto itsModel = model(meter.act.model);
    auto ward = wardAt(id, at);
    auto state = stateAt(id, at);
    auto allStops = stops(id);
    auto allIncidents = incidents(id);
    auto countingPairs = pairsThatCount(id, at);
    auto allLookbacks = lookbacks(id);
    if (!itsModel || !ward || !state || !allStops || !allIncidents || !countingPairs || !allLookbacks)
        return unreadable("a meter");
    if (*itsModel != nullptr)
        history.model = **itsModel;
    history.ward = std::move(ward).value();
    history.state = *state;
    for (const auto& stop : *allStops)
        if (stop.stop.at <= at && (!stop.endedAt || *stop.endedAt > at))
            history.openStops.push_back(stop);
    if (const Done done = historyOfSets(history, at); !done)
        return done.error();
    if (const Done done = historyOfClearance(history, at); !done)
        return done.error();
    if (const Done done = historyOfStripVial(history, at); !done)
        return done.error();

    if (const Done done = addOpenMaterial(*this, history, policyAt(at), at); !done)
        return done.error();
    if (const Done done = historyOfMovements(history, at); !done)
        return done.error();

    const Policy& policy = policyAt(at);
    addIncidents(history, *allIncidents, at, policy);
    auto comparisons = comparisonsOf(*countingPairs, at, [&](Moment when) -> const Policy& { return policyAt(when); });
    for (const auto& comparison : comparisons) {
        history.newestPair = standingPair(comparison);
        if (comparison.judged.outcome == PairOutcome::Inside)
            history.newestPassedPair = history.newestPair;
    }
    if (!comparisons.empty() && comparisons.back().pairs.front().pair.round)
        history.newestRound = comparisons.back().judged;
    if (const Done done = historyOfQuality(*this, history, at); !done)
        return done.error();
    static const Select<ClockNoticeRow> newestNotice("WHERE seq <= :known AND now_at <= :at ORDER BY seq DESC LIMIT 1");
    const auto notices = readRows(*m_session, newestNotice, asKnown({ { "at", bound(at.utcMs) } }), m_zone);
    if (!notices)
        return notices.error();
    if (!notices->empty() && notices->front().direction == "forward")
        history.clockLeapt = notices->front().seq;
    for (const auto& lookback : *allLookbacks)
        if (lookback.lookback.at <= at && !registry::asItStood(lookback, at).closedBy)
            history.openLookbacks.push_back(lookback);
    if (const Done done = historyOfLadder(*this, history, at); !done)
        return done.error();
    return history;
}

} // namespace mk::store
