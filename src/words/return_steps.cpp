// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/return_steps.h"

#include <QCoreApplication>

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

} // namespace mk::words
