// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/quality_output.h"

#include "cli/board_output.h"
#include "registry/comparison/calibration.h"
#include "registry/comparison/comparison.h"
#include "registry/comparison/eqa.h"
#include "registry/lots/lot_effect.h"
#include "words/reasons.h"

namespace mk::cli {

using namespace registry;

namespace {

void writeRounds(JsonWriter& json, const store::Reader& reader, const std::vector<PairRecord>& pairs, base::Moment at)
{
    json.key("comparison_rounds").beginArray();
    for (const auto& comparison : comparisonsOf(pairs, at, [&](base::Moment when) -> const Policy& { return reader.policyAt(when); })) {
        const RoundJudged& round = comparison.judged;
        if (round.round.empty())
            continue;
        json.beginObject().key("round").value(round.round).key("outcome").value(word(round.outcome)).key("from");
        writeMoment(json, *round.firstAt, reader.zone());
        json.key("to");
        writeMoment(json, *round.lastAt, reader.zone());
        json.key("used")
            .value(round.used)
            .key("excluded")
            .value(round.excluded)
            .key("unit")
            .value(base::toText(comparison.pairs.front().pair.unit));
        json.key("mean_difference").value(round.meanDifference).key("mean_percent").value(round.meanPercent).key("sd").value(round.sd);
        json.key("lower").value(round.lower).key("upper").value(round.upper).key("bias_beyond_half_limit").value(round.biasBeyondHalfLimit);
        json.key("worst_pair").value(comparison.pairs[*round.worst].pair.pair.value).key("tiers").beginArray();
        for (const auto& tier : round.tiers)
            json.beginObject()
                .key("tier")
                .value(tier.tier)
                .key("within")
                .value(tier.within)
                .key("of")
                .value(tier.of)
                .key("percent")
                .value(100.0 * static_cast<double>(tier.within) / static_cast<double>(tier.of))
                .key("needed")
                .value(tier.needed)
                .key("met")
                .value(tier.met())
                .endObject();
        json.endArray().key("pairs").beginArray();
        for (const auto& pair : comparison.pairs)
            json.value(pair.pair.pair.value);
        json.endArray().endObject();
    }
    json.endArray();
}

void writeCalibrations(JsonWriter& json, const store::Reader& reader, const std::vector<CalibrationRecord>& calibrations)
{
    json.key("calibrations").beginArray();
    for (const auto& each : calibrations) {
        json.beginObject().key("at");
        writeMoment(json, each.act.at, reader.zone());
        json.key("material")
            .value(each.act.material)
            .key("unit")
            .value(base::toText(each.act.unit))
            .key("passed")
            .value(each.passed)
            .key("points")
            .beginArray();
        for (const auto& point : judgeCalibration(each.act, reader.policyAt(each.act.at)).points)
            json.beginObject()
                .key("point")
                .value(point.name)
                .key("assigned")
                .value(point.assigned.typed())
                .key("result")
                .value(point.result.typed())
                .key("inside")
                .value(point.inside)
                .endObject();
        json.endArray().key("seq").value(each.seq.value).endObject();
    }
    json.endArray();
}

void writeEqa(JsonWriter& json, const Zone& zone, const std::vector<EqaSample>& samples, base::Moment at)
{
    const auto textOf = [](const std::optional<base::Decimal>& decimal) {
        return decimal ? std::optional(decimal->typed()) : std::nullopt;
    };
    json.key("eqa").beginArray();
    for (const auto& sample : samples) {
        const EqaJudged judged = judgeEqa(sample, at, zone);
        const acts::EqaReceived& received = sample.received.act;
        json.beginObject()
            .key("scheme")
            .value(received.scheme)
            .key("event")
            .value(received.event)
            .key("sample")
            .value(received.sample)
            .key("received");
        writeMoment(json, received.at, zone);
        json.key("condition").value(received.condition).key("storage").value(received.storage).key("due");
        writeMoment(json, received.due, zone);
        json.key("band").value(word(judged.band)).key("failed").value(judged.failed).key("z").value(judged.z);
        json.key("score").value(
            judged.failed && (judged.band == EqaBand::Missing || judged.band == EqaBand::Late) ? std::optional(0) : std::nullopt);
        if (sample.returned && sample.returned->act.at <= at) {
            const acts::EqaReturned& returned = sample.returned->act;
            json.key("result")
                .value(toText(returned.result))
                .key("unit")
                .value(base::toText(returned.unit))
                .key("operator")
                .value(returned.by.value);
            json.key("strip_vial").value(returned.stripVial.value).key("attested").value(word(returned.attested)).key("submitted");
            writeMoment(json, returned.submittedAt.value_or(returned.at), zone);
        }
        if (sample.scored && sample.scored->act.at <= at) {
            const acts::EqaScored& scored = sample.scored->act;
            json.key("assigned").value(textOf(scored.assigned)).key("sd").value(textOf(scored.sd)).key("peers").value(scored.peers);
            json.key("cause").value(scored.cause).key("action").value(scored.action).key("reviewed_by").value(scored.reviewedBy);
        }
        json.key("seq").value(sample.received.seq.value).endObject();
    }
    json.endArray();
}

std::string_view findingWord(stats::DeviationFinding finding)
{
    static constexpr std::string_view kWords[] = { "none", "meter", "lot", "both", "undecided" };
    return kWords[static_cast<std::size_t>(finding)];
}

void writeMeterOrLot(JsonWriter& json, const std::vector<DriftCompany>& company, const Policy& policy)
{
    json.key("meter_or_lot");
    if (company.empty()) {
        json.null();
        return;
    }
    const LotEffect effect = lotEffectOf(company, policy);
    json.beginObject()
        .key("finding")
        .value(findingWord(effect.finding))
        .key("text")
        .value(words::lotEffectSaid(effect).toStdString())
        .key("levels")
        .beginArray();
    for (const auto& level : company)
        json.beginObject()
            .key("level")
            .value(word(level.level))
            .key("strip_lot")
            .value(level.stripLot.value)
            .key("n")
            .value(level.own.n)
            .key("mean_z")
            .value(level.own.meanZ)
            .key("other_meters")
            .value(level.others.size())
            .endObject();
    json.endArray().endObject();
}

} // namespace

void writeQuality(
    JsonWriter& json, store::Reader& reader, const store::BoardRow& row, const std::vector<PairRecord>& pairs, base::Moment at)
{
    writeRounds(json, reader, pairs, at);
    writeCalibrations(json, reader, row.history.calibrations);
    writeEqa(json, reader.zone(), row.history.eqa, at);
    writeMeterOrLot(json, row.history.driftCompany, reader.policyAt(at));
}

} // namespace mk::cli
