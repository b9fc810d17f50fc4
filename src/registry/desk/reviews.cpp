// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/reviews.h"

#include "registry/desk/judging.h"
#include "registry/desk/known.h"
#include "registry/desk/mending.h"
#include "registry/desk/refusal.h"
#include "registry/month/signed_month.h"

#include <algorithm>

namespace mk::registry::desk {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

struct Touched {
    base::MeterId meter;
    Moment at;
};
using Touches = Result<std::vector<Touched>>;

/// The times at which, and the meter on which, an act changes the record.
struct TouchedBy {
    Facts& facts;

    Touches ofSet(const base::SetId& set) const
    {
        const auto runs = facts.runs(set);
        if (!runs)
            return runs.error();
        std::vector<Touched> touched;
        for (const auto& run : *runs)
            touched.push_back({ run.run.meter, run.run.at });
        return touched;
    }
    static Touches one(const base::MeterId& meter, Moment at) { return std::vector<Touched> { { meter, at } }; }

    Touches operator()(const acts::ControlRun& run) const { return one(run.meter, run.at); }
    Touches operator()(const acts::IncidentReported& incident) const { return one(incident.meter, incident.at); }
    Touches operator()(const acts::MeterMoved& movement) const { return one(movement.meter, movement.at); }
    Touches operator()(const acts::LateEntryAccepted& late) const { return ofSet(late.set); }
    Touches operator()(const acts::CorrectionConfirmed& confirmed) const
    {
        const auto entry = facts.entry(confirmed.entry);
        if (!entry)
            return entry.error();
        if (const auto* annulment = *entry ? std::get_if<acts::EntryAnnulled>(&(*entry)->act) : nullptr; annulment != nullptr)
            return (*this)(*annulment);
        const auto* correction = *entry ? std::get_if<acts::EntryCorrected>(&(*entry)->act) : nullptr;
        return correction != nullptr ? ofSet(correction->set) : Touches(std::vector<Touched>());
    }
    /// A correction of the time touches the month in which the run was said to be, too.
    Touches operator()(const acts::EntryCorrected& correction) const
    {
        auto touched = ofSet(correction.set);
        if (!touched || touched->empty() || correction.column != "at")
            return touched;
        if (const auto before = TextForm<Moment>::read(correction.oldText, { &facts.zone(), nullptr }))
            touched->push_back({ touched->front().meter, *before });
        return touched;
    }
    Touches operator()(const acts::EntryAnnulled& annulment) const
    {
        const auto target = takenBackBy(facts, annulment);
        return target ? std::visit(*this, target->act) : Touches(target.error());
    }
    Touches operator()(const auto&) const { return std::vector<Touched>(); }
};

} // namespace

Done admit(const Desk& desk, const acts::ReviewSigned& a)
{
    const auto person = needPerson(desk, a.by);
    if (!person)
        return person.error();
    if (const Done may = maySign(a, (*person)->act.role, desk.facts.zone()); !may)
        return may;
    if (a.ward)
        if (const Done ward = needWard(desk, *a.ward); !ward)
            return ward;
    if (const Done settled = desk.judging.settle(); !settled)
        return settled;
    const auto earlier = desk.facts.signatureThatHolds(a.ward, a.month);
    if (!earlier)
        return earlier.error();
    if (!*earlier)
        return {};
    const auto signer = desk.facts.person((*earlier)->act.by);
    if (!signer)
        return signer.error();
    const bool named = *signer != nullptr && (*signer)->act.name;
    return refuse(Refusal::MonthSigned, (named ? *(*signer)->act.name : (*earlier)->act.by.value), (*earlier)->seq);
}

Done overtakeReviews(const Desk& desk, Seq seq, const Act& act)
{
    const auto touched = std::visit(TouchedBy { desk.facts }, act);
    if (!touched)
        return touched.error();
    if (touched->empty())
        return {};
    const auto read = desk.facts.standingReviews();
    if (!read)
        return read.error();
    auto standing = **read; // what is overtaken below is read anew
    for (const auto& [meter, at] : *touched) {
        if (standing.empty())
            return {};
        const auto ward = desk.facts.wardAt(meter, at);
        if (!ward)
            return ward.error();
        const auto hit = [&, &where = *ward, &when = at](
                             const Record<acts::ReviewSigned>& review) { return concerns(review.act, when, where, desk.facts.zone()); };
        for (auto review = std::ranges::find_if(standing, hit); review != standing.end(); review = std::ranges::find_if(standing, hit)) {
            const acts::ReviewOvertaken overtaken { review->act.month, review->seq, seq };
            standing.erase(review);
            if (const Done told = desk.letFollow(overtaken); !told)
                return told;
        }
    }
    return {};
}

} // namespace mk::registry::desk
