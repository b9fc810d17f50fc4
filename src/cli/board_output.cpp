// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/board_output.h"

#include "cli/output.h"
#include "registry/control/usual_drift.h"
#include "words/board.h"
#include "words/numbers.h"
#include "words/reasons.h"
#include "words/steps.h"
#include "words/policy.h"

#include <algorithm>

namespace mk::cli {

using namespace registry;

namespace {

std::optional<std::string> textOf(const std::optional<base::Decimal>& decimal)
{
    return decimal ? std::optional(decimal->typed()) : std::nullopt;
}

/// When and by whom it was entered, where that is known.
void writeMark(JsonWriter& json, const RunRecord& record, const Zone& zone)
{
    json.key("form").value(record.run.form).key("late_reason").value(record.run.lateReason);
    if (!record.mark)
        return;
    json.key("recorded_at");
    writeMoment(json, record.mark->recordedAt, zone);
    json.key("recorded_late").value(record.mark->late).key("entered_by").value(record.mark->enteredBy);
    if (record.mark->clockLeapt)
        json.key("clock_suspect").value(true);
    if (record.mark->keptSince) { // typed in time while the server was away
        json.key("delivered_late").value(true).key("kept_since");
        writeMoment(json, *record.mark->keptSince, zone);
    }
}

void writeRun(JsonWriter& json, const RunRecord& record, const Zone& zone)
{
    const auto& judged = record.judged;
    const auto* number = std::get_if<base::Decimal>(&record.run.result);
    json.beginObject();
    json.key("level")
        .value(word(record.run.level))
        .key("kind")
        .value(kindWord(record.run.result))
        .key("result")
        .value(toText(record.run.result));
    json.key("value").value(number != nullptr ? std::optional(number->toDouble()) : std::nullopt);
    json.key("unit").value(base::toText(record.run.unit));
    json.key("low")
        .value(textOf(judged.low))
        .key("high")
        .value(textOf(judged.high))
        .key("mean")
        .value(textOf(judged.mean))
        .key("sd")
        .value(textOf(judged.sd));
    json.key("stage").value(judged.stage ? std::optional(std::string(word(*judged.stage))) : std::nullopt);
    json.key("z").value(judged.z).key("u").value(judged.u).key("usual").value(judged.usual).key("base").value(judged.base);
    json.key("in_range").value(judged.inRange).key("rules").array(judged.rules);
    json.key("rules_status").value(judged.evaluable ? "evaluated" : "not evaluable");
    json.key("valid").value(judged.valid).key("invalid_because").array(judged.invalidBecause);
    json.key("verdict").value(word(judged.verdict)).key("attempt").value(judged.attempt).key("counted").value(judged.counted);
    json.key("at");
    writeMoment(json, record.run.at, zone);
    json.key("operator")
        .value(record.run.by.value)
        .key("strip_vial")
        .value(record.run.stripVial.value)
        .key("strip_lot")
        .value(judged.stripLot.value);
    json.key("control_vial").value(record.run.controlVial.value).key("control_lot").value(judged.controlLot.value);
    json.key("reason").value(record.run.reason.value_or("D1")).key("comment").value(record.run.comment);
    json.key("supervisor").value(record.run.supervisor ? std::optional(record.run.supervisor->value) : std::nullopt);
    json.key("question").value(record.run.question).key("answer").value(record.run.answer);
    json.key("seq").value(record.seq.value).key("corrected").value(record.seq != record.versionSeq);
    writeMark(json, record, zone);
    json.endObject();
}

/// The meter against its own usual value, as the set found it; null where its policy does not ask.
void writeUsual(JsonWriter& json, const std::optional<acts::UsualFinding>& usual, const Zone& zone, std::span<const SetRecord> sets)
{
    json.key("drift");
    if (!usual) {
        json.null();
        return;
    }
    json.beginObject().key("score").value(usual->score).key("up").value(usual->up).key("down").value(usual->down);
    json.key("told").value(usual->told.value_or("")).key("began");
    const auto began = std::ranges::find_if(
        sets, [&](const SetRecord& each) { return usual->told && usual->began && each.judged.lastAt.utcMs == usual->began->utcMs; });
    began == sets.end() ? json.null() : json.value(began->judged.set.value);
    json.key("began_at");
    usual->told && usual->began ? json.value(base::toText(zone.at(usual->began->utcMs))) : json.null();
    json.key("own_stop").value(usual->ownStop).key("apart").value(standsApart(*usual)).key("cause").value(causeOf(*usual));
    json.key("stops").value(usual->stops.value_or("")).key("levels").beginObject();
    const auto state = stateFrom(*usual);
    for (const auto& level : usual->levels) {
        json.key(word(level.level)).beginObject().key("n").value(level.n);
        json.key("usual").value(level.usual).key("newest").value(state.levels[static_cast<std::size_t>(level.level)].newestMean());
        json.key("slow").value(level.slow).key("base").value(level.base > 0 ? std::optional(level.base) : std::nullopt);
        json.key("cv_percent").value(level.cv > 0 ? std::optional(level.cv) : std::nullopt).key("count").value(level.count);
        json.key("apart")
            .value(level.apart)
            .key("others_slow")
            .value(level.othersSlow)
            .key("others_move")
            .value(level.othersMove)
            .endObject();
    }
    json.endObject().endObject();
}

} // namespace

void writeMoment(JsonWriter& json, base::Moment moment, const Zone& zone)
{
    json.value(base::toText(zone.at(moment.utcMs)));
}

void writeReasons(JsonWriter& json, const Fitness& fitness)
{
    json.beginArray();
    for (const auto& reason : fitness.reasons) {
        json.beginObject()
            .key("code")
            .value(code(reason.code))
            .key("text")
            .value(words::reasonSaid(reason).toStdString())
            .key("blocks")
            .value(reason.blocks)
            .key("evidence")
            .beginArray();
        for (const auto seq : reason.evidence)
            json.value(seq.value);
        json.endArray().endObject();
    }
    json.endArray();
}

void writeNext(JsonWriter& json, const Fitness& fitness, const Zone& zone)
{
    json.beginArray();
    for (const auto& step : fitness.next) {
        json.beginObject().key("what").value(words::stepSaid(step).toStdString()).key("by");
        if (step.by)
            writeMoment(json, *step.by, zone);
        else
            json.null();
        json.endObject();
    }
    json.endArray();
}

void writeRow(JsonWriter& json, const store::BoardRow& row, const Zone& zone)
{
    const Fitness& fitness = row.fitness;
    json.key("meter").value(row.history.meter.act.meter.value).key("ward").value(row.history.ward.value);
    json.key("state").value(word(fitness.state)).key("usable").value(fitness.usable).key("until");
    if (fitness.until)
        writeMoment(json, *fitness.until, zone);
    else
        json.null();
    json.key("advice").value(word(fitness.advice)).key("next");
    writeNext(json, fitness, zone);
    json.key("reasons");
    writeReasons(json, fitness);
}

void writeSet(JsonWriter& json, const SetRecord& set, const Zone& zone, std::span<const SetRecord> sets)
{
    json.beginObject().key("set").value(set.judged.set.value).key("at");
    writeMoment(json, set.judged.lastAt, zone);
    json.key("verdict").value(word(set.judged.verdict)).key("attempt").value(set.judged.attempt).key("rules").array(set.judged.rules);
    json.key("ward")
        .value(set.judged.ward.value)
        .key("policy")
        .value(set.judged.policyVersion)
        .key("rule_set")
        .value(set.judged.ruleSet)
        .key("seq")
        .value(set.seq.value);
    writeUsual(json, set.judged.drift.usual, zone, sets);
    json.key("old_verdict").value(set.judged.oldVerdict ? std::optional(std::string(word(*set.judged.oldVerdict))) : std::nullopt);
    json.key("runs").beginArray();
    for (const auto& run : set.runs)
        writeRun(json, run, zone);
    json.endArray().endObject();
}

std::string boardTable(const std::vector<store::BoardRow>& rows, base::Moment at, const Zone& zone)
{
    std::vector<const store::BoardRow*> sorted;
    for (const auto& row : rows)
        sorted.push_back(&row);
    std::ranges::stable_sort(sorted, {}, [](const store::BoardRow* row) { return row->fitness.usable; });
    const auto usable = std::ranges::count_if(rows, [](const store::BoardRow& row) { return row.fitness.usable; });
    std::vector<std::vector<std::string>> table { {} };
    for (const auto& column : words::boardColumns())
        table.front().push_back(column.toStdString());
    for (const auto* row : sorted) {
        const Fitness& fitness = row->fitness;
        QStringList why;
        for (const auto& reason : fitness.reasons)
            why << words::reasonSaid(reason);
        if (why.isEmpty() && row->history.newestAccepted)
            why << words::acceptedAt(row->history.newestAccepted->judged.lastAt, zone);
        table.push_back({ row->history.meter.act.meter.value, row->history.ward.value, words::boardAnswer(fitness).toStdString(),
            fitness.until ? words::full(*fitness.until, zone).toStdString() : "", why.join(QLatin1Char(' ')).toStdString() });
    }
    return words::boardSummary(at, static_cast<std::size_t>(usable), rows.size(), zone).toStdString() + "\n"
        + (rows.empty() ? std::string() : alignedTable(table));
}

std::string rowInWords(const store::BoardRow& row, const Zone& zone)
{
    QStringList lines { words::meterAnswer(row.history.meter.act.meter.value, row.fitness, zone) };
    for (const auto& reason : row.fitness.reasons)
        lines << QStringLiteral("  ") + words::reasonLine(reason);
    for (const auto& step : row.fitness.next)
        lines << QStringLiteral("  ") + words::stepLine(step, zone);
    return lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

void writeDuties(JsonWriter& json, const store::WardDuties& duties)
{
    json.key("vials").beginArray();
    for (const auto& debt : duties.vials) {
        json.beginObject().key("vial").value(debt.vial).key("lot").value(debt.lot);
        json.key("ward").value(debt.ward ? std::optional(debt.ward->value) : std::nullopt);
        json.key("level").value(debt.level ? std::optional(std::string(word(*debt.level))) : std::nullopt);
        json.key("code").value(word(debt.what)).key("text").value(words::vialDebt(debt).toStdString());
        json.key("evidence").beginArray().value(debt.evidence.value).endArray().endObject();
    }
    json.endArray().key("months").beginArray();
    for (const auto& month : duties.months) {
        json.beginObject().key("month").value(toText(month.month));
        json.key("ward").value(month.ward ? std::optional(month.ward->value) : std::nullopt);
        json.key("due").value(base::toText(month.due)).key("standing").value(word(month.standing));
        json.key("text").value(words::monthToSign(month).toStdString()).endObject();
    }
    json.endArray();
}

std::string dutiesInWords(const store::WardDuties& duties)
{
    std::string text;
    for (const auto& debt : duties.vials)
        text += words::vialDebt(debt).toStdString() + "\n";
    for (const auto& month : duties.months)
        text += words::monthToSign(month).toStdString() + "\n";
    return text.empty() ? text : "\n" + text;
}

} // namespace mk::cli
