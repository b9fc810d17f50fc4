// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/policy/setting_readers.h"

#include "base/number_text.h"

#include <charconv>
#include <sstream>

namespace mk::registry {

using base::badInput;
using base::Done;

namespace {

std::vector<std::string> policyWords(const std::string& text, char separator)
{
    std::vector<std::string> words;
    std::istringstream in(text);
    for (std::string word; std::getline(in, word, separator);)
        if (!word.empty())
            words.push_back(word);
    return words;
}

base::Decimal policyFigure(std::string_view text)
{
    return base::Decimal::parse(text).value();
}

} // namespace

Done readSetting(const std::string& text, std::string& into)
{
    into = text;
    return text.empty() ? Done(badInput("needs a name")) : Done();
}

Done readSetting(const std::string& text, int& into, int least, int most)
{
    int value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || value < least || value > most)
        return badInput("takes a whole number from %1 to %2, not '%3'", least, most, text);
    into = value;
    return {};
}

Done readSetting(const std::string& text, std::int64_t& into, int least, int most)
{
    int value = 0;
    const Done read = readSetting(text, value, least, most);
    if (read)
        into = value;
    return read;
}

Done readSetting(const std::string& text, std::size_t& into, int least, int most)
{
    int value = 0;
    const Done read = readSetting(text, value, least, most);
    if (read)
        into = static_cast<std::size_t>(value);
    return read;
}

Done readSetting(const std::string& text, OccasionTolerance& into)
{
    const bool isPart = text.starts_with("1/");
    int value = 0;
    if (const Done read = readSetting(isPart ? text.substr(2) : text, value, isPart ? 2 : 0, isPart ? 100 : 31 * 24 * 60); !read)
        return badInput("takes a part of the clearance such as 1/12, or whole minutes, not '%1'", text);
    into = {};
    if (isPart)
        into.part = value;
    else
        into.minutes = value;
    return {};
}

Done readSetting(const std::string& text, DriftMarks& into)
{
    into = {};
    if (text == "none")
        return {};
    for (const auto& word : policyWords(text, ',')) {
        const auto rule = stats::ruleNamed(word);
        const bool marks = rule && stats::rowOf(*rule).tells == stats::RuleTells::Drift;
        if (!marks && word != "EWMA")
            return badInput("takes none, or long rules and EWMA such as 4-1s,10x,EWMA, not '%1'", word);
        if (marks)
            into.rules.push_back(*rule);
        else
            into.ewma = true;
    }
    return {};
}

Done readSetting(const std::string& text, stats::BaseSettings& into)
{
    const auto words = policyWords(text, ' ');
    int inUse = 0, frozen = 0;
    constexpr int kFewest = 5, kMost = 1000;
    if (words.size() != 2 || !readSetting(words[0], inUse, kFewest, kMost) || !readSetting(words[1], frozen, inUse, kMost))
        return badInput(
            "takes two numbers of results from %1 to %2, the second not below the first, such as 20 60, not '%3'", kFewest, kMost, text);
    into.inUse = inUse;
    into.frozen = frozen;
    return {};
}

Done readSetting(const std::string& text, double& into, double least, double most)
{
    const auto decimal = base::Decimal::parse(text);
    if (!decimal || decimal->toDouble() < least || decimal->toDouble() > most)
        return badInput("takes a number from %1 to %2, not '%3'", base::significantText(least, 6), base::significantText(most, 6), text);
    into = decimal->toDouble();
    return {};
}

Done readSetting(const std::string& text, base::Decimal& into)
{
    auto decimal = base::Decimal::parse(text);
    if (!decimal || decimal->mantissa() <= 0)
        return badInput("takes a number above 0, not '%1'", text);
    into = std::move(decimal).value();
    return {};
}

Done readSetting(const std::string& text, base::Period& into)
{
    const auto period = base::parsePeriod(text);
    if (!period)
        return period.error();
    into = *period;
    return {};
}

Done readSetting(const std::string& text, std::vector<Level>& into)
{
    into.clear();
    for (const auto& word : policyWords(text, ' ')) {
        const auto level = valueOf<Level>(word);
        if (!level || std::ranges::find(into, *level) != into.end())
            return badInput("takes low, normal and high, each at most once, not '%1'", text);
        into.push_back(*level);
    }
    std::ranges::sort(into);
    return into.empty() ? Done(badInput("needs at least one level")) : Done();
}

Done readSetting(const std::string& text, std::vector<RuleChoice>& into)
{
    into.clear();
    if (text == "none")
        return {};
    for (const auto& word : policyWords(text, ',')) {
        const auto colon = word.find(':');
        const auto rule = stats::ruleNamed(word.substr(0, colon));
        const std::string role = colon == std::string::npos ? "reject" : word.substr(colon + 1);
        if (!rule || (role != "warn" && role != "reject"))
            return badInput("takes rules such as 1-2s:warn,1-3s,2-2s, not '%1'", word);
        into.push_back({ *rule, role == "warn" ? RuleRole::Warn : RuleRole::Reject });
    }
    return {};
}

Done readSetting(const std::string& text, int& into)
{
    const auto time = base::parseTimeText("2000-01-01T" + text);
    if (!time || time->hasOffset)
        return badInput("takes a time of day such as 07:00, not '%1'", text);
    into = time->wall.millisecondOfDay / 60'000;
    return {};
}

Done readSetting(const std::string& text, std::vector<int>& into)
{
    into.clear();
    if (text == "none")
        return {};
    for (const auto& word : policyWords(text, ' ')) {
        int minutes = 0;
        if (const Done read = readSetting(word, minutes); !read)
            return badInput("takes none, or times of day such as 07:00 15:00 23:00, not '%1'", text);
        if (!into.empty() && minutes <= into.back())
            return badInput("takes times of day in their order, each once, not '%1'", text);
        into.push_back(minutes);
    }
    return into.empty() ? Done(badInput("takes none, or times of day such as 07:00 15:00 23:00")) : Done();
}

Done readSetting(const std::string& text, std::optional<base::Period>& into)
{
    into.reset();
    if (text == "none")
        return {};
    const auto period = base::parsePeriod(text);
    if (!period)
        return badInput("takes none or a period such as 6 m, not '%1'", text);
    into = *period;
    return {};
}

Done readSetting(const std::string& text, bool& into)
{
    if (text != "yes" && text != "no")
        return badInput("takes yes or no, not '%1'", text);
    into = text == "yes";
    return {};
}

Done isWordOf(const std::string& text, std::span<const std::string_view> words)
{
    if (std::ranges::find(words, text) != words.end())
        return {};
    std::string choices;
    for (const auto word : words)
        choices += (choices.empty() ? "" : ", ") + std::string(word);
    return badInput("takes one of %1, not '%2'", base::asCode(choices), text);
}

Done readSetting(const std::string& text, Policy& policy)
{
    const auto tier = [](const char* name, const char* threshold, const char* below, const char* thresholdMmol, const char* belowMmol,
                          const char* percent, const char* share) {
        return ComparisonTier { name, policyFigure(threshold), policyFigure(below), policyFigure(thresholdMmol), policyFigure(belowMmol),
            policyFigure(percent), policyFigure(share) };
    };
    policy.comparisonTiers.clear();
    if (text == "FPOC" || text == "local") {
        const ComparisonTier published = tier("FPOC-a", "75", "12", "4.2", "0.67", "12", "0.95");
        const bool own = policy.limitThreshold == published.threshold && policy.limitBelow == published.below
            && policy.limitPercent == published.percent && policy.limitThresholdMmol == published.thresholdMmol
            && policy.limitBelowMmol == published.belowMmol;
        const bool fpoc = text == "FPOC" && own; // with other limits the document's own speak alone
        policy.comparisonTiers.push_back({ fpoc ? published.name : "local", policy.limitThreshold, policy.limitBelow,
            policy.limitThresholdMmol, policy.limitBelowMmol, policy.limitPercent, published.share });
        if (fpoc)
            policy.comparisonTiers.push_back(tier("FPOC-b", "75", "15", "4.2", "0.83", "15", "0.98"));
        return {};
    }
    if (text == "ISO-15")
        policy.comparisonTiers = { tier("ISO-15", "100", "15", "5.55", "0.83", "15", "0.95") };
    else if (text == "L12")
        policy.comparisonTiers = { tier("L12-a", "100", "12", "5.55", "0.67", "12.5", "0.95"),
            tier("L12-b", "75", "15", "4.2", "0.83", "20", "0.98") };
    else
        return badInput("takes one of FPOC, L12, ISO-15, local, not '%1'", text);
    const ComparisonTier& first = policy.comparisonTiers.front();
    policy.limitThreshold = first.threshold, policy.limitBelow = first.below, policy.limitPercent = first.percent;
    policy.limitThresholdMmol = first.thresholdMmol, policy.limitBelowMmol = first.belowMmol;
    return {};
}

} // namespace mk::registry
