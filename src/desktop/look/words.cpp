// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/look/words.h"

#include "words/faults.h"

#include <QCoreApplication>
#include <QDate>
#include <QLocale>

#include <cmath>

namespace mk::desktop::words {

namespace {

struct Texts {
    Q_DECLARE_TR_FUNCTIONS(Words)
};

QDate qdate(base::Date date)
{
    return { static_cast<int>(date.ymd.year()), static_cast<int>(static_cast<unsigned>(date.ymd.month())),
        static_cast<int>(static_cast<unsigned>(date.ymd.day())) };
}

} // namespace

QString text(const std::string& plain)
{
    return QString::fromStdString(plain);
}

QString sentence(const std::string& plain)
{
    QString line = text(plain);
    if (line.isEmpty())
        return line;
    line[0] = line[0].toUpper();
    return line.endsWith(QChar(u'.')) ? line : line + QChar(u'.');
}

QString sentence(const base::Fault& fault)
{
    return sentence(mk::words::said(fault).toStdString());
}

QString time(base::Moment moment, const registry::Zone& zone)
{
    const int minutes = base::wallOf(zone.at(moment.utcMs)).millisecondOfDay / 60'000;
    return QStringLiteral("%1:%2").arg(minutes / 60, 2, 10, QChar(u'0')).arg(minutes % 60, 2, 10, QChar(u'0'));
}

QString day(base::Date date)
{
    return QLocale().toString(qdate(date), Texts::tr("ddd d MMM"));
}

QString shortDay(base::Date date)
{
    return QLocale().toString(qdate(date), Texts::tr("d MMM"));
}

QString longDay(base::Date date)
{
    return QLocale().toString(qdate(date), Texts::tr("ddd d MMM yyyy"));
}

QString dayAndTime(base::Moment moment, const registry::Zone& zone)
{
    //: day, then time: Thu 12 Nov, 05:20
    return Texts::tr("%1, %2").arg(day(zone.dateOf(moment)), time(moment, zone));
}

QString full(base::Moment moment, const registry::Zone& zone)
{
    return Texts::tr("%1, %2").arg(longDay(zone.dateOf(moment)), time(moment, zone));
}

QString beside(base::Moment moment, base::Moment now, const registry::Zone& zone)
{
    const base::Date date = zone.dateOf(moment);
    const int days = base::daysBetween(zone.dateOf(now), date);
    if (days == 0)
        return time(moment, zone);
    if (days > 0 && days < 7)
        //: day of the week, then time: Thu 05:20
        return Texts::tr("%1 %2").arg(QLocale().toString(qdate(date), QStringLiteral("ddd")), time(moment, zone));
    return date.ymd.year() == zone.dateOf(now).ymd.year() ? day(date) : longDay(date);
}

QString level(registry::Level level)
{
    switch (level) {
    case registry::Level::Low: return Texts::tr("low");
    case registry::Level::Normal: return Texts::tr("normal");
    case registry::Level::High: return Texts::tr("high");
    }
    return {};
}

QString levelControl(registry::Level level)
{
    switch (level) {
    case registry::Level::Low: return Texts::tr("Low control");
    case registry::Level::Normal: return Texts::tr("Normal control");
    case registry::Level::High: return Texts::tr("High control");
    }
    return {};
}

QString unit(base::GlucoseUnit unit)
{
    const std::string_view plain = base::toText(unit);
    return QString::fromUtf8(plain.data(), static_cast<qsizetype>(plain.size()));
}

QString verdict(registry::Verdict verdict)
{
    switch (verdict) {
    case registry::Verdict::Rejected: return Texts::tr("Rejected");
    case registry::Verdict::Invalid: return Texts::tr("Invalid");
    case registry::Verdict::Partial: return Texts::tr("Not complete");
    case registry::Verdict::Warned: return Texts::tr("Warned");
    case registry::Verdict::Accepted: return Texts::tr("Accepted");
    }
    return {};
}

QString role(registry::Role role)
{
    switch (role) {
    case registry::Role::Nurse: return Texts::tr("nurse");
    case registry::Role::Coordinator: return Texts::tr("coordinator");
    case registry::Role::Inspector: return Texts::tr("inspector");
    }
    return {};
}

QString incident(registry::IncidentKind kind)
{
    using Kind = registry::IncidentKind;
    switch (kind) {
    case Kind::Dropped: return Texts::tr("It fell or was knocked");
    case Kind::Wet: return Texts::tr("It got wet");
    case Kind::Damaged: return Texts::tr("It is damaged");
    case Kind::ErrorCode: return Texts::tr("It shows an error code");
    case Kind::ImplausibleResult: return Texts::tr("It showed a result that nothing explains");
    case Kind::BatteryChanged: return Texts::tr("Its battery was changed");
    case Kind::SoftwareUpdated: return Texts::tr("Its software was updated");
    case Kind::ClockWrong: return Texts::tr("Its clock is wrong");
    case Kind::WrongUnit: return Texts::tr("It shows the wrong unit");
    case Kind::Temperature: return Texts::tr("It lay too hot or too cold");
    case Kind::Soiled: return Texts::tr("It is soiled");
    case Kind::Cleaned: return Texts::tr("It was cleaned and disinfected");
    case Kind::NotInUse: return Texts::tr("It is not in use today");
    case Kind::Found: return Texts::tr("It was missing and is found");
    case Kind::FieldNotice: return Texts::tr("A safety notice of the maker names it");
    }
    return {};
}

QString reading(const registry::Reading& reading)
{
    if (const auto* error = std::get_if<registry::ErrorCode>(&reading))
        return Texts::tr("error %1").arg(text(error->code));
    return text(registry::toText(reading));
}

QString score(double z, int decimals)
{
    const QString digits = QString::number(std::abs(z), 'f', decimals);
    const bool zero = digits.toDouble() == 0.0;
    return (zero ? QString() : z < 0 ? QStringLiteral("\u2212") : QStringLiteral("+")) + digits;
}

QString entryNumber(base::Seq seq)
{
    QString digits = QString::number(seq.value);
    for (auto at = digits.size() - 3; at > 0; at -= 3)
        digits.insert(at, QChar(0x202F));
    return digits;
}

QString vialCause(const std::string& code)
{
    if (code == "no-strip-vial" || code == "no-control-vial")
        return Texts::tr("This vial is not on record as open.");
    if (code == "strip-expired" || code == "control-expired")
        return Texts::tr("The lot is past its printed date.");
    if (code == "strip-vial-expired" || code == "control-vial-expired")
        return Texts::tr("This vial has been open too long.");
    if (code == "strip-vial-not-open" || code == "control-vial-not-open")
        return Texts::tr("This vial is on record as opened later.");
    if (code == "control-vial-ended")
        return Texts::tr("This vial is on record as finished.");
    if (code == "lot-not-released")
        return Texts::tr("The lot is not released.");
    if (code == "lot-quarantined")
        return Texts::tr("The lot is quarantined.");
    return text(code);
}

QString invalidCause(const std::string& code)
{
    if (code == "code-mismatch")
        return Texts::tr("The strip code does not match the lot. Set the meter's code and repeat.");
    if (code == "unit-mismatch")
        return Texts::tr("The unit is not the meter's own. Tell the coordinator now.");
    if (code == "range-missing")
        return Texts::tr("No range is on record for these lots. Ask the coordinator to enter it.");
    if (code == "operator-not-competent")
        return Texts::tr("Your competency does not cover today. Somebody competent repeats it.");
    if (code == "level-mismatch")
        return Texts::tr("This vial holds another level. Check the vial.");
    if (code == "model-mismatch")
        return Texts::tr("These strips belong to another model. Use this meter's strips.");
    if (code == "not-in-service")
        return Texts::tr("The meter is not in a state for testing.");
    return vialCause(code);
}

} // namespace mk::desktop::words
