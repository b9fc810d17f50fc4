// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/terms/zone.h"

#include <QDateTime>

namespace mk::registry {

base::Result<Zone> Zone::named(const std::string& name)
{
    const QTimeZone zone(QByteArray::fromStdString(name));
    if (name.empty() || !zone.isValid())
        return base::badInput("'%1' is not a time zone of this machine; write it as Area/City, such as Europe/Vienna", name);
    return Zone(name, zone);
}

Zone Zone::utc()
{
    return Zone("UTC", QTimeZone::utc());
}

int Zone::offsetAt(std::int64_t utcMs) const
{
    return m_zone.offsetFromUtc(QDateTime::fromMSecsSinceEpoch(utcMs, Qt::UTC)) / 60;
}

Zone::Resolved Zone::resolve(base::WallTime wall) const
{
    // The offsets in force half a day before and after are the only two that can apply.
    const std::int64_t rough = base::momentOf(wall, 0).utcMs;
    const int before = offsetAt(rough - 86'400'000);
    const int after = offsetAt(rough + 86'400'000);
    const base::Moment early = base::momentOf(wall, before);
    const base::Moment late = base::momentOf(wall, after);
    const bool earlyHolds = offsetAt(early.utcMs) == before;
    const bool lateHolds = offsetAt(late.utcMs) == after;
    if (earlyHolds && lateHolds)
        return before == after ? Resolved { Kind::Unique, early, early }
                               : Resolved { Kind::Twice, std::min(early, late), std::max(early, late) };
    if (earlyHolds || lateHolds)
        return { Kind::Unique, earlyHolds ? early : late, earlyHolds ? early : late };
    return { Kind::Never, early, early };
}

base::Moment Zone::at(std::int64_t utcMs) const
{
    return { utcMs, offsetAt(utcMs) };
}

base::Date Zone::dateOf(base::Moment moment) const
{
    return base::wallOf(at(moment.utcMs)).date;
}

base::Moment Zone::startOf(base::Date date) const
{
    const Resolved midnight = resolve({ date, 0 });
    return at(midnight.first.utcMs);
}

} // namespace mk::registry
