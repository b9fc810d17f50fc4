// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/scenes/chart_words.h"

#include "base/number_text.h"
#include "registry/meter/fitness.h"
#include "report/scenes/chart_axis.h"

#include <algorithm>
#include <cmath>

namespace mk::report {

using namespace registry;

std::string capital(std::string text)
{
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
        text[0] = static_cast<char>(text[0] - 'a' + 'A');
    return text;
}

std::string joinedWords(const std::vector<std::string>& words)
{
    std::string text;
    for (const auto& each : words)
        text += (text.empty() ? "" : ", ") + each;
    return text;
}

namespace {

std::string zInWords(double z)
{
    std::string result = (std::signbit(z) ? "" : "+") + base::fixedText(z, 2);
    if (result[0] == '-')
        result.replace(0, 1, "\u2212");
    return result;
}

std::string verdictInWords(const RunRecord& record)
{
    switch (record.judged.verdict) {
    case Verdict::Invalid: return "invalid: " + joinedWords(record.judged.invalidBecause);
    case Verdict::Partial: return "no result";
    default: return std::string(word(record.judged.verdict));
    }
}

std::string resultInWords(const RunRecord& record)
{
    if (const auto* code = std::get_if<ErrorCode>(&record.run.result))
        return "error " + code->code;
    return toText(record.run.result);
}

} // namespace

std::string factsOf(const RunRecord& record, const Zone& zone)
{
    const bool number = std::holds_alternative<base::Decimal>(record.run.result);
    std::string text = registry::inWords(record.run.at, zone) + ", " + std::string(word(record.run.level)) + " control\n"
        + resultInWords(record) + (number ? " " + std::string(base::toText(record.run.unit)) : std::string());
    if (record.judged.z)
        text += ", z " + zInWords(*record.judged.z);
    if (record.judged.low && record.judged.high)
        text += ", range " + record.judged.low->typed() + " to " + record.judged.high->typed();
    text += "\n" + capital(verdictInWords(record));
    if (!record.judged.rules.empty())
        text += " (" + joinedWords(record.judged.rules) + ")";
    text += record.judged.attempt > 1 ? ", a repeat" : "";
    return text + ", by " + record.run.by.value + ", entry " + std::to_string(record.seq.value);
}

std::string factsOf(const SetRecord& set, const Zone& zone)
{
    std::vector<std::string> results;
    for (const auto& record : set.runs)
        results.push_back(std::string(word(record.run.level)) + " " + resultInWords(record));
    std::string text = registry::inWords(set.judged.lastAt, zone) + ": " + joinedWords(results) + ". "
        + capital(std::string(word(set.judged.verdict)));
    if (!set.judged.rules.empty())
        text += " (" + joinedWords(set.judged.rules) + ")";
    return text + ".";
}

namespace {

/// Short enough to stand in a chart; the first cause speaks.
std::string invalidInWords(const std::vector<std::string>& causes)
{
    static const std::pair<std::string_view, std::string_view> kTexts[] = {
        { "strip-expired", "strips past their date" },
        { "strip-vial-expired", "vial past its date" },
        { "control-expired", "control past its date" },
        { "control-vial-expired", "vial past its date" },
        { "lot-not-released", "lot not released" },
        { "lot-quarantined", "lot quarantined" },
        { "range-missing", "no range" },
        { "unit-mismatch", "other unit" },
        { "operator-not-competent", "not competent" },
        { "level-mismatch", "other level" },
        { "code-mismatch", "other code" },
    };
    for (const auto& [code, text] : kTexts)
        if (!causes.empty() && causes.front() == code)
            return "invalid: " + std::string(text);
    return "invalid";
}

} // namespace

std::string labelOf(const RunRecord& record)
{
    if (!record.judged.valid)
        return invalidInWords(record.judged.invalidBecause);
    if (const auto* code = std::get_if<ErrorCode>(&record.run.result))
        return code->code;
    if (!std::holds_alternative<base::Decimal>(record.run.result))
        return toText(record.run.result);
    std::vector<std::string> own;
    for (const auto& rule : record.judged.rules)
        if (rule == "1-2s" || rule == "1-3s" || rule == "R-4s")
            own.push_back(rule);
    std::erase_if(own, [&](const std::string& rule) { return rule == "1-2s" && own.size() > 1; });
    if (own.empty() && record.judged.verdict == Verdict::Rejected && record.judged.rules.empty())
        return "out of range";
    return joinedWords(own);
}

std::string incidentWord(IncidentKind kind)
{
    switch (kind) {
    case IncidentKind::Dropped: return "fall";
    case IncidentKind::Wet: return "wet";
    case IncidentKind::Damaged: return "damaged";
    case IncidentKind::ImplausibleResult: return "odd result";
    case IncidentKind::BatteryChanged: return "battery";
    case IncidentKind::SoftwareUpdated: return "software";
    case IncidentKind::ClockWrong: return "clock wrong";
    case IncidentKind::WrongUnit: return "wrong unit";
    case IncidentKind::Temperature: return "temperature";
    case IncidentKind::NotInUse: return "not in use";
    case IncidentKind::Found: return "found";
    case IncidentKind::FieldNotice: return "field notice";
    default: return {}; // cleaning and single error codes say nothing about the statistics
    }
}

std::string stateWord(const StateSpell& spell)
{
    switch (spell.state) {
    case MeterState::Withdrawn: return "withdrawn";
    case MeterState::AtRepair: return "at repair";
    case MeterState::Reserve: return "reserve";
    case MeterState::Missing: return "missing";
    case MeterState::Retired: return "retired";
    case MeterState::InService:
        return spell.before == MeterState::Withdrawn || spell.before == MeterState::Acceptance || spell.before == MeterState::Reserve
            ? "returned"
            : "";
    default: return {};
    }
}

namespace {

/// What the newest drift says, or nothing where none stands at the end.
const acts::DriftFinding* standingDrift(std::span<const SetRecord> sets)
{
    for (auto set = sets.rbegin(); set != sets.rend(); ++set)
        if (set->judged.drift.counted)
            return set->judged.drift.flags.empty() ? nullptr : &set->judged.drift;
    return nullptr;
}

std::string wayOf(const acts::DriftFinding& drift)
{
    double bias = 0;
    for (const auto& each : drift.bias)
        bias += each.percent;
    if (bias == 0)
        bias = drift.ewma;
    return bias > 0 ? "upward" : bias < 0 ? "downward" : "";
}

std::string rejectedTitle(const std::string& meter, std::span<const SetRecord> sets, const Zone& zone)
{
    std::size_t rejected = 0;
    const SetRecord* last = nullptr;
    const RunRecord* run = nullptr;
    for (const auto& set : sets)
        for (const auto& record : set.runs)
            if (record.judged.verdict == Verdict::Rejected) {
                rejected += &set == last ? 0u : 1u;
                last = &set;
                run = &record;
            }
    if (run == nullptr)
        return {};
    std::string what = " control rejected";
    if (!std::holds_alternative<base::Decimal>(run->run.result))
        what = " control read " + toText(run->run.result);
    else if (run->judged.inRange == false)
        what = " control out of range";
    const std::string on = dayInWords(zone.dateOf(run->run.at));
    if (rejected == 1)
        return meter + ": one " + std::string(word(run->run.level)) + what + " on " + on;
    return meter + ": " + std::to_string(rejected) + " sets rejected, the last on " + on;
}

} // namespace

std::string titleOf(const std::string& meter, std::span<const SetRecord> sets, const Zone& zone)
{
    if (sets.empty())
        return meter + ": no controls in this period";
    if (const auto* drift = standingDrift(sets); drift != nullptr && drift->began) {
        const std::string way = wayOf(*drift);
        return meter + " drifts" + (way.empty() ? "" : " " + way) + " since " + dayInWords(zone.dateOf(*drift->began));
    }
    const std::string rejected = rejectedTitle(meter, sets, zone);
    if (!rejected.empty())
        return rejected;
    const std::string count = meter + ": " + std::to_string(sets.size()) + (sets.size() == 1 ? " set" : " sets") + ", none rejected";
    const auto signal = std::ranges::find_if(
        sets, [](const SetRecord& set) { return set.judged.drift.counted && !set.judged.drift.flags.empty(); });
    if (signal == sets.end())
        return count + ", no drift";
    return count + "; a drift signal from " + dayInWords(zone.dateOf(signal->judged.lastAt)) + " no longer stands";
}

} // namespace mk::report
