// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/whole_life.h"

#include "registry/meter/nonconformity.h"
#include "words/causes.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>

namespace mk::words {

using namespace registry;

namespace {

struct LifeTexts {
    Q_DECLARE_TR_FUNCTIONS(Life)
};

QString stateNamed(MeterState state)
{
    using S = MeterState;
    switch (state) {
    case S::Received: return LifeTexts::tr("received");
    case S::Acceptance: return LifeTexts::tr("in acceptance");
    case S::InService: return LifeTexts::tr("in service");
    case S::OnHold: return LifeTexts::tr("on hold");
    case S::Withdrawn: return LifeTexts::tr("withdrawn");
    case S::AtRepair: return LifeTexts::tr("at repair");
    case S::Reserve: return LifeTexts::tr("in reserve");
    case S::Missing: return LifeTexts::tr("missing");
    case S::Retired: return LifeTexts::tr("retired");
    }
    return {};
}

QString movedInLife(const LifeEvent& event)
{
    const QString state = event.state ? stateNamed(*event.state) : QString(), ward = event.ward ? text(event.ward->value) : QString();
    if (event.state && event.ward)
        return LifeTexts::tr("Moved to ward %1, %2. %3").arg(ward, state, text(event.text));
    return (event.ward ? LifeTexts::tr("Moved to ward %1. %2") : LifeTexts::tr("Its state became %1. %2"))
        .arg(event.ward ? ward : state, text(event.text));
}

QString comparedSaid(const LifeEvent& event)
{
    const QString which = text(event.text);
    switch (valueOf<PairOutcome>(event.code).value_or(PairOutcome::Excluded)) {
    case PairOutcome::Inside: return LifeTexts::tr("Laboratory comparison %1 passed.").arg(which);
    case PairOutcome::Outside: return LifeTexts::tr("Laboratory comparison %1 failed.").arg(which);
    case PairOutcome::Excluded: return LifeTexts::tr("Laboratory comparison %1 could not be judged.").arg(which);
    }
    return {};
}

QString stepSaid(const LifeEvent& event)
{
    const QString detail = text(event.text);
    switch (valueOf<ReturnStepKind>(event.code).value_or(ReturnStepKind::Inspected)) {
    case ReturnStepKind::Inspected: return LifeTexts::tr("Step of the return, inspected: %1").arg(detail);
    case ReturnStepKind::ControlsPassed: return LifeTexts::tr("Step of the return, controls passed: %1").arg(detail);
    case ReturnStepKind::ComparisonPassed: return LifeTexts::tr("Step of the return, comparison passed: %1").arg(detail);
    case ReturnStepKind::GroupChecked: return LifeTexts::tr("Step of the return, checked against the group: %1").arg(detail);
    case ReturnStepKind::LotChecked: return LifeTexts::tr("Step of the return, lot checked: %1").arg(detail);
    case ReturnStepKind::Signed: break;
    }
    return LifeTexts::tr("Signed back into use: %1").arg(detail);
}

QString acceptanceSaid(const LifeEvent& event)
{
    const bool met = !event.code.ends_with(":not-met");
    QString item;
    switch (valueOf<AcceptanceItem>(event.code.substr(0, event.code.find(':'))).value_or(AcceptanceItem::Identity)) {
    case AcceptanceItem::Identity: item = LifeTexts::tr("identity"); break;
    case AcceptanceItem::SharedUse: item = LifeTexts::tr("shared use"); break;
    case AcceptanceItem::UnitAndClock: item = LifeTexts::tr("unit and clock"); break;
    case AcceptanceItem::Firmware: item = LifeTexts::tr("software"); break;
    case AcceptanceItem::Controls: item = LifeTexts::tr("controls"); break;
    case AcceptanceItem::Agreement: item = LifeTexts::tr("agreement with the laboratory"); break;
    }
    return (met ? LifeTexts::tr("Acceptance, %1: in order. %2") : LifeTexts::tr("Acceptance, %1: not in order. %2"))
        .arg(item, text(event.text));
}

QString sampleSaid(const LifeEvent& event)
{
    const QString sample = text(event.text);
    if (event.code == "received")
        return LifeTexts::tr("Proficiency sample %1 received.").arg(sample);
    return (event.code == "returned" ? LifeTexts::tr("Proficiency sample %1 returned.") : LifeTexts::tr("Proficiency sample %1 scored."))
        .arg(sample);
}

QString incidentSaid(const LifeEvent& event)
{
    const auto kind = valueOf<IncidentKind>(event.code);
    const QString what = kind ? incident(*kind) : text(event.code);
    return event.text.empty() ? LifeTexts::tr("%1.").arg(what) : LifeTexts::tr("%1: %2").arg(what, text(event.text));
}

QString itemStepSaid(const LifeEvent& event)
{
    const auto state = valueOf<NcState>(event.code);
    return LifeTexts::tr("Nonconformity, %1: %2").arg(state ? term(stateInWords(*state)) : text(event.code), text(event.text));
}

} // namespace

QString lifeSaid(const LifeEvent& event)
{
    const QString typed = text(event.text);
    switch (event.what) {
    case LifeKind::Enrolled: return LifeTexts::tr("Enrolled on ward %1.").arg(event.ward ? text(event.ward->value) : QString());
    case LifeKind::Acceptance: return acceptanceSaid(event);
    case LifeKind::Described:
        return typed.isEmpty() ? LifeTexts::tr("Its file was written.") : LifeTexts::tr("Its file was written; software %1.").arg(typed);
    case LifeKind::Moved: return movedInLife(event);
    case LifeKind::Arrived:
        return LifeTexts::tr("Its arrival on ward %1 was confirmed.").arg(event.ward ? text(event.ward->value) : QString());
    case LifeKind::Incident: return incidentSaid(event);
    case LifeKind::Held: return LifeTexts::tr("Put on hold: %1").arg(causeSaid(event.code));
    case LifeKind::Withdrawn: return LifeTexts::tr("Withdrawn: %1").arg(causeSaid(event.code));
    case LifeKind::ReturnStep:
    case LifeKind::Signed: return stepSaid(event);
    case LifeKind::Returned: return LifeTexts::tr("Back in use.");
    case LifeKind::TakenAsItStands: return LifeTexts::tr("Taken as it stands: %1").arg(typed);
    case LifeKind::Comparison: return comparedSaid(event);
    case LifeKind::Calibration: return LifeTexts::tr("Calibration verified with %1.").arg(typed);
    case LifeKind::Proficiency: return sampleSaid(event);
    case LifeKind::LookbackOpened: return LifeTexts::tr("Look-back opened: %1").arg(causeSaid(event.code));
    case LifeKind::LookbackAssigned: return LifeTexts::tr("Look-back given to %1.").arg(typed);
    case LifeKind::LookbackDecided: return LifeTexts::tr("Look-back decided: %1").arg(typed);
    case LifeKind::LookbackReopened: return LifeTexts::tr("Look-back opened again: %1").arg(typed);
    case LifeKind::NonconformityOpened: return LifeTexts::tr("Nonconformity opened: %1").arg(typed);
    case LifeKind::NonconformityStep: return itemStepSaid(event);
    case LifeKind::Note: return LifeTexts::tr("Note: %1").arg(typed);
    }
    return {};
}

} // namespace mk::words
