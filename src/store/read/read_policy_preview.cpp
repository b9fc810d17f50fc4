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

/// As the registrar gathers it when it judges.
Result<RunContext> previewContext(
    Reader& reader, const acts::ControlRun& run, const ModelRecord* model, const std::vector<StateSpell>& states)
{
    RunContext context;
    context.model = model;
    context.state = MeterState::Received;
    for (const auto& spell : states)
        if (spell.since <= run.at)
            context.state = spell.state;
    const auto person = reader.person(run.by);
    const auto stripVial = reader.stripVial(run.stripVial);
    const auto controlVial = reader.controlVial(run.controlVial);
    if (!person || !stripVial || !controlVial)
        return unread("what run '" + run.set.value + "' names", person, stripVial, controlVial);
    context.person = *person;
    context.stripVial = *stripVial;
    context.controlVial = *controlVial;
    if (context.stripVial == nullptr || context.controlVial == nullptr)
        return context;
    const auto stripLot = reader.stripLot(context.stripVial->vial.lot);
    const auto controlLot = reader.controlLot(context.controlVial->vial.lot);
    const auto range = reader.range(context.stripVial->vial.lot, context.controlVial->vial.lot, run.level, run.at);
    if (!stripLot || !controlLot || !range)
        return unread("the lots of run '" + run.set.value + "'", stripLot, controlLot, range);
    context.stripLot = *stripLot;
    context.controlLot = *controlLot;
    context.range = *range;
    return context;
}

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
        return unread("the file of '" + id.value + "'", model, states, stops, incidents, pairs, boundaries, sets, calibrations, wards);
    if (*model != nullptr)
        meter.model = **model;
    meter.states = std::move(states).value();
    meter.stops = std::move(stops).value();
    meter.incidents = std::move(incidents).value();
    meter.pairs = std::move(pairs).value();
    meter.boundaries = std::move(boundaries).value();
    for (const auto& each : *calibrations)
        meter.calibrations.push_back({ each.seq, each.act, judgeCalibration(each.act, reader.policyAt(each.act.at)).passed });
    for (auto& spell : *wards)
        meter.wards.emplace_back(spell.since, std::move(spell.ward));
    for (auto& set : *sets) {
        PreviewSet each { std::move(set), {} };
        for (const auto& run : each.recorded.runs) {
            auto context = previewContext(reader, run.run, *model, meter.states);
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
            return Fault { FaultKind::NotFound, "no ward is called '" + ward->value + "'; see the wards of this registry on the board" };
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
