// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/signed_months.h"

#include "store/index/rows/control_rows.h"
#include "store/index/rows/index_rows.h"
#include "store/journal/act_codec.h"
#include "store/journal/entry_act.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <QCryptographicHash>

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

/// Goes up when the figures gain or lose a member; 1: counted by minute.
constexpr std::int64_t kFiguresForm = 2;

Json number(std::size_t count)
{
    return Json(static_cast<std::int64_t>(count));
}
Json number(const std::optional<double>& value)
{
    return Json(value ? exactText(*value) : std::string());
}

Json levelOf(const LevelFigures& f)
{
    Json json = Json::object();
    json.set("level", Json(word(f.level))).set("strip_lot", Json(f.stripLot.value)).set("control_lot", Json(f.controlLot.value));
    json.set("unit", Json(base::toText(f.unit))).set("first_at", Json(f.firstAt.utcMs)).set("last_at", Json(f.lastAt.utcMs));
    json.set("n", number(f.n))
        .set("invalid", number(f.invalid))
        .set("high", number(f.high))
        .set("low", number(f.low))
        .set("errors", number(f.errors));
    json.set("mean", number(f.mean)).set("sd", number(f.sd)).set("min", number(f.min)).set("max", number(f.max)).set("sdi", number(f.sdi));
    json.set("cv_ratio", number(f.cvRatio)).set("bias_percent", number(f.biasPercent)).set("others", number(f.othersResults));
    json.set("rejected", number(f.rejected)).set("warned", number(f.warned));
    return json;
}

Json meterOf(const MeterMonth& meter, CountedBy countedBy)
{
    Json::Array levels;
    for (const auto& level : meter.levels)
        levels.push_back(levelOf(level));
    Json::Array days;
    for (const auto& day : meter.days) {
        Json one = Json::object();
        one.set("day", Json(base::toText(day.day))).set("what", Json(static_cast<std::int64_t>(day.what)));
        one.set("late", Json(day.lateMinutes)).set("recorded_late", Json(day.recordedLate));
        days.push_back(std::move(one));
    }
    Json::Array rejected;
    for (const auto& each : meter.rejectedSets) {
        std::string text = each.set.judged.set.value;
        if (each.clearedAt)
            text += " cleared " + base::toText(*each.clearedAt);
        rejected.emplace_back(std::move(text));
    }
    Json json = Json::object();
    json.set("meter", Json(meter.meter.value)).set("levels", Json(std::move(levels))).set("days", Json(std::move(days)));
    json.set("rejected_sets", Json(std::move(rejected))).set("sets", number(meter.sets)).set("accepted_sets", number(meter.acceptedSets));
    json.set("attempts", number(meter.attempts)).set("drift", Json(meter.drift));
    if (countedBy == CountedBy::Occasion)
        json.set("event_driven", number(meter.eventDriven))
            .set("not_cleared_ms", Json(meter.notCleared.ms))
            .set("longest_not_cleared_ms", Json(meter.notCleared.longestMs))
            .set("service_ms", Json(meter.notCleared.serviceMs));
    return json;
}

/// Ids of the month's sets on the ward, and the ward of each meter by the time.
class MonthContent {
public:
    MonthContent(Reader& reader, const acts::ReviewSigned& review) : m_reader(reader), m_review(review) { }

    void takeSets(const MonthReading& reading)
    {
        for (const auto& meter : reading.meters)
            for (const auto& set : meter.sets)
                if (concerns(m_review, set.judged.lastAt, set.judged.ward, m_reader.zone()))
                    m_sets.insert(set.judged.set);
    }
    bool hasSet(const base::SetId& set) const { return m_sets.contains(set); }
    Result<bool> has(const base::MeterId& meter, Moment at)
    {
        const auto ward = m_reader.wardAt(meter, at);
        if (!ward)
            return ward.error();
        return concerns(m_review, at, *ward, m_reader.zone());
    }
    /// Whether an act is about something in the month.
    Result<bool> isTouchedBy(const Act& act)
    {
        if (const auto* run = std::get_if<acts::ControlRun>(&act))
            return hasSet(run->set) ? Result<bool>(true) : has(run->meter, run->at);
        if (const auto* incident = std::get_if<acts::IncidentReported>(&act))
            return has(incident->meter, incident->at);
        if (const auto* movement = std::get_if<acts::MeterMoved>(&act))
            return has(movement->meter, movement->at);
        if (const auto* late = std::get_if<acts::LateEntryAccepted>(&act))
            return hasSet(late->set);
        return false;
    }

private:
    Reader& m_reader;
    const acts::ReviewSigned& m_review;
    std::set<base::SetId> m_sets;
};

/// Seqs of everything after the cut-off that the signed month did not know and is about it.
class LaterEntries {
public:
    LaterEntries(Reader& reader, MonthContent& content, Seq cutOff) : m_reader(reader), m_content(content), m_cutOff(cutOff) { }

    Done collect(const MonthReading& now)
    {
        for (const auto& meter : now.meters) {
            for (const auto& set : meter.sets) {
                if (!m_content.hasSet(set.judged.set))
                    continue;
                if (set.judged.oldVerdict)
                    take(set.seq);
                for (const auto& run : set.runs)
                    take(run.seq);
            }
            const auto incidents = m_reader.incidents(meter.meter.act.meter);
            if (!incidents)
                return incidents.error();
            if (const Done done = takeFacts(*incidents); !done)
                return done;
        }
        const auto moved = m_reader.facts<acts::MeterMoved>();
        const auto accepted = m_reader.facts<acts::LateEntryAccepted>();
        if (!moved || !accepted)
            return moved ? accepted.error() : moved.error();
        if (const Done done = takeFacts(*moved); !done)
            return done;
        if (const Done done = takeFacts(*accepted); !done)
            return done;
        if (const Done done = takeCorrections(); !done)
            return done;
        return takeAnnulments();
    }
    const std::set<Seq>& seqs() const { return m_seqs; }

private:
    void take(Seq seq)
    {
        if (seq > m_cutOff)
            m_seqs.insert(seq);
    }
    template <typename A>
    Done takeFacts(const std::vector<Record<A>>& facts)
    {
        for (const auto& fact : facts) {
            if (fact.seq <= m_cutOff)
                continue;
            const auto touched = m_content.isTouchedBy(Act(fact.act));
            if (!touched)
                return touched.error();
            if (*touched)
                take(fact.seq);
        }
        return {};
    }
    Done takeCorrections()
    {
        static const Sql sql({ CorrectionRow::table }, "SELECT from_seq, set_id FROM correction WHERE from_seq <= :known");
        std::set<Seq> corrections;
        const Done read = eachRow(m_reader.session(), sql, m_reader.asKnown(), [&](const Statement& row) {
            if (!m_content.hasSet(base::SetId(row.text("set_id"))))
                return Done();
            corrections.insert({ row.number("from_seq") });
            take({ row.number("from_seq") });
            return Done();
        });
        const auto confirmed = read ? m_reader.facts<acts::CorrectionConfirmed>()
                                    : Result<std::vector<Record<acts::CorrectionConfirmed>>>(read.error());
        if (!confirmed)
            return confirmed.error();
        for (const auto& each : *confirmed)
            if (corrections.contains(each.act.entry))
                take(each.seq);
        return {};
    }
    Done takeAnnulments()
    {
        static const Sql sql({ AnnulledRow::table }, "SELECT seq, by_seq FROM annulled WHERE by_seq > :cut_off AND by_seq <= :known");
        std::vector<std::pair<Seq, Seq>> annulled;
        const Done read = eachRow(
            m_reader.session(), sql, m_reader.asKnown({ { "cut_off", bound(m_cutOff.value) } }), [&](const Statement& row) {
                annulled.push_back({ { row.number("seq") }, { row.number("by_seq") } });
                return Done();
            });
        if (!read)
            return read;
        for (const auto& [seq, by] : annulled) {
            const auto act = actOfEntry(m_reader.session(), seq);
            const auto touched = act ? m_content.isTouchedBy(*act) : Result<bool>(act.error());
            if (!touched)
                return touched.error();
            if (*touched)
                take(by);
        }
        return {};
    }

    Reader& m_reader;
    MonthContent& m_content;
    Seq m_cutOff;
    std::set<Seq> m_seqs;
};

Result<SignedReview> heldAgainstJournal(Reader& reader, const Record<acts::ReviewSigned>& signature)
{
    const acts::ReviewSigned& review = signature.act;
    const auto entry = entryAt(reader.session(), signature.seq);
    const auto month = parseMonth(review.month);
    if (!entry || !month)
        return entry ? month.error() : entry.error();
    if (!*entry || !review.cutOff)
        return base::fault(FaultKind::Damaged, "the signature of entry %1 names no cut-off; run verify", signature.seq.value);
    SignedReview held { signature, review.by.value, reader.zone().at((*entry)->at), false, false, {}, {} };
    const auto person = reader.person(review.by);
    if (!person)
        return person.error();
    if (*person != nullptr && (*person)->act.name)
        held.name = *(*person)->act.name;

    auto then = Reader::open(reader.session(), *review.cutOff);
    if (!then)
        return then.error();
    const CountedBy counted = review.countedBy.value_or(CountedBy::Minute);
    const auto asSigned = readMonth(*then, review.ward, *month, review.at, counted);
    const auto now = readMonth(reader, review.ward, *month, review.at, counted);
    if (!asSigned || !now)
        return asSigned ? now.error() : asSigned.error();
    held.figuresConfirmed = figuresDigest(asSigned->figures) == review.figures;

    MonthContent content(reader, review);
    content.takeSets(*asSigned);
    content.takeSets(*now);
    LaterEntries later(reader, content, *review.cutOff);
    if (const Done collected = later.collect(*now); !collected)
        return collected.error();
    for (const Seq seq : later.seqs()) {
        const auto each = entryAt(reader.session(), seq);
        if (!each)
            return each.error();
        if (*each)
            held.later.push_back({ seq, reader.zone().at((*each)->at), (*each)->act, (*each)->subject, (*each)->person });
    }
    held.asSigned = held.figuresConfirmed && held.later.empty() && figuresDigest(now->figures) == review.figures;
    return held;
}

} // namespace

std::string figuresDigest(const MonthFigures& figures)
{
    Json::Array meters;
    for (const auto& meter : figures.meters)
        meters.push_back(meterOf(meter, figures.countedBy));
    Json json = Json::object();
    json.set("form", Json(figures.countedBy == CountedBy::Minute ? std::int64_t { 1 } : kFiguresForm))
        .set("month", Json(toText(figures.month)))
        .set("ward", Json(figures.ward ? figures.ward->value : std::string()));
    json.set("meters", Json(std::move(meters)));
    const std::string text = json.canonical();
    return QCryptographicHash::hash(QByteArrayView(text.data(), static_cast<qsizetype>(text.size())), QCryptographicHash::Sha256)
        .toHex()
        .toStdString();
}

Result<std::vector<SignedReview>> signedReviews(Reader& reader, const std::optional<base::WardId>& ward, Month month)
{
    const auto signatures = reader.facts<acts::ReviewSigned>(toText(month));
    if (!signatures)
        return signatures.error();
    std::vector<SignedReview> all;
    for (const auto& signature : *signatures) {
        if (signature.act.ward && signature.act.ward != ward)
            continue;
        auto held = heldAgainstJournal(reader, signature);
        if (!held)
            return held.error();
        for (auto& earlier : all)
            if (earlier.signature.act.ward == signature.act.ward && !earlier.supersededBy)
                earlier.supersededBy = signature.seq;
        all.push_back(std::move(held).value());
    }
    return all;
}

Result<std::optional<Record<acts::ReviewSigned>>> Reader::signatureThatHolds(
    const std::optional<base::WardId>& ward, const std::string& month)
{
    const auto named = parseMonth(month);
    if (!named)
        return named.error();
    const auto all = signedReviews(*this, ward, *named);
    if (!all)
        return all.error();
    for (const auto& each : *all)
        if (each.signature.act.ward == ward && !each.supersededBy && each.asSigned)
            return std::optional(each.signature);
    return std::optional<Record<acts::ReviewSigned>>();
}

Result<acts::ReviewSigned> filledIn(Reader& reader, acts::ReviewSigned review)
{
    const auto month = parseMonth(review.month);
    if (!month)
        return month.error();
    const auto place = chainPlaceOf(reader);
    const auto reading = readMonth(reader, review.ward, *month, review.at);
    if (!place || !reading)
        return place ? reading.error() : place.error();
    const std::string digest = figuresDigest(reading->figures);
    const bool sameAsSeen = review.cutOff.value_or(place->seq) == place->seq && review.head.value_or(place->digest) == place->digest
        && review.figures.value_or(digest) == digest;
    if (!sameAsSeen)
        return base::fault(FaultKind::Conflict, "something was recorded since the review of %1 was read; look at it again, then sign",
            base::Arg(base::Arg::Kind::Month, toText(*month)));
    review.cutOff = place->seq;
    review.head = place->digest;
    review.figures = digest;
    review.countedBy = reading->figures.countedBy;
    if (!review.meaning || review.meaning == "reviewed")
        review.meaning = std::string(kReviewedMonth);
    return review;
}

} // namespace mk::store
