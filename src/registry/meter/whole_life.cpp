// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/whole_life.h"

#include "registry/comparison/comparison.h"
#include "registry/facts/eqa_samples.h"
#include "registry/meter/nonconformities.h"

#include <algorithm>
#include <set>

namespace mk::registry {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// Collects a meter's events; one room a kind of record.
class LifeTeller {
public:
    LifeTeller(Facts& facts, const MeterRecord& meter, Moment at) : m_facts(facts), m_meter(meter), m_id(meter.act.meter), m_at(at) { }

    Result<std::vector<LifeEvent>> tell()
    {
        LifeEvent& enrolled = add(LifeKind::Enrolled, m_meter.act.enrolled, { m_meter.seq });
        enrolled.ward = m_meter.act.ward;
        enrolled.state = m_meter.act.state;
        for (const auto part :
            { &LifeTeller::papers, &LifeTeller::movements, &LifeTeller::incidents, &LifeTeller::stops, &LifeTeller::steps,
                &LifeTeller::comparisons, &LifeTeller::samples, &LifeTeller::lookbacks, &LifeTeller::items, &LifeTeller::notes })
            if (const Done told = (this->*part)(); !told)
                return told.error();
        std::erase_if(m_life, [&](const LifeEvent& event) { return event.at > m_at; });
        std::ranges::stable_sort(m_life, {}, &LifeEvent::at);
        return std::move(m_life);
    }

private:
    LifeEvent& add(LifeKind what, Moment at, std::vector<Seq> evidence, const std::optional<base::OperatorId>& by = std::nullopt)
    {
        LifeEvent& event = m_life.emplace_back();
        event.what = what;
        event.at = at;
        event.by = by;
        event.evidence = std::move(evidence);
        return event;
    }

    /// Every act of one kind about the meter.
    template <typename A, typename F>
    Done each(LifeKind what, F&& fill)
    {
        const auto known = m_facts.facts<A>(m_id.value);
        if (!known)
            return known.error();
        for (const auto& record : *known)
            fill(add(what, record.act.at, { record.seq }, record.act.by), record.act);
        return {};
    }

    Done papers()
    {
        const Done checks = each<acts::AcceptanceChecked>(LifeKind::Acceptance, [](LifeEvent& event, const acts::AcceptanceChecked& act) {
            event.code = std::string(word(act.item)) + (act.met == YesNo::Yes ? "" : ":not-met");
            event.text = act.evidence.value_or("");
        });
        if (!checks)
            return checks;
        return each<acts::MeterDescribed>(
            LifeKind::Described, [](LifeEvent& event, const acts::MeterDescribed& act) { event.text = act.firmware.value_or(""); });
    }

    Done movements()
    {
        const Done moved = each<acts::MeterMoved>(LifeKind::Moved, [](LifeEvent& event, const acts::MeterMoved& act) {
            event.state = act.toState;
            event.ward = act.toWard;
            event.text = act.reason.value_or("");
        });
        if (!moved)
            return moved;
        return each<acts::TransferConfirmed>(
            LifeKind::Arrived, [](LifeEvent& event, const acts::TransferConfirmed& act) { event.ward = act.ward; });
    }

    Done incidents()
    {
        const auto known = m_facts.incidents(m_id);
        if (!known)
            return known.error();
        for (const auto& incident : *known) {
            LifeEvent& event = add(LifeKind::Incident, incident.act.at, { incident.seq }, incident.act.by);
            event.code = word(incident.act.what);
            event.text = incident.act.detail.value_or("");
        }
        return {};
    }

    Result<std::optional<base::OperatorId>> personOfEntry(Seq seq)
    {
        const auto entry = m_facts.entry(seq);
        if (!entry)
            return entry.error();
        return *entry && !(*entry)->person.empty() ? std::optional(base::OperatorId((*entry)->person)) : std::nullopt;
    }

    Done stops()
    {
        const auto known = m_facts.stops(m_id);
        if (!known)
            return known.error();
        std::set<Seq> ended;
        for (const auto& record : *known) {
            const auto by = personOfEntry(record.seq);
            if (!by)
                return by.error();
            std::vector<Seq> evidence { record.seq };
            if (record.stop.because != record.seq)
                evidence.push_back(record.stop.because);
            add(record.stop.withdrawn ? LifeKind::Withdrawn : LifeKind::Held, record.stop.at, std::move(evidence), *by).code = record.stop
                                                                                                                                   .cause;
            if (!record.endedAt || !record.endedBy || !ended.insert(*record.endedBy).second)
                continue;
            const auto endedBy = personOfEntry(*record.endedBy);
            if (!endedBy)
                return endedBy.error();
            add(LifeKind::Returned, *record.endedAt, { *record.endedBy }, *endedBy);
        }
        return {};
    }

    Done steps()
    {
        const auto known = m_facts.returnSteps(m_id);
        if (!known)
            return known.error();
        for (const auto& step : *known) {
            const bool isSignature = step.act.step == ReturnStepKind::Signed;
            LifeEvent& event = add(isSignature ? LifeKind::Signed : LifeKind::ReturnStep, step.act.at, { step.seq }, step.act.by);
            event.code = word(step.act.step);
            event.text = step.act.detail.value_or("");
        }
        return each<acts::TakenAsItStands>(
            LifeKind::TakenAsItStands, [](LifeEvent& event, const acts::TakenAsItStands& act) { event.text = act.reason; });
    }

    void addPairs(const std::vector<PairRecord>& pairs, std::string_view outcome)
    {
        Moment newest = pairs.front().judged.at;
        std::vector<Seq> evidence;
        for (const auto& pair : pairs) {
            newest = std::max(newest, pair.judged.at);
            evidence.push_back(pair.seq);
        }
        LifeEvent& event = add(LifeKind::Comparison, newest, std::move(evidence), pairs.back().pair.by);
        event.code = outcome;
        event.text = pairs.front().pair.round.value_or(pairs.front().pair.pair.value);
    }

    Done comparisons()
    {
        auto pairs = m_facts.pairs(m_id);
        if (!pairs)
            return pairs.error();
        std::ranges::stable_sort(*pairs, {}, [](const PairRecord& pair) { return pair.judged.at; });
        std::set<Seq> told;
        for (const auto& made : comparisonsOf(*pairs, m_at, [&](Moment at) -> const Policy& { return m_facts.policyAt(at); })) {
            for (const auto& pair : made.pairs)
                told.insert(pair.seq);
            addPairs(made.pairs, word(made.judged.outcome));
        }
        for (const auto& pair : *pairs)
            if (!told.contains(pair.seq))
                addPairs({ pair }, word(pair.judged.outcome));
        return each<acts::CalibrationVerified>(
            LifeKind::Calibration, [](LifeEvent& event, const acts::CalibrationVerified& act) { event.text = act.material; });
    }

    Done samples()
    {
        const auto known = eqaSamples(m_facts, m_id);
        if (!known)
            return known.error();
        const auto note = [&](const auto& record, const char* code) {
            LifeEvent& event = add(LifeKind::Proficiency, record.act.at, { record.seq }, record.act.by);
            event.code = code;
            event.text = record.act.scheme + "/" + record.act.event + "/" + record.act.sample;
        };
        for (const auto& sample : *known) {
            note(sample.received, "received");
            if (sample.returned)
                note(*sample.returned, "returned");
            if (sample.scored)
                note(*sample.scored, "scored");
        }
        return {};
    }

    /// Every act of one kind about an entry.
    template <typename A>
    Done aboutEntry(Seq entry, LifeKind what, std::string A::*text)
    {
        const auto known = m_facts.facts<A>("entry " + std::to_string(entry.value));
        if (!known)
            return known.error();
        for (const auto& record : *known)
            add(what, record.act.at, { record.seq, entry }, record.act.by).text = record.act.*text;
        return {};
    }

    Done lookbacks()
    {
        const auto known = m_facts.lookbacks(m_id);
        if (!known)
            return known.error();
        for (const auto& record : *known) {
            add(LifeKind::LookbackOpened, record.lookback.at, { record.seq, record.lookback.because }).code = record.lookback.cause;
            for (const Done& told : { aboutEntry(record.seq, LifeKind::LookbackAssigned, &acts::LookbackAssigned::decides),
                     aboutEntry(record.seq, LifeKind::LookbackDecided, &acts::LookbackClosed::decision),
                     aboutEntry(record.seq, LifeKind::LookbackReopened, &acts::LookbackReopened::reason) })
                if (!told)
                    return told;
        }
        return {};
    }

    Done items()
    {
        const auto known = nonconformities(m_facts, m_id.value, m_at);
        if (!known)
            return known.error();
        for (const auto& item : *known) {
            LifeEvent& opened = add(LifeKind::NonconformityOpened, item.opened.at, { item.entry }, item.opened.by);
            opened.code = item.opened.type;
            opened.text = item.opened.description;
            for (const auto& step : item.steps) {
                LifeEvent& event = add(LifeKind::NonconformityStep, step.act.at, { step.seq, item.entry }, step.act.by);
                event.code = word(step.act.to);
                event.text = step.act.text;
            }
        }
        return {};
    }

    Done notes()
    {
        return each<acts::NoteAdded>(LifeKind::Note, [](LifeEvent& event, const acts::NoteAdded& act) { event.text = act.text; });
    }

    Facts& m_facts;
    const MeterRecord& m_meter;
    const base::MeterId& m_id;
    Moment m_at;
    std::vector<LifeEvent> m_life;
};

} // namespace

Result<std::vector<LifeEvent>> wholeLife(Facts& facts, const MeterRecord& meter, Moment at)
{
    return LifeTeller(facts, meter, at).tell();
}

} // namespace mk::registry
