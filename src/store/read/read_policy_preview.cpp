// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_policy_preview.h"

#include "registry/comparison/calibration.h"
#include "store/db/rows.h"

#include <algorithm>

namespace mk::store {

using namespace registry;
using base::Done;
using base::Fault;
using base::FaultKind;
using base::Moment;
using base::Result;

namespace {

constexpr Moment kBeginning { std::numeric_limits<std::int64_t>::min() / 2, 0 };
constexpr Moment kEnd { std::numeric_limits<std::int64_t>::max() / 2, 0 };

Result<PreviewMeter> previewMeter(Reader& reader, const MeterRecord& record)
{
    PreviewMeter meter;
    meter.meter = record;
    const base::MeterId& id = record.act.meter;
    const auto model = reader.model(record.act.model);
    auto states = reader.states(id);
    auto stops = reader.stops(id);
    auto incidents = reader.incidents(id);
    auto pairs = reader.pairs(id);
    auto boundaries = reader.boundaries(id);
    auto sets = reader.sets(id, kBeginning, kEnd);
    auto calibrations = reader.facts<acts::CalibrationVerified>(id.value);
    auto wards = reader.wardSpells(id, kEnd);
    if (!model || !states || !stops || !incidents || !pairs || !boundaries || !sets || !calibrations || !wards)
        return unread("the file of '%1' cannot be read; run verify", id.value, model, states, stops, incidents, pairs, boundaries, sets,
            calibrations, wards);
    if (*model != nullptr)
        meter.model = **model;
    meter.states = std::move(states).value();
    meter.stops = std::move(stops).value();
    meter.incidents = std::move(incidents).value();
    meter.pairs = std::move(pairs).value();
    meter.boundaries = std::move(boundaries).value();
    for (const auto& each : *calibrations)
        meter.calibrations.push_back({ each.seq, each.act, judgeCalibration(each.act, reader.policyAt(each.act.at)).passed });
    meter.wards = std::move(wards).value();
    for (auto& set : *sets) {
        PreviewSet each { std::move(set), {} };
        for (const auto& run : each.recorded.runs) {
            auto context = contextOf(reader, run.run, { stateIn(meter.states, run.run.at), run.seq });
            if (!context)
                return context.error();
            each.contexts.push_back(std::move(context).value());
        }
        meter.sets.push_back(std::move(each));
    }
    return meter;
}

Result<std::vector<PreviewVial>> previewVials(Reader& reader)
{
    static const Sql sql("SELECT DISTINCT vial FROM strip_vial WHERE " + known());
    std::vector<std::string> ids;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(), [&](const Statement& row) {
        ids.push_back(row.text("vial"));
        return Done();
    });
    if (!read)
        return read.error();
    std::vector<PreviewVial> vials;
    for (const auto& id : ids) {
        const auto vial = reader.stripVial(base::StripVialId(id));
        if (!vial)
            return vial.error();
        if (*vial == nullptr)
            continue;
        const auto lot = reader.stripLot((*vial)->vial.lot);
        if (!lot)
            return lot.error();
        vials.push_back({ *vial, *lot });
    }
    return vials;
}

} // namespace

Result<std::vector<PreviewOfMeter>> previewOf(
    Reader& reader, const Policy& candidate, const PreviewPeriod& period, const std::optional<base::WardId>& ward)
{
    if (ward) {
        const auto known = reader.hasWard(*ward);
        if (!known)
            return known.error();
        if (!*known)
            return base::fault(FaultKind::NotFound, "no ward is called '%1'; see the wards of this registry on the board", ward->value);
    }
    const auto meters = reader.meters();
    auto vials = previewVials(reader);
    if (!meters || !vials)
        return meters ? vials.error() : meters.error();
    const auto inForce = [&reader](Moment at) -> const Policy& { return reader.policyAt(at); };
    std::vector<PreviewOfMeter> previews;
    for (const auto& record : *meters) {
        if (record.act.enrolled > period.now)
            continue;
        const auto at = reader.wardAt(record.act.meter, period.now);
        if (!at)
            return at.error();
        if (ward && *at != *ward)
            continue;
        const auto meter = previewMeter(reader, record);
        if (!meter)
            return meter.error();
        previews.push_back(previewPolicy(*meter, *vials, candidate, inForce, period, reader.zone()));
    }
    return previews;
}

} // namespace mk::store
