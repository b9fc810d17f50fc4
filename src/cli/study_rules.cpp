// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_rules.h"

#include "cli/json_writer.h"
#include "cli/study_output.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <unordered_map>
#include <unordered_set>

namespace mk::cli {

namespace {

/// Where a study file keeps what the rules need; either z, or value, mean and SD.
struct RuleColumns {
    std::size_t set = 0;
    std::size_t level = 0;
    std::optional<std::size_t> z;
    std::size_t value = 0;
    std::size_t mean = 0;
    std::size_t sd = 0;
};

struct RuleRow {
    std::string set;
    std::size_t line = 0;
    std::vector<stats::LevelScore> scores;
};

std::string publishedRules()
{
    std::vector<std::string> names;
    for (const stats::Rule rule : stats::allRules())
        names.emplace_back(stats::name(rule));
    return joined(names, ", ");
}

base::Result<StudyRule> parseStudyRule(std::string_view text)
{
    const auto colon = text.find(':');
    const auto rule = stats::ruleNamed(text.substr(0, colon));
    if (!rule)
        return base::badInput("--rules: '" + std::string(text.substr(0, colon)) + "' is not a known rule; choose from " + publishedRules());
    const auto role = colon == std::string_view::npos ? "reject" : text.substr(colon + 1);
    if (role != "warn" && role != "reject")
        return base::badInput("--rules: '" + std::string(role) + "' is not a role; write " + std::string(stats::name(*rule)) + ":warn or "
            + std::string(stats::name(*rule)) + ":reject");
    return StudyRule { *rule, role == "warn" ? StudyRole::Warn : StudyRole::Reject };
}

base::Result<RuleColumns> ruleColumns(const StudyFile& file)
{
    RuleColumns columns;
    const auto find = [&](const char* name, std::size_t& into) -> base::Done {
        const auto found = file.column(name);
        if (!found)
            return found.error();
        into = *found;
        return {};
    };
    if (const auto done = find("set", columns.set); !done)
        return done.error();
    if (const auto done = find("level", columns.level); !done)
        return done.error();
    columns.z = file.table.column("z");
    if (columns.z)
        return columns;
    if (!file.has("value") && !file.has("mean") && !file.has("sd"))
        return base::badInput(
            file.name + " line 1: has no column 'z' and no columns 'value', 'mean' and 'sd'; the rules need one or the other");
    if (const auto done = find("value", columns.value); !done)
        return done.error();
    if (const auto done = find("mean", columns.mean); !done)
        return done.error();
    if (const auto done = find("sd", columns.sd); !done)
        return done.error();
    return columns;
}

base::Result<stats::ControlScore> ruleScoreFromTarget(const StudyFile& file, const exchange::CsvRow& row, const RuleColumns& columns)
{
    const auto value = file.number(row, columns.value);
    if (!value)
        return value.error();
    const auto mean = file.number(row, columns.mean);
    if (!mean)
        return mean.error();
    const auto sd = file.number(row, columns.sd);
    if (!sd)
        return sd.error();
    if (!(sd->value > 0))
        return file.fault(row, "the SD is " + row.cells[columns.sd] + "; rules cannot be evaluated without an SD above 0");
    if (value->exact && mean->exact && sd->exact) {
        if (const auto score = stats::ControlScore::of(*value->exact, *mean->exact, *sd->exact))
            return *score;
    }
    const double z = (value->value - mean->value) / sd->value;
    if (!std::isfinite(z))
        return file.fault(row, "the result lies too many SD from the mean to compute with; look for a slip in the row");
    return stats::ControlScore::ofZ(z);
}

base::Result<stats::ControlScore> ruleScore(const StudyFile& file, const exchange::CsvRow& row, const RuleColumns& columns)
{
    if (!columns.z)
        return ruleScoreFromTarget(file, row, columns);
    const auto z = file.number(row, *columns.z);
    if (!z)
        return z.error();
    return z->exact ? stats::ControlScore::ofZ(*z->exact) : stats::ControlScore::ofZ(z->value);
}

/// Collects the rows of a file into sets.
class RuleSets {
public:
    explicit RuleSets(const StudyFile& file) : m_file(file) { }

    base::Done add(const exchange::CsvRow& row, const RuleColumns& columns)
    {
        const std::string& set = row.cells[columns.set];
        const std::string& level = row.cells[columns.level];
        if (set.empty() || level.empty())
            return m_file.fault(row,
                std::string("the cell under '") + (set.empty() ? "set" : "level") + "' is empty; name the "
                    + (set.empty() ? "set" : "level"));
        const auto score = ruleScore(m_file, row, columns);
        if (!score)
            return score.error();
        if (m_sets.empty() || m_sets.back().set != set) {
            if (!m_known.insert(set).second)
                return m_file.fault(row, "set '" + set + "' comes back after another set; keep the rows of a set together");
            m_sets.push_back({ set, row.line, {} });
        }
        return addScore(row, level, *score);
    }

    /// The sets in the order of the file, each with its levels ascending.
    std::vector<RuleRow> take()
    {
        for (RuleRow& set : m_sets)
            std::ranges::sort(set.scores, {}, &stats::LevelScore::level);
        return std::move(m_sets);
    }

    const std::vector<std::string>& levels() const { return m_levels; }

private:
    base::Done addScore(const exchange::CsvRow& row, const std::string& level, const stats::ControlScore& score)
    {
        const auto [known, isNew] = m_levelNumbers.try_emplace(level, m_levels.size());
        if (isNew)
            m_levels.push_back(level);
        auto& scores = m_sets.back().scores;
        if (std::ranges::find(scores, known->second, &stats::LevelScore::level) != scores.end())
            return m_file.fault(
                row, "set '" + m_sets.back().set + "' has level '" + level + "' twice; only the first attempt of a level counts");
        scores.push_back({ known->second, score });
        return {};
    }

    const StudyFile& m_file;
    std::vector<RuleRow> m_sets;
    std::unordered_set<std::string> m_known;
    std::unordered_map<std::string, std::size_t> m_levelNumbers;
    std::vector<std::string> m_levels;
};

StudySetVerdict ruleVerdict(const std::string& set, const std::vector<stats::FiredRule>& fired, const std::vector<StudyRule>& rules)
{
    StudySetVerdict verdict { set, "accepted", {} };
    for (const StudyRule& rule : rules) {
        if (std::ranges::find(fired, rule.rule, &stats::FiredRule::rule) == fired.end())
            continue;
        verdict.rules.emplace_back(stats::name(rule.rule));
        if (rule.role == StudyRole::Reject)
            verdict.verdict = "rejected";
        else if (verdict.verdict == "accepted")
            verdict.verdict = "warned";
    }
    return verdict;
}

} // namespace

base::Result<std::vector<StudyRule>> parseStudyRules(std::string_view text)
{
    std::vector<StudyRule> rules;
    for (std::size_t at = 0; at <= text.size();) {
        const std::size_t end = std::min(text.find(',', at), text.size());
        std::string_view one = text.substr(at, end - at);
        one.remove_prefix(std::min(one.find_first_not_of(' '), one.size()));
        one = one.substr(0, one.find_last_not_of(' ') + 1);
        const auto rule = parseStudyRule(one);
        if (!rule)
            return rule.error();
        if (std::ranges::find(rules, rule->rule, &StudyRule::rule) != rules.end())
            return base::badInput("--rules: " + std::string(stats::name(rule->rule)) + " stands twice; keep one of them");
        rules.push_back(*rule);
        at = end + 1;
    }
    return rules;
}

base::Result<StudyRulesReport> studyRules(
    const StudyFile& file, const std::vector<StudyRule>& rules, stats::OnLimit onLimit, stats::RangeReading rangeReading)
{
    const auto columns = ruleColumns(file);
    if (!columns)
        return columns.error();
    RuleSets sets(file);
    for (const exchange::CsvRow& row : file.table.rows) {
        if (const auto added = sets.add(row, *columns); !added)
            return added.error();
    }

    StudyRulesReport report;
    report.levels = sets.levels();
    report.ignoredColumns = columns->z ? file.ignored({ "set", "level", "z" }) : file.ignored({ "set", "level", "value", "mean", "sd" });
    stats::RuleSettings settings { {}, rangeReading, onLimit, std::max<std::size_t>(1, report.levels.size()) };
    std::ranges::transform(rules, std::back_inserter(settings.rules), &StudyRule::rule);
    stats::ControlSeries series(std::move(settings));
    for (const RuleRow& set : sets.take()) {
        report.sets.push_back(ruleVerdict(set.set, series.add(set.scores), rules));
        const std::string& verdict = report.sets.back().verdict;
        ++(verdict == "accepted" ? report.accepted : (verdict == "warned" ? report.warned : report.rejected));
    }
    return report;
}

std::string studyRulesJson(const StudyRulesReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("sets").beginArray();
    for (const StudySetVerdict& set : report.sets) {
        json.beginObject().key("set").value(set.set).key("verdict").value(set.verdict).key("rules").array(set.rules);
        json.endObject();
    }
    json.endArray().key("accepted").value(report.accepted).key("warned").value(report.warned).key("rejected").value(report.rejected);
    json.key("levels").array(report.levels).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyRulesTable(const StudyRulesReport& report)
{
    std::vector<std::vector<std::string>> rows = { { "set", "verdict", "rules" } };
    for (const StudySetVerdict& set : report.sets)
        rows.push_back({ set.set, set.verdict, joined(set.rules, " ") });
    return alignedTable(rows) + std::to_string(report.sets.size()) + " sets: " + std::to_string(report.accepted) + " accepted, "
        + std::to_string(report.warned) + " warned, " + std::to_string(report.rejected) + " rejected.\n"
        + ignoredLine(report.ignoredColumns);
}

} // namespace mk::cli
