// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/month_events_output.h"

#include "cli/board_output.h"

namespace mk::cli {

using namespace registry;

namespace {

/// Writes the lists of a month; what several of them have in common is said once.
class MonthEventsWriter {
public:
    MonthEventsWriter(JsonWriter& json, const Zone& zone) : m_json(json), m_zone(zone) { }

    template <typename T, typename F>
    void list(std::string_view key, const std::vector<T>& all, F&& members)
    {
        m_json.key(key).beginArray();
        for (const auto& each : all) {
            m_json.beginObject();
            members(each);
            m_json.endObject();
        }
        m_json.endArray();
    }

    void comparison(const MonthComparison& told)
    {
        m_json.key("meter").value(told.meter.value).key("standing").value(word(told.standing));
        moment("at", told.at);
        m_json.key("round").value(told.round);
        ids("pairs", told.pairs);
        evidence(told.evidence);
    }

    void lookback(const MonthLookback& told)
    {
        const auto& act = told.record.lookback;
        m_json.key("seq")
            .value(told.record.seq.value)
            .key("meter")
            .value(act.meter.value)
            .key("cause")
            .value(act.cause)
            .key("scope")
            .value(act.scope);
        moment("from", act.from);
        moment("to", act.to);
        moment("opened_at", act.at);
        m_json.key("open").value(told.open).key("decides").value(told.assigned ? std::optional(told.assigned->decides) : std::nullopt);
        date("decide_by", told.assigned ? std::optional(told.assigned->until) : std::nullopt);
        moment("closed_at", told.record.closedAt);
        m_json.key("closed_by")
            .value(told.closedBy ? std::optional(told.closedBy->value) : std::nullopt)
            .key("decision")
            .value(told.record.decision);
        evidence(told.evidence);
    }

    void nonconformity(const MonthNonconformity& told)
    {
        const Nonconformity& item = told.item;
        m_json.key("number").value(item.entry.value).key("type").value(item.opened.type).key("subject").value(item.opened.subject);
        m_json.key("state").value(word(item.state)).key("description").value(item.opened.description);
        moment("opened_at", item.opened.at);
        m_json.key("opened_by").value(item.opened.by.value).key("owner").value(item.owner);
        date("due", item.due);
        m_json.key("overdue").value(told.overdue);
        moment("closed_at", item.closedAt);
        m_json.key("closed_by").value(item.closedBy ? std::optional(item.closedBy->value) : std::nullopt);
        evidence(told.evidence);
    }

    void notice(const MonthNotice& told)
    {
        const auto& notice = told.notice.notice;
        m_json.key("notice").value(notice.notice).key("text").value(notice.text);
        moment("at", notice.at);
        m_json.key("open").value(told.open).key("items_done").value(told.notice.items.size());
        moment("closed_at", told.notice.closed);
        evidence(told.evidence);
    }

    void lot(const Record<acts::LotEvent>& told)
    {
        m_json.key("lot").value(told.act.lot).key("what").value(word(told.act.what));
        moment("at", told.act.at);
        m_json.key("operator").value(told.act.by.value).key("detail").value(told.act.detail);
        m_json.key("released_elsewhere").value(told.act.releasedElsewhere).key("no_samples").value(told.act.noSamples);
        m_json.key("results_in_doubt").value(told.act.inDoubt ? std::optional(word(*told.act.inDoubt)) : std::nullopt);
        evidence({ told.seq });
    }

    void vial(const MonthVial& told)
    {
        m_json.key("vial").value(told.vial).key("lot").value(told.lot.empty() ? std::nullopt : std::optional(told.lot));
        m_json.key("codes").beginArray();
        for (const ReasonCode against : told.against)
            m_json.value(code(against));
        m_json.endArray().key("undated").value(told.undated);
        date("last_day", told.lastDay);
        ids("meters", told.meters);
        m_json.key("uses").value(told.evidence.size());
        evidence(told.evidence);
    }

    void competency(const MonthCompetency& told)
    {
        m_json.key("person").value(told.person.act.id.value).key("name").value(told.person.act.name);
        m_json.key("standing").value(word(told.state));
        date("until", told.until);
        ids("models", told.models);
        evidence(told.evidence);
    }

    void cleaning(const MonthCleaning& told)
    {
        m_json.key("meter").value(told.meter.value).key("logged").value(told.logged).key("asked").value(told.asked);
        m_json.key("missing").value(told.missing);
        list("overdue", told.overdue, [&](const TimeSpan& span) {
            moment("from", span.from);
            moment("to", span.to);
        });
        evidence(told.evidence);
    }

    void proficiency(const MonthProficiency& told)
    {
        const auto& [received, returned, scored] = told.sample;
        m_json.key("meter").value(received.act.meter.value).key("scheme").value(received.act.scheme);
        m_json.key("event").value(received.act.event).key("sample").value(received.act.sample);
        moment("received_at", received.act.at);
        moment("due", received.act.due);
        moment("returned_at", returned ? std::optional(returned->act.at) : std::nullopt);
        moment("scored_at", scored ? std::optional(scored->act.at) : std::nullopt);
        m_json.key("band").value(word(told.judged.band)).key("z").value(told.judged.z).key("failed").value(told.judged.failed);
        evidence(told.evidence);
    }

    void annulled(const MonthAnnulled& told)
    {
        const auto& annulment = told.annulment.act;
        m_json.key("seq").value(told.entry.seq.value).key("act").value(kindOf(told.entry.act));
        m_json.key("subject").value(subjectOf(told.entry.act)).key("key").value(annulment.key);
        m_json.key("meter").value(told.meter ? std::optional(told.meter->value) : std::nullopt);
        m_json.key("entered_by").value(told.entry.person);
        moment("annulled_at", annulment.at);
        m_json.key("annulled_by").value(annulment.by.value).key("reason").value(annulment.reason);
        m_json.key("unconfirmed").value(told.unconfirmed);
        evidence({ told.entry.seq, told.annulment.seq });
    }

    void corrected(const MonthCorrected& told)
    {
        const auto& act = told.correction.act;
        m_json.key("set").value(act.set.value).key("level").value(word(act.level));
        m_json.key("meter").value(told.meter ? std::optional(told.meter->value) : std::nullopt);
        m_json.key("column").value(act.column).key("old").value(act.oldText).key("new").value(act.newText);
        m_json.key("reason").value(act.reason);
        moment("at", act.at);
        m_json.key("operator").value(act.by.value).key("confirmed").value(told.confirmed);
        evidence({ told.correction.seq });
    }

private:
    void moment(std::string_view key, const std::optional<base::Moment>& at)
    {
        m_json.key(key);
        if (at)
            writeMoment(m_json, *at, m_zone);
        else
            m_json.null();
    }
    void date(std::string_view key, const std::optional<base::Date>& day)
    {
        m_json.key(key).value(day ? std::optional(base::toText(*day)) : std::nullopt);
    }
    template <typename Id>
    void ids(std::string_view key, const std::vector<Id>& all)
    {
        m_json.key(key).beginArray();
        for (const auto& each : all)
            m_json.value(each.value);
        m_json.endArray();
    }
    void evidence(const std::vector<base::Seq>& seqs) { ids("evidence", seqs); }

    JsonWriter& m_json;
    const Zone& m_zone;
};

} // namespace

void writeMonthEvents(JsonWriter& json, const MonthEvents& events, const Zone& zone)
{
    MonthEventsWriter writer(json, zone);
    writer.list("comparisons", events.comparisons, [&](const auto& each) { writer.comparison(each); });
    writer.list("lookbacks", events.lookbacks, [&](const auto& each) { writer.lookback(each); });
    writer.list("nonconformities", events.nonconformities, [&](const auto& each) { writer.nonconformity(each); });
    writer.list("notices", events.notices, [&](const auto& each) { writer.notice(each); });
    writer.list("lots", events.lots, [&](const auto& each) { writer.lot(each); });
    writer.list("vials", events.vials, [&](const auto& each) { writer.vial(each); });
    writer.list("competency", events.competency, [&](const auto& each) { writer.competency(each); });
    writer.list("cleaning", events.cleaning, [&](const auto& each) { writer.cleaning(each); });
    writer.list("proficiency", events.proficiency, [&](const auto& each) { writer.proficiency(each); });
    writer.list("annulled", events.annulled, [&](const auto& each) { writer.annulled(each); });
    writer.list("corrected", events.corrected, [&](const auto& each) { writer.corrected(each); });
}

} // namespace mk::cli
