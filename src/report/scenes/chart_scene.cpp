// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/scenes/chart_scene.h"

#include "registry/control/usual_drift.h"
#include "report/scenes/chart_axis.h"
#include "stats/rules/rule.h"
#include "words/charts.h"
#include "words/numbers.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

namespace mk::report {

using namespace registry;

namespace {

constexpr double kDaySeconds = 86'400;

RunShape shapeOf(const RunRecord& record)
{
    switch (record.judged.verdict) {
    case Verdict::Rejected: return RunShape::SquareWithBar;
    case Verdict::Warned: return RunShape::Ring;
    case Verdict::Invalid:
    case Verdict::Partial: return RunShape::Cross;
    default: return RunShape::Circle;
    }
}

/// How far from the mean, in SD, each counted result of a rule must lie; nothing for rules that this chart does not join.
std::optional<double> joinLimit(const std::string& rule)
{
    const stats::RuleRow* const row = stats::ruleRowNamed(rule);
    return row != nullptr && row->count == stats::RuleCount::Run ? std::optional<double>(row->limitSd) : std::nullopt;
}

/// A run of the level that entered the counting rules, with where its segment begins.
struct CountedPoint {
    std::size_t point = 0;
    double z = 0;
    std::vector<std::string> rules;
    bool segmentStart = false;
    bool accepted = false;
};

double countedZ(const RunRecord& record)
{
    if (record.judged.z)
        return *record.judged.z;
    const double far = std::numeric_limits<double>::infinity();
    return std::holds_alternative<High>(record.run.result) ? far : -far;
}

/// Collects one level's panel set by set.
class PanelMaker {
public:
    PanelMaker(Level level, const Zone& zone) : m_zone(zone) { m_panel.level = level; }

    void add(const SetRecord& set, std::size_t setIndex, double x)
    {
        std::optional<std::size_t> first;
        bool segmentStart = set.judged.segmentStart;
        for (const auto& record : set.runs) {
            if (record.run.level != m_panel.level)
                continue;
            if (m_panel.title.empty())
                m_panel.title = words::panelTitle(m_panel.level, record.run.unit).toStdString();
            takeTargets(record, x);
            m_panel.points.push_back(pointOf(record, setIndex, x, first));
            const std::size_t at = m_panel.points.size() - 1;
            if (record.judged.counted)
                m_counted.push_back(
                    { at, countedZ(record), record.judged.rules, segmentStart, record.judged.verdict == Verdict::Accepted });
            segmentStart = false;
            first = first ? first : at;
        }
        takeUsual(set, x);
    }

    bool isEmpty() const { return m_panel.points.empty(); }

    LevelPanel finished(double from, double to)
    {
        if (!m_panel.targets.empty()) {
            m_panel.targets.front().from = from;
            m_panel.targets.back().to = to;
        }
        joinRules();
        setBounds();
        return std::move(m_panel);
    }

private:
    ScenePoint pointOf(const RunRecord& record, std::size_t setIndex, double x, std::optional<std::size_t> first) const
    {
        ScenePoint point;
        point.set = setIndex;
        point.x = x;
        if (const auto* number = std::get_if<base::Decimal>(&record.run.result))
            point.value = number->toDouble();
        else
            point.place = std::holds_alternative<High>(record.run.result) ? RunPlace::UpperFrame : RunPlace::LowerFrame;
        point.shape = shapeOf(record);
        point.rejected = record.judged.verdict == Verdict::Rejected;
        point.label = words::chartLabel(record).toStdString();
        point.shortLabel = words::shortChartLabel(record).toStdString();
        point.stemTo = first;
        point.facts = words::chartFacts(record, m_zone).toStdString();
        return point;
    }

    void takeUsual(const SetRecord& set, double x)
    {
        const auto& finding = set.judged.drift.usual;
        if (!finding)
            return;
        const auto level = std::ranges::find(finding->levels, m_panel.level, &acts::UsualLevelFinding::level);
        if (level == finding->levels.end() || !level->usual)
            return;
        const auto value = [&](double percent) { return level->base * (1 + percent / 100); };
        UsualPoint point { x, value(*level->usual), {}, finding->told.has_value() };
        if (const auto newest = stateFrom(*finding).levels[static_cast<std::size_t>(level->level)].newestMean())
            point.newest = value(*newest);
        m_panel.usual.push_back(point);
    }

    void takeTargets(const RunRecord& record, double x)
    {
        if (!record.judged.valid || !record.judged.low || !record.judged.high)
            return;
        TargetSegment next { x, x, record.judged.low->toDouble(), record.judged.high->toDouble(), {}, {}, record.judged.low->typed(),
            record.judged.high->typed(), {} };
        if (record.judged.mean && record.judged.sd) {
            next.mean = record.judged.mean->toDouble();
            next.sd = record.judged.sd->toDouble();
            next.meanText = record.judged.mean->typed();
        }
        if (m_panel.targets.empty()) {
            m_panel.targets.push_back(next);
        } else {
            TargetSegment& last = m_panel.targets.back();
            if (last.low == next.low && last.high == next.high && last.mean == next.mean && last.sd == next.sd) {
                m_lastTargetX = x;
                return;
            }
            // The step stands halfway between the last run with the old targets and the first with the new.
            next.from = last.to = m_lastTargetX + (x - m_lastTargetX) / 2;
            m_panel.targets.push_back(next);
        }
        m_lastTargetX = x;
    }

    void joinRules()
    {
        for (std::size_t i = 0; i < m_counted.size(); ++i)
            for (const auto& rule : m_counted[i].rules)
                if (const auto limit = joinLimit(rule))
                    joinRule(rule, *limit, i);
    }

    void joinRule(const std::string& rule, double limit, std::size_t last)
    {
        const double side = m_counted[last].z > 0 ? 1 : -1;
        std::size_t first = last;
        while (first > 0 && !m_counted[first].segmentStart && m_counted[first - 1].z * side > limit)
            --first;
        std::vector<std::size_t> points;
        for (std::size_t i = first; i <= last; ++i)
            points.push_back(m_counted[i].point);
        // A rule that fires again on the next result goes on with its line; its name stands where it was completed first.
        for (auto& line : m_panel.ruleLines)
            if (line.rule == rule && line.points.front() == points.front()) {
                line.points = points;
                line.mark = line.mark && m_counted[last].accepted;
                return;
            }
        m_panel.ruleLines.push_back({ rule, points, m_counted[last].point, m_counted[last].accepted });
    }

    void setBounds()
    {
        double lowest = std::numeric_limits<double>::max();
        double highest = std::numeric_limits<double>::lowest();
        const auto take = [&](double value) {
            lowest = std::min(lowest, value);
            highest = std::max(highest, value);
        };
        for (const auto& targets : m_panel.targets) {
            take(*targets.low);
            take(*targets.high);
            if (targets.mean)
                take(*targets.mean - 3 * *targets.sd), take(*targets.mean + 3 * *targets.sd);
        }
        for (const auto& point : m_panel.points)
            if (point.value)
                take(*point.value);
        if (lowest > highest)
            lowest = 0, highest = 1;
        const double margin = lowest == highest ? 1 : (highest - lowest) * 0.05;
        m_panel.lower = lowest - margin;
        m_panel.upper = highest + margin;
    }

    const Zone& m_zone;
    LevelPanel m_panel;
    std::vector<CountedPoint> m_counted;
    double m_lastTargetX = 0;
};

/// Collects what happened in the period.
class EventMaker {
public:
    EventMaker(ControlChartScene& scene, const Zone& zone) : m_scene(scene), m_zone(zone) { }

    void add(base::Moment at, const QString& wordOfIt, const QString& detail = {}) { addAt(wallSeconds(at, m_zone), at, wordOfIt, detail); }

    void addLotChanges(std::span<const SetRecord> sets)
    {
        const SetRecord* before = nullptr;
        base::StripLotId stripLot;
        std::map<Level, base::ControlLotId> controlLots;
        for (const auto& set : sets) {
            QStringList strips, controls;
            bool valid = false;
            for (const auto& record : set.runs) {
                if (!record.judged.valid)
                    continue;
                valid = true;
                if (std::exchange(stripLot, record.judged.stripLot) != record.judged.stripLot)
                    strips << words::text(record.judged.stripLot.value);
                auto& control = controlLots[record.run.level];
                if (std::exchange(control, record.judged.controlLot) != record.judged.controlLot)
                    controls << words::text(record.judged.controlLot.value);
            }
            if (before != nullptr && !(strips.isEmpty() && controls.isEmpty())) {
                const double earlier = wallSeconds(before->judged.firstAt, m_zone);
                const double now = wallSeconds(set.judged.firstAt, m_zone);
                addAt(earlier + (now - earlier) / 2, set.judged.firstAt, words::lotChange(strips, controls), words::firstRunOnIt());
            }
            before = valid ? &set : before;
        }
    }

    void addDrift(std::span<const SetRecord> sets)
    {
        bool signalled = false;
        for (const auto& set : sets) {
            if (!set.judged.drift.counted)
                continue;
            const bool drifts = set.judged.drift.drifts();
            if (drifts && !signalled) {
                if (const auto began = set.judged.drift.driftsSince())
                    add(*began, words::driftBegins());
                add(set.judged.lastAt, words::driftFound(), words::driftShown(set.judged.drift));
            }
            signalled = drifts;
        }
    }

private:
    void addAt(double x, base::Moment at, const QString& wordOfIt, const QString& detail)
    {
        if (wordOfIt.isEmpty() || x < m_scene.from || x > m_scene.to)
            return;
        m_scene.events.push_back({ x, wordOfIt.toStdString(), words::eventLine(at, wordOfIt, detail, m_zone).toStdString() });
    }

    ControlChartScene& m_scene;
    const Zone& m_zone;
};

std::string descriptionOf(const ControlChartScene& scene, std::span<const SetRecord> sets)
{
    words::ChartCounts counts { dayOfWallSeconds(scene.from), dayOfWallSeconds(scene.to - 1), sets.size() };
    for (const auto& set : sets)
        for (const auto& record : set.runs) {
            counts.rejected += record.judged.verdict == Verdict::Rejected ? 1u : 0u;
            counts.warned += record.judged.verdict == Verdict::Warned ? 1u : 0u;
            counts.invalid += record.judged.verdict == Verdict::Invalid ? 1u : 0u;
        }
    QStringList sentences { words::chartSummary(words::text(scene.title), counts) };
    for (const auto& panel : scene.panels)
        for (const auto& line : panel.ruleLines)
            sentences << words::ruleOnLevel(line.rule, panel.level, line.points.size());
    for (const auto& panel : scene.panels)
        if (!panel.usual.empty())
            sentences << words::usualOnLevel(panel.level, panel.usual.back().usual, panel.usual.back().newest);
    for (const auto& event : scene.events)
        sentences << words::text(event.detail) + QLatin1Char('.');
    return sentences.join(QLatin1Char(' ')).toStdString();
}

} // namespace

ControlChartScene controlChartScene(const ControlChartInput& input, const Zone& zone, base::Moment from, base::Moment to)
{
    ControlChartScene scene;
    scene.meter = input.meter;
    scene.from = std::floor(wallSeconds(from, zone) / kDaySeconds) * kDaySeconds;
    scene.to = std::max(scene.from + kDaySeconds, std::ceil(wallSeconds(to, zone) / kDaySeconds) * kDaySeconds);
    std::vector<SetRecord> shown;
    std::ranges::copy_if(
        input.sets, std::back_inserter(shown), [&](const SetRecord& set) { return from <= set.judged.lastAt && set.judged.lastAt <= to; });

    std::vector<PanelMaker> panels;
    for (const Level level : { Level::High, Level::Normal, Level::Low })
        panels.emplace_back(level, zone);
    for (std::size_t i = 0; i < shown.size(); ++i) {
        const double x = wallSeconds(shown[i].judged.firstAt, zone);
        scene.sets.push_back({ shown[i].judged.set, shown[i].seq, x, words::chartFacts(shown[i], zone).toStdString() });
        for (auto& panel : panels)
            panel.add(shown[i], i, x);
    }
    for (auto& panel : panels)
        if (!panel.isEmpty())
            scene.panels.push_back(panel.finished(scene.from, scene.to));

    EventMaker events(scene, zone);
    events.addLotChanges(shown);
    events.addDrift(shown);
    for (const auto& incident : input.incidents)
        events.add(incident.act.at, words::chartWord(incident.act.what), words::text(incident.act.detail.value_or("")));
    for (const auto& spell : input.states)
        events.add(spell.since, words::chartWord(spell));
    std::ranges::stable_sort(scene.events, {}, &EventMark::x);
    scene.title = words::chartTitle(input.meter.value, shown, zone).toStdString();
    scene.description = descriptionOf(scene, shown);
    return scene;
}

} // namespace mk::report
