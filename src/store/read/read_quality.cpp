// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_quality.h"

#include "registry/comparison/calibration.h"
#include "registry/facts/traces.h"
#include "registry/meter/nonconformities.h"
#include "registry/control/usual_drift.h"
#include "store/db/rows.h"
#include "store/index/rows/catalogue_rows.h"
#include "store/index/rows/control_rows.h"

#include <algorithm>
#include <map>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;

namespace {

/// Sums of one meter's counted results of one level.
struct DeviationSum {
    std::size_t n = 0;
    double sum = 0;
    DriftCompany::Deviation mean() const { return { n, sum / static_cast<double>(n) }; }
};

} // namespace

Result<std::vector<DriftCompany>> driftCompany(Reader& reader, const SetRecord& set, Moment at)
{
    // CROSS JOIN keeps SQLite to this order: a meter's sets of those days by the key, and never the whole history.
    static const Sql sql({ MeterRow::table, SetVerdictRow::table, RunVerdictRow::table },
        "SELECT s.meter, v.level, v.strip_lot, v.control_lot, v.z FROM meter m CROSS JOIN set_verdict s CROSS JOIN run_verdict v"
        " WHERE s.meter = m.meter AND v.set_id = s.set_id AND "
            + known("m") + " AND s.last_at >= :began AND s.last_at <= :at AND s.counted = 1 AND " + known("s") + " AND " + known("v")
            + " AND v.counted = 1 AND v.z IS NOT NULL");
    std::vector<DriftCompany> company;
    std::map<Level, std::map<std::string, DeviationSum>> sums;
    const Moment began = set.judged.drift.began.value_or(set.judged.lastAt);
    const Done read = eachRow(reader.session(), sql, reader.asKnown({ { "began", bound(began.utcMs) }, { "at", bound(at.utcMs) } }),
        [&](const Statement& row) -> Done {
            Level level {};
            if (const Done word = wordFrom(row.text("level"), level); !word)
                return word;
            const auto run = std::ranges::find_if(set.runs, [&](const RunRecord& r) { return r.judged.counted && r.run.level == level; });
            if (run == set.runs.end() || run->judged.stripLot.value != row.text("strip_lot")
                || run->judged.controlLot.value != row.text("control_lot"))
                return {};
            DeviationSum& sum = sums[level][row.text("meter")];
            ++sum.n;
            sum.sum += row.realOr("z").value_or(0);
            return {};
        });
    if (!read)
        return read.error();
    for (const auto& [level, meters] : sums) {
        const auto own = meters.find(set.judged.meter.value);
        if (own == meters.end())
            continue;
        const auto run = std::ranges::find_if(set.runs, [&](const RunRecord& r) { return r.judged.counted && r.run.level == level; });
        DriftCompany part { level, run->judged.stripLot, own->second.mean(), {} };
        for (const auto& [meter, sum] : meters)
            if (meter != set.judged.meter.value)
                part.others.push_back(sum.mean());
        company.push_back(std::move(part));
    }
    return company;
}

/// Is the strip lot of its newest set off, as the coordinator has not closed it? And was it repaired or accepted since it was told of?
Done historyOfUsual(Reader& reader, MeterHistory& history, Moment at)
{
    const base::MeterId& meter = history.meter.act.meter;
    if (history.newestSet && !history.newestSet->judged.runs.empty()) {
        const auto item = stoppedLotItem(reader, history.newestSet->judged.runs.back().stripLot, at);
        if (!item)
            return item.error();
        history.lotStopped = *item;
    }
    if (!history.newestCounted || !history.newestCounted->judged.drift.usual)
        return {};
    const acts::UsualFinding& usual = *history.newestCounted->judged.drift.usual;
    if (!usual.told && !standsApart(usual))
        return {};
    const auto boundaries = reader.boundaries(meter);
    if (!boundaries)
        return boundaries.error();
    const auto taken = reader.facts<acts::TakenAsItStands>(meter.value);
    if (!taken)
        return taken.error();
    std::vector<Moment> moments;
    for (const auto& boundary : *boundaries)
        moments.push_back(boundary.at);
    for (const auto& each : *taken)
        moments.push_back(each.act.at);
    for (const Moment moment : moments)
        if (moment <= at && (!history.usualEvent || moment > *history.usualEvent))
            history.usualEvent = moment;
    return {};
}

Done historyOfQuality(Reader& reader, MeterHistory& history, Moment at)
{
    const base::MeterId& meter = history.meter.act.meter;
    auto calibrations = reader.facts<acts::CalibrationVerified>(meter.value);
    auto samples = eqaSamples(reader, meter);
    const auto notices = registry::openNoticesOf(reader, history.meter.act, at);
    if (!calibrations || !samples || !notices)
        return !calibrations ? calibrations.error() : samples ? notices.error() : samples.error();
    for (const auto& each : *notices)
        history.openNotices.push_back(each.seq);
    for (const auto& each : *calibrations)
        if (each.act.at <= at)
            history.calibrations.push_back({ each.seq, each.act, judgeCalibration(each.act, reader.policyAt(each.act.at)).passed });
    std::ranges::stable_sort(history.calibrations, {}, [](const CalibrationRecord& each) { return each.act.at; });
    std::erase_if(*samples, [&](const EqaSample& each) { return each.received.act.at > at; });
    history.eqa = std::move(samples).value();
    if (const Done usual = historyOfUsual(reader, history, at); !usual)
        return usual;
    if (!history.newestCounted || history.newestCounted->judged.drift.flags.empty())
        return {};
    auto company = driftCompany(reader, *history.newestCounted, at);
    if (!company)
        return company.error();
    history.driftCompany = std::move(company).value();
    return {};
}

} // namespace mk::store
