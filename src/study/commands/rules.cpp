// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/rules.h"

#include "study/terminal/help.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <memory>
#include <optional>
#include <span>
#include <unordered_map>
#include <unordered_set>
#include <utility>

namespace mk::study {

namespace {

/// Where a study file keeps what the rules need; either z, or value, mean and SD.
struct RuleColumns {
    std::size_t set = 0;
    std::size_t level = 0;
    std::optional<std::size_t> z;
    std::optional<std::size_t> restart;
    std::size_t value = 0;
    std::size_t mean = 0;
    std::size_t sd = 0;
};

std::string rulesWhere(auto holds)
{
    std::vector<std::string> names;
    for (const stats::RuleRow& row : stats::kRules)
        if (holds(row))
            names.emplace_back(row.name);
    return joined(names, ", ");
}

constexpr auto kPublished = [](const stats::RuleRow&) { return true; };

base::Result<StudyRule> parseStudyRule(std::string_view text)
{
    const auto colon = text.find(':');
    const auto rule = stats::ruleNamed(text.substr(0, colon));
    if (!rule)
        return base::badInput("--rules: '%1' is not a known rule; choose from %2", text.substr(0, colon), rulesWhere(kPublished));
    const auto role = colon == std::string_view::npos ? "reject" : text.substr(colon + 1);
    if (role != "warn" && role != "reject")
        return base::badInput("--rules: '%1' is not a role; write %2:warn or %3:reject", role, stats::name(*rule), stats::name(*rule));
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
    columns.restart = file.table.column("restart");
    if (columns.z)
        return columns;
    if (!file.has("value") && !file.has("mean") && !file.has("sd"))
        return base::badInput(
            "%1 line 1: has no column 'z' and no columns 'value', 'mean' and 'sd'; the rules need one or the other", file.name);
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
        return file.fault(row, base::badInput("the SD is %1; rules cannot be evaluated without an SD above 0", row.text(columns.sd)));
    if (value->exact && mean->exact && sd->exact) {
        if (const auto score = stats::ControlScore::of(*value->exact, *mean->exact, *sd->exact))
            return *score;
    }
    const double z = (value->value - mean->value) / sd->value;
    if (!std::isfinite(z))
        return file.fault(row,
            base::fault(
                base::FaultKind::BadInput, "the result lies too many SD from the mean to compute with; look for a slip in the row"));
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

/// The rows of a file by set. firstPoint: where each set's points begin
/// scores   beside the points where decimals decide; empty where the double of a z decides as exactly
struct RuleRows {
    std::vector<StudySetVerdict> sets;
    std::vector<std::size_t> firstPoint;
    std::vector<StudyRulePoint> points;
    std::vector<stats::ControlScore> scores;
    std::vector<std::string_view> levels;
};

/// Collects the rows of a file into sets.
class RuleSets {
public:
    /// exact   whether every score is kept as a decimal
    RuleSets(const StudyFile& file, const RuleColumns& columns, bool exact) : m_file(file), m_columns(columns), m_exact(exact)
    {
        m_rows.points.reserve(file.table.rows.size());
        m_rows.sets.reserve(file.table.rows.size());
        m_rows.firstPoint.reserve(file.table.rows.size());
    }

    base::Done add(const exchange::CsvRow& row)
    {
        const std::string_view set = row.cells[m_columns.set];
        const std::string_view level = row.cells[m_columns.level];
        if (set.empty() || level.empty())
            return m_file.fault(row,
                set.empty() ? base::badInput("the cell under 'set' is empty; name the set")
                            : base::badInput("the cell under 'level' is empty; name the level"));
        if (m_rows.sets.empty() || m_rows.sets.back().set != set) {
            if (!isNew(set))
                return m_file.fault(row, base::badInput("set '%1' comes back after another set; keep the rows of a set together", set));
            m_rows.sets.push_back({ set });
            m_rows.firstPoint.push_back(m_rows.points.size());
        }
        if (m_columns.restart) {
            const std::string_view restart = row.cells[*m_columns.restart];
            if (!restart.empty() && restart != "yes" && restart != "no")
                return m_file.fault(row, base::badInput("'%1' under 'restart' is neither yes nor no", restart));
            m_rows.sets.back().restarts |= restart == "yes";
        }
        return addPoint(row, level);
    }

    RuleRows take() { return std::move(m_rows); }

private:
    /// Whether no set before had that name. While names only ascend, as running numbers and dates do, none can.
    bool isNew(std::string_view set)
    {
        const auto after = [](std::string_view a, std::string_view b) { return a.size() != b.size() ? a.size() > b.size() : a > b; };
        if (m_ascending && (m_rows.sets.empty() || after(set, m_rows.sets.back().set)))
            return true;
        if (m_ascending)
            std::ranges::transform(m_rows.sets, std::inserter(m_known, m_known.end()), &StudySetVerdict::set);
        m_ascending = false;
        return m_known.insert(set).second;
    }

    base::Done addPoint(const exchange::CsvRow& row, std::string_view level)
    {
        const auto [known, isFirst] = m_levelNumbers.try_emplace(level, m_rows.levels.size());
        if (isFirst) {
            m_rows.levels.push_back(level);
            m_setOfLevel.push_back(0);
        }
        if (std::exchange(m_setOfLevel[known->second], m_rows.sets.size()) == m_rows.sets.size())
            return m_file.fault(row,
                base::badInput("set '%1' has level '%2' twice; only the first attempt of a level counts", m_rows.sets.back().set, level));
        StudyRulePoint point { m_rows.sets.size() - 1, known->second };
        if (m_exact) {
            const auto score = ruleScore(m_file, row, m_columns);
            if (!score)
                return score.error();
            m_rows.scores.push_back(*score);
            point.z = score->z();
        } else {
            const auto z = m_file.real(row, *m_columns.z);
            if (!z)
                return z.error();
            point.z = *z;
        }
        m_rows.points.push_back(point);
        return {};
    }

    const StudyFile& m_file;
    RuleColumns m_columns;
    bool m_exact;
    RuleRows m_rows;
    bool m_ascending = true;
    std::unordered_set<std::string_view> m_known; // filled once names no longer ascend
    std::unordered_map<std::string_view, std::size_t> m_levelNumbers;
    std::vector<std::size_t> m_setOfLevel; // the last set in which each level stands, counted from 1
};

base::Result<RuleRows> readRuleRows(const StudyFile& file, const RuleColumns& columns, stats::RangeReading rangeReading)
{
    // A z of up to 15 digits lies beyond a whole limit exactly when its double does; a difference of two may not.
    RuleSets sets(file, columns, !columns.z || rangeReading == stats::RangeReading::Difference);
    for (const exchange::CsvRow& row : file.table.rows) {
        if (const auto added = sets.add(row); !added)
            return added.error();
    }
    return sets.take();
}

void raiseVerdict(StudyVerdict& verdict, StudyRole role)
{
    verdict = std::max(verdict, role == StudyRole::Reject ? StudyVerdict::Rejected : StudyVerdict::Warned);
}

/// Judges one set; its points stand in `points`, pointOf says where by level.
void judgeRuleSet(StudySetVerdict& set, std::span<StudyRulePoint> points, const std::vector<std::size_t>& pointOf,
    const std::vector<stats::FiredRule>& fired, const std::vector<StudyRule>& rules)
{
    for (const stats::FiredRule& one : fired) {
        const auto asked = std::ranges::find(rules, one.rule, &StudyRule::rule);
        set.fired = static_cast<stats::RuleMask>(set.fired | 1U << static_cast<unsigned>(asked - rules.begin()));
        raiseVerdict(set.verdict, asked->role);
        for (StudyRulePoint& point : one.level ? points.subspan(pointOf[*one.level], 1) : points)
            raiseVerdict(point.standing, asked->role);
    }
}

void judgeRuleRows(RuleRows& rows, const std::vector<StudyRule>& rules, stats::RuleSettings settings)
{
    stats::ControlSeries series(std::move(settings));
    std::vector<stats::LevelScore> scores;
    std::vector<std::size_t> pointOf(rows.levels.size()); // of the set at hand
    for (std::size_t i = 0; i < rows.sets.size(); ++i) {
        const std::size_t first = rows.firstPoint[i];
        const std::size_t end = i + 1 < rows.sets.size() ? rows.firstPoint[i + 1] : rows.points.size();
        scores.clear();
        for (std::size_t at = first; at < end; ++at) {
            const std::size_t level = rows.points[at].level;
            scores.push_back({ level, rows.scores.empty() ? stats::ControlScore::ofZ(rows.points[at].z) : rows.scores[at] });
            pointOf[level] = at - first;
        }
        std::ranges::sort(scores, {}, &stats::LevelScore::level);
        if (rows.sets[i].restarts)
            series.restart();
        judgeRuleSet(rows.sets[i], std::span(rows.points).subspan(first, end - first), pointOf, series.add(scores), rules);
    }
}

/// The same for one level in plain numbers, in one pass.
void judgeOneLevel(RuleRows& rows, const std::vector<StudyRule>& rules, stats::OnLimit onLimit)
{
    std::vector<double> z(rows.points.size());
    std::ranges::transform(rows.points, z.begin(), &StudyRulePoint::z);
    std::vector<stats::RuleMask> masks(z.size());
    stats::ruleMasks(z, onLimit, masks);
    for (std::size_t i = 0; i < masks.size(); ++i) {
        for (std::size_t rule = 0; masks[i] != 0 && rule < rules.size(); ++rule) {
            if ((masks[i] & maskOf(rules[rule].rule)) == 0)
                continue;
            rows.sets[i].fired = static_cast<stats::RuleMask>(rows.sets[i].fired | 1U << rule);
            raiseVerdict(rows.sets[i].verdict, rules[rule].role);
        }
        rows.points[i].standing = rows.sets[i].verdict;
    }
}

struct StudyRulesArguments {
    std::string file;
    std::string plot;
    std::string rules = kStudyDefaultRules;
    std::string onLimit = "in";
    std::string rangeReading = "opposite";
};

int runStudyRules(const StudyRulesArguments& arguments, bool json)
{
    const auto rules = parseStudyRules(arguments.rules);
    if (!rules)
        return printFault(rules.error());
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    const auto onLimit = arguments.onLimit == "out" ? stats::OnLimit::Out : stats::OnLimit::In;
    const auto reading = arguments.rangeReading == "range" ? stats::RangeReading::Difference : stats::RangeReading::Opposite;
    return printStudy(studyRules(*file, *rules, onLimit, reading), json, arguments.plot, studyRulesJson, studyRulesTable, studyRulesPlot);
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
            return base::badInput("--rules: %1 stands twice; keep one of them", stats::name(rule->rule));
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
    auto rows = readRuleRows(file, *columns, rangeReading);
    if (!rows)
        return rows.error();
    stats::RuleSettings settings { {}, rangeReading, onLimit, std::max<std::size_t>(1, rows->levels.size()) };
    std::ranges::transform(rules, std::back_inserter(settings.rules), &StudyRule::rule);
    if (rows->levels.size() == 1 && rows->scores.empty() && !columns->restart)
        judgeOneLevel(*rows, rules, onLimit);
    else
        judgeRuleRows(*rows, rules, std::move(settings));

    StudyRulesReport report;
    report.rules = rules;
    report.levels = std::move(rows->levels);
    report.sets = std::move(rows->sets);
    report.points = std::move(rows->points);
    report.ignoredColumns = columns->z ? file.ignored({ "set", "level", "z", "restart" })
                                       : file.ignored({ "set", "level", "value", "mean", "sd", "restart" });
    const auto count = [&](StudyVerdict verdict) {
        return static_cast<std::size_t>(std::ranges::count(report.sets, verdict, &StudySetVerdict::verdict));
    };
    report.accepted = count(StudyVerdict::Accepted);
    report.warned = count(StudyVerdict::Warned);
    report.rejected = count(StudyVerdict::Rejected);
    return report;
}

void addStudyRules(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("rules", "Apply control rules to the sets of a file");
    auto arguments = std::make_shared<StudyRulesArguments>();
    command->add_option("FILE", arguments->file, "CSV with set,level,z or set,level,value,mean,sd; rows of a set stand together")
        ->required();
    auto* names = command->add_option("--rules", arguments->rules)->capture_default_str();
    describe(*command, *names, "Rules in use, each with :warn or :reject (default reject): %1", { rulesWhere(kPublished) });
    oneOf(command->add_option("--on-limit", arguments->onLimit, "Whether a score exactly on a limit is in or out; never asked of the mean"),
        { "in", "out" })
        ->capture_default_str();
    oneOf(command->add_option(
              "--r4s", arguments->rangeReading, "R-4s: one beyond +2 SD and one beyond -2 SD (opposite), or more than 4 SD apart (range)"),
        { "opposite", "range" })
        ->capture_default_str();
    addPlotOption(*command, arguments->plot);
    addFooter(*command,
        "How the rules are read:\n"
        "  Beyond a limit is strictly beyond, in the decimals as they stand; exactly on the mean is on no side and ends a run.\n"
        "  A rule fires on the set that completes its pattern, and on every set that goes on with it.\n"
        "  Within a level these count from set to set: %1.\n"
        "  Across levels 2-2s takes any two of a complete set, and R-4s reads one set, never two. Of one with three levels: %2.\n"
        "  Whole sets, complete, adjacent, every result on one side, as many as hold the rule's number: %3.\n"
        "  2of3-2s needs two of a level's last three results, so it may fire on the second. 7T is seven results of a level, each\n"
        "  strictly above (below) the one before. Otherwise a rule with fewer results than its number does not fire.\n"
        "  No rule is a gate for another. A rejection resets nothing; a column restart with yes starts every count again.\n"
        "  Rejected sets are a result of the study, not a failure: the exit status is 0.\n"
        "Example:\n  meterkeep-cli study rules controls.csv --rules 1-2s:warn,1-3s,2-2s,R-4s",
        { rulesWhere([](const auto& row) { return row.count == stats::RuleCount::Run; }),
            rulesWhere([](const auto& row) { return row.across == stats::RuleAcross::InSetOfThree; }),
            rulesWhere([](const auto& row) { return row.across == stats::RuleAcross::WholeSets; }) });
    whenChosen(*command, chosen, [arguments, &json] { return runStudyRules(*arguments, json); });
}

} // namespace mk::study
