// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/control_set.h"

#include "registry/lots/expiry.h"

#include <algorithm>
#include <cmath>

namespace mk::registry {

namespace {

constexpr std::int64_t kMinute = 60'000;
constexpr std::size_t kLongestPattern = 12;

std::size_t slot(Level level)
{
    return static_cast<std::size_t>(level);
}

void appendAll(std::vector<std::string>& into, const std::vector<std::string>& codes)
{
    for (const auto& code : codes)
        if (std::ranges::find(into, code) == into.end())
            into.push_back(code);
}

bool competentOn(const acts::OperatorEnrolled& person, base::Date day)
{
    return person.competentFrom && person.competentUntil && *person.competentFrom <= day && day <= *person.competentUntil;
}

/// A code is owed where the model needs one: the lot must carry it, and a run that notes the code shown must show the same.
bool codeMatches(const acts::ControlRun& run, const RunContext& context)
{
    if (context.model == nullptr || context.model->act.needsCode != YesNo::Yes)
        return true;
    if (context.stripLot == nullptr || !context.stripLot->lot.code)
        return false;
    return !run.codeShown || *run.codeShown == *context.stripLot->lot.code;
}

std::optional<stats::ControlScore> scoreOf(const Reading& result, const acts::JudgedRun& judged)
{
    if (!judged.mean || !judged.sd || judged.sd->mantissa() <= 0)
        return std::nullopt;
    if (const auto* number = std::get_if<base::Decimal>(&result))
        return stats::ControlScore::of(*number, *judged.mean, *judged.sd);
    if (std::holds_alternative<High>(result))
        return stats::ControlScore::aboveAll();
    if (std::holds_alternative<Low>(result))
        return stats::ControlScore::belowAll();
    return std::nullopt;
}

bool isShiftRule(stats::Rule rule)
{
    return stats::rowOf(rule).tells != stats::RuleTells::BadSet;
}

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

/// A shift does not go away by one good value: what a shift rule rejected, no repeat answers (handbook 4.6).
bool rejectedAsShift(const acts::JudgedRun& judged, const Policy& policy)
{
    return judged.counted && std::ranges::any_of(judged.rules, [&](const std::string& name) {
        const auto* row = stats::ruleRowNamed(name);
        return row != nullptr && isShiftRule(row->rule) && policy.roleOf(row->rule) == RuleRole::Reject;
    });
}

bool isLastOfLevel(std::span<const RunRecord> runs, std::size_t at)
{
    return std::none_of(runs.begin() + static_cast<std::ptrdiff_t>(at) + 1, runs.end(),
        [&](const RunRecord& later) { return later.run.level == runs[at].run.level; });
}

/// Against the meter's usual value, where there is one; a whole limit is kept to 1e-9. HI and LO are rejected by kind and fire no rule.
std::optional<stats::ControlScore> usualScoreOf(const RunRecord& record)
{
    constexpr double kOnLimit = 1e-9;
    if (!std::holds_alternative<base::Decimal>(record.run.result))
        return std::nullopt;
    if (!record.judged.u)
        return scoreOf(record.run.result, record.judged);
    const double whole = std::round(*record.judged.u);
    return stats::ControlScore::ofZ(std::abs(*record.judged.u - whole) < kOnLimit ? whole : *record.judged.u);
}

std::optional<stats::ControlScore> targetScoreOf(const RunRecord& record)
{
    return scoreOf(record.run.result, record.judged);
}

using ScoreOf = std::optional<stats::ControlScore> (*)(const RunRecord&);

std::vector<stats::LevelScore> countedScores(std::span<const RunRecord> runs, ScoreOf score = targetScoreOf)
{
    std::vector<stats::LevelScore> scores;
    for (const auto& record : runs)
        if (record.judged.counted)
            if (const auto each = score(record))
                scores.push_back({ slot(record.run.level), *each });
    std::ranges::sort(scores, {}, &stats::LevelScore::level);
    return scores;
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

bool beyondHalfLimit(double bias, double mean, base::GlucoseUnit unit, const Policy& policy)
{
    const bool mg = unit == base::GlucoseUnit::MgPerDl;
    const double threshold = (mg ? policy.limitThreshold : policy.limitThresholdMmol).toDouble();
    const double limit = mean < threshold ? (mg ? policy.limitBelow : policy.limitBelowMmol).toDouble()
                                          : mean * policy.limitPercent.toDouble() / 100.0;
    return std::abs(bias) > limit / 2.0;
}

double middleOf(std::vector<double> values)
{
    std::ranges::sort(values);
    const std::size_t half = values.size() / 2;
    return values.size() % 2 == 1 ? values[half] : (values[half - 1] + values[half]) / 2.0;
}

/// The median of the deviations: one wild result, repeated and accepted, is no drift; fewer than three say nothing of the size.
std::optional<acts::LevelBias> biasOf(const std::vector<CountedResult>& results, Level level, base::GlucoseUnit unit, const Policy& policy)
{
    constexpr std::int64_t kFewest = 3;
    std::vector<double> deviations, percents;
    double means = 0;
    for (const auto& result : results) {
        if (result.level != level)
            continue;
        deviations.push_back(result.deviation);
        percents.push_back(100.0 * result.deviation / result.mean);
        means += result.mean;
    }
    if (deviations.empty())
        return std::nullopt;
    acts::LevelBias bias { level };
    bias.n = static_cast<std::int64_t>(deviations.size());
    bias.bias = middleOf(deviations);
    bias.percent = middleOf(percents);
    bias.beyondHalfLimit = bias.n >= kFewest && beyondHalfLimit(bias.bias, means / static_cast<double>(bias.n), unit, policy);
    return bias;
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

std::vector<ReasonCode> invalidCauses(const acts::ControlRun& run, const RunContext& context, const Zone& zone)
{
    std::vector<ReasonCode> causes = againstStripVial(context.stripVial, context.stripLot, run.at, zone);
    const auto note = [&](ReasonCode cause) {
        if (std::ranges::find(causes, cause) == causes.end())
            causes.push_back(cause);
    };
    std::ranges::for_each(againstControlVial(context.controlVial, context.controlLot, run.at, zone), note);
    const auto add = [&](bool stands, ReasonCode cause) {
        if (stands)
            note(cause);
    };
    add(context.stripLot != nullptr && context.model != nullptr && context.stripLot->lot.model != context.model->act.model,
        ReasonCode::ModelMismatch);
    add(context.controlLot != nullptr && context.controlLot->lot.level != run.level, ReasonCode::LevelMismatch);
    add(!codeMatches(run, context), ReasonCode::CodeMismatch);
    add(context.model == nullptr || run.unit != context.model->act.unit, ReasonCode::UnitMismatch);
    add(context.range != nullptr && run.unit != context.range->act.unit, ReasonCode::UnitMismatch);
    add(context.range == nullptr, ReasonCode::RangeMissing);
    add(context.person == nullptr || !context.competent.value_or(competentOn(context.person->act, zone.dateOf(run.at))),
        ReasonCode::OperatorNotCompetent);
    add(context.state == MeterState::Received || context.state == MeterState::Missing || context.state == MeterState::Retired,
        ReasonCode::NotInService);
    return causes;
}

acts::JudgedRun judgeRun(const RunToJudge& input, int attempt, const Zone& zone)
{
    const acts::ControlRun& run = *input.run;
    acts::JudgedRun judged;
    judged.run = input.seq;
    judged.level = run.level;
    judged.attempt = attempt;
    if (input.context.stripLot != nullptr)
        judged.stripLot = input.context.stripLot->lot.lot;
    if (input.context.controlLot != nullptr)
        judged.controlLot = input.context.controlLot->lot.lot;
    for (const ReasonCode cause : invalidCauses(run, input.context, zone))
        judged.invalidBecause.emplace_back(code(cause));
    judged.valid = judged.invalidBecause.empty();

    if (input.context.range != nullptr) {
        const acts::RangeAssigned& range = input.context.range->act;
        judged.low = range.low;
        judged.high = range.high;
        judged.mean = range.mean;
        judged.sd = range.sd;
        judged.stage = range.stage.value_or(Stage::Range);
        const auto* number = std::get_if<base::Decimal>(&run.result);
        if (number != nullptr && run.unit == range.unit)
            judged.inRange = range.low <= *number && *number <= range.high;
    }
    const auto score = scoreOf(run.result, judged);
    judged.evaluable = judged.valid && score && judged.stage && *judged.stage != Stage::Range;
    if (judged.evaluable && score->isNumber())
        judged.z = score->z();

    if (!judged.valid)
        judged.verdict = Verdict::Invalid;
    else if (std::holds_alternative<ErrorCode>(run.result))
        judged.verdict = Verdict::Partial;
    else
        judged.verdict = judged.inRange.value_or(false) ? Verdict::Accepted : Verdict::Rejected;
    return judged;
}

Verdict verdictOf(std::span<const RunRecord> runs, const Policy& policy)
{
    if (runs.empty())
        return Verdict::Partial;
    const RunRecord& last = runs.back();
    bool invalid = false;
    bool warned = false;
    std::size_t accepted = 0;
    // What was rejected stays so until a valid result of its level says otherwise: neither an invalid attempt nor an error code does.
    // After a shift rule not even that.
    for (std::size_t i = 0; i < runs.size(); ++i) {
        const bool answered = std::any_of(runs.begin() + static_cast<std::ptrdiff_t>(i) + 1, runs.end(), [&](const RunRecord& later) {
            return later.run.level == runs[i].run.level && later.judged.verdict != Verdict::Invalid
                && later.judged.verdict != Verdict::Partial;
        });
        if (runs[i].judged.verdict == Verdict::Rejected && (!answered || rejectedAsShift(runs[i].judged, policy)))
            return Verdict::Rejected;
    }
    for (std::size_t i = 0; i < runs.size(); ++i) {
        if (!isLastOfLevel(runs, i))
            continue;
        const RunRecord& record = runs[i];
        invalid = invalid || record.judged.verdict == Verdict::Invalid;
        warned = warned || record.judged.verdict == Verdict::Warned;
        const bool holds = isAccepted(record.judged.verdict);
        const bool inWindow = record.run.at.utcMs >= last.run.at.utcMs - policy.setWindowMinutes * kMinute;
        const bool required = std::ranges::find(policy.requiredLevels, record.run.level) != policy.requiredLevels.end();
        if (holds && inWindow && required && record.judged.stripLot == last.judged.stripLot)
            ++accepted;
    }
    if (invalid)
        return Verdict::Invalid;
    if (accepted < policy.requiredLevels.size())
        return Verdict::Partial;
    return warned ? Verdict::Warned : Verdict::Accepted;
}

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

std::optional<base::Moment> MeterSeries::beganBy(const stats::FiredRule& fired, base::Moment now) const
{
    std::deque<base::Moment> times = fired.level ? m_levelTimes[*fired.level] : m_setTimes;
    times.push_back(now);
    const std::size_t perSet = fired.level ? 1 : std::max<std::size_t>(1, m_policy->requiredLevels.size());
    // As far back as the counters reach, in memory as after reading them from the index.
    const std::size_t sets = std::clamp<std::size_t>(fired.points / perSet, 1, kLongestPattern);
    return times[times.size() - std::min(sets, times.size())];
}

acts::DriftFinding MeterSeries::driftAfter(const acts::SetJudged& set, std::span<const RunRecord> runs,
    std::span<const stats::FiredRule> fired, const std::function<std::vector<CountedResult>(base::Moment)>& countedSince) const
{
    acts::DriftFinding found = m_drift;
    found.flags.clear();
    found.bias.clear();
    found.began.reset();
    found.beyondHalfLimit = false;
    found.counted = true;

    std::vector<double> z;
    for (const auto& score : countedScores(runs))
        if (score.score.isNumber())
            z.push_back(score.score.z());
    if (!z.empty()) {
        stats::DriftState state { found.ewma, found.n, found.cusumHigh, found.cusumLow };
        const stats::DriftSignals signal = stats::advance(state, stats::combinedScore(z), m_policy->drift);
        found.ewma = state.ewma;
        found.n = state.n;
        found.cusumHigh = state.cusumHigh;
        found.cusumLow = state.cusumLow;
        const auto since = [&](double sum, std::optional<base::Moment>& from) {
            if (sum <= 0)
                from.reset();
            else if (!from)
                from = set.lastAt;
        };
        since(found.cusumHigh, found.highSince);
        since(found.cusumLow, found.lowSince);
        const bool marks = m_policy->driftMethod == DriftMethod::OwnUsual;
        const auto note = [&](bool fires, const char* what, const std::optional<base::Moment>& from) {
            if (!fires || (marks && !(m_policy->driftRules.ewma && std::string_view(what) == "EWMA")))
                return;
            appendAll(found.flags, { what });
            const base::Moment start = from.value_or(set.lastAt);
            found.began = found.began ? std::min(*found.began, start) : start;
        };
        note(signal.ewmaHigh, "EWMA", found.highSince);
        note(signal.ewmaLow, "EWMA", found.lowSince);
        note(signal.cusumHigh, "CUSUM", found.highSince);
        note(signal.cusumLow, "CUSUM", found.lowSince);
    }
    for (const auto& rule : fired) {
        if (!m_policy->raisesDrift(rule.rule))
            continue;
        appendAll(found.flags, { std::string(stats::name(rule.rule)) });
        const auto start = beganBy(rule, set.lastAt);
        found.began = found.began ? std::min(*found.began, *start) : start;
    }
    if (found.flags.empty())
        return found;

    auto results = countedSince(*found.began);
    for (const auto& record : runs) {
        const auto* number = std::get_if<base::Decimal>(&record.run.result);
        if (record.judged.counted && number != nullptr)
            results.push_back(
                { set.lastAt, record.run.level, number->toDouble() - record.judged.mean->toDouble(), record.judged.mean->toDouble() });
    }
    for (const Level level : { Level::Low, Level::Normal, Level::High })
        if (const auto bias = biasOf(results, level, runs.front().run.unit, *m_policy)) {
            found.beyondHalfLimit = found.beyondHalfLimit || bias->beyondHalfLimit;
            found.bias.push_back(*bias);
        }
    return found;
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
