// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/patterns.h"

#include "registry/control/late_entry.h"

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

std::string counted(std::size_t n, std::string_view one, std::string_view many)
{
    return std::to_string(n) + " " + std::string(n == 1 ? one : many);
}

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

    void add(std::string_view code, std::string text, std::vector<std::string> about, std::vector<base::Seq> evidence = {})
    {
        m_found.push_back({ std::string(code), std::move(text), std::move(about), std::move(evidence) });
    }

    std::string dayOf(base::Moment at) const { return inWords(m_in.zone.dateOf(at)); }

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
                    add("same-value",
                        std::get<0>(key).value + ", " + std::string(word(std::get<1>(key))) + ": " + stretch.value + " was recorded "
                            + std::to_string(stretch.runs.size()) + " times running, " + dayOf(stretch.first) + " to " + dayOf(stretch.last)
                            + ".",
                        { std::get<0>(key).value }, stretch.runs);
    }

    void spreads()
    {
        for (const auto& meter : m_in.figures.meters)
            for (const auto& f : meter.levels) {
                const bool enough = f.n >= kValuesForSpread && f.othersResults >= kValuesForSpread;
                if (enough && f.sd && f.othersSd && *f.sd < *f.othersSd / 3)
                    add("small-spread",
                        meter.meter.value + ", " + std::string(word(f.level)) + ", strips " + f.stripLot.value
                            + ": the SD is less than a third of the SD of the other meters on the same lots.",
                        { meter.meter.value });
            }
    }

    void onlyAtMean()
    {
        for (const auto& meter : m_in.figures.meters)
            for (const auto& f : meter.levels)
                if (f.n >= kValuesAtMean && f.targetMean && f.min == f.targetMean && f.max == f.targetMean)
                    add("only-at-mean",
                        meter.meter.value + ", " + std::string(word(f.level)) + ": all " + std::to_string(f.n)
                            + " values are the target mean itself.",
                        { meter.meter.value });
    }

    void noFailure()
    {
        const auto& totals = m_in.figures.totals;
        if (totals.sets >= kSetsForNoFailure && totals.rejectedSets == 0)
            add("no-failure", "None of " + std::to_string(totals.sets) + " sets was rejected, not even at the first attempt.", {});
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
            add("same-minute",
                counted(sets.size(), "set", "sets") + " of different times were entered within the same minute, "
                    + inWords(enteredAt(*sets.front().set), m_in.zone) + ".",
                { meters.begin(), meters.end() }, std::move(runs));
        }
    }

    void vialsNotOpen()
    {
        std::map<std::pair<base::MeterId, std::string>, std::vector<base::Seq>> found;
        for (const auto& [meter, set] : m_sets)
            for (const auto& run : set->runs)
                for (const std::string* vial : { &run.run.stripVial.value, &run.run.controlVial.value }) {
                    const auto spell = m_in.vials.find(*vial);
                    if (spell == m_in.vials.end())
                        continue;
                    const bool before = spell->second.opened && run.run.at < *spell->second.opened;
                    const bool after = spell->second.ended && run.run.at > *spell->second.ended;
                    if (before || after)
                        found[{ meter->meter.act.meter, *vial + (before ? " before it was opened" : " after it was ended") }].push_back(
                            run.seq);
                }
        for (const auto& [key, runs] : found)
            add("vial-not-open", key.first.value + ": " + counted(runs.size(), "run names", "runs name") + " vial " + key.second + ".",
                { key.first.value }, runs);
    }

    void backDated()
    {
        std::map<base::MeterId, std::vector<base::Seq>> late;
        for (const auto& each : m_sets)
            if (recordedLate(*each.set))
                late[each.id()].push_back(each.set->runs.front().seq);
        for (const auto& [meter, runs] : late)
            if (runs.size() >= kBackDated)
                add("back-dated", meter.value + ": " + counted(runs.size(), "set", "sets") + " were entered well after their own time.",
                    { meter.value }, runs);
    }

    void amended()
    {
        for (const auto& each : m_sets) {
            const auto& judged = each.set->judged;
            const bool accepted = judged.verdict == Verdict::Accepted || judged.verdict == Verdict::Warned;
            if (judged.oldVerdict == Verdict::Rejected && accepted && judged.because
                && std::ranges::find(m_in.corrections, *judged.because) != m_in.corrections.end())
                add("amended-to-accepted",
                    each.id().value + ": a correction made set " + judged.set.value + " accepted, which was rejected before.",
                    { each.id().value }, { *judged.because });
        }
    }

    void voids()
    {
        std::map<base::OperatorId, std::vector<base::Seq>> byPerson;
        for (const auto& voided : m_in.voided)
            byPerson[voided.by].push_back(voided.seq);
        for (const auto& [person, seqs] : byPerson)
            if (seqs.size() >= kVoidsByOne)
                add("voids-by-one",
                    std::to_string(seqs.size()) + " runs of the month were annulled by the same person, " + person.value + ".",
                    { person.value }, seqs);
    }

    void atRepair()
    {
        for (const auto& [meter, set] : m_sets) {
            std::optional<MeterState> state;
            for (const auto& spell : meter->states)
                if (spell.since <= set->judged.lastAt)
                    state = spell.state;
            if (state == MeterState::AtRepair)
                add("run-at-repair",
                    meter->meter.act.meter.value + ": set " + set->judged.set.value + " of " + inWords(set->judged.lastAt, m_in.zone)
                        + " was run while the meter stood as at repair.",
                    { meter->meter.act.meter.value }, { set->runs.empty() ? set->seq : set->runs.front().seq });
        }
    }

    void manyAttempts()
    {
        for (const auto& meter : m_in.figures.meters)
            if (const auto attempts = meter.attemptsPerAcceptedSet(); attempts && *attempts >= kManyAttempts)
                add("many-attempts",
                    meter.meter.value + ": " + std::to_string(meter.attempts) + " attempts for "
                        + counted(meter.acceptedSets, "accepted set", "accepted sets") + ".",
                    { meter.meter.value });
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
        std::string names;
        for (const auto& id : idle)
            names += (names.empty() ? "" : ", ") + id;
        add("no-control-run", "No control run this month by: " + names + ".", idle);
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
