// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/policy.h"

#include "words/numbers.h"

#include <QCoreApplication>

namespace mk::words {

namespace {

class PolicyWords {
    Q_DECLARE_TR_FUNCTIONS(Policy)
public:
    static QString unknown()
    {
        //: of a line in a policy document; %1 is its key, %2 its value, both as they were written
        return tr("This program does not know the setting %1 (%2). It stays on record and decides nothing here.");
    }
    static QString kept() { return tr("What is recorded today is kept until %1 at least. Nothing goes by itself."); }
    static QString monthKept() { return tr("The records of this month are kept until %1 at least. Nothing goes by itself."); }
    static QString late()
    {
        //: %1 a month such as 2026-10, %2 a date
        return tr("The month %1 is not signed. It was due by %2.");
    }
    static QString lateOnWard()
    {
        //: %1 a month such as 2026-10, %2 a date, %3 a ward
        return tr("The month %1 of ward %3 is not signed. It was due by %2.");
    }
    static QString waiting() { return tr("The month %1 waits for its signature, due by %2."); }
    static QString waitingOnWard() { return tr("The month %1 of ward %3 waits for its signature, due by %2."); }
    static QString signedLate() { return tr("The month %1 was signed late. It was due by %2."); }
    static QString signedLateOnWard() { return tr("The month %1 of ward %3 was signed late. It was due by %2."); }
    static QString strip()
    {
        //: %1 a vial, %2 its lot
        return tr("Strip vial %1 of lot %2 was never controlled. Control it before its first use.");
    }
    static QString insert()
    {
        return tr("Strip vial %1 of lot %2 was never controlled. The maker's insert says whether it must be before its first use.");
    }
    static QString beside()
    {
        //: %1 a control vial, %2 its lot, %3 an older control vial
        return tr("Control vial %1 of lot %2 was not run beside an older one yet. Run it beside %3.");
    }
    static QString besideNone()
    {
        return tr("Control vial %1 of lot %2 was never run beside an older one, and none of its level is open any more.");
    }
    static QString apart(int minutes)
    {
        //: %1 the target, a whole number of minutes
        return tr("The samples lie %n minutes apart, more than the %1 that are wanted.", nullptr, minutes);
    }
};

} // namespace

QString unknownSetting(const std::string& key, const std::string& value)
{
    return PolicyWords::unknown().arg(text(key), text(value));
}

QString keptUntil(base::Date until)
{
    return PolicyWords::kept().arg(longDay(until));
}

QString monthKeptUntil(base::Date until)
{
    return PolicyWords::monthKept().arg(longDay(until));
}

QString monthToSign(const registry::MonthSignature& month)
{
    const QString name = text(registry::toText(month.month)), due = longDay(month.due);
    const QString ward = month.ward ? text(month.ward->value) : QString();
    const auto said = [&](const QString& all, const QString& one) { return month.ward ? one.arg(name, due, ward) : all.arg(name, due); };
    switch (month.standing) {
    case registry::MonthStanding::Late: return said(PolicyWords::late(), PolicyWords::lateOnWard());
    case registry::MonthStanding::Waiting: return said(PolicyWords::waiting(), PolicyWords::waitingOnWard());
    case registry::MonthStanding::SignedLate: return said(PolicyWords::signedLate(), PolicyWords::signedLateOnWard());
    case registry::MonthStanding::NotOver:
    case registry::MonthStanding::Signed: break;
    }
    return {};
}

QString vialDebt(const registry::VialDebt& debt)
{
    using What = registry::VialDebt::What;
    const QString vial = text(debt.vial), lot = text(debt.lot);
    if (debt.what == What::StripControl)
        return PolicyWords::strip().arg(vial, lot);
    if (debt.what == What::AskInsert)
        return PolicyWords::insert().arg(vial, lot);
    return debt.older.empty() ? PolicyWords::besideNone().arg(vial, lot)
                              : PolicyWords::beside().arg(vial, lot, text(debt.older.front().value));
}

QString beyondPairTarget(int minutesApart, int target)
{
    return PolicyWords::apart(minutesApart).arg(target);
}

QStringList driftCostSaid(const registry::CostWard& ward, const registry::DriftCost& cost)
{
    const QString spread = ward.spreadKnown ? PolicyWords::tr("%1 times what the targets say").arg(withDecimals(ward.spread, 2))
                                            : PolicyWords::tr("not known yet, taken as what the targets say");
    const auto step = [](const registry::CostOfStep& of) {
        const QString percent = withDecimals(of.percent, 1), told = withDecimals(of.told, 1);
        return of.stopped
            ? PolicyWords::tr("A change of %1 % is told of after %2 days and stopped after %3, on average.")
                  .arg(percent, told, withDecimals(*of.stopped, 1))
            : PolicyWords::tr("A change of %1 % is told of after %2 days, on average, and stops no meter.").arg(percent, told);
    };
    return { PolicyWords::tr("On this ward (meters in service: %1; day-to-day spread: %2), while nothing is wrong:")
                 .arg(QString::number(ward.meters), spread),
        PolicyWords::tr("false tellings of drift a month: %1; false stops: %2.")
            .arg(withDecimals(cost.falseTells, 2), withDecimals(cost.falseStops, 2)),
        step(cost.halfLimit), step(cost.wholeLimit) };
}

} // namespace mk::words
