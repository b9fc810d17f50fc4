// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/patterns.h"

#include "registry/control/late_entry.h"
#include "registry/month/bad_vials.h"

#include <algorithm>
#include <set>
#include <tuple>

namespace mk::registry {

namespace {

struct Stretch {
    std::string value;
    std::vector<base::Seq> runs;
    base::Moment first, last;
};

class PatternFinder {
public:
    explicit PatternFinder(const PatternInput& input)
        : m_in(input),
          m_start(input.zone.startOf(firstDayOf(input.figures.month))),
          m_end(input.zone.endOf(lastDayOf(input.figures.month)))
    {
        for (const auto& meter : input.meters)
            for (const auto& set : meter.sets)
                if (m_start <= set.judged.lastAt && set.judged.lastAt < m_end
                    && (!input.figures.ward || wardOf(meter, set) == *input.figures.ward))
                    m_sets.push_back({ &meter, &set });
    }

    std::vector<Pattern> find()
    {
        sameValues();
        spreads();
        onlyAtMean();
        noFailure();
        sameMinute();
        vialsNotOpen();
        backDated();
        amended();
        voids();
        atRepair();
        manyAttempts();
        noControlRun();
        badVials();
        return std::move(m_found);
    }

private:
    struct MonthSet {
        const MonthMeterInput* meter;
        const SetRecord* set;
        const base::MeterId& id() const { return meter->meter.act.meter; }
    };

    static base::WardId wardOf(const MonthMeterInput& meter, const SetRecord& set)
    {
        base::WardId ward = meter.wards.empty() ? meter.meter.act.ward : meter.wards.front().ward;
        for (const auto& spell : meter.wards)
            if (spell.since <= set.judged.lastAt)
                ward = spell.ward;
        return ward;
    }

    void add(PatternCode code, PatternFacts facts, std::vector<std::string> about, std::vector<base::Seq> evidence = {})
    {
        m_found.push_back({ code, std::move(facts), std::move(about), std::move(evidence) });
    }

    base::Date dayOf(base::Moment at) const { return m_in.zone.dateOf(at); }
    base::Moment onTheWall(base::Moment at) const { return m_in.zone.at(at.utcMs); }

    /// Valid numbers of one meter and level, one after the other.
    void sameValues()
    {
        std::map<std::tuple<base::MeterId, Level>, std::vector<Stretch>> stretches;
        for (const auto& [meter, set] : m_sets)
            for (const auto& run : set->runs) {
                const auto* number = std::get_if<base::Decimal>(&run.run.result);
                if (number == nullptr || !run.judged.valid)
                    continue;
                auto& all = stretches[{ meter->meter.act.meter, run.run.level }];
                if (all.empty() || all.back().value != number->typed())
                    all.push_back({ number->typed(), {}, run.run.at, run.run.at });
                all.back().runs.push_back(run.seq);
                all.back().last = run.run.at;
            }
        for (const auto& [key, all] : stretches)
            for (const auto& stretch : all)
                if (stretch.runs.size() >= kSameValueRunning)
                    add(PatternCode::SameValue,
                        { .count = stretch.runs.size(),
                            .level = std::get<1>(key),
                            .value = stretch.value,
                            .first = dayOf(stretch.first),
                            .last = dayOf(stretch.last) },
                        { std::get<0>(key).value }, stretch.runs);
    }

    void spreads()
    {
        for (const auto& meter : m_in.figures.meters)
            for (const auto& f : meter.levels) {
                const bool enough = f.n >= kValuesForSpread && f.othersResults >= kValuesForSpread;
                if (enough && f.sd && f.othersSd && *f.sd < *f.othersSd / 3)
                    add(PatternCode::SmallSpread, { .level = f.level, .lot = f.stripLot.value }, { meter.meter.value });
            }
    }

    void onlyAtMean()
    {
        for (const auto& meter : m_in.figures.meters)
            for (const auto& f : meter.levels)
                if (f.n >= kValuesAtMean && f.targetMean && f.min == f.targetMean && f.max == f.targetMean)
                    add(PatternCode::OnlyAtMean, { .count = f.n, .level = f.level }, { meter.meter.value });
    }

    void noFailure()
    {
        const auto& totals = m_in.figures.totals;
        if (totals.sets >= kSetsForNoFailure && totals.rejectedSets == 0)
            add(PatternCode::NoFailure, { .count = totals.sets }, {});
    }

    /// When a person typed it: what was kept while the server was away arrives all at once, and was not typed so.
    static base::Moment enteredAt(const SetRecord& set)
    {
        const EntryMark& mark = *set.runs.front().mark;
        return mark.keptSince.value_or(mark.recordedAt);
    }

    /// Sets of different times that were entered within one minute.
    void sameMinute()
    {
        std::map<std::int64_t, std::vector<MonthSet>> minutes;
        for (const auto& each : m_sets)
            if (!each.set->runs.empty() && each.set->runs.front().mark && !each.set->runs.front().mark->imported)
                minutes[enteredAt(*each.set).utcMs / 60'000].push_back(each);
        for (const auto& [minute, sets] : minutes) {
            const auto [first, last] = std::ranges::minmax_element(sets, {}, [](const MonthSet& s) { return s.set->judged.lastAt; });
            const bool apart = last->set->judged.lastAt.utcMs - first->set->judged.lastAt.utcMs
                > 60'000 * static_cast<std::int64_t>(sets.size());
            if (sets.size() < kSetsInOneMinute || !apart)
                continue;
            std::set<std::string> meters;
            std::vector<base::Seq> runs;
            for (const auto& each : sets) {
                meters.insert(each.id().value);
                runs.push_back(each.set->runs.front().seq);
            }
            add(PatternCode::SameMinute, { .count = sets.size(), .at = onTheWall(enteredAt(*sets.front().set)) },
                { meters.begin(), meters.end() }, std::move(runs));
        }
    }

    void vialsNotOpen()
    {
        std::map<std::tuple<base::MeterId, std::string, bool>, std::vector<base::Seq>> found;
        for (const auto& [meter, set] : m_sets)
            for (const auto& run : set->runs)
                for (const std::string* vial : { &run.run.stripVial.value, &run.run.controlVial.value }) {
                    const auto spell = m_in.vials.find(*vial);
                    if (spell == m_in.vials.end())
                        continue;
                    const bool before = spell->second.opened && run.run.at < *spell->second.opened;
                    const bool after = spell->second.ended && run.run.at > *spell->second.ended;
                    if (before || after)
                        found[{ meter->meter.act.meter, *vial, before }].push_back(run.seq);
                }
        for (const auto& [key, runs] : found)
            add(PatternCode::VialNotOpen, { .count = runs.size(), .vial = std::get<1>(key), .ended = !std::get<2>(key) },
                { std::get<0>(key).value }, runs);
    }

    void backDated()
    {
        std::map<base::MeterId, std::vector<base::Seq>> late;
        for (const auto& each : m_sets)
            if (recordedLate(*each.set))
                late[each.id()].push_back(each.set->runs.front().seq);
        for (const auto& [meter, runs] : late)
            if (runs.size() >= kBackDated)
                add(PatternCode::BackDated, { .count = runs.size() }, { meter.value }, runs);
    }

    void amended()
    {
        for (const auto& each : m_sets) {
            const auto& judged = each.set->judged;
            const bool accepted = isAccepted(judged.verdict);
            if (judged.oldVerdict == Verdict::Rejected && accepted && judged.because
                && std::ranges::find(m_in.corrections, *judged.because) != m_in.corrections.end())
                add(PatternCode::AmendedToAccepted, { .set = judged.set.value }, { each.id().value }, { *judged.because });
        }
    }

    void voids()
    {
        std::map<base::OperatorId, std::vector<base::Seq>> byPerson;
        for (const auto& voided : m_in.voided)
            byPerson[voided.by].push_back(voided.seq);
        for (const auto& [person, seqs] : byPerson)
            if (seqs.size() >= kVoidsByOne)
                add(PatternCode::VoidsByOne, { .count = seqs.size() }, { person.value }, seqs);
    }

    void atRepair()
    {
        for (const auto& [meter, set] : m_sets) {
            std::optional<MeterState> state;
            for (const auto& spell : meter->states)
                if (spell.since <= set->judged.lastAt)
                    state = spell.state;
            if (state == MeterState::AtRepair)
                add(PatternCode::RunAtRepair, { .set = set->judged.set.value, .at = onTheWall(set->judged.lastAt) },
                    { meter->meter.act.meter.value }, { set->runs.empty() ? set->seq : set->runs.front().seq });
        }
    }

    void manyAttempts()
    {
        for (const auto& meter : m_in.figures.meters)
            if (const auto attempts = meter.attemptsPerAcceptedSet(); attempts && *attempts >= kManyAttempts)
                add(PatternCode::ManyAttempts, { .count = meter.attempts, .accepted = meter.acceptedSets }, { meter.meter.value });
    }

    /// Rotation: people who may run controls and ran none, on no ward.
    void noControlRun()
    {
        std::set<base::OperatorId> ran;
        for (const auto& meter : m_in.meters)
            for (const auto& set : meter.sets)
                if (m_start <= set.judged.lastAt && set.judged.lastAt < m_end)
                    for (const auto& run : set.runs)
                        ran.insert(run.run.by);
        std::vector<std::string> idle;
        for (const auto& person : m_in.people) {
            const bool competent = person.act.competentFrom && *person.act.competentFrom <= lastDayOf(m_in.figures.month)
                && (!person.act.competentUntil || *person.act.competentUntil >= firstDayOf(m_in.figures.month));
            if (person.act.role == Role::Nurse && competent && !ran.contains(person.act.id))
                idle.push_back(person.act.id.value);
        }
        if (idle.empty())
            return;
        add(PatternCode::NoControlRun, {}, std::move(idle));
    }

    /// One vial that failed is one thing, however many meters were controlled with it.
    void badVials()
    {
        std::vector<MeterSet> sets;
        for (const auto& each : m_sets)
            sets.push_back({ each.id(), each.set });
        for (const auto& [vial, failures] : badControlVials(sets, m_in.meters)) {
            std::vector<std::string> meters;
            for (const auto& meter : failures.meters)
                meters.push_back(meter.value);
            add(PatternCode::BadControlVial, { .count = failures.runs.size(), .vial = vial, .ended = failures.ended }, std::move(meters),
                failures.runs);
        }
    }

    const PatternInput& m_in;
    base::Moment m_start, m_end;
    std::vector<MonthSet> m_sets;
    std::vector<Pattern> m_found;
};

} // namespace

std::vector<Pattern> patternsOf(const PatternInput& input)
{
    return PatternFinder(input).find();
}

} // namespace mk::registry
