// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/months.h"

#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>
#include <QStringList>

#include <algorithm>
#include <cmath>

namespace mk::words {

using namespace registry;

namespace {

struct MonthTexts {
    Q_DECLARE_TR_FUNCTIONS(Months)
};

const QChar kMinus(0x2212);
const QString kDash = QStringLiteral("–");

QString times(std::size_t n)
{
    return n == 1 ? MonthTexts::tr("once") : n == 2 ? MonthTexts::tr("twice") : MonthTexts::tr("%n times", nullptr, static_cast<int>(n));
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
        return text(code->code);
    return text(toText(record.run.result));
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
            causes << text(rule);
    if (std::holds_alternative<ErrorCode>(record.run.result))
        causes << MonthTexts::tr("error");
    else if (!std::holds_alternative<base::Decimal>(record.run.result))
        causes << shownResult(record);
    else if (record.judged.inRange == false)
        causes << MonthTexts::tr("range");
    return causes;
}

QString repeatsInWords(const SetRecord& set)
{
    QStringList repeats;
    bool seen = false;
    for (const auto& record : set.runs) {
        if (seen && record.judged.attempt > 1)
            repeats << QStringLiteral("%1 %2 %3").arg(level(record.run.level), shownResult(record), verdictInList(record.judged.verdict));
        seen = seen || failed(record);
    }
    return repeats.isEmpty() ? QString() : MonthTexts::tr("Repeat: %1.").arg(listOf(repeats));
}

QString stopsInWords(const std::vector<StopRecord>& stops, const Zone& zone)
{
    QStringList sentences;
    for (const auto& stop : stops) {
        const bool withdrawn = stop.stop.withdrawn;
        if (stop.endedAt)
            sentences << (withdrawn ? MonthTexts::tr("Withdrawn to %1.") : MonthTexts::tr("On hold to %1.")).arg(full(*stop.endedAt, zone));
        else
            sentences << (withdrawn ? MonthTexts::tr("Withdrawn, still standing.") : MonthTexts::tr("On hold, still standing."));
    }
    return sentences.join(QLatin1Char(' '));
}

QString lookbacksInWords(const std::vector<LookbackRecord>& lookbacks, const Zone& zone)
{
    QStringList sentences;
    for (const auto& lookback : lookbacks)
        sentences << (lookback.closedAt ? MonthTexts::tr("Look-back closed %1.").arg(dayOfMonth(zone.dateOf(*lookback.closedAt)))
                                        : MonthTexts::tr("Look-back open."));
    return sentences.join(QLatin1Char(' '));
}

} // namespace

QString monthName(Month month)
{
    return monthAndYear(firstDayOf(month));
}

QString monthHeadline(const MonthFigures& figures)
{
    const QString ward = figures.ward ? text(figures.ward->value) : QString(), month = monthName(figures.month);
    const auto percent = figures.totals.compliancePercent();
    if (!percent)
        return figures.ward ? MonthTexts::tr("Ward %1 owed no controls in %2.").arg(ward, month)
                            : MonthTexts::tr("All wards owed no controls in %1.").arg(month);
    const QString share = QString::number(*percent, 'f', 1); // 100.0 only where nothing is missing
    const QString met = QString::number(figures.totals.met);
    const QString required = QString::number(figures.totals.required() - figures.totals.open);
    return figures.ward ? MonthTexts::tr("Ward %1 met %2 of %3 controls in time, %4 %.").arg(ward, met, required, share)
                        : MonthTexts::tr("All wards met %1 of %2 controls in time, %3 %.").arg(met, required, share);
}

QString notClearedInWords(const NotCleared& notCleared)
{
    const auto percent = notCleared.percent();
    if (!percent)
        return {};
    if (notCleared.ms == 0)
        return MonthTexts::tr("Always cleared while in service.");
    return MonthTexts::tr("Not cleared %1 h in service (%2 %), the longest %3 h.")
        .arg(QString::number(notCleared.hours(), 'f', 1), QString::number(*percent, 'f', 1),
            QString::number(notCleared.longestHours(), 'f', 1));
}

QString metersToWatchInWords(const MonthFigures& figures, const Policy& policy)
{
    QStringList names;
    for (const auto& meter : figures.meters)
        if (isToWatch(meter, policy))
            names << text(meter.meter.value);
    if (names.isEmpty())
        return MonthTexts::tr("No meter to watch.");
    const int n = static_cast<int>(names.size());
    return (n == 1 ? MonthTexts::tr("One meter to watch: %1.") : MonthTexts::tr("%n meters to watch: %1.", nullptr, n)).arg(listOf(names));
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
    return (std::abs(*figures.sdi) >= policy.sdiAction ? MonthTexts::tr("%1 SDI %2: act") : MonthTexts::tr("%1 SDI %2: watch"))
        .arg(level(figures.level), signedText(figures.sdi, 1));
}

QString rulesInWords(const MeterMonth& meter, const Policy& policy)
{
    QStringList parts;
    for (const auto& rule : meter.rules)
        parts << QStringLiteral("%1 %2").arg(text(rule.rule), times(rule.runs));
    if (meter.high > 0)
        parts << MonthTexts::tr("HI %1").arg(times(meter.high));
    if (meter.low > 0)
        parts << MonthTexts::tr("LO %1").arg(times(meter.low));
    if (meter.errors > 0)
        parts << MonthTexts::tr("error %1").arg(times(meter.errors));
    if (meter.invalid > 0)
        parts << MonthTexts::tr("invalid %1").arg(times(meter.invalid));
    if (meter.drift)
        parts << MonthTexts::tr("drift");
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
        levels << level(record.run.level);
        results << shownResult(record);
        causes << causesOf(record);
    }
    levels.removeDuplicates();
    causes.removeDuplicates();
    QStringList ending { repeatsInWords(rejected.set) };
    if (!rejected.badVial.empty())
        ending << MonthTexts::tr("The cause was control vial %1.").arg(text(rejected.badVial));
    if (!rejected.clearedAt)
        ending << MonthTexts::tr("No accepted set since.");
    else if (!rejected.bySameSet)
        ending << MonthTexts::tr("Accepted set %1.").arg(full(*rejected.clearedAt, zone));
    ending << stopsInWords(rejected.stops, zone) << lookbacksInWords(rejected.lookbacks, zone);
    ending.removeAll(QString());
    const QString when = full(at.value_or(rejected.set.judged.firstAt), zone);
    return { when, text(meter.value), listOf(levels), listOf(results), listOf(causes), ending.join(QLatin1Char(' ')) };
}

QString daysInWords(const std::vector<base::Date>& days)
{
    QStringList parts;
    for (std::size_t first = 0; first < days.size();) {
        std::size_t last = first;
        while (last + 1 < days.size() && base::addDays(days[last], 1) == days[last + 1])
            ++last;
        const auto number = [&](std::size_t i) { return QString::number(static_cast<unsigned>(days[i].ymd.day())); };
        parts << (last > first + 1 ? MonthTexts::tr("%1 to %2").arg(number(first), number(last))
                : last > first     ? number(first) + QStringLiteral(", ") + number(last)
                                   : number(first));
        first = last + 1;
    }
    return listOf(parts);
}

QString spacedDigest(const std::string& digest)
{
    QStringList groups;
    for (std::size_t i = 0; i < digest.size(); i += 4)
        groups << text(digest.substr(i, 4));
    return groups.join(QLatin1Char(' '));
}

} // namespace mk::words
