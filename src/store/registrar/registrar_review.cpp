// SPDX-License-Identifier: GPL-3.0-or-later
// Signing a month, and saying so when a later act touches a signed one.
#include "store/registrar/registrar_batch.h"
#include "store/registrar/signed_months.h"

#include <algorithm>

namespace mk::store {

using base::Done;
using base::Moment;
using base::refused;
using base::Result;
using base::Seq;
using namespace registry;

template <>
Done ActBatch::check(const acts::ReviewSigned& a)
{
    const auto person = needPerson(a.by);
    if (!person)
        return person.error();
    if (const Done may = maySign(a, (*person)->act.role, m_reader.zone()); !may)
        return may;
    if (a.ward)
        if (const Done ward = needWard(*a.ward); !ward)
            return ward;
    if (const Done settled = settle(); !settled)
        return settled;
    const auto earlier = signedReviews(m_reader, a.ward, *parseMonth(a.month));
    if (!earlier)
        return earlier.error();
    for (const auto& each : *earlier)
        if (each.signature.act.ward == a.ward && !each.supersededBy && each.asSigned)
            return refused("that month was signed by " + each.name + " (entry " + std::to_string(each.signature.seq.value)
                + "), and nothing of it has changed since");
    return {};
}

/// The times at which, and the meter on which, an act changes the record.
Result<std::vector<ActBatch::Touched>> ActBatch::touchedBy(const Act& act)
{
    const auto ofSet = [&](const base::SetId& set) -> Result<std::vector<Touched>> {
        const auto runs = m_reader.runs(set);
        if (!runs)
            return runs.error();
        std::vector<Touched> touched;
        for (const auto& run : *runs)
            touched.push_back({ run.run.meter, run.run.at });
        return touched;
    };
    if (const auto* run = std::get_if<acts::ControlRun>(&act))
        return std::vector<Touched> { { run->meter, run->at } };
    if (const auto* incident = std::get_if<acts::IncidentReported>(&act))
        return std::vector<Touched> { { incident->meter, incident->at } };
    if (const auto* movement = std::get_if<acts::MeterMoved>(&act))
        return std::vector<Touched> { { movement->meter, movement->at } };
    if (const auto* late = std::get_if<acts::LateEntryAccepted>(&act))
        return ofSet(late->set);
    if (const auto* confirmed = std::get_if<acts::CorrectionConfirmed>(&act)) {
        const auto correction = actOfEntry(m_session, confirmed->entry);
        return correction && std::holds_alternative<acts::EntryCorrected>(*correction)
            ? ofSet(std::get<acts::EntryCorrected>(*correction).set)
            : Result<std::vector<Touched>>(std::vector<Touched>());
    }
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act)) {
        auto touched = ofSet(correction->set);
        if (!touched || touched->empty() || correction->column != "at")
            return touched;
        std::vector<Touched> both = *touched;
        if (const auto before = TextForm<Moment>::read(correction->oldText, { &m_reader.zone(), nullptr }))
            both.push_back({ both.front().meter, *before });
        return both;
    }
    return std::vector<Touched>();
}

Done ActBatch::overtakeReviews(Seq seq, const Act& act, const std::optional<Act>& annulled)
{
    if (std::holds_alternative<acts::ReviewSigned>(act))
        return {};
    const auto touched = touchedBy(annulled ? *annulled : act);
    if (!touched)
        return touched.error();
    if (touched->empty())
        return {};
    const auto read = m_reader.standingReviews();
    if (!read)
        return read.error();
    if ((*read)->empty())
        return {};
    auto standing = **read; // what is overtaken below is read anew
    for (const auto& [meter, at] : *touched) {
        const auto ward = m_reader.wardAt(meter, at);
        if (!ward)
            return ward.error();
        const auto hit = [&, &where = *ward, &when = at](
                             const Record<acts::ReviewSigned>& review) { return concerns(review.act, when, where, m_reader.zone()); };
        for (auto review = std::ranges::find_if(standing, hit); review != standing.end(); review = std::ranges::find_if(standing, hit)) {
            const acts::ReviewOvertaken overtaken { review->act.month, review->seq, seq };
            standing.erase(review);
            if (const Done told = appendConsequence(overtaken); !told)
                return told;
        }
    }
    return {};
}

} // namespace mk::store
