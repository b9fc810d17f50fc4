// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/trial_journal.h"

#include "store/journal/act_codec.h"
#include "store/journal/entry_act.h"

#include <algorithm>

namespace mk::model {

using namespace registry;

namespace {

bool isIncident(store::Session& session, base::Seq seq)
{
    const auto entry = store::entryAt(session, seq);
    return entry && *entry && (*entry)->act == acts::IncidentReported::kind;
}

/// The registry's own words in an act.
struct FillIn {
    const Act& stored;

    void operator()(acts::ReviewSigned& review) const
    {
        if (const auto* other = std::get_if<acts::ReviewSigned>(&stored)) {
            review.cutOff = other->cutOff, review.head = other->head, review.figures = other->figures, review.meaning = other->meaning;
            review.countedBy = other->countedBy;
        }
    }
    void operator()(acts::RangeAssigned& range) const
    {
        if (const auto* other = std::get_if<acts::RangeAssigned>(&stored))
            range.typedAt = other->typedAt, range.waits = other->waits;
    }
    void operator()(acts::RangeConfirmed& again) const
    {
        if (const auto* other = std::get_if<acts::RangeConfirmed>(&stored))
            again.typedAt = other->typedAt;
    }
    void operator()(acts::EntryCorrected& correction) const
    {
        if (const auto* other = std::get_if<acts::EntryCorrected>(&stored))
            correction.waits = other->waits;
    }
    void operator()(acts::EntryAnnulled& annulment) const
    {
        if (const auto* other = std::get_if<acts::EntryAnnulled>(&stored))
            annulment.waits = other->waits;
    }
    void operator()(auto&) const { }
};

std::string partOfWord(const Reference& reference, const acts::CorrectionConfirmed& word, std::int64_t now)
{
    if (reference.isOwed(word, now))
        return "word on what waits, by who may";
    const Fact* mending = reference.entry(word.entry.value);
    if (mending == nullptr || !mending->waits || mending->confirmed != kNever)
        return "word on what does not wait";
    return reference.stands(*mending) ? "word on what waits, by who has a part or may not" : "word on what is not so any more";
}

} // namespace

bool isNoteOfRefusal(store::Session& session, const store::Head& before, const store::Head& after, const Act& refused)
{
    const auto entry = store::entryAt(session, after.seq);
    const auto act = store::actOfEntry(session, after.seq);
    const auto* note = act ? std::get_if<acts::NoteAdded>(&*act) : nullptr;
    const auto& move = std::get<acts::MeterMoved>(refused);
    return after.seq.value == before.seq.value + 1 && entry && *entry && (*entry)->prev == before.digest && note
        && note->meter == move.meter && note->by == move.by && note->text.starts_with("Refused: ");
}

Act asStored(const Act& sent, const Act& stored)
{
    Act filled = sent;
    std::visit(FillIn { stored }, filled);
    return filled;
}

std::string bodyAsStored(store::Session& session, const Act& sent, base::Seq seq)
{
    const auto stored = store::actOfEntry(session, seq);
    return store::bodyOf(stored ? asStored(sent, *stored) : sent, false).canonical();
}

std::string followed(store::Session& session, std::int64_t before, std::int64_t head, const std::vector<store::Outcome>& outcomes,
    Reference::Followed& found)
{
    static const std::set<std::string> kTaken { "ladder-exhausted", "field-notice", "eqa-failed" };
    for (std::int64_t seq = before + 1; seq <= head; ++seq) {
        if (std::ranges::any_of(outcomes, [&](const store::Outcome& outcome) { return outcome.seq.value == seq; }))
            continue;
        const auto entry = store::entryAt(session, { seq });
        if (!entry || !*entry)
            return "entry " + std::to_string(seq) + " cannot be read";
        const std::string& kind = (*entry)->act;
        if (kind == acts::VialEnded::kind || kind == acts::LotEvent::kind) {
            if (const auto act = store::actOfEntry(session, { seq }))
                found.acts.emplace_back(seq, *act);
        } else if (kind == acts::MeterStopped::kindHeld || kind == acts::MeterStopped::kindWithdrawn) {
            for (const auto& cause : kTaken)
                if ((*entry)->body.find("\"cause\":\"" + cause + "\"") != std::string::npos
                    && !(cause == "field-notice"
                        && std::ranges::any_of(outcomes, [&](const store::Outcome& o) { return isIncident(session, o.seq); })))
                    found.stops.push_back({ (*entry)->subject, cause, kind == acts::MeterStopped::kindWithdrawn });
        }
    }
    return {};
}

std::string partOfSecond(const Reference& reference, const Act& act, std::int64_t now)
{
    if (const auto* word = std::get_if<acts::CorrectionConfirmed>(&act))
        return partOfWord(reference, *word, now);
    if (const auto* again = std::get_if<acts::RangeConfirmed>(&act)) {
        const Fact* waiting = reference.waitingRange(again->stripLot, again->controlLot, again->level);
        if (waiting == nullptr)
            return "range typed again that does not wait";
        if (reference.isOwed(*again, now))
            return "range typed again, by who may";
        return reference.maySecond(again->by.value, { waiting->person }, now) ? "range typed otherwise"
                                                                              : "range typed again, by who has a part or may not";
    }
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act))
        return correction->confirmedBy ? "correction confirmed at once" : "correction by one person";
    if (const auto* annulment = std::get_if<acts::EntryAnnulled>(&act))
        return annulment->confirmedBy ? "annulment confirmed at once" : "annulment by one person";
    return std::holds_alternative<acts::RangeAssigned>(act) ? "range typed" : "";
}

} // namespace mk::model
