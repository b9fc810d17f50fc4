// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/scenes/month_words.h"

#include "report/scenes/chart_axis.h"

#include <algorithm>
#include <cmath>

namespace mk::report {

using namespace registry;

namespace {

const QChar kMinus(0x2212);
const QString kDash = QStringLiteral("–");

QString monthText(const std::string& text)
{
    return QString::fromStdString(text);
}

QString times(std::size_t n)
{
    return n == 1 ? QStringLiteral("once") : n == 2 ? QStringLiteral("twice") : QStringLiteral("%1 times").arg(n);
}

int decimalsOf(base::GlucoseUnit unit)
{
    return unit == base::GlucoseUnit::MgPerDl ? 0 : 1;
}

QString listOf(const QStringList& words)
{
    return words.join(QStringLiteral(", "));
}

/// A result as it was shown; an error code as the code alone.
QString shownResult(const RunRecord& record)
{
    if (const auto* code = std::get_if<ErrorCode>(&record.run.result))
        return monthText(code->code);
    return monthText(toText(record.run.result));
}

bool failed(const RunRecord& record)
{
    return record.judged.verdict == Verdict::Rejected || (record.judged.valid && std::holds_alternative<ErrorCode>(record.run.result));
}

/// Why a run failed, shortest first: the rules, else what it was.
QStringList causesOf(const RunRecord& record)
{
    QStringList causes;
    for (const auto& rule : record.judged.rules)
        if (rule != "1-2s")
            causes << monthText(rule);
    if (std::holds_alternative<ErrorCode>(record.run.result))
        causes << QStringLiteral("error");
    else if (!std::holds_alternative<base::Decimal>(record.run.result))
        causes << shownResult(record);
    else if (record.judged.inRange == false)
        causes << QStringLiteral("range");
    return causes;
}

QString repeatsInWords(const SetRecord& set)
{
    QStringList repeats;
    bool seen = false;
    for (const auto& record : set.runs) {
        if (seen && record.judged.attempt > 1)
            repeats << QStringLiteral("%1 %2 %3")
                           .arg(monthText(std::string(word(record.run.level))), shownResult(record),
                               monthText(std::string(word(record.judged.verdict))));
        seen = seen || failed(record);
    }
    return repeats.isEmpty() ? QString() : QStringLiteral("Repeat: %1.").arg(listOf(repeats));
}

QString stopsInWords(const std::vector<StopRecord>& stops, const Zone& zone)
{
    QStringList sentences;
    for (const auto& stop : stops) {
        const QString what = stop.stop.withdrawn ? QStringLiteral("Withdrawn") : QStringLiteral("On hold");
        sentences << (stop.endedAt ? QStringLiteral("%1 to %2.").arg(what, monthText(inWords(*stop.endedAt, zone)))
                                   : QStringLiteral("%1, still standing.").arg(what));
    }
    return sentences.join(QLatin1Char(' '));
}

QString lookbacksInWords(const std::vector<LookbackRecord>& lookbacks, const Zone& zone)
{
    QStringList sentences;
    for (const auto& lookback : lookbacks)
        sentences << (lookback.closedAt ? QStringLiteral("Look-back closed %1.").arg(monthText(dayInWords(zone.dateOf(*lookback.closedAt))))
                                        : QStringLiteral("Look-back open."));
    return sentences.join(QLatin1Char(' '));
}

} // namespace

QString monthHeadline(const MonthFigures& figures)
{
    const QString who = figures.ward ? QStringLiteral("Ward %1").arg(monthText(figures.ward->value)) : QStringLiteral("All wards");
    const auto percent = figures.totals.compliancePercent();
    if (!percent)
        return QStringLiteral("%1 owed no controls in %2.").arg(who, monthText(inWords(figures.month)));
    // Rounded down: 100.0 % is said only where nothing is missing.
    return QStringLiteral("%1 met %2 of %3 controls in time, %4 %.")
        .arg(who)
        .arg(figures.totals.met)
        .arg(figures.totals.required())
        .arg(std::floor(*percent * 10 + 1e-9) / 10, 0, 'f', 1);
}

QString metersToWatchInWords(const MonthFigures& figures, const Policy& policy)
{
    QStringList names;
    for (const auto& meter : figures.meters)
        if (isToWatch(meter, policy))
            names << monthText(meter.meter.value);
    if (names.isEmpty())
        return QStringLiteral("No meter to watch.");
    const QString count = names.size() == 1 ? QStringLiteral("One meter") : QStringLiteral("%1 meters").arg(names.size());
    return QStringLiteral("%1 to watch: %2.").arg(count, listOf(names));
}

QString plainText(std::optional<double> number, int decimals)
{
    if (!number)
        return kDash;
    QString text = QString::number(*number, 'f', decimals);
    return text.replace(QLatin1Char('-'), kMinus);
}

QString signedText(std::optional<double> number, int decimals)
{
    const QString text = plainText(number, decimals);
    const bool zero = number && QString::number(std::abs(*number), 'f', decimals).toDouble() == 0;
    if (zero)
        return QString::number(0.0, 'f', decimals);
    return number && *number > 0 ? QLatin1Char('+') + text : text;
}

QString meanText(std::optional<double> mean, base::GlucoseUnit unit)
{
    return plainText(mean, decimalsOf(unit) + 1);
}

QString sdText(std::optional<double> sd, base::GlucoseUnit unit)
{
    return plainText(sd, decimalsOf(unit) + 2);
}

QString valueText(std::optional<double> value, base::GlucoseUnit unit)
{
    return plainText(value, decimalsOf(unit));
}

QString sdiInWords(const LevelFigures& figures, const Policy& policy)
{
    if (!figures.sdi || std::abs(*figures.sdi) < policy.sdiCaution)
        return {};
    return QStringLiteral("%1 SDI %2: %3")
        .arg(monthText(std::string(word(figures.level))), signedText(figures.sdi, 1),
            std::abs(*figures.sdi) >= policy.sdiAction ? QStringLiteral("act") : QStringLiteral("watch"));
}

QString rulesInWords(const MeterMonth& meter, const Policy& policy)
{
    QStringList parts;
    for (const auto& rule : meter.rules)
        parts << QStringLiteral("%1 %2").arg(monthText(rule.rule), times(rule.runs));
    if (meter.high > 0)
        parts << QStringLiteral("HI %1").arg(times(meter.high));
    if (meter.low > 0)
        parts << QStringLiteral("LO %1").arg(times(meter.low));
    if (meter.errors > 0)
        parts << QStringLiteral("error %1").arg(times(meter.errors));
    if (meter.invalid > 0)
        parts << QStringLiteral("invalid %1").arg(times(meter.invalid));
    if (meter.drift)
        parts << QStringLiteral("drift");
    for (const auto& figures : meter.levels)
        if (const QString sdi = sdiInWords(figures, policy); !sdi.isEmpty())
            parts << sdi;
    return listOf(parts);
}

RejectedLine rejectedInWords(const RejectedSet& rejected, const base::MeterId& meter, const Zone& zone)
{
    QStringList levels;
    QStringList results;
    QStringList causes;
    std::optional<base::Moment> at;
    for (const auto& record : rejected.set.runs) {
        if (!failed(record))
            continue;
        at = at ? at : record.run.at;
        levels << monthText(std::string(word(record.run.level)));
        results << shownResult(record);
        causes << causesOf(record);
    }
    levels.removeDuplicates();
    causes.removeDuplicates();
    QStringList ending { repeatsInWords(rejected.set) };
    if (!rejected.clearedAt)
        ending << QStringLiteral("No accepted set since.");
    else if (!rejected.bySameSet)
        ending << QStringLiteral("Accepted set %1.").arg(monthText(inWords(*rejected.clearedAt, zone)));
    ending << stopsInWords(rejected.stops, zone) << lookbacksInWords(rejected.lookbacks, zone);
    ending.removeAll(QString());
    const QString when = monthText(inWords(at.value_or(rejected.set.judged.firstAt), zone));
    return { when, monthText(meter.value), listOf(levels), listOf(results), listOf(causes), ending.join(QLatin1Char(' ')) };
}

QString daysInWords(const std::vector<base::Date>& days)
{
    QStringList parts;
    for (std::size_t first = 0; first < days.size();) {
        std::size_t last = first;
        while (last + 1 < days.size() && base::addDays(days[last], 1) == days[last + 1])
            ++last;
        const auto number = [&](std::size_t i) { return QString::number(static_cast<unsigned>(days[i].ymd.day())); };
        parts << (last > first + 1 ? number(first) + QStringLiteral(" to ") + number(last)
                : last > first     ? number(first) + QStringLiteral(", ") + number(last)
                                   : number(first));
        first = last + 1;
    }
    return listOf(parts);
}

QString spacedNumber(std::int64_t number)
{
    QString text = QString::number(number);
    for (auto at = text.size() - 3; at > 0; at -= 3)
        text.insert(at, QLatin1Char(' '));
    return text;
}

QString spacedDigest(const std::string& digest)
{
    QStringList groups;
    for (std::size_t i = 0; i < digest.size(); i += 4)
        groups << monthText(digest.substr(i, 4));
    return groups.join(QLatin1Char(' '));
}

} // namespace mk::report
