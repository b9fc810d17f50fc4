// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month_events.h"

#include <QStringList>

/// What happened in a month, in words: the same list on a terminal and on paper.
namespace mk::words {

/// One kind of event. lines  a line each; none where nothing happened
struct MonthSection {
    QString head;
    QStringList lines;
};

/// Every kind, in the order of the review; one of which there is nothing is there too.
std::vector<MonthSection> monthSections(
    const registry::MonthEvents& events, std::span<const registry::ToldStop> stops, const registry::Zone& zone);

/// "Look-backs (2)", "Look-backs: none"
QString countedHead(const MonthSection& section);

} // namespace mk::words
