// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/control/failure_ladder.h"

#include "base/number_text.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <sstream>

namespace mk::registry {

namespace {

constexpr int kSameVials = 2, kNewControlVial = 3, kNewStripVial = 4, kLastStep = 5;

/// What failed of one level so far, and on which vials.
struct LevelFailures {
    std::vector<const LadderAttempt*> failed;
    std::vector<std::string> stripVials, controlVials;
    bool failing = false; ///< the newest result of the level failed
    int errors = 0;       ///< error codes since the newest result

    void take(const LadderAttempt& attempt)
    {
        failing = attempt.failed || (attempt.noResult && failing);
        errors = attempt.noResult ? errors + 1 : 0;
        if (!attempt.failed)
            return;
        failed.push_back(&attempt);
        const auto note = [](std::vector<std::string>& vials, const std::string& vial) {
            if (std::ranges::find(vials, vial) == vials.end())
                vials.push_back(vial);
        };
        note(stripVials, attempt.stripVial.value);
        note(controlVials, attempt.controlVial.value);
    }
    bool knowsStrip(const base::StripVialId& vial) const { return std::ranges::find(stripVials, vial.value) != stripVials.end(); }
    bool knowsControl(const base::ControlVialId& vial) const { return std::ranges::find(controlVials, vial.value) != controlVials.end(); }
    bool exhausted() const { return stripVials.size() > 1 && controlVials.size() > 1; }

    int stepOf(const LadderAttempt& attempt) const
    {
        if (failed.empty())
            return 0;
        return !knowsStrip(attempt.stripVial) ? kNewStripVial : !knowsControl(attempt.controlVial) ? kNewControlVial : kSameVials;
    }
    /// The step to take now, were this level alone.
    int stepNow() const
    {
        if (!failing)
            return errors == 0 ? 0 : errors == 1 ? kSameVials : kNewStripVial;
        if (exhausted())
            return kLastStep;
        if (controlVials.size() > 1)
            return kNewStripVial;
        return stripVials.size() > 1 || failed.size() > 1 ? kNewControlVial : 1;
    }
};

/// An accepted set ended it: the step that each failed level passed on tells the cause, the highest one speaks.
void endByPassing(Ladder& ladder, const std::map<Level, LevelFailures>& levels)
{
    int highest = 0;
    std::map<int, std::vector<std::string>> spent;
    for (const auto& [level, failures] : levels) {
        if (failures.failed.empty())
            continue;
        const auto last = std::find_if(ladder.attempts.rbegin(), ladder.attempts.rend(),
            [&](const LadderAttempt& a) { return a.level == level && !a.failed && !a.noResult; });
        if (last == ladder.attempts.rend())
            continue;
        const int step = std::max(kSameVials, failures.stepOf(*last));
        highest = std::max(highest, step);
        for (const auto& vial : step == kNewStripVial ? failures.stripVials
                : step == kNewControlVial             ? failures.controlVials
                                                      : std::vector<std::string>())
            if (std::ranges::find(spent[step], vial) == spent[step].end())
                spent[step].push_back(vial);
    }
    if (highest == 0)
        return;
    ladder.ending = highest == kNewStripVial ? LadderEnding::StripVial
        : highest == kNewControlVial         ? LadderEnding::ControlMaterial
                                             : LadderEnding::Random;
    ladder.spentVials = spent[highest];
}

LadderAttempt attemptOf(const RunRecord& record)
{
    LadderAttempt attempt { record.seq, record.run.set, record.run.at, record.run.level, record.run.by, record.run.stripVial,
        record.run.controlVial };
    attempt.noResult = std::holds_alternative<ErrorCode>(record.run.result);
    attempt.failed = record.judged.verdict == Verdict::Rejected;
    attempt.deviation = record.run.deviation.has_value();
    return attempt;
}

} // namespace

const LadderAttempt* Ladder::newestFailure(Level of) const
{
    const auto found = std::find_if(
        attempts.rbegin(), attempts.rend(), [&](const LadderAttempt& a) { return a.level == of && (a.failed || a.noResult); });
    return found == attempts.rend() ? nullptr : &*found;
}

Ladder climb(std::span<const SetRecord> sets, std::span<const base::Moment> techniqueChecks)
{
    Ladder ladder;
    for (const auto& set : sets)
        for (const auto& record : set.runs)
            if (record.judged.valid)
                ladder.attempts.push_back(attemptOf(record));
    std::map<Level, LevelFailures> levels;
    std::map<Level, int> rounds;
    for (auto& attempt : ladder.attempts) {
        LevelFailures& failures = levels[attempt.level];
        attempt.step = failures.stepOf(attempt);
        failures.take(attempt);
        ladder.rounds = std::max(ladder.rounds, ++rounds[attempt.level]);
        if (attempt.failed && !ladder.firstFailure)
            ladder.firstFailure = attempt.at;
        if (attempt.failed && failures.exhausted() && !ladder.exhaustedBy) {
            ladder.exhaustedBy = attempt.run;
            ladder.endedAt = attempt.at;
        }
    }
    ladder.shift = std::ranges::any_of(
        sets, [](const SetRecord& set) { return set.judged.shift; }); // also of a set that a repeat made good
    if (ladder.firstFailure)
        for (const auto check : techniqueChecks)
            if (check >= *ladder.firstFailure && !ladder.techniqueChecked)
                ladder.techniqueChecked = check;
    if (!sets.empty() && isAccepted(sets.back())) {
        ladder.passed = true;
        ladder.acceptedSet = sets.back().judged.set;
        if (ladder.exhaustedBy)
            ladder.ending = LadderEnding::Exhausted;
        else
            endByPassing(ladder, levels);
        if (ladder.ending && !ladder.exhaustedBy)
            ladder.endedAt = sets.back().judged.lastAt;
        return ladder;
    }
    if (ladder.exhaustedBy)
        ladder.ending = LadderEnding::Exhausted;
    for (const auto& [level, failures] : levels)
        if (failures.stepNow() > ladder.step) {
            ladder.step = failures.stepNow();
            ladder.level = level;
        }
    if (ladder.step == 1 && ladder.techniqueChecked)
        ladder.step = kSameVials;
    return ladder;
}

std::vector<Ladder> climbsIn(std::span<const SetRecord> sets, std::span<const base::Moment> techniqueChecks)
{
    std::vector<Ladder> climbs;
    std::size_t from = 0;
    for (std::size_t i = 0; i < sets.size(); ++i) {
        if (!isAccepted(sets[i]) && i + 1 < sets.size())
            continue;
        Ladder ladder = climb(sets.subspan(from, i + 1 - from), techniqueChecks);
        if (ladder.firstFailure)
            climbs.push_back(std::move(ladder));
        from = i + 1;
    }
    return climbs;
}

namespace {

base::Fault failedTooOften(const acts::ControlRun& run, int times)
{
    const auto level = base::asCode(word(run.level));
    return times == 2 ? base::refused(
               "the %1 control failed twice on control vial '%2' and strip vial '%3'", level, run.controlVial.value, run.stripVial.value)
                      : base::refused("the %1 control failed %4 times on control vial '%2' and strip vial '%3'", level,
                          run.controlVial.value, run.stripVial.value, times);
}

base::Fault errorTooOften(const acts::ControlRun& run, int times)
{
    const auto level = base::asCode(word(run.level));
    return times == 2 ? base::refused("the %1 control showed an error code twice on strip vial '%2'", level, run.stripVial.value)
                      : base::refused("the %1 control showed an error code %3 times on strip vial '%2'", level, run.stripVial.value, times);
}

} // namespace

base::Done mayAttempt(const acts::ControlRun& run, const Ladder& ladder, int repeatsPerStep)
{
    if (run.deviation && !run.deviation->empty())
        return {};
    int rejected = 0, errors = 0;
    bool counting = !ladder.exhaustedBy; // what follows on a withdrawn meter is counted anew
    for (const auto& attempt : ladder.attempts) {
        if (counting && attempt.level == run.level && attempt.stripVial == run.stripVial && attempt.controlVial == run.controlVial) {
            rejected += attempt.failed ? 1 : 0;
            errors += attempt.noResult && attempt.set == run.set ? 1 : 0;
        }
        counting = counting || attempt.run == ladder.exhaustedBy;
    }
    const int most = 1 + repeatsPerStep;
    if (rejected < most && errors < most)
        return {};
    const base::Fault what = rejected >= most ? failedTooOften(run, most) : errorTooOften(run, most);
    if (rejected < most || ladder.step == kNewStripVial)
        return base::refused("%1; open a new strip vial, or give the reason for one more attempt as a deviation", what);
    if (ladder.step == kLastStep)
        return base::refused(
            "%1; the meter is withdrawn; ask the coordinator, or give the reason for one more attempt as a deviation", what);
    return base::refused("%1; open a new control vial, or give the reason for one more attempt as a deviation", what);
}

bool isOneTooMany(const base::Fault& fault)
{
    return fault.kind == base::FaultKind::Refused && fault.code.ends_with("for one more attempt as a deviation");
}

bool failsAfter(bool before, const SetRecord& set)
{
    if (isAccepted(set))
        return false;
    return before || std::ranges::any_of(set.runs, [](const RunRecord& run) {
        return run.judged.verdict == Verdict::Rejected || std::holds_alternative<ErrorCode>(run.run.result);
    });
}

std::string errorInWords(std::span<const SetRecord> sets)
{
    struct Worst {
        double percent = 0;
        std::string word;
    };
    std::map<Level, Worst> worst;
    for (const auto& set : sets)
        for (const auto& record : set.runs) {
            if (record.judged.verdict != Verdict::Rejected)
                continue;
            Worst& of = worst[record.run.level];
            const auto* number = std::get_if<base::Decimal>(&record.run.result);
            if (number == nullptr) {
                of.word = of.word.empty() ? toText(record.run.result) : of.word;
                continue;
            }
            // Without a mean, the middle of the range is what the maker expects.
            const double target = record.judged.mean      ? record.judged.mean->toDouble()
                : record.judged.low && record.judged.high ? (record.judged.low->toDouble() + record.judged.high->toDouble()) / 2
                                                          : 0;
            if (target <= 0)
                continue;
            const double percent = 100 * (number->toDouble() - target) / target;
            if (std::abs(percent) > std::abs(of.percent))
                of.percent = percent;
        }
    std::string text;
    for (const auto& [level, of] : worst) {
        if (of.word.empty() && of.percent == 0)
            continue;
        text += (text.empty() ? "" : ", ") + std::string(word(level)) + " control "
            + (!of.word.empty() ? of.word : (of.percent > 0 ? "+" : "") + base::fixedText(of.percent, 1) + " %");
    }
    return text;
}

base::Done checkTechniqueWords(std::string_view words)
{
    std::istringstream in { std::string(words) };
    for (std::string each; in >> each;) {
        if (valueOf<TechniquePoint>(each))
            continue;
        std::string known;
        for (const auto point : Words<TechniquePoint>::all)
            known += (known.empty() ? "" : ", ") + std::string(point);
        return base::badInput("'%1' is no point of the technique check; write %2", each, base::asCode(known));
    }
    return {};
}

} // namespace mk::registry
