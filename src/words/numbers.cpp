// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/numbers.h"

#include "base/number_text.h"

#include <QCoreApplication>
#include <QDate>
#include <QLocale>

#include <cmath>

namespace mk::words {

namespace {

struct NumberTexts {
    Q_DECLARE_TR_FUNCTIONS(Numbers)
};

QDate qdate(base::Date date)
{
    return { static_cast<int>(date.ymd.year()), static_cast<int>(static_cast<unsigned>(date.ymd.month())),
        static_cast<int>(static_cast<unsigned>(date.ymd.day())) };
}

/// Names of days and months in the language of the sentence around them, whatever the machine speaks.
QLocale language()
{
    //: the code of your language, as in de or fr
    return QLocale(NumberTexts::tr("en"));
}

QString clock(base::WallTime wall)
{
    const int minutes = wall.millisecondOfDay / 60'000;
    return QStringLiteral("%1:%2").arg(minutes / 60, 2, 10, QLatin1Char('0')).arg(minutes % 60, 2, 10, QLatin1Char('0'));
}

} // namespace

QString dateSaid(std::string_view machine)
{
    const auto date = base::parseDate(machine);
    return date ? longDay(*date) : text(machine);
}

QString momentSaid(std::string_view machine)
{
    const auto read = base::parseTimeText(machine);
    if (!read || !read->hasOffset)
        return text(machine);
    return full(base::momentOf(read->wall, read->offsetMinutes));
}

QString text(std::string_view plain)
{
    return QString::fromUtf8(plain.data(), static_cast<qsizetype>(plain.size()));
}

QString sentence(const std::string& plain)
{
    QString line = text(plain);
    if (line.isEmpty())
        return line;
    line[0] = line[0].toUpper();
    return line.endsWith(QChar(u'.')) ? line : line + QChar(u'.');
}

QString time(base::Moment moment, const registry::Zone& zone)
{
    return clock(base::wallOf(zone.at(moment.utcMs)));
}

QString day(base::Date date)
{
    return language().toString(qdate(date), NumberTexts::tr("ddd d MMM"));
}

QString shortDay(base::Date date)
{
    return language().toString(qdate(date), NumberTexts::tr("d MMM"));
}

QString dayOfMonth(base::Date date)
{
    return language().toString(qdate(date), NumberTexts::tr("d MMMM"));
}

QString monthAndYear(base::Date date)
{
    return language().toString(qdate(date), NumberTexts::tr("MMMM yyyy"));
}

QString longDay(base::Date date)
{
    return language().toString(qdate(date), NumberTexts::tr("ddd d MMM yyyy"));
}

QString dayAndTime(base::Moment moment, const registry::Zone& zone)
{
    //: day, then time: Thu 12 Nov, 05:20
    return NumberTexts::tr("%1, %2").arg(day(zone.dateOf(moment)), time(moment, zone));
}

QString full(base::Moment moment, const registry::Zone& zone)
{
    return full(zone.at(moment.utcMs));
}

QString full(base::Moment onTheWall)
{
    const base::WallTime wall = base::wallOf(onTheWall);
    return NumberTexts::tr("%1, %2").arg(longDay(wall.date), clock(wall));
}

QString beside(base::Moment moment, base::Moment now, const registry::Zone& zone)
{
    const base::Date date = zone.dateOf(moment);
    const int days = base::daysBetween(zone.dateOf(now), date);
    if (days == 0)
        return time(moment, zone);
    if (days > 0 && days < 7)
        //: day of the week, then time: Thu 05:20
        return NumberTexts::tr("%1 %2").arg(language().toString(qdate(date), QStringLiteral("ddd")), time(moment, zone));
    return date.ymd.year() == zone.dateOf(now).ymd.year() ? day(date) : longDay(date);
}

QString unit(base::GlucoseUnit unit)
{
    return text(base::toText(unit));
}

QString reading(const registry::Reading& reading)
{
    if (const auto* error = std::get_if<registry::ErrorCode>(&reading))
        return NumberTexts::tr("error %1").arg(text(error->code));
    return text(registry::toText(reading));
}

QString score(double z, int decimals)
{
    const QString digits = QString::number(std::abs(z), 'f', decimals);
    const bool zero = digits.toDouble() == 0.0;
    return (zero ? QString() : z < 0 ? QStringLiteral("\u2212") : QStringLiteral("+")) + digits;
}

QString withDecimals(double number, int decimals)
{
    return QString::fromStdString(base::fixedText(number, decimals));
}

QString withSign(double number, int decimals)
{
    return text((std::signbit(number) ? "" : "+") + base::fixedText(number, decimals));
}

QString entryNumber(base::Seq seq)
{
    QString digits = QString::number(seq.value);
    for (auto at = digits.size() - 3; at > 0; at -= 3)
        digits.insert(at, QChar(0x202F));
    return digits;
}

QString listed(const std::vector<std::string>& words)
{
    QString list;
    for (const auto& each : words)
        list += (list.isEmpty() ? QString() : QStringLiteral(", ")) + text(each);
    return list;
}

} // namespace mk::words
