// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/own_usual.h"

#include "study/table/figures.h"
#include "study/terminal/printing.h"

#include <algorithm>
#include <array>
#include <functional>
#include <limits>

namespace mk::study {

namespace {

using stats::UsualReading;
using stats::Way;

constexpr std::array<const char*, stats::kUsualLevels> kLevelNames = { "low", "normal", "high" };

struct UsualColumns {
    std::size_t set = 0, level = 0, value = 0, base = 0, cv = 0;
};

base::Result<UsualColumns> usualColumns(const StudyFile& file)
{
    UsualColumns columns;
    const std::pair<const char*, std::size_t*> all[] = { { "set", &columns.set }, { "level", &columns.level }, { "value", &columns.value },
        { "base", &columns.base }, { "cv_percent", &columns.cv } };
    for (const auto& [name, into] : all) {
        const auto found = file.column(name);
        if (!found)
            return found.error();
        *into = *found;
    }
    return columns;
}

/// Half of what a comparison allows by the guidance that the shipped policy names: 12 mg/dL below 75, 0.67 mmol/L below 4.2, else 12 %.
double halfLimit(double base, base::GlucoseUnit unit)
{
    const bool mg = unit == base::GlucoseUnit::MgPerDl;
    return base < (mg ? 75 : 4.2) ? 100 * (mg ? 6 : 0.335) / base : 6;
}

const char* wayName(Way way)
{
    return way == Way::High ? "high" : way == Way::Low ? "low" : "";
}

/// Reads a file row by row and keeps the meter.
class UsualPlay {
public:
    UsualPlay(const StudyFile& file, const UsualColumns& columns, const StudyUsualOptions& options)
        : m_file(file),
          m_columns(columns),
          m_options(options)
    {
    }

    base::Done take(const exchange::CsvRow& row)
    {
        const std::string set = row.text(m_columns.set), level = row.text(m_columns.level);
        if (level == "act") {
            endSet();
            return happen(row);
        }
        if (set != m_set)
            endSet();
        m_set = set;
        const auto reading = readingOf(row, level);
        if (!reading)
            return reading.error();
        if (std::ranges::count(m_readings, reading->level, &UsualReading::level) > 0)
            return m_file.fault(row, base::badInput("set '%1' has the level '%2' twice; only first attempts count", set, level));
        m_readings.push_back(*reading);
        return {};
    }

    void endSet()
    {
        if (m_readings.empty())
            return;
        m_names.push_back(m_set);
        const auto judged = stats::advance(m_state, m_readings, static_cast<std::int64_t>(m_names.size()) - 1, m_options.settings);
        for (const auto& level : judged.levels)
            stats::judgeApart(m_state, level, 0);
        StudyUsualSet after { m_set, judged.score, m_state.up, m_state.down, m_state.told, {}, m_state.stopped, m_state.apart(), {} };
        if (m_state.began)
            after.began = m_names[static_cast<std::size_t>(*m_state.began)];
        for (std::size_t place = 0; place < stats::kUsualLevels; ++place)
            if (const auto& level = m_state.levels[place]; level.count > 0)
                after.levels.push_back({ place, level.n, level.usual(m_options.settings), level.newestMean(), level.slow });
        m_sets.push_back(std::move(after));
        m_readings.clear();
    }

    std::vector<StudyUsualSet> sets() && { return std::move(m_sets); }

private:
    base::Done happen(const exchange::CsvRow& row)
    {
        const std::string what = row.text(m_columns.value);
        if (what == "restart")
            stats::restart(m_state);
        else if (what == "accept")
            stats::acceptAsItStands(m_state, m_options.settings);
        else
            return m_file.fault(row, base::badInput("an act is restart or accept, not '%1'", what));
        return {};
    }

    base::Result<UsualReading> readingOf(const exchange::CsvRow& row, const std::string& level) const
    {
        const auto place = std::ranges::find(kLevelNames, level);
        if (place == kLevelNames.end())
            return m_file.fault(row, base::badInput("a level is low, normal or high, not '%1'", level));
        const auto base = m_file.real(row, m_columns.base), cv = m_file.real(row, m_columns.cv);
        if (!base || !cv)
            return base ? cv.error() : base.error();
        if (!(*base > 0) || !(*cv > 0))
            return m_file.fault(row, base::badInput("base and cv_percent lie above 0"));
        UsualReading reading { static_cast<std::size_t>(place - kLevelNames.begin()), UsualReading::Kind::Number, 0, *base, *cv,
            halfLimit(*base, m_options.unit) };
        const std::string text = row.text(m_columns.value);
        if (text == "HI" || text == "LO") {
            reading.kind = text == "HI" ? UsualReading::Kind::High : UsualReading::Kind::Low;
            return reading;
        }
        const auto value = m_file.real(row, m_columns.value);
        if (!value)
            return value.error();
        reading.value = *value;
        return reading;
    }

    const StudyFile& m_file;
    const UsualColumns& m_columns;
    const StudyUsualOptions& m_options;
    stats::UsualState m_state;
    std::string m_set;
    std::vector<UsualReading> m_readings;
    std::vector<std::string> m_names;
    std::vector<StudyUsualSet> m_sets;
};

} // namespace

bool holdsUsualSets(const StudyFile& file)
{
    return file.has("set") && file.has("base");
}

base::Result<StudyUsualReport> studyUsual(const StudyFile& file, const StudyUsualOptions& options)
{
    const auto columns = usualColumns(file);
    if (!columns)
        return columns.error();
    if (const auto rows = file.hasRows("result"); !rows)
        return rows.error();
    UsualPlay play(file, *columns, options);
    for (const auto& row : file.table.rows)
        if (const auto taken = play.take(row); !taken)
            return taken.error();
    play.endSet();
    return StudyUsualReport { options, std::move(play).sets(), file.ignored({ "set", "level", "value", "base", "cv_percent" }) };
}

std::string studyUsualJson(const StudyUsualReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("sets").beginArray();
    for (const auto& set : report.sets) {
        json.beginObject().key("set").value(set.set).key("score").value(set.score).key("up").value(set.up).key("down").value(set.down);
        json.key("told").value(wayName(set.told)).key("began");
        set.began.empty() ? json.null() : json.value(set.began);
        json.key("stopped").value(set.stopped).key("apart").value(set.apart).key("levels").beginObject();
        for (const auto& level : set.levels) {
            json.key(kLevelNames[level.level]).beginObject().key("n").value(level.n).key("usual").value(level.usual);
            json.key("newest").value(level.newest).key("slow").value(level.slow).endObject();
        }
        json.endObject().endObject();
    }
    json.endArray().key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyUsualTable(const StudyUsualReport& report)
{
    std::vector<std::vector<std::string>> rows = { { "set", "score", "up", "down", "told", "began", "stopped", "apart", "level", "n",
        "usual %", "newest %", "slow %" } };
    for (const auto& set : report.sets) {
        std::vector<std::string> row = { set.set, shortNumber(set.score), shortNumber(set.up), shortNumber(set.down), wayName(set.told),
            set.began, set.stopped ? yesNoText(true) : "", set.apart ? yesNoText(true) : "" };
        for (const auto& level : set.levels) {
            row.insert(row.end(),
                { kLevelNames[level.level], std::to_string(level.n), shortNumber(level.usual), maybeText(level.newest),
                    shortNumber(level.slow) });
            rows.push_back(row);
            row.assign(8, "");
        }
    }
    return alignedTable(rows) + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyUsualPlot(const StudyUsualReport& report)
{
    using report::PlotStroke;
    const std::vector<double> numbers = runningNumbers(report.sets.size());
    report::PlotPanel means, sums;
    means.title = said(StudyTexts::tr("Where the newest controls stand, and the usual value"));
    means.y.title = said(StudyTexts::tr("Percent of the base"));
    sums.title = said(StudyTexts::tr("Sums of scores, decision limit %1 SD"), shortNumber(report.options.settings.h));
    sums.x.title = said(StudyTexts::tr("Number of the set"));
    sums.y.title = said(StudyTexts::tr("Sum, in SD"));
    means.x.wholeNumbers = sums.x.wholeNumbers = true;
    for (std::size_t place = 0; place < stats::kUsualLevels; ++place) {
        std::vector<double> newest, usual;
        for (const auto& set : report.sets) {
            const auto level = std::ranges::find(set.levels, place, &StudyUsualSet::Level::level);
            const double none = std::numeric_limits<double>::quiet_NaN();
            newest.push_back(level == set.levels.end() ? none : level->newest.value_or(none));
            usual.push_back(level == set.levels.end() ? none : level->usual);
        }
        if (std::ranges::all_of(usual, [](double each) { return each != each; }))
            continue;
        means.curves.push_back({ said(StudyTexts::tr("newest, %1"), kLevelNames[place]), numbers, newest, PlotStroke::Strong });
        means.curves.push_back({ said(StudyTexts::tr("usual, %1"), kLevelNames[place]), numbers, usual, PlotStroke::Dashed });
    }
    std::vector<double> up, down;
    for (const auto& set : report.sets) {
        up.push_back(set.up);
        down.push_back(-set.down);
    }
    const double h = report.options.settings.h;
    sums.limits = { { h, "+h", PlotStroke::Dashed }, { 0, "0", PlotStroke::Solid }, { -h, "-h", PlotStroke::Dashed } };
    sums.curves = { { said(StudyTexts::tr("up, above 0")), numbers, up, PlotStroke::Solid },
        { said(StudyTexts::tr("down, drawn below 0")), numbers, down, PlotStroke::Dotted } };
    const auto told = std::ranges::count_if(report.sets, [](const StudyUsualSet& set) { return set.told != Way::None; });
    return { said(StudyTexts::tr("Told of at %1 of %2 sets."), std::to_string(told), std::to_string(report.sets.size())),
        said(StudyTexts::tr("Each control is held against the meter's own usual value, in SD; limits are strict.")), { means, sums } };
}

} // namespace mk::study
