// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/return_steps.h"

#include "words/numbers.h"

#include <QCoreApplication>

#include <algorithm>

namespace mk::words {

namespace {

struct ReturnTexts {
    Q_DECLARE_TR_FUNCTIONS(ReturnSteps)
};

} // namespace

QString said(const registry::OwedForReturn& owed)
{
    using registry::ReturnOwed;
    switch (owed.what) {
    case ReturnOwed::Inspected: return ReturnTexts::tr("Look the meter over");
    case ReturnOwed::InspectedInWords: return ReturnTexts::tr("Look the meter over, and say what was mended or found");
    case ReturnOwed::ControlsPassed: return ReturnTexts::tr("Accepted control sets in a row: %1").arg(owed.sets);
    case ReturnOwed::ComparisonPassed: return ReturnTexts::tr("A passed laboratory comparison");
    case ReturnOwed::SoftwareVersion: return ReturnTexts::tr("Put the new version of its software on record");
    case ReturnOwed::OtherStripVial: return ReturnTexts::tr("Run the controls with another strip vial");
    case ReturnOwed::ShiftChecked: return ReturnTexts::tr("A passed laboratory comparison, a group check or a lot check");
    case ReturnOwed::LookbackDecided: return ReturnTexts::tr("Decide the look-back, or say who decides it and by when");
    case ReturnOwed::Signed:
        return owed.by == registry::ReturnBy::Coordinator ? ReturnTexts::tr("The coordinator signs")
                                                          : ReturnTexts::tr("A competent nurse or the coordinator signs");
    }
    return {};
}

QString owedInLine(const std::vector<registry::OwedForReturn>& owed)
{
    QStringList steps;
    for (const auto& each : owed)
        steps << said(each);
    //: %1 what a stopped meter owes, step by step
    return steps.isEmpty() ? QString() : ReturnTexts::tr("Owed before it is back in service: %1.").arg(steps.join(QStringLiteral("; ")));
}

QString said(registry::ReturnBy by)
{
    switch (by) {
    case registry::ReturnBy::Anyone: return ReturnTexts::tr("A nurse or the coordinator");
    case registry::ReturnBy::CompetentNurseOrCoordinator: return ReturnTexts::tr("A competent nurse or the coordinator");
    case registry::ReturnBy::Coordinator: return ReturnTexts::tr("The coordinator");
    }
    return {};
}

QString beneath(const registry::AskedForReturn& asked, const QString& name, const registry::Zone& zone)
{
    if (asked.metAt)
        return name.isEmpty() ? ReturnTexts::tr("Done %1").arg(dayAndTime(*asked.metAt, zone))
                              : ReturnTexts::tr("Done %1, %2").arg(dayAndTime(*asked.metAt, zone), name);
    if (asked.setsMet > 0)
        //: %1 and %2 counts of control sets, %3 who may run them
        return ReturnTexts::tr("%1 of %2 so far. %3").arg(asked.setsMet).arg(asked.step.sets).arg(said(asked.step.by));
    return said(asked.step.by);
}

QString doneOf(const std::vector<registry::AskedForReturn>& asked)
{
    const auto done = std::ranges::count_if(asked, [](const registry::AskedForReturn& each) { return each.metAt.has_value(); });
    return ReturnTexts::tr("%1 of %2 done").arg(done).arg(asked.size());
}

} // namespace mk::words
