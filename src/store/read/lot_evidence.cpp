// SPDX-License-Identifier: GPL-3.0-or-later
// What limits the results on a lot propose.
#include "store/db/rows.h"
#include "store/index/rows/lot_rows.h"
#include "store/read/lot_records.h"

#include "registry/control/usual_drift.h"
#include "registry/terms/reason.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Moment;
using base::Result;

namespace {

/// The established limits of the level that were signed last for other lots of the same model and unit.
Result<std::optional<FormerLimits>> formerLimits(Reader& reader, const LimitProposal& about, Moment at)
{
    static const Select<AssignedRangeRow> sql(
        "WHERE level = :level AND stage = 'established' AND meter IS NULL AND " + known() + " ORDER BY from_seq");
    const auto ranges = readRecords(
        reader.session(), sql, reader.asKnown({ { "level", ColumnForm<Level>::write(about.level) } }), reader.zone());
    const auto lot = reader.stripLot(about.stripLot);
    if (!ranges || !lot)
        return ranges ? lot.error() : ranges.error();
    std::optional<FormerLimits> former;
    std::optional<Moment> since;
    for (const auto& range : *ranges) {
        const auto& act = range.act;
        const bool other = act.stripLot != about.stripLot || act.controlLot != about.controlLot;
        const bool usable = act.mean && act.sd && act.mean->mantissa() > 0 && act.sd->mantissa() > 0
            && (!about.inForce || about.inForce->act.unit == act.unit);
        if (!other || !usable || (act.from && *act.from > at))
            continue;
        const auto itsLot = reader.stripLot(act.stripLot);
        if (!itsLot)
            return itsLot.error();
        if (*lot == nullptr || *itsLot == nullptr || (*lot)->lot.model != (*itsLot)->lot.model
            || (former && since && (!act.from || *act.from < *since)))
            continue;
        former = FormerLimits { act.stripLot, act.controlLot, *act.mean, *act.sd };
        since = act.from;
    }
    return former;
}

/// Why a meter's results lend no limits (handbook 6.5); empty where they do.
Result<std::string> leftOutBecause(Reader& reader, const base::MeterId& meter, Moment at)
{
    const auto newest = reader.newestCountedSet(meter, at);
    if (!newest)
        return newest.error();
    if (!*newest)
        return std::string();
    const auto& drift = (*newest)->judged.drift;
    if (drift.drifts())
        return std::string(code(ReasonCode::Drift));
    return drift.usual && standsApart(*drift.usual) ? std::string(code(ReasonCode::StandsApart)) : std::string();
}

} // namespace

Result<std::vector<LimitProposal>> limitProposals(Reader& reader, const LimitChoice& choice, Moment at)
{
    auto runs = choice.meter ? runsOfMeter(reader, *choice.meter)
        : choice.stripLot    ? runsOfLot(reader, choice.stripLot->value)
        : choice.controlLot  ? runsOfLot(reader, choice.controlLot->value)
                             : runsOnAllLots(reader);
    if (!runs)
        return runs.error();
    std::map<std::tuple<std::string, std::string, Level>, std::vector<LimitResult>> groups;
    std::map<base::MeterId, std::string> causes;
    for (const auto& run : *runs)
        if (!choice.withDrifting && !choice.meter && !causes.contains(run.meter)) {
            auto cause = leftOutBecause(reader, run.meter, at);
            if (!cause)
                return cause.error();
            causes.emplace(run.meter, std::move(cause).value());
        }
    for (const auto& run : *runs) {
        const bool wanted = !run.stripLot.empty() && !run.controlLot.empty() && run.at <= at
            && (!choice.stripLot || choice.stripLot->value == run.stripLot)
            && (!choice.controlLot || choice.controlLot->value == run.controlLot) && (!choice.level || *choice.level == run.level);
        if (!wanted)
            continue;
        LimitResult result { run.at, run.meter, run.result, run.valid, run.invalidBecause };
        const auto proven = choice.leftOut.find(run.seq);
        const std::string& moved = causes[run.meter];
        if (result.valid && (proven != choice.leftOut.end() || !moved.empty())) {
            result.valid = false;
            result.invalidBecause = { proven != choice.leftOut.end() ? proven->second : moved };
        }
        groups[{ run.stripLot, run.controlLot, run.level }].push_back(std::move(result));
    }
    std::vector<LimitProposal> proposals;
    for (const auto& [key, results] : groups) {
        LimitProposal about { base::StripLotId(std::get<0>(key)), base::ControlLotId(std::get<1>(key)), std::get<2>(key), choice.meter };
        const auto range = reader.range(about.stripLot, about.controlLot, about.level, at, choice.meter);
        if (!range)
            return range.error();
        if (*range != nullptr)
            about.inForce = **range;
        auto former = formerLimits(reader, about, at);
        if (!former)
            return former.error();
        about.former = std::move(former).value();
        proposals.push_back(proposeLimits(std::move(about), results, reader.zone()));
    }
    return proposals;
}

} // namespace mk::store
