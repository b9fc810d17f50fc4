// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/stale_board.h"

#include "words/numbers.h"

#include <QCoreApplication>

namespace mk::desktop {

namespace {

struct StaleTexts {
    Q_DECLARE_TR_FUNCTIONS(StaleBoard)
};

constexpr std::int64_t kMinuteMs = 60'000, kHourMs = 60 * kMinuteMs;

} // namespace

BoardLine staleLine(const BoardLine& known, base::Moment asOf, const std::set<base::MeterId>& waiting)
{
    BoardLine line = known;
    line.asOf = asOf;
    line.waits = waiting.contains(known.row.history.meter.act.meter);
    return line;
}

BoardAnswer staleBoard(const BoardAnswer& known, base::Moment now, const std::set<base::MeterId>& waiting)
{
    BoardAnswer stale = known;
    stale.asOf = known.at;
    stale.at = now;
    for (auto& line : stale.lines)
        line = staleLine(line, known.at, waiting);
    return stale;
}

QString ageInWords(base::Moment asOf, base::Moment now, const registry::Zone& zone)
{
    const QString when = words::beside(asOf, now, zone);
    const std::int64_t age = now.utcMs - asOf.utcMs;
    if (age < kMinuteMs)
        return StaleTexts::tr("as of %1, less than a minute ago").arg(when);
    if (age < 2 * kMinuteMs)
        return StaleTexts::tr("as of %1, a minute ago").arg(when);
    if (age < kHourMs)
        return StaleTexts::tr("as of %1, %2 minutes ago").arg(when).arg(age / kMinuteMs);
    if (age < 2 * kHourMs)
        return StaleTexts::tr("as of %1, an hour ago").arg(when);
    return StaleTexts::tr("as of %1, %2 hours ago").arg(when).arg(age / kHourMs);
}

} // namespace mk::desktop
