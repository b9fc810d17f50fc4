// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/lot_records.h"

#include "registry/lots/expiry.h"
#include "registry/meter/fitness.h"
#include "store/db/rows.h"
#include "store/index/rows/control_rows.h"

#include <algorithm>
#include <set>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// which  of the runs `r` with their verdicts `v`
std::string tracedRunsSql(std::string_view which)
{
    return "SELECT r.run_seq, r.set_id, r.meter, r.at, r.level, r.result, r.strip_vial, r.control_vial, v.strip_lot, v.control_lot, v.valid,"
           " v.invalid_because, v.verdict FROM control_run r JOIN run_verdict v ON v.set_id = r.set_id AND v.run_seq = r.run_seq AND "
        + known("v") + " WHERE " + known("r") + " AND " + std::string(which);
}

Result<std::vector<TracedRun>> tracedRuns(Reader& reader, const Sql& sql, Values values)
{
    std::vector<TracedRun> runs;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(std::move(values)), [&](const Statement& row) -> Done {
        TracedRun run;
        run.seq = { row.number("run_seq") };
        run.set = base::SetId(row.text("set_id"));
        run.meter = base::MeterId(row.text("meter"));
        run.at = momentFrom(row.text("at"));
        if (const Done level = wordFrom(row.text("level"), run.level); !level)
            return level;
        if (auto result = parseReading(row.text("result")))
            run.result = std::move(result).value();
        run.stripVial = row.text("strip_vial");
        run.controlVial = row.text("control_vial");
        run.stripLot = row.text("strip_lot");
        run.controlLot = row.text("control_lot");
        run.valid = row.number("valid") != 0;
        run.invalidBecause = splitLines(row.text("invalid_because"));
        runs.push_back(std::move(run));
        return wordFrom(row.text("verdict"), runs.back().verdict);
    });
    if (!read)
        return read.error();
    std::ranges::sort(runs, {}, &TracedRun::seq);
    return runs;
}

} // namespace

Result<std::vector<TracedRun>> runsOfLot(Reader& reader, const std::string& lot)
{
    static const Sql sql({ ControlRunRow::table, RunVerdictRow::table }, tracedRunsSql("(v.strip_lot = :lot OR v.control_lot = :lot)"));
    return tracedRuns(reader, sql, { { "lot", bound(lot) } });
}

Result<std::vector<TracedRun>> runsOfVial(Reader& reader, const std::string& vial)
{
    static const Sql sql({ ControlRunRow::table, RunVerdictRow::table }, tracedRunsSql("(r.strip_vial = :vial OR r.control_vial = :vial)"));
    return tracedRuns(reader, sql, { { "vial", bound(vial) } });
}

Result<std::vector<TracedRun>> runsOfMeter(Reader& reader, const base::MeterId& meter)
{
    static const Sql sql({ ControlRunRow::table, RunVerdictRow::table }, tracedRunsSql("r.meter = :meter"));
    return tracedRuns(reader, sql, { { "meter", bound(meter.value) } });
}

Result<std::vector<TracedRun>> runsOnAllLots(Reader& reader)
{
    static const Sql sql({ ControlRunRow::table, RunVerdictRow::table }, tracedRunsSql("v.strip_lot <> '' AND v.control_lot <> ''"));
    return tracedRuns(reader, sql, {});
}

std::map<base::MeterId, Use> usesByMeter(const std::vector<TracedRun>& runs)
{
    std::map<base::MeterId, Use> uses;
    for (const auto& run : runs) {
        auto& use = uses.try_emplace(run.meter, Use { run.at, run.at }).first->second;
        use.first = std::min(use.first, run.at);
        use.last = std::max(use.last, run.at);
        ++use.runs;
    }
    return uses;
}

Result<std::vector<std::string>> comparisonsOn(Reader& reader, const std::vector<std::string>& stripVials)
{
    static const Sql sql({ ComparisonRow::table },
        "SELECT pair, strip_vial FROM comparison WHERE strip_vial IS NOT NULL AND " + known() + " ORDER BY known_at, pair");
    std::vector<std::string> pairs;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(), [&](const Statement& row) {
        if (std::ranges::find(stripVials, row.text("strip_vial")) != stripVials.end())
            pairs.push_back(row.text("pair"));
        return Done();
    });
    if (!read)
        return read.error();
    return pairs;
}

Result<std::vector<std::string>> eqaOn(Reader& reader, const std::vector<std::string>& stripVials)
{
    const auto results = reader.facts<acts::EqaReturned>();
    if (!results)
        return results.error();
    std::vector<std::string> events;
    for (const auto& each : *results)
        if (std::ranges::find(stripVials, each.act.stripVial.value) != stripVials.end())
            events.push_back(subjectOf(each.act));
    return events;
}

Result<std::vector<base::MeterId>> clearedOnlyBy(Reader& reader, const std::vector<TracedRun>& runs, Moment at)
{
    std::set<base::SetId> touched;
    std::set<base::MeterId> meters;
    for (const auto& run : runs) {
        touched.insert(run.set);
        meters.insert(run.meter);
    }
    const Policy& policy = reader.policyAt(at);
    std::vector<base::MeterId> only;
    for (const auto& meter : meters) {
        const auto sets = reader.newestSets(meter, at, 50);
        if (!sets)
            return sets.error();
        bool any = false, other = false;
        for (const auto& set : *sets) {
            const bool accepted = isAccepted(set.judged.verdict);
            if (!accepted || set.judged.lastAt > at || clearedUntil(set, policy, reader.zone()) <= at)
                continue;
            any = true;
            other = other || !touched.contains(set.judged.set);
        }
        if (any && !other)
            only.push_back(meter);
    }
    return only;
}

Result<std::vector<TracedRun>> runsInExcursion(Reader& reader, const acts::ExcursionReported& excursion)
{
    const auto vials = vialsInExcursion(reader, excursion, excursion.to);
    if (!vials)
        return vials.error();
    std::vector<TracedRun> inside;
    for (const auto& vial : *vials) {
        auto runs = runsOfVial(reader, vial.vial);
        if (!runs)
            return runs.error();
        for (auto& run : *runs)
            if (excursion.from <= run.at && run.at <= excursion.to && std::ranges::find(inside, run.seq, &TracedRun::seq) == inside.end())
                inside.push_back(std::move(run));
    }
    std::ranges::sort(inside, {}, &TracedRun::seq);
    return inside;
}

Result<StockFigures> stockOf(Reader& reader, const std::optional<base::WardId>& ward, Moment at)
{
    const auto lots = reader.lotIds();
    if (!lots)
        return lots.error();
    const Policy& policy = reader.policyAt(at);
    const base::Date soon = base::addDays(reader.zone().dateOf(at), policy.stockDays);
    StockFigures stock;
    for (const auto& id : *lots) {
        auto lot = traceLot(reader, id, at);
        if (!lot)
            return lot.error();
        for (const auto& vial : lot->vials) {
            if (ward && vial.ward && *vial.ward != *ward)
                continue;
            if (vial.state == VialState::Open && vial.lastDay && *vial.lastDay <= soon)
                stock.expiringSoon.push_back(vial);
            else if (vial.state == VialState::Expired)
                stock.expiredOpen.push_back(vial);
            else if (vial.state == VialState::FoundOpen)
                stock.undated.push_back(vial);
        }
        if (lot->state == LotState::Exhausted || lot->state == LotState::Expired || lot->state == LotState::Rejected)
            continue;
        if (lot->expiry() && lot->expiry()->lastDay <= soon)
            stock.lotsExpiringSoon.push_back(id);
        if (lot->unopened && *lot->unopened <= policy.stockVials)
            stock.lotsRunningLow.push_back(id);
        stock.lots.push_back(std::move(lot).value());
    }
    return stock;
}

} // namespace mk::store
