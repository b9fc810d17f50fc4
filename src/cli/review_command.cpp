// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/review_command.h"

#include "base/version.h"
#include "cli/meter_file_output.h"
#include "cli/month_events_output.h"
#include "cli/output.h"
#include "registry/policy/retention.h"
#include "report/paper/month_report.h"
#include "words/month_events.h"
#include "words/months.h"
#include "words/numbers.h"
#include "words/patterns.h"
#include "store/read/read_month_events.h"
#include "store/read/read_patterns.h"
#include "store/read/signed_months.h"
#include "words/policy.h"

#include <QCoreApplication>
#include <QDateTime>

namespace mk::cli {

using namespace registry;
using base::Result;

namespace {

struct ReviewTexts {
    Q_DECLARE_TR_FUNCTIONS(Review)
};

void writeLevel(JsonWriter& json, const LevelFigures& level)
{
    json.beginObject()
        .key("level")
        .value(word(level.level))
        .key("strip_lot")
        .value(level.stripLot.value)
        .key("control_lot")
        .value(level.controlLot.value);
    json.key("unit").value(base::toText(level.unit)).key("n").value(level.n).key("excluded").value(level.excluded());
    json.key("excluded_because")
        .beginObject()
        .key("invalid")
        .value(level.invalid)
        .key("HI")
        .value(level.high)
        .key("LO")
        .value(level.low)
        .key("error")
        .value(level.errors)
        .endObject();
    json.key("mean")
        .value(level.mean)
        .key("sd")
        .value(level.sd)
        .key("cv_percent")
        .value(level.cvPercent)
        .key("bias_percent")
        .value(level.biasPercent);
    json.key("sdi").value(level.sdi).key("cv_ratio").value(level.cvRatio).key("min").value(level.min).key("max").value(level.max);
    json.key("group_meters").value(level.groupMeters).key("others_results").value(level.othersResults);
    json.key("rejected").value(level.rejected).key("warned").value(level.warned).endObject();
}

void writeNotCleared(JsonWriter& json, const NotCleared& notCleared)
{
    json.key("not_cleared").beginObject().key("hours").value(notCleared.hours());
    json.key("percent").value(notCleared.percent()).key("longest_hours").value(notCleared.longestHours()).endObject();
}

/// Every occasion that was not met; the others are those of the days in service.
void writeOccasions(JsonWriter& json, const std::vector<OccasionDay>& occasions)
{
    json.key("not_met").beginArray();
    for (const auto& each : occasions) {
        if (each.what == Occasion::Met)
            continue;
        json.beginObject().key("day").value(base::toText(each.day)).key("occasion").value(word(each.what));
        if (each.what == Occasion::Late)
            json.key("late_minutes").value(each.lateMinutes);
        json.endObject();
    }
    json.endArray();
}

void writeMeter(JsonWriter& json, const MeterMonth& meter)
{
    json.beginObject().key("meter").value(meter.meter.value).key("levels").beginArray();
    for (const auto& level : meter.levels)
        writeLevel(json, level);
    json.endArray()
        .key("required")
        .value(meter.required())
        .key("met")
        .value(meter.met)
        .key("late")
        .value(meter.late)
        .key("missed")
        .value(meter.missed);
    json.key("excused")
        .value(meter.excused)
        .key("excused_late")
        .value(meter.excusedAfterwards)
        .key("excused_afterwards")
        .value(meter.excusedAfterwards);
    json.key("recorded_late").value(meter.recordedLate).key("unproven").value(meter.unproven);
    json.key("open").value(meter.open).key("percent").value(meter.compliancePercent()).key("event_driven").value(meter.eventDriven);
    writeNotCleared(json, meter.notCleared);
    writeOccasions(json, meter.days);
    json.key("rejected_sets").value(meter.rejectedSets.size()).key("attempts_per_accepted_set").value(meter.attemptsPerAcceptedSet());
    json.key("rules").beginArray();
    for (const auto& rule : meter.rules)
        json.beginObject().key("rule").value(rule.rule).key("runs").value(rule.runs).endObject();
    json.endArray().key("drift").value(meter.drift).endObject();
}

/// All meters of all wards on one pair of lots: a step between lots shows here, a drift in one meter against its group.
void writeGroups(JsonWriter& json, const std::vector<GroupFigures>& groups)
{
    json.key("groups").beginArray();
    for (const auto& group : groups) {
        json.beginObject()
            .key("level")
            .value(word(group.level))
            .key("strip_lot")
            .value(group.stripLot.value)
            .key("control_lot")
            .value(group.controlLot.value);
        json.key("unit").value(base::toText(group.unit)).key("meters").value(group.meters).key("results").value(group.results);
        json.key("mean").value(group.mean).key("sd").value(group.sd).key("sd_between_meters").value(group.sdBetweenMeters).endObject();
    }
    json.endArray();
}

void writePatterns(JsonWriter& json, const std::vector<Pattern>& patterns)
{
    json.key("patterns_note").value(words::patternsNote().toStdString()).key("patterns").beginArray();
    for (const auto& pattern : patterns) {
        json.beginObject()
            .key("code")
            .value(word(pattern.code))
            .key("text")
            .value(words::patternSaid(pattern).toStdString())
            .key("about")
            .array(pattern.about);
        json.key("evidence").beginArray();
        for (const auto seq : pattern.evidence)
            json.value(seq.value);
        json.endArray().endObject();
    }
    json.endArray();
}

void writeSignature(JsonWriter& json, const SignedReview& each)
{
    const auto& act = each.signature.act;
    json.beginObject().key("seq").value(each.signature.seq.value).key("name").value(each.name).key("operator").value(act.by.value);
    json.key("ward").value(act.ward ? std::optional(act.ward->value) : std::nullopt);
    json.key("time").value(base::toText(each.signedAt)).key("meaning").value(act.meaning).key("remark").value(act.remark);
    json.key("cut_off").value(act.cutOff ? std::optional(act.cutOff->value) : std::nullopt).key("cut_off_at").value(base::toText(act.at));
    json.key("head").value(act.head).key("figures").value(act.figures).key("figures_confirmed").value(each.figuresConfirmed);
    json.key("content")
        .value(each.content())
        .key("superseded_by")
        .value(each.supersededBy ? std::optional(each.supersededBy->value) : std::nullopt);
    json.key("later").beginArray();
    for (const auto& entry : each.later)
        json.beginObject()
            .key("seq")
            .value(entry.seq.value)
            .key("recorded_at")
            .value(base::toText(entry.recordedAt))
            .key("act")
            .value(entry.act)
            .key("subject")
            .value(entry.subject)
            .key("operator")
            .value(entry.person)
            .endObject();
    json.endArray().endObject();
}

/// errors  BadInput for every ending but .pdf
base::Done mayWrite(const std::string& out)
{
    const auto dot = out.rfind('.');
    const std::string ending = dot == std::string::npos ? std::string() : out.substr(dot);
    if (ending == ".pdf")
        return {};
    if (ending == ".xlsx")
        return base::fault(base::FaultKind::BadInput, "the review is not offered as .xlsx yet; name a .pdf file, or use --json");
    return base::badInput("'%1' is not a .pdf file; end the name in .pdf", out);
}

Result<std::string> wardTitle(store::Reader& reader, const std::optional<base::WardId>& ward)
{
    if (!ward)
        return ReviewTexts::tr("All wards").toStdString();
    const auto wards = reader.wards();
    if (!wards)
        return wards.error();
    for (const auto& each : *wards)
        if (each.ward == *ward && each.name)
            return ReviewTexts::tr("Ward %1, %2").arg(words::text(ward->value), words::text(*each.name)).toStdString();
    return ReviewTexts::tr("Ward %1").arg(words::text(ward->value)).toStdString();
}

/// Charts of the meters to watch, over the month and no further.
std::vector<report::ControlChartScene> watchCharts(const store::MonthReading& reading, const Zone& zone)
{
    std::vector<report::ControlChartScene> charts;
    const Month month = reading.figures.month;
    const base::Moment start = zone.startOf(firstDayOf(month));
    const base::Moment end = base::plusMs(zone.endOf(lastDayOf(month)), -1);
    for (const auto& meter : reading.figures.meters) {
        if (!isToWatch(meter, reading.policy))
            continue;
        for (const auto& input : reading.meters)
            if (input.meter.act.meter == meter.meter)
                charts.push_back(report::controlChartScene({ meter.meter, input.sets, input.incidents, input.states }, zone, start, end));
    }
    return charts;
}

base::Done writePdf(
    store::Reader& reader, const store::MonthReading& reading, const ReviewExtras& extras, const ReviewOptions& options, base::Moment now)
{
    auto title = wardTitle(reader, reading.figures.ward);
    if (!title)
        return title.error();
    auto place = store::chainPlaceOf(reader);
    if (!place)
        return place.error();
    report::MonthReportInput input;
    input.figures = reading.figures;
    input.policy = reading.policy;
    input.zone = reader.zone();
    input.wardName = std::move(title).value();
    input.charts = watchCharts(reading, reader.zone());
    input.entry = place->seq;
    input.digest = place->digest;
    input.program = base::programName();
    const auto person = reader.person(base::OperatorId(options.person));
    if (!person)
        return person.error();
    input.person = *person != nullptr && (*person)->act.name ? *(*person)->act.name
        : options.person.empty()                             ? ReviewTexts::tr("nobody named").toStdString()
                                                             : options.person;
    input.printedAt = now;
    input.signatures = extras.signatures;
    input.patterns = extras.patterns;
    input.sections = words::monthSections(extras.events, extras.stops, input.zone);
    return report::writeMonthReport(input, *options.out);
}

Result<std::string> review(store::Session& session, const ReviewOptions& options)
{
    const auto month = parseMonth(options.month);
    if (!month)
        return month.error();
    if (options.out)
        if (const base::Done may = mayWrite(*options.out); !may)
            return may.error();
    if (const base::Done view = session.beginRead(); !view) // one unchanging view of the record
        return view.error();
    auto reader = store::Reader::open(session, options.asOf.value_or(store::Reader::kNewest));
    if (!reader)
        return reader.error();
    const base::Moment now = reader->zone().at(QDateTime::currentMSecsSinceEpoch());
    const auto ward = options.ward ? std::optional(base::WardId(*options.ward)) : std::nullopt;
    const auto reading = store::readMonth(*reader, ward, *month, options.at.value_or(now));
    if (!reading)
        return reading.error();
    auto patterns = store::readPatterns(*reader, *reading);
    auto signatures = store::signedReviews(*reader, ward, *month);
    const auto reviews = reader->facts<acts::ReviewSigned>();
    auto stops = store::stopsOf(*reader, *reading);
    auto events = store::readMonthEvents(*reader, *reading);
    for (const base::Fault* fault : { patterns ? nullptr : &patterns.error(), signatures ? nullptr : &signatures.error(),
             reviews ? nullptr : &reviews.error(), stops ? nullptr : &stops.error(), events ? nullptr : &events.error() })
        if (fault != nullptr)
            return *fault;
    const ReviewExtras extras { std::move(patterns).value(), std::move(signatures).value(),
        operatorMonths(reading->meters, *month, ward, reader->zone()),
        monthSignature(*reviews, *month, ward, options.at.value_or(now), reading->policy, reader->zone()),
        retentionEnds(lastDayOf(*month), reading->policy), std::move(stops).value(), std::move(events).value() };
    if (options.out)
        if (const base::Done written = writePdf(*reader, *reading, extras, options, now); !written)
            return written.error();
    if (options.json)
        return reviewJson(reading->figures, extras, reader->zone()) + "\n";
    return reviewText(reading->figures, reading->policy, extras, reader->zone())
        + (options.out ? ReviewTexts::tr("Written: %1").arg(words::text(*options.out)).toStdString() + "\n" : std::string());
}

} // namespace

std::string reviewJson(const MonthFigures& figures, const ReviewExtras& extras, const Zone& zone)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("month").value(toText(figures.month));
    json.key("ward").value(figures.ward ? std::optional(figures.ward->value) : std::nullopt);
    json.key("counted_by").value(word(figures.countedBy));
    json.key("cut_off").value(base::toText(figures.cutOff)).key("complete").value(figures.complete).key("meters").beginArray();
    for (const auto& meter : figures.meters)
        writeMeter(json, meter);
    const MonthTotals& totals = figures.totals;
    json.endArray()
        .key("totals")
        .beginObject()
        .key("required")
        .value(totals.required())
        .key("met")
        .value(totals.met)
        .key("late")
        .value(totals.late);
    json.key("missed").value(totals.missed).key("recorded_late").value(totals.recordedLate).key("unproven").value(totals.unproven);
    json.key("open").value(totals.open).key("event_driven").value(totals.eventDriven);
    writeNotCleared(json, totals.notCleared);
    json.key("excused")
        .value(totals.excused)
        .key("excused_late")
        .value(totals.excusedAfterwards)
        .key("compliance_percent")
        .value(totals.compliancePercent())
        .endObject();
    writeGroups(json, figures.groups);
    json.key("operators").beginArray();
    for (const auto& each : extras.operators)
        json.beginObject()
            .key("operator")
            .value(each.person.value)
            .key("runs")
            .value(each.runs)
            .key("rejected")
            .value(each.rejected)
            .key("invalid")
            .value(each.invalid)
            .key("rejected_percent")
            .value(each.rejectedPercent())
            .key("above_twice_ward")
            .value(each.aboveTwiceWard)
            .endObject();
    json.endArray();
    json.key("filters").value(figures.ward ? "ward " + figures.ward->value : std::string("none"));
    writeStops(json, extras.stops, zone);
    writeMonthEvents(json, extras.events, zone);
    writePatterns(json, extras.patterns);
    json.key("signatures").beginArray();
    for (const auto& each : extras.signatures)
        writeSignature(json, each);
    json.endArray();
    if (extras.signature)
        json.key("signature_due")
            .value(base::toText(extras.signature->due))
            .key("signature_standing")
            .value(word(extras.signature->standing));
    if (extras.keptUntil)
        json.key("kept_until").value(base::toText(*extras.keptUntil));
    return json.endObject().text();
}

int runReview(store::Session& session, const ReviewOptions& options)
{
    const auto printed = review(session, options);
    session.rollBack(); // nothing was written; this only lets the view go
    return printed ? printText(*printed) : printFault(printed.error());
}

} // namespace mk::cli
