// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/lookback.h"

#include "base/number_text.h"
#include "stats/rules/rule.h"

#include <algorithm>
#include <array>
#include <utility>

namespace mk::registry {

using base::badInput;
using base::Done;
using base::Moment;
using base::refused;

namespace {

/// How many results a shift rule takes, and beyond how many SD they lie.
struct ShiftPattern {
    std::size_t points = 2;
    double beyond = 0;
};

std::optional<ShiftPattern> patternOf(std::string_view rule)
{
    const stats::RuleRow* const row = stats::ruleRowNamed(rule);
    if (row == nullptr || row->tells == stats::RuleTells::BadSet)
        return std::nullopt;
    if (row->count == stats::RuleCount::OfThree)
        return ShiftPattern { 3, -100 };
    return ShiftPattern { static_cast<std::size_t>(row->results), row->count == stats::RuleCount::Run ? row->limitSd : -100.0 };
}

/// On which side of the pattern's limit a result lies; 0 where on none. HI and LO lie beyond all limits.
int sideOf(const RunRecord& record, const ShiftPattern& pattern)
{
    if (std::holds_alternative<High>(record.run.result))
        return 1;
    if (std::holds_alternative<Low>(record.run.result))
        return -1;
    if (!record.judged.z)
        return 0;
    if (pattern.beyond < 0)
        return 1; // the rule counts results, whatever their side
    const double z = *record.judged.z;
    return z > pattern.beyond ? 1 : z < -pattern.beyond ? -1 : 0;
}

/// The unbroken run of one level's counted results that ends with the newest set; nothing where it is shorter than the rule asks.
std::optional<Moment> startWithin(std::span<const SetRecord> sets, Level level, const ShiftPattern& pattern)
{
    std::optional<Moment> start;
    std::size_t points = 0;
    int side = 0;
    for (auto set = sets.rbegin(); set != sets.rend(); ++set) {
        for (auto run = set->runs.rbegin(); run != set->runs.rend(); ++run) {
            if (!run->judged.counted || run->run.level != level)
                continue;
            const int here = sideOf(*run, pattern);
            const bool enough = pattern.beyond < 0 && points == pattern.points;
            if (here == 0 || (side != 0 && here != side) || enough)
                return points >= pattern.points ? start : std::nullopt;
            side = here;
            ++points;
            start = run->run.at;
        }
        if (set->judged.segmentStart)
            break;
    }
    return points >= pattern.points ? start : std::nullopt;
}

/// The unbroken run of whole sets on one side.
Moment startAcross(std::span<const SetRecord> sets, const ShiftPattern& pattern)
{
    Moment start = sets.back().judged.firstAt;
    int side = 0;
    for (auto set = sets.rbegin(); set != sets.rend(); ++set) {
        int here = 0;
        bool broken = false, any = false;
        for (const auto& run : set->runs) {
            if (!run.judged.counted)
                continue;
            const int its = sideOf(run, pattern);
            broken = broken || its == 0 || (any && its != here);
            here = its;
            any = true;
        }
        if (!any)
            continue;
        if (broken || (side != 0 && here != side))
            break;
        side = here;
        start = set->judged.firstAt;
        if (set->judged.segmentStart)
            break;
    }
    return start;
}

bool isWholeCount(const base::Decimal& number)
{
    return number.mantissa() >= 0 && number.decimals() == 0;
}

bool blank(const std::optional<std::string>& text)
{
    return !text || text->find_first_not_of(" \t\n") == std::string::npos;
}

/// Handbook 17.10: results looked at, results in doubt, told or not and when, by whom judged; or "not used", and who says so.
Done answersAll(const acts::LookbackClosed& closed)
{
    if (!blank(closed.notUsedSays))
        return closed.reviewed || closed.doubtful
            ? Done(badInput("not_used_says answers that nothing was measured, and reviewed or doubtful counts results; give one of them"))
            : Done();
    if (!closed.reviewed || !closed.doubtful || !closed.informed || blank(closed.judgedBy))
        return refused("a decision says how many results were looked at (reviewed) and how many are in doubt (doubtful), whether the "
                       "clinician was told (informed) and who judged (judged_by); or that the meter was not used, and who says so "
                       "(not_used_says)");
    if (closed.informed == YesNo::Yes && !closed.informedAt)
        return badInput("informed is yes; say when with informed_at");
    return {};
}

} // namespace

Moment sequenceStart(std::span<const SetRecord> sets)
{
    const SetRecord& newest = sets.back();
    Moment start = newest.judged.firstAt;
    for (const auto& rule : newest.judged.rules) {
        const auto pattern = patternOf(rule);
        if (!pattern)
            continue;
        bool within = false;
        for (const Level level : { Level::Low, Level::Normal, Level::High })
            if (const auto from = startWithin(sets, level, *pattern)) {
                start = std::min(start, *from);
                within = true;
            }
        if (!within)
            start = std::min(start, startAcross(sets, *pattern));
    }
    return start;
}

VialDoubt doubtOf(const base::StripVialId& vial, std::span<const SetRecord> accepted, std::optional<Moment> opened, Moment earliest)
{
    std::optional<Moment> goodWithIt, good;
    for (const auto& set : accepted) {
        good = set.judged.lastAt;
        if (std::ranges::any_of(set.runs, [&](const RunRecord& run) { return run.run.stripVial == vial && run.judged.valid; }))
            goodWithIt = set.judged.lastAt;
    }
    VialDoubt doubt { goodWithIt.value_or(opened.value_or(earliest)), std::nullopt };
    if (good && *good > doubt.from)
        doubt.alternative = good;
    return doubt;
}

std::string biasInWords(const acts::LevelBias& bias)
{
    return (bias.percent > 0 ? "+" : "") + base::fixedText(bias.percent, 1) + " %";
}

bool looksLikePatientNumber(std::string_view text)
{
    std::size_t digits = 0;
    for (const char c : text) {
        digits = c >= '0' && c <= '9' ? digits + 1 : 0;
        if (digits >= 6)
            return true;
    }
    return false;
}

bool failsOnlyNow(const SetRecord& set)
{
    return set.judged.verdict == Verdict::Rejected && set.judged.drift.driftsSince() == std::optional(set.judged.lastAt);
}

void decide(LookbackRecord& lookback, std::vector<LookbackTurn> turns)
{
    std::ranges::sort(turns, {}, &LookbackTurn::seq);
    for (auto& turn : turns) {
        if (turn.decision) {
            lookback.decision = std::move(turn.decision), lookback.closedBy = turn.seq, lookback.closedAt = turn.at;
        } else if (lookback.closedBy) {
            lookback.takenBack.push_back({ *lookback.closedBy, *lookback.closedAt, turn.at, *std::exchange(lookback.decision, {}) });
            lookback.closedBy.reset(), lookback.closedAt.reset();
        }
    }
}

LookbackRecord asItStood(LookbackRecord lookback, base::Moment at)
{
    if (lookback.closedAt && *lookback.closedAt > at)
        lookback.decision.reset(), lookback.closedBy.reset(), lookback.closedAt.reset();
    for (const auto& each : lookback.takenBack)
        if (each.at <= at && at < each.until)
            lookback.decision = each.decision, lookback.closedBy = each.by, lookback.closedAt = each.at;
    std::erase_if(lookback.takenBack, [&](const LookbackRecord::TakenBack& each) { return each.until > at; });
    return lookback;
}

Done mayCloseLookback(const acts::LookbackClosed& closed, const acts::LookbackOpened& opened)
{
    if (closed.decision.find_first_not_of(" \t\n") == std::string::npos)
        return badInput("the look-back's decision is empty; say what came of it");
    const std::pair<const char*, const std::optional<base::Decimal>&> kCounts[] = { { "reviewed", closed.reviewed },
        { "doubtful", closed.doubtful } };
    for (const auto& [name, count] : kCounts)
        if (count && !isWholeCount(*count))
            return badInput("%1 is '%2'; give a whole number of results, 0 or more", base::asCode(name), count->typed());
    if (closed.doubtful && !closed.reviewed)
        return badInput("say with reviewed how many results were looked at, not only how many are doubtful");
    if (closed.doubtful && *closed.doubtful > *closed.reviewed)
        return badInput("%1 doubtful of %2 reviewed cannot be; check both counts", closed.doubtful->typed(), closed.reviewed->typed());
    if (closed.informedAt && closed.informed != YesNo::Yes)
        return badInput("informed_at gives a time, but informed is not yes; check both");
    if (closed.informedAt && *closed.informedAt > closed.at)
        return badInput("informed_at lies after the decision; check the time");
    if (closed.chosenStart) {
        const bool alternative = opened.alternativeFrom && *closed.chosenStart == *opened.alternativeFrom;
        if (*closed.chosenStart != opened.from && !alternative)
            return opened.alternativeFrom ? badInput("the look-back begins at %1 or at %2; choose one of those, not %3",
                       base::toText(opened.from), base::toText(*opened.alternativeFrom), base::toText(*closed.chosenStart))
                                          : badInput("the look-back begins at %1; choose one of those, not %2", base::toText(opened.from),
                                              base::toText(*closed.chosenStart));
        if (alternative && *closed.chosenStart != opened.from && (!closed.why || closed.why->empty()))
            return refused("the other start was chosen; say why");
    }
    if (const Done all = answersAll(closed); !all)
        return all;
    for (const std::string& text :
        { closed.decision, closed.why.value_or(""), closed.judgedBy.value_or(""), closed.notUsedSays.value_or("") })
        if (looksLikePatientNumber(text))
            return refused("'%1' holds a long number that could name a patient; the registry keeps counts and a decision only", text);
    return {};
}

} // namespace mk::registry
