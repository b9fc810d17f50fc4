// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/records.h"
#include "registry/terms/zone.h"

#include <QString>
#include <QStringList>

#include <optional>
#include <span>

/// The words of a control chart.
namespace mk::words {

/// A run's lines for the tooltip: when, what, targets, verdict, who.
QString chartFacts(const registry::RunRecord& record, const registry::Zone& zone);
/// A set in one line, for the screen reader.
QString chartFacts(const registry::SetRecord& set, const registry::Zone& zone);

/// What stands beside a run by itself; the long rules are named once, where they were completed. Empty for most.
QString chartLabel(const registry::RunRecord& record);
/// The same where that has no room; empty where nothing shorter says it.
QString shortChartLabel(const registry::RunRecord& record);

/// The word over an incident's line; empty for what says nothing about the statistics.
QString chartWord(registry::IncidentKind kind);
/// The word over a change of state; empty for a short hold that the next control ends.
QString chartWord(const registry::StateSpell& spell);
/// "strip lot S2611, control lots C1, C2"; empty lists are left out
QString lotChange(const QStringList& stripLots, const QStringList& controlLots);
QString firstRunOnIt();
QString meanLine(const std::string& mean);
QString rangeLine(const std::string& bound);
/// "usual 284", at the edge of a chart
QString usualLine(double usual);
/// "Set 3 of 27."
QString setOf(std::size_t set, std::size_t sets);
/// "page 1 of 2"
QString pageOf(int page, int pages);
QString driftBegins();
QString driftFound();
/// By what it was found: the rules, or the side of the usual value.
QString driftShown(const registry::acts::DriftFinding& drift);
/// "Thu 12 Nov 2026, 05:20: fall, from the table"
QString eventLine(base::Moment at, const QString& what, const QString& detail, const registry::Zone& zone);

/// "High control, mg/dL"
QString panelTitle(registry::Level level, base::GlucoseUnit unit);
/// The finding: drift that stands, else rejected sets, else that there is none.
QString chartTitle(const std::string& meter, std::span<const registry::SetRecord> sets, const registry::Zone& zone);

/// What the chart shows as a whole, for who cannot see it: its title, its days, its counts.
struct ChartCounts {
    base::Date from, to;
    std::size_t sets = 0, rejected = 0, warned = 0, invalid = 0;
};
QString chartSummary(const QString& title, const ChartCounts& counts);
/// "4-1s on the high control, 4 results."
QString ruleOnLevel(const std::string& rule, registry::Level level, std::size_t results);

/// Where the meter stands at the end, in the units of the results.
QString usualOnLevel(registry::Level level, double usual, std::optional<double> newest);

} // namespace mk::words
