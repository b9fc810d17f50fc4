// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/printing.h"
#include "study/commands/rules.h"

#include <algorithm>
#include <cstdlib>

namespace mk::study {

namespace {

constexpr double kFrameSd = 4;               ///< scores beyond it are drawn on it
constexpr std::size_t kMostLevelPanels = 12; ///< more fit no paper, and a file whose columns are mixed up has thousands

/// Calls `with` for the name of every rule that fired, in the order in which they were asked for.
template <typename With>
void forFiredRules(const StudySetVerdict& set, const std::vector<StudyRule>& rules, With with)
{
    for (std::size_t i = 0; i < rules.size(); ++i) {
        if ((set.fired >> i & 1U) != 0)
            with(stats::name(rules[i].rule));
    }
}

std::string firedNames(const StudySetVerdict& set, const std::vector<StudyRule>& rules)
{
    std::string names;
    forFiredRules(set, rules, [&](std::string_view name) { names += (names.empty() ? "" : " ") + std::string(name); });
    return names;
}

std::string countsOfSets(const StudyRulesReport& report)
{
    return said(report.sets.size() == 1 ? StudyTexts::tr("%1 set: %2 accepted, %3 warned, %4 rejected")
                                        : StudyTexts::tr("%1 sets: %2 accepted, %3 warned, %4 rejected"),
        std::to_string(report.sets.size()), std::to_string(report.accepted), std::to_string(report.warned),
        std::to_string(report.rejected));
}

std::string verdictSaid(StudyVerdict verdict)
{
    switch (verdict) {
    case StudyVerdict::Warned: return said(StudyTexts::tr("warned"));
    case StudyVerdict::Rejected: return said(StudyTexts::tr("rejected"));
    default: return said(StudyTexts::tr("accepted"));
    }
}

/// isLast   whether no other panel stands below it
report::PlotPanel levelPanel(const StudyRulesReport& report, std::size_t level, bool isLast)
{
    report::PlotPanel panel;
    panel.title = std::string(report.levels[level]);
    panel.x.title = isLast ? said(StudyTexts::tr("Set, in the order of the file")) : "";
    panel.x.wholeNumbers = true;
    panel.y = { said(StudyTexts::tr("z, in SD")), -kFrameSd - 0.3, kFrameSd + 0.3, false, {} };
    panel.curves.push_back({ {}, {}, {}, report::PlotStroke::Faint });
    panel.points = { { verdictSaid(StudyVerdict::Accepted), {}, {}, report::PlotShape::Circle },
        { verdictSaid(StudyVerdict::Warned), {}, {}, report::PlotShape::Ring },
        { verdictSaid(StudyVerdict::Rejected), {}, {}, report::PlotShape::SquareWithBar } };
    for (const StudyRulePoint& point : report.points) {
        if (point.level != level)
            continue;
        const double x = static_cast<double>(point.set + 1);
        const double shown = std::clamp(point.z, -kFrameSd, kFrameSd);
        panel.curves[0].x.push_back(x);
        panel.curves[0].y.push_back(shown);
        auto& marks = panel.points[static_cast<std::size_t>(point.standing)];
        marks.x.push_back(x);
        marks.y.push_back(shown);
    }
    for (std::size_t i = 0; i < report.sets.size(); ++i) {
        if (report.sets[i].restarts)
            panel.limits.push_back({ static_cast<double>(i) + 0.5, said(StudyTexts::tr("restart")), report::PlotStroke::Dotted,
                report::PlotLimit::Way::Vertical });
    }
    for (const int sd : { -3, -2, -1, 0, 1, 2, 3 })
        panel.limits.push_back({ static_cast<double>(sd),
            sd == 0 ? said(StudyTexts::tr("mean")) : said(StudyTexts::tr("%1 SD"), (sd > 0 ? "+" : "") + std::to_string(sd)),
            sd == 0 ? report::PlotStroke::Solid : (std::abs(sd) == 1 ? report::PlotStroke::Dotted : report::PlotStroke::Dashed) });
    return panel;
}

/// One legend, below the last panel, of the marks that occur in any.
void shareLegend(std::vector<report::PlotPanel>& panels)
{
    for (std::size_t mark = 0; !panels.empty() && mark < panels.back().points.size(); ++mark) {
        const bool occurs = std::ranges::any_of(panels, [&](const report::PlotPanel& panel) { return !panel.points[mark].x.empty(); });
        for (report::PlotPanel& panel : panels) {
            if (&panel != &panels.back() || !occurs)
                panel.points[mark].legend.clear();
        }
    }
}

} // namespace

std::string_view toText(StudyVerdict verdict)
{
    switch (verdict) {
    case StudyVerdict::Warned: return "warned";
    case StudyVerdict::Rejected: return "rejected";
    default: return "accepted";
    }
}

std::string studyRulesJson(const StudyRulesReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("sets").beginArray();
    for (const StudySetVerdict& set : report.sets) {
        json.beginObject().key("set").value(set.set).key("verdict").value(toText(set.verdict)).key("rules").beginArray();
        forFiredRules(set, report.rules, [&](std::string_view name) { json.value(name); });
        json.endArray().endObject();
    }
    json.endArray().key("accepted").value(report.accepted).key("warned").value(report.warned).key("rejected").value(report.rejected);
    json.key("levels").array(report.levels).key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyRulesTable(const StudyRulesReport& report)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("set")), said(StudyTexts::tr("verdict")),
        said(StudyTexts::tr("rules")) } };
    for (const StudySetVerdict& set : report.sets)
        rows.push_back({ std::string(set.set), verdictSaid(set.verdict), firedNames(set, report.rules) });
    return alignedTable(rows) + countsOfSets(report) + ".\n" + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyRulesPlot(const StudyRulesReport& report)
{
    report::PlotScene scene;
    scene.title = countsOfSets(report);
    scene.footnote = said(StudyTexts::tr(
        "Each mark shows what the rules said of its level's own sequence, or of its set across the levels. Counts are never reset "
        "by a rejection. A score beyond 4 SD stands at the edge."));
    if (report.levels.empty())
        scene.panels.emplace_back();
    const std::size_t drawn = std::min(report.levels.size(), kMostLevelPanels);
    for (std::size_t level = 0; level < drawn; ++level)
        scene.panels.push_back(levelPanel(report, level, level + 1 == drawn));
    if (drawn < report.levels.size())
        scene.footnote += ' '
            + said(StudyTexts::tr("Drawn are the first %1 of %2 levels."), std::to_string(drawn), std::to_string(report.levels.size()));
    shareLegend(scene.panels);
    return scene;
}

} // namespace mk::study
