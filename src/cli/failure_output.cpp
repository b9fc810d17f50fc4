// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/failure_output.h"

#include "cli/board_output.h"
#include "registry/meter/climbs.h"
#include "registry/meter/lookback.h"
#include "registry/meter/nonconformities.h"
#include "store/read/failure_patterns.h"
#include "base/unread.h"
#include "words/patterns.h"
#include "words/steps.h"

namespace mk::cli {

using namespace registry;
using base::Done;
using base::Moment;

namespace {

void writeMomentOr(JsonWriter& json, std::string_view key, const std::optional<Moment>& moment, const Zone& zone)
{
    json.key(key);
    if (moment)
        writeMoment(json, *moment, zone);
    else
        json.null();
}

std::optional<std::string> dateText(const std::optional<base::Date>& date)
{
    return date ? std::optional(base::toText(*date)) : std::nullopt;
}

template <typename T>
std::optional<std::string> wordText(const std::optional<T>& value)
{
    return value ? std::optional(std::string(word(*value))) : std::nullopt;
}

std::optional<std::string> countText(const std::optional<base::Decimal>& count)
{
    return count ? std::optional(count->typed()) : std::nullopt;
}

Done writeLookbacks(JsonWriter& json, store::Reader& reader, const std::vector<LookbackRecord>& lookbacks, Moment at)
{
    const Zone& zone = reader.zone();
    json.key("lookbacks").beginArray();
    for (const auto& known : lookbacks) {
        if (known.lookback.at > at)
            continue;
        const LookbackRecord each = registry::asItStood(known, at);
        const bool closed = each.closedBy.has_value();
        const auto closing = registry::closingOf(reader, each);
        if (!closing)
            return closing.error();
        json.beginObject();
        writeMomentOr(json, "from", each.lookback.from, zone);
        writeMomentOr(json, "to", each.lookback.to, zone);
        writeMomentOr(json, "alternative_from", each.lookback.alternativeFrom, zone);
        writeMomentOr(json, "used_until", each.lookback.usedUntil, zone);
        json.key("cause")
            .value(each.lookback.cause)
            .key("scope")
            .value(each.lookback.scope)
            .key("direction")
            .value(each.lookback.direction);
        json.key("because").value(each.lookback.because.value).key("open").value(!closed);
        json.key("decision").value(each.decision);
        const acts::LookbackClosed none {};
        const acts::LookbackClosed& end = *closing ? **closing : none;
        json.key("reviewed")
            .value(countText(end.reviewed))
            .key("doubtful")
            .value(countText(end.doubtful))
            .key("informed")
            .value(wordText(end.informed));
        writeMomentOr(json, "informed_at", end.informedAt, zone);
        writeMomentOr(json, "chosen_start", end.chosenStart, zone);
        json.key("why")
            .value(end.why)
            .key("judged_by")
            .value(end.judgedBy)
            .key("closed_by")
            .value(*closing ? std::optional(end.by.value) : std::nullopt);
        writeMomentOr(json, "closed_at", each.closedAt, zone);
        json.key("seq").value(each.seq.value).endObject();
    }
    json.endArray();
    return {};
}

void writeLadder(JsonWriter& json, const Ladder& ladder, const Zone& zone)
{
    json.key("ladder");
    if (ladder.step == 0) {
        json.null();
        return;
    }
    json.beginObject()
        .key("step")
        .value(ladder.step)
        .key("next")
        .value(words::ladderStepSaid({ ladder.step, ladder.shift }).toStdString())
        .key("attempts")
        .value(ladder.rounds)
        .key("shift")
        .value(ladder.shift);
    writeMomentOr(json, "first_failure", ladder.firstFailure, zone);
    writeMomentOr(json, "technique_checked", ladder.techniqueChecked, zone);
    json.key("technique").beginArray();
    if (ladder.step <= 2)
        for (const auto point : Words<TechniquePoint>::all)
            json.beginObject()
                .key("point")
                .value(point)
                .key("text")
                .value(words::techniqueSaid(*valueOf<TechniquePoint>(point)).toStdString())
                .endObject();
    json.endArray().endObject();
}

void writeClimbs(JsonWriter& json, const std::vector<Ladder>& climbs, const Zone& zone)
{
    json.key("climbs").beginArray();
    for (const auto& ladder : climbs) {
        json.beginObject();
        writeMomentOr(json, "first_failure", ladder.firstFailure, zone);
        json.key("attempts").value(ladder.rounds).key("ended").value(wordText(ladder.ending));
        writeMomentOr(json, "ended_at", ladder.endedAt, zone);
        json.key("accepted_set")
            .value(ladder.acceptedSet ? std::optional(ladder.acceptedSet->value) : std::nullopt)
            .key("vials")
            .array(ladder.spentVials);
        writeMomentOr(json, "technique_checked", ladder.techniqueChecked, zone);
        json.key("runs").beginArray();
        for (const auto& attempt : ladder.attempts)
            json.beginObject()
                .key("seq")
                .value(attempt.run.value)
                .key("level")
                .value(word(attempt.level))
                .key("step")
                .value(attempt.step)
                .key("outcome")
                .value(attempt.failed      ? "failed"
                        : attempt.noResult ? "no result"
                                           : "held")
                .key("deviation")
                .value(attempt.deviation)
                .endObject();
        json.endArray().endObject();
    }
    json.endArray();
}

void writeNonconformities(JsonWriter& json, const std::vector<Nonconformity>& all, const Zone& zone)
{
    json.key("nonconformities").beginArray();
    for (const auto& nc : all) {
        json.beginObject().key("number").value(nc.entry.value).key("type").value(nc.opened.type).key("state").value(word(nc.state));
        writeMomentOr(json, "opened_at", nc.opened.at, zone);
        json.key("opened_by")
            .value(nc.opened.by.value)
            .key("description")
            .value(nc.opened.description)
            .key("immediate_action")
            .value(nc.opened.immediateAction);
        json.key("because").value(nc.opened.because ? std::optional(nc.opened.because->value) : std::nullopt);
        json.key("owner").value(nc.owner).key("due").value(dateText(nc.due)).key("containment").value(nc.containment);
        json.key("cause")
            .value(wordText(nc.cause))
            .key("cause_text")
            .value(nc.causeText)
            .key("action")
            .value(nc.action)
            .key("effectiveness")
            .value(nc.effectiveness);
        json.key("reports").array(nc.reports).key("reopened").value(nc.reopened).key("mistaken").value(nc.mistaken);
        json.key("closed_by").value(nc.closedBy ? std::optional(nc.closedBy->value) : std::nullopt);
        writeMomentOr(json, "closed_at", nc.closedAt, zone);
        json.key("steps").beginArray();
        for (const auto& step : nc.steps) {
            json.beginObject().key("to").value(word(step.act.to)).key("text").value(step.act.text).key("by").value(step.act.by.value);
            writeMomentOr(json, "at", step.act.at, zone);
            json.key("seq").value(step.seq.value).endObject();
        }
        json.endArray().endObject();
    }
    json.endArray();
}

} // namespace

Done writeFailures(JsonWriter& json, store::Reader& reader, const base::MeterId& meter, const std::vector<LookbackRecord>& lookbacks,
    Moment from, Moment at)
{
    const Zone& zone = reader.zone();
    const auto ladder = registry::ladderAt(reader, meter, at);
    const auto climbs = registry::climbsOf(reader, meter, from, at);
    const auto nonconformities = registry::nonconformities(reader, meter.value, at);
    const auto patterns = store::patternsOf(reader, meter, at);
    if (!ladder || !climbs || !nonconformities || !patterns)
        return base::unread("what failed on '%1' cannot be read; run verify", meter.value, ladder, climbs, nonconformities, patterns);
    if (const Done written = writeLookbacks(json, reader, lookbacks, at); !written)
        return written;
    writeLadder(json, *ladder, zone);
    writeClimbs(json, *climbs, zone);
    writeNonconformities(json, *nonconformities, zone);
    json.key("patterns").beginArray();
    for (const auto& pattern : *patterns) {
        json.beginObject().key("kind").value(word(pattern.kind)).key("subject").value(pattern.subject).key("count").value(pattern.count);
        writeMomentOr(json, "last", pattern.last, zone);
        json.key("text").value(words::patternSaid(pattern).toStdString()).endObject();
    }
    json.endArray();
    return {};
}

} // namespace mk::cli
