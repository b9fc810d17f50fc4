// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/numbers.h"

namespace mk::words {

QString dateSaid(base::Date date)
{
    return QString::fromStdString(base::toText(date));
}

QString momentSaid(base::Moment moment)
{
    const auto wall = base::wallOf(moment);
    return QStringLiteral("%1 %2:%3")
        .arg(dateSaid(wall.date))
        .arg(wall.millisecondOfDay / 3'600'000, 2, 10, QLatin1Char('0'))
        .arg(wall.millisecondOfDay / 60'000 % 60, 2, 10, QLatin1Char('0'));
}

QString dateSaid(std::string_view machine)
{
    const auto date = base::parseDate(machine);
    return date ? dateSaid(*date) : QString::fromUtf8(machine.data(), static_cast<qsizetype>(machine.size()));
}

QString momentSaid(std::string_view machine)
{
    const auto read = base::parseTimeText(machine);
    if (!read || !read->hasOffset)
        return QString::fromUtf8(machine.data(), static_cast<qsizetype>(machine.size()));
    return momentSaid(base::momentOf(read->wall, read->offsetMinutes));
}

} // namespace mk::words
