// SPDX-License-Identifier: GPL-3.0-or-later
// What happened in a month beside its meters: nonconformities, notices, vials, people, entries struck through or corrected.
#include "registry/lots/expiry.h"
#include "registry/meter/nonconformities.h"
#include "registry/month/month_events.h"
#include "registry/month/month_scope.h"

#include <algorithm>
#include <set>
#include <tuple>

namespace mk::registry {

using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// Does the ward that is looked at care? A meter's and a vial's ward tell; a lot is everybody's.
Result<bool> concernsWard(const MonthScope& scope, const std::string& subject)
{
    const auto meter = scope.facts().meter(base::MeterId(subject));
    const auto strips = scope.facts().stripVial(base::StripVialId(subject));
    const auto control = scope.facts().controlVial(base::ControlVialId(subject));
    if (!meter || !strips || !control)
        return !meter ? meter.error() : !strips ? strips.error() : control.error();
    if (*meter != nullptr)
        return scope.shows((*meter)->act.meter);
    const auto ward = *strips ? (*strips)->vial.ward : *control ? (*control)->vial.ward : std::optional<base::WardId>();
    return !ward || scope.isWard(*ward);
}

/// The vials that the month's runs and comparisons name, each once.
class UsedVials {
public:
    explicit UsedVials(const MonthScope& scope) : m_scope(scope) { }

    Done takeMeter(const MonthMeterInput& meter)
    {
        const base::MeterId& id = meter.meter.act.meter;
        for (const auto* set : m_scope.setsOf(meter))
            for (const auto& run : set->runs) {
                if (const Done taken = takeStrip(run.run.stripVial, { id, run.seq, run.run.at }); !taken)
                    return taken;
                if (const Done taken = takeControl(run.run.controlVial, { id, run.seq, run.run.at }); !taken)
                    return taken;
            }
        const auto pairs = m_scope.facts().pairs(id);
        if (!pairs)
            return pairs.error();
        for (const auto& pair : *pairs)
            if (pair.pair.stripVial && m_scope.stretch().holds(pair.judged.at))
                if (const Done taken = takeStrip(*pair.pair.stripVial, { id, pair.seq, pair.pair.meterAt }); !taken)
                    return taken;
        return {};
    }

    std::vector<MonthVial> told()
    {
        std::vector<MonthVial> all;
        for (auto& [key, vial] : m_vials)
            all.push_back(std::move(vial));
        return all;
    }

private:
    struct Use {
        base::MeterId meter;
        Seq seq;
        Moment at;
    };
    /// What is on record of a vial, of either sort.
    struct Dates {
        std::string vial, lot;
        std::optional<base::PrintedDate> printed {};
        std::optional<Moment> opened {};
        std::optional<base::Period> period {};
    };

    static bool isOfDates(ReasonCode code)
    {
        return code == ReasonCode::StripExpired || code == ReasonCode::StripVialExpired || code == ReasonCode::ControlExpired
            || code == ReasonCode::ControlVialExpired;
    }

    Done takeStrip(const base::StripVialId& id, const Use& use)
    {
        const auto vial = m_scope.facts().stripVial(id);
        if (!vial)
            return vial.error();
        if (*vial == nullptr)
            return note(Dates { id.value, {} }, { ReasonCode::NoStripVial }, use);
        const auto lot = m_scope.facts().stripLot((*vial)->vial.lot);
        if (!lot)
            return lot.error();
        Dates dates { id.value, (*vial)->vial.lot.value, {}, (*vial)->vial.opened };
        if (*lot == nullptr)
            return note(dates, { ReasonCode::NoStripVial }, use);
        dates.printed = (*lot)->lot.expiry;
        dates.period = (*lot)->lot.openPeriod;
        return note(dates, ofDates(againstStripVial(*vial, *lot, use.at, m_scope.zone())), use);
    }

    Done takeControl(const base::ControlVialId& id, const Use& use)
    {
        const auto vial = m_scope.facts().controlVial(id);
        if (!vial)
            return vial.error();
        if (*vial == nullptr)
            return note(Dates { id.value, {} }, { ReasonCode::NoControlVial }, use);
        const auto lot = m_scope.facts().controlLot((*vial)->vial.lot);
        if (!lot)
            return lot.error();
        Dates dates { id.value, (*vial)->vial.lot.value, {}, (*vial)->vial.opened };
        if (*lot == nullptr)
            return note(dates, { ReasonCode::NoControlVial }, use);
        dates.printed = (*lot)->lot.expiry;
        dates.period = (*lot)->lot.openPeriod;
        return note(dates, ofDates(againstControlVial(*vial, *lot, use.at, m_scope.zone())), use);
    }

    static std::vector<ReasonCode> ofDates(std::vector<ReasonCode> codes)
    {
        std::erase_if(codes, [](ReasonCode code) { return !isOfDates(code); });
        return codes;
    }

    Done note(const Dates& dates, const std::vector<ReasonCode>& against, const Use& use)
    {
        if (against.empty())
            return {};
        MonthVial& told = m_vials[dates.vial];
        told.vial = dates.vial;
        told.lot = dates.lot;
        const auto expiry = effectiveExpiry(dates.printed, dates.opened, dates.period, m_scope.zone());
        told.undated = !expiry;
        told.lastDay = expiry ? std::optional(expiry->lastDay) : std::nullopt;
        for (const ReasonCode code : against)
            if (std::ranges::find(told.against, code) == told.against.end())
                told.against.push_back(code);
        if (std::ranges::find(told.meters, use.meter) == told.meters.end())
            told.meters.push_back(use.meter);
        told.evidence.push_back(use.seq);
        return {};
    }

    const MonthScope& m_scope;
    std::map<std::string, MonthVial> m_vials;
};

bool competencyEnded(CompetencyState state)
{
    return state == CompetencyState::Lapsed || state == CompetencyState::Suspended;
}

/// The meter that an act names, where it names one.
std::optional<base::MeterId> meterNamed(const Act& act)
{
    return std::visit(
        [](const auto& a) -> std::optional<base::MeterId> {
            if constexpr (requires { std::optional<base::MeterId>(a.meter); })
                return a.meter;
            else
                return std::nullopt;
        },
        act);
}

std::vector<base::ModelId> modelsShown(const MonthScope& scope)
{
    std::set<base::ModelId> models;
    for (const auto* meter : scope.shown())
        models.insert(meter->meter.act.model);
    return { models.begin(), models.end() };
}

/// One person: a line for each way in which it ended, with the models that it is so for.
Done addPerson(
    const MonthScope& scope, const OperatorRecord& person, const std::vector<base::ModelId>& models, std::vector<MonthCompetency>& all)
{
    std::map<std::tuple<CompetencyState, std::optional<base::Date>, std::optional<Seq>>, std::vector<base::ModelId>> ways;
    for (const auto& model : models) {
        const auto known = scope.facts().competency(person, model, scope.stretch().by);
        if (!known)
            return known.error();
        if (competencyEnded(known->state) || known->state == CompetencyState::Due)
            ways[{ known->state, known->until, known->evidence }].push_back(model);
    }
    for (const auto& [way, its] : ways) {
        const auto& [state, until, evidence] = way;
        MonthCompetency told { person, state, until };
        if (its.size() < models.size())
            told.models = its;
        told.evidence = { evidence.value_or(person.seq) };
        all.push_back(std::move(told));
    }
    return {};
}

Result<std::optional<MonthAnnulled>> annulledOf(const MonthScope& scope, const AnnulledPair& pair)
{
    const auto entry = scope.facts().entry(pair.seq);
    const auto by = scope.facts().entry(pair.by);
    if (!entry || !by)
        return entry ? by.error() : entry.error();
    const auto* annulment = *by ? std::get_if<acts::EntryAnnulled>(&(*by)->act) : nullptr;
    if (!*entry || annulment == nullptr || annulment->at > scope.input().figures.cutOff)
        return std::optional<MonthAnnulled>();
    const Moment own = ownTimeOf((*entry)->act).value_or((*entry)->at);
    if (!scope.stretch().holds(own) && !scope.stretch().holds(annulment->at))
        return std::optional<MonthAnnulled>();
    const auto meter = meterNamed((*entry)->act);
    if (meter && !scope.onWard(*meter, own))
        return std::optional<MonthAnnulled>();
    const auto confirmed = scope.facts().facts<acts::CorrectionConfirmed>("entry " + std::to_string(pair.by.value));
    if (!confirmed)
        return confirmed.error();
    const bool asked = annulment->waits.has_value() || (*by)->imported;
    return std::optional(MonthAnnulled { **entry, { pair.by, *annulment }, meter, asked && !annulment->confirmedBy && confirmed->empty() });
}

Result<std::optional<MonthCorrected>> correctedOf(const MonthScope& scope, const Record<acts::EntryCorrected>& correction)
{
    const auto set = scope.facts().set(correction.act.set);
    const auto meter = scope.facts().meterOfSet(correction.act.set);
    const auto known = scope.facts().corrections(correction.act.set);
    if (!set || !meter || !known)
        return !set ? set.error() : !meter ? meter.error() : known.error();
    const Moment own = *set ? (*set)->judged.lastAt : correction.act.at;
    if (correction.act.at > scope.input().figures.cutOff || (!scope.stretch().holds(own) && !scope.stretch().holds(correction.act.at)))
        return std::optional<MonthCorrected>();
    if (*meter && !scope.onWard(**meter, own))
        return std::optional<MonthCorrected>();
    const auto record = std::ranges::find(*known, correction.seq, &CorrectionRecord::seq);
    return std::optional(MonthCorrected { correction, *meter, record != known->end() && record->confirmed });
}

} // namespace

Result<std::vector<MonthNonconformity>> monthNonconformities(const MonthScope& scope)
{
    const MonthStretch& stretch = scope.stretch();
    const auto known = nonconformities(scope.facts(), std::nullopt, stretch.by);
    if (!known)
        return known.error();
    std::vector<MonthNonconformity> all;
    for (const auto& item : *known) {
        if (item.state == NcState::Closed && item.closedAt && *item.closedAt < stretch.start)
            continue;
        const auto concerned = concernsWard(scope, item.opened.subject);
        if (!concerned)
            return concerned.error();
        if (!*concerned)
            continue;
        MonthNonconformity told { item };
        told.overdue = item.state != NcState::Closed && item.due && *item.due < scope.zone().dateOf(stretch.by);
        told.evidence.push_back(item.entry);
        for (const auto& step : item.steps)
            told.evidence.push_back(step.seq);
        all.push_back(std::move(told));
    }
    return all;
}

Result<std::vector<MonthNotice>> monthNotices(const MonthScope& scope)
{
    const MonthStretch& stretch = scope.stretch();
    const auto known = scope.facts().notices();
    if (!known)
        return known.error();
    std::vector<MonthNotice> all;
    for (const auto& notice : **known) {
        if (notice.notice.at > stretch.by || (notice.closed && *notice.closed < stretch.start))
            continue;
        MonthNotice told { notice, !notice.closed || *notice.closed > stretch.by };
        std::erase_if(told.notice.items, [&](const auto& item) { return item.act.at > stretch.by; });
        told.evidence.push_back(notice.seq);
        for (const auto& item : told.notice.items)
            told.evidence.push_back(item.seq);
        all.push_back(std::move(told));
    }
    return all;
}

Result<std::vector<Record<acts::LotEvent>>> monthLots(const MonthScope& scope)
{
    auto all = scope.facts().facts<acts::LotEvent>();
    if (!all)
        return all.error();
    std::erase_if(*all, [&](const Record<acts::LotEvent>& each) { return !scope.stretch().holds(each.act.at); });
    std::ranges::stable_sort(*all, {}, [](const Record<acts::LotEvent>& each) { return each.act.at; });
    return all;
}

Result<std::vector<MonthVial>> monthVials(const MonthScope& scope)
{
    UsedVials used(scope);
    for (const auto* meter : scope.shown())
        if (const Done taken = used.takeMeter(*meter); !taken)
            return taken.error();
    return used.told();
}

Result<std::vector<MonthCompetency>> monthCompetency(const MonthScope& scope)
{
    const auto people = scope.facts().people();
    if (!people)
        return people.error();
    const auto models = modelsShown(scope);
    std::vector<MonthCompetency> all;
    for (const auto& person : *people)
        if (person.act.role != Role::Inspector)
            if (const Done added = addPerson(scope, person, models, all); !added)
                return added.error();
    return all;
}

Result<std::vector<MonthAnnulled>> monthAnnulled(const MonthScope& scope)
{
    std::vector<MonthAnnulled> all;
    for (const auto& pair : scope.input().annulled) {
        auto told = annulledOf(scope, pair);
        if (!told)
            return told.error();
        if (*told)
            all.push_back(std::move(**told));
    }
    std::ranges::stable_sort(all, {}, [](const MonthAnnulled& told) { return told.annulment.act.at; });
    return all;
}

Result<std::vector<MonthCorrected>> monthCorrected(const MonthScope& scope)
{
    const auto known = scope.facts().facts<acts::EntryCorrected>();
    if (!known)
        return known.error();
    std::vector<MonthCorrected> all;
    for (const auto& correction : *known) {
        auto told = correctedOf(scope, correction);
        if (!told)
            return told.error();
        if (*told)
            all.push_back(std::move(**told));
    }
    std::ranges::stable_sort(all, {}, [](const MonthCorrected& told) { return told.correction.act.at; });
    return all;
}

Result<MonthEvents> monthEvents(const MonthEventsInput& input)
{
    const MonthScope scope(input);
    auto comparisons = monthComparisons(scope);
    auto lookbacks = monthLookbacks(scope);
    auto items = monthNonconformities(scope);
    auto notices = monthNotices(scope);
    auto lots = monthLots(scope);
    auto vials = monthVials(scope);
    auto competency = monthCompetency(scope);
    auto proficiency = monthProficiency(scope);
    auto annulled = monthAnnulled(scope);
    auto corrected = monthCorrected(scope);
    for (const base::Fault* fault : { comparisons ? nullptr : &comparisons.error(), lookbacks ? nullptr : &lookbacks.error(),
             items ? nullptr : &items.error(), notices ? nullptr : &notices.error(), lots ? nullptr : &lots.error(),
             vials ? nullptr : &vials.error(), competency ? nullptr : &competency.error(), proficiency ? nullptr : &proficiency.error(),
             annulled ? nullptr : &annulled.error(), corrected ? nullptr : &corrected.error() })
        if (fault != nullptr)
            return *fault;
    return MonthEvents { std::move(comparisons).value(), std::move(lookbacks).value(), std::move(items).value(), std::move(notices).value(),
        std::move(lots).value(), std::move(vials).value(), std::move(competency).value(), monthCleaning(scope),
        std::move(proficiency).value(), std::move(annulled).value(), std::move(corrected).value() };
}

} // namespace mk::registry
