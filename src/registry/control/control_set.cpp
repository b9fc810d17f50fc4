// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/control_set.h"

#include "registry/control/control_scores.h"

#include <algorithm>

namespace mk::registry {

namespace {

bool allowedAtInterim(stats::Rule rule)
{
    return stats::rowOf(rule).atInterim;
}

stats::RuleSettings ruleSettings(const Policy& policy)
{
    stats::RuleSettings settings;
    for (const auto& choice : policy.rules)
        settings.rules.push_back(choice.rule);
    settings.rangeReading = policy.rangeReading;
    settings.levels = policy.requiredLevels.size();
    return settings;
}

/// Rules on single results can be measured against the meter's usual value; those that count sides and steps mark the target's chart.
bool readsSingleResults(stats::Rule rule)
{
    const auto& row = stats::rowOf(rule);
    return row.tells != stats::RuleTells::Drift || row.limitSd >= 2;
}

void keepNewest(std::deque<base::Moment>& times, base::Moment at)
{
    times.push_back(at);
    if (times.size() > kLongestPattern)
        times.pop_front();
}

/// Interim targets: this set alone, and only the rules that they allow.
void markInterim(std::span<const RunRecord> runs, const stats::RuleSettings& settings, const auto& fireOn)
{
    std::vector<stats::LevelScore> interim;
    for (const auto& record : runs)
        if (record.judged.evaluable && record.judged.attempt == 1 && *record.judged.stage == Stage::Interim)
            interim.push_back({ slot(record.run.level), *scoreOf(record.run.result, record.judged) });
    std::ranges::sort(interim, {}, &stats::LevelScore::level);
    if (!interim.empty())
        fireOn(stats::ControlSeries(settings).add(interim), [](const RunRecord& record, stats::Rule rule) {
            return record.judged.evaluable && record.judged.attempt == 1 && *record.judged.stage == Stage::Interim
                && allowedAtInterim(rule);
        });
}

} // namespace

MeterSeries::MeterSeries(const Policy& policy) : m_policy(&policy), m_rules(ruleSettings(policy)), m_usualRules(ruleSettings(policy)) { }

void MeterSeries::changeTo(const Policy& policy)
{
    if (m_policy == &policy)
        return;
    m_policy = &policy;
    m_rules.changeTo(ruleSettings(policy));
    m_usualRules.changeTo(ruleSettings(policy));
}

void MeterSeries::restart()
{
    m_rules.restart();
    m_usualRules.restart();
    auto usual = std::move(m_drift.usual); // it has events of its own
    m_drift = {};
    m_drift.usual = std::move(usual);
    for (auto& times : m_levelTimes)
        times.clear();
    m_setTimes.clear();
}

/// Targets changed other than from one established lot to another: z of before and after do not belong together.
bool MeterSeries::startsSegment(std::span<const RunRecord> runs) const
{
    return std::ranges::any_of(runs, [&](const RunRecord& record) {
        const auto& before = m_targets[slot(record.run.level)];
        if (!before || !record.judged.valid || !record.judged.stage)
            return false;
        const bool sameLots = before->stripLot == record.judged.stripLot && before->controlLot == record.judged.controlLot;
        const bool bothEstablished = before->stage == Stage::Established && *record.judged.stage == Stage::Established;
        const bool sameNumbers = before->mean == (record.judged.mean ? record.judged.mean->typed() : std::string())
            && before->sd == (record.judged.sd ? record.judged.sd->typed() : std::string());
        return sameLots ? !(sameNumbers && before->stage == *record.judged.stage) : !bothEstablished;
    });
}

/// Marks the runs with the rules that fire on them and gives the fired rules of the counted results back.
std::vector<stats::FiredRule> MeterSeries::applyRules(std::vector<RunRecord>& runs) const
{
    const bool byUsual = m_policy->ruleReference == RuleReference::Usual;
    const ScoreOf score = byUsual ? usualScoreOf : targetScoreOf;
    const auto mark = [&](RunRecord& record, stats::Rule rule) {
        appendAll(record.judged.rules, { std::string(stats::name(rule)) });
        if (m_policy->roleOf(rule) == RuleRole::Reject)
            record.judged.verdict = Verdict::Rejected;
        else if (record.judged.verdict == Verdict::Accepted && !m_policy->marksOnly(rule))
            record.judged.verdict = Verdict::Warned;
    };
    const auto fireOn = [&](std::span<const stats::FiredRule> fired, auto&& mayFire) {
        for (const auto& rule : fired)
            for (auto& record : runs)
                if (mayFire(record, rule.rule) && (!rule.level || *rule.level == slot(record.run.level)))
                    mark(record, rule.rule);
    };
    const auto firedBy = [&](stats::ControlSeries series, ScoreOf of, bool single) {
        const auto scores = countedScores(runs, of);
        auto fired = scores.empty() ? std::vector<stats::FiredRule>() : series.add(scores);
        if (byUsual)
            std::erase_if(fired, [&](const stats::FiredRule& each) { return readsSingleResults(each.rule) != single; });
        return fired;
    };
    auto fired = firedBy(m_rules, targetScoreOf, false);
    if (byUsual)
        std::ranges::move(firedBy(m_usualRules, usualScoreOf, true), std::back_inserter(fired));
    fireOn(fired, [](const RunRecord& record, stats::Rule) { return record.judged.counted; });

    if (!byUsual) // against a meter's own usual value no rule speaks before the target is established
        markInterim(runs, ruleSettings(*m_policy), fireOn);
    for (auto& record : runs) {
        const bool repeat = record.judged.evaluable && !record.judged.counted && record.judged.attempt > 1
            && (!byUsual || *record.judged.stage == Stage::Established);
        const bool ruleOn = std::ranges::find(m_policy->rules, stats::Rule::OneThreeS, &RuleChoice::rule) != m_policy->rules.end();
        const auto of = score(record);
        if (repeat && ruleOn && of && (of->beyond(3, 1, stats::OnLimit::In) || of->beyond(3, -1, stats::OnLimit::In)))
            mark(record, stats::Rule::OneThreeS);
    }
    return fired;
}

/// Nothing where the policy judges neither drift nor rules by it.
std::optional<acts::UsualFinding> MeterSeries::judgeByUsual(
    std::vector<RunRecord>& runs, std::span<const UsualEvent> events, const SetAsks& asks) const
{
    if (m_policy->driftMethod != DriftMethod::OwnUsual && m_policy->ruleReference != RuleReference::Usual)
        return std::nullopt;
    const acts::UsualFinding before = m_drift.usual.value_or(acts::UsualFinding {});
    stats::UsualState state = stateFrom(before);
    for (const UsualEvent event : events)
        event == UsualEvent::Restart ? stats::restart(state) : stats::acceptAsItStands(state, m_policy->usualSettings());
    const stats::SetOnLots set = setOnLots(runs);
    const auto bases = asks.basesOf && !set.controls.empty() ? asks.basesOf(set) : std::vector<stats::LevelBasis>();
    return judgeUsual(state, runs, set, bases, before, *m_policy);
}

acts::SetJudged MeterSeries::judge(
    std::span<const RunToJudge> input, bool boundary, std::span<const UsualEvent> events, const Zone& zone, const SetAsks& asks) const
{
    assert(!input.empty());
    std::vector<RunRecord> runs;
    std::array<int, 3> attempts {};
    std::array<bool, 3> counted {};
    for (const auto& each : input) {
        const acts::ControlRun& run = *each.run;
        const bool repeatsOther = run.repeatOf && *run.repeatOf != run.set.value;
        int& attempt = attempts[slot(run.level)];
        attempt = std::max(attempt + 1, repeatsOther ? 2 : 1);
        RunRecord record { each.seq, each.seq, run, judgeRun(each, attempt, zone) };
        bool& levelCounted = counted[slot(run.level)];
        record.judged.counted = record.judged.evaluable && !levelCounted && !repeatsOther && *record.judged.stage == Stage::Established;
        levelCounted = levelCounted || record.judged.counted;
        runs.push_back(std::move(record));
    }

    acts::SetJudged set;
    set.set = input.front().run->set;
    set.meter = input.front().run->meter;
    set.firstAt = input.front().run->at;
    set.lastAt = input.back().run->at;
    set.attempt = *std::ranges::max_element(attempts);
    set.policyVersion = m_policy->version;
    set.ruleSet = kRuleSet;
    set.segmentStart = m_lastAt && (boundary || startsSegment(runs));

    MeterSeries from = *this;
    if (set.segmentStart)
        from.restart();
    auto usual = from.judgeByUsual(runs, events, asks);
    const auto fired = from.applyRules(runs);
    const bool anyCounted = std::ranges::any_of(runs, [](const RunRecord& r) { return r.judged.counted; });
    set.drift = anyCounted ? from.driftAfter(set, runs, fired, asks.countedSince) : from.m_drift;
    set.drift.usual = std::move(usual);
    set.drift.counted = anyCounted || (set.drift.usual && set.drift.usual->score);
    set.shift = std::ranges::any_of(
        fired, [&](const stats::FiredRule& f) { return isShiftRule(f.rule) && m_policy->roleOf(f.rule) == RuleRole::Reject; });
    set.verdict = verdictOf(runs, *m_policy);
    for (auto& record : runs) {
        appendAll(set.rules, record.judged.rules);
        set.runs.push_back(std::move(record.judged));
    }
    return set;
}

void MeterSeries::follow(const SetRecord& set)
{
    if (set.judged.segmentStart)
        restart();
    for (const auto& record : set.runs)
        if (record.judged.valid && record.judged.stage)
            m_targets[slot(record.run.level)] = Targets { record.judged.stripLot, record.judged.controlLot, *record.judged.stage,
                record.judged.mean ? record.judged.mean->typed() : std::string(),
                record.judged.sd ? record.judged.sd->typed() : std::string() };
    const auto scores = countedScores(set.runs);
    if (!scores.empty()) {
        m_rules.add(scores);
        if (const auto usual = countedScores(set.runs, usualScoreOf); !usual.empty())
            m_usualRules.add(usual);
        for (const auto& score : scores)
            keepNewest(m_levelTimes[score.level], set.judged.lastAt);
        keepNewest(m_setTimes, set.judged.lastAt);
    }
    m_drift = set.judged.drift;
    m_lastAt = set.judged.lastAt;
}

} // namespace mk::registry
