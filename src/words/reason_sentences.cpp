// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/reason_sentences.h"

#include <QtGlobal>

#include <cstddef>

namespace mk::words {

using registry::ReasonCode;

namespace {

constexpr ReasonSentences kSentences[] = {
    { ReasonCode::NotForSharedUse, QT_TRANSLATE_NOOP("Reasons", "Its model is not on record as cleared for use on several patients."),
        QT_TRANSLATE_NOOP("Reasons", "Do not share it; ask the coordinator.") },
    { ReasonCode::NotInService, QT_TRANSLATE_NOOP("Reasons", "The meter was not in a state for testing."), nullptr,
        QT_TRANSLATE_NOOP("Reasons", "The meter is not in a state for testing.") },
    { ReasonCode::LadderExhausted,
        QT_TRANSLATE_NOOP("Reasons", "Its controls failed with a new strip, a new control vial and a new strip vial."),
        QT_TRANSLATE_NOOP("Reasons", "Keep it out of use and label it; the coordinator decides.") },
    { ReasonCode::Dropped, QT_TRANSLATE_NOOP("Reasons", "It fell."), QT_TRANSLATE_NOOP("Reasons", "Look it over, then run both levels.") },
    { ReasonCode::Wet, QT_TRANSLATE_NOOP("Reasons", "It got wet."),
        QT_TRANSLATE_NOOP("Reasons", "Keep it out of use; the coordinator decides.") },
    { ReasonCode::Damaged, QT_TRANSLATE_NOOP("Reasons", "It is damaged."),
        QT_TRANSLATE_NOOP("Reasons", "Keep it out of use; the coordinator decides.") },
    { ReasonCode::ImplausibleResult, QT_TRANSLATE_NOOP("Reasons", "It showed a result that nothing explains."),
        QT_TRANSLATE_NOOP("Reasons", "Run both levels and tell the coordinator.") },
    { ReasonCode::BatteryChanged, QT_TRANSLATE_NOOP("Reasons", "Its battery was changed."),
        QT_TRANSLATE_NOOP("Reasons", "Check clock and unit, then run both levels.") },
    { ReasonCode::SoftwareChanged, QT_TRANSLATE_NOOP("Reasons", "Its software was updated."),
        QT_TRANSLATE_NOOP("Reasons", "Run both levels before the next use.") },
    { ReasonCode::ClockWrong, QT_TRANSLATE_NOOP("Reasons", "Its clock was wrong."),
        QT_TRANSLATE_NOOP("Reasons", "Set it, then run both levels.") },
    { ReasonCode::WrongUnit, QT_TRANSLATE_NOOP("Reasons", "It showed the wrong unit."),
        QT_TRANSLATE_NOOP("Reasons", "Keep it out of use and tell the coordinator now.") },
    { ReasonCode::Temperature, QT_TRANSLATE_NOOP("Reasons", "It lay outside its operating temperature."),
        QT_TRANSLATE_NOOP("Reasons", "Let it settle as the insert says, then run both levels.") },
    { ReasonCode::FieldNotice, QT_TRANSLATE_NOOP("Reasons", "A field safety notice names it."),
        QT_TRANSLATE_NOOP("Reasons", "Keep it out of use; the coordinator decides.") },
    { ReasonCode::ErrorCodes, QT_TRANSLATE_NOOP("Reasons", "It shows error codes again and again."),
        QT_TRANSLATE_NOOP("Reasons", "Change the strip vial, then run both levels.") },
    { ReasonCode::ControlRejected, QT_TRANSLATE_NOOP("Reasons", "Its control was rejected."),
        QT_TRANSLATE_NOOP("Reasons", "Do not use it; check the technique and repeat with a new strip.") },
    { ReasonCode::RunInvalid, QT_TRANSLATE_NOOP("Reasons", "The last control set does not count."),
        QT_TRANSLATE_NOOP("Reasons", "Mend what stands beside this, then run the controls again.") },
    { ReasonCode::SetPartial, QT_TRANSLATE_NOOP("Reasons", "The last control set is not complete."),
        QT_TRANSLATE_NOOP("Reasons", "Run the controls.") },
    { ReasonCode::NoControlYet, QT_TRANSLATE_NOOP("Reasons", "No accepted control set is on record."),
        QT_TRANSLATE_NOOP("Reasons", "Run the controls before the first use.") },
    { ReasonCode::ControlOverdue, QT_TRANSLATE_NOOP("Reasons", "The control is overdue."),
        QT_TRANSLATE_NOOP("Reasons", "Run both levels before the next use.") },
    { ReasonCode::ControlDue, QT_TRANSLATE_NOOP("Reasons", "The next control is due soon."), nullptr },
    { ReasonCode::Transferred, QT_TRANSLATE_NOOP("Reasons", "It came from another ward and was not controlled since."),
        QT_TRANSLATE_NOOP("Reasons", "Run the controls before the first use.") },
    { ReasonCode::NewStripLot, QT_TRANSLATE_NOOP("Reasons", "It was not controlled on the strip lot that is open for it."),
        QT_TRANSLATE_NOOP("Reasons", "Run the controls before the next use.") },
    { ReasonCode::NewStripVial, QT_TRANSLATE_NOOP("Reasons", "It was not controlled on the strip vial that is open for it."),
        QT_TRANSLATE_NOOP("Reasons", "Run the controls before the next use.") },
    { ReasonCode::StripExpired, QT_TRANSLATE_NOOP("Reasons", "The strip lot is past its printed expiry, or no expiry is on record."),
        QT_TRANSLATE_NOOP("Reasons", "Open a vial of a lot in date."), QT_TRANSLATE_NOOP("Reasons", "The lot is past its printed date."),
        QT_TRANSLATE_NOOP("Reasons", "strips past their date") },
    { ReasonCode::StripVialExpired, QT_TRANSLATE_NOOP("Reasons", "The strip vial is past its open-vial date, or no opening is on record."),
        QT_TRANSLATE_NOOP("Reasons", "Open a new strip vial."), QT_TRANSLATE_NOOP("Reasons", "This vial has been open too long."),
        QT_TRANSLATE_NOOP("Reasons", "vial past its date") },
    { ReasonCode::StripVialNotOpen, QT_TRANSLATE_NOOP("Reasons", "The strip vial was opened only later."),
        QT_TRANSLATE_NOOP("Reasons", "Check the vial's number."), QT_TRANSLATE_NOOP("Reasons", "This vial is on record as opened later.") },
    { ReasonCode::NoStripVial, QT_TRANSLATE_NOOP("Reasons", "No usable strip vial is open."),
        QT_TRANSLATE_NOOP("Reasons", "Open a new strip vial."), QT_TRANSLATE_NOOP("Reasons", "This vial is not on record as open.") },
    { ReasonCode::ControlExpired, QT_TRANSLATE_NOOP("Reasons", "The control lot is past its printed expiry, or no expiry is on record."),
        QT_TRANSLATE_NOOP("Reasons", "Use a lot in date."), QT_TRANSLATE_NOOP("Reasons", "The lot is past its printed date."),
        QT_TRANSLATE_NOOP("Reasons", "control past its date") },
    { ReasonCode::ControlVialExpired,
        QT_TRANSLATE_NOOP("Reasons", "The control vial is past its open-vial date, or no opening is on record."),
        QT_TRANSLATE_NOOP("Reasons", "Open a new control vial."), QT_TRANSLATE_NOOP("Reasons", "This vial has been open too long."),
        QT_TRANSLATE_NOOP("Reasons", "vial past its date") },
    { ReasonCode::ControlVialNotOpen, QT_TRANSLATE_NOOP("Reasons", "The control vial was opened only later."),
        QT_TRANSLATE_NOOP("Reasons", "Check the vial's number."), QT_TRANSLATE_NOOP("Reasons", "This vial is on record as opened later.") },
    { ReasonCode::ControlVialEnded, QT_TRANSLATE_NOOP("Reasons", "The control vial had been ended before the run."),
        QT_TRANSLATE_NOOP("Reasons", "Open a new control vial."), QT_TRANSLATE_NOOP("Reasons", "This vial is on record as finished.") },
    { ReasonCode::NoControlVial, QT_TRANSLATE_NOOP("Reasons", "The control vial is not on record."),
        QT_TRANSLATE_NOOP("Reasons", "Record its opening."), QT_TRANSLATE_NOOP("Reasons", "This vial is not on record as open.") },
    { ReasonCode::LotNotReleased, QT_TRANSLATE_NOOP("Reasons", "The strip lot is not released."),
        QT_TRANSLATE_NOOP("Reasons", "Use a released lot, or ask the coordinator to release this one."),
        QT_TRANSLATE_NOOP("Reasons", "The lot is not released."), QT_TRANSLATE_NOOP("Reasons", "lot not released") },
    { ReasonCode::LotQuarantined, QT_TRANSLATE_NOOP("Reasons", "The lot is quarantined or rejected."),
        QT_TRANSLATE_NOOP("Reasons", "Use another lot."), QT_TRANSLATE_NOOP("Reasons", "The lot is quarantined."),
        QT_TRANSLATE_NOOP("Reasons", "lot quarantined") },
    { ReasonCode::RangeMissing, QT_TRANSLATE_NOOP("Reasons", "No range is on record for this strip lot, control lot and level."),
        QT_TRANSLATE_NOOP("Reasons", "Ask the coordinator to enter it from the label."),
        QT_TRANSLATE_NOOP("Reasons", "No range is on record for these lots. Ask the coordinator to enter it."),
        QT_TRANSLATE_NOOP("Reasons", "no range") },
    { ReasonCode::CodeMismatch, QT_TRANSLATE_NOOP("Reasons", "The strip code is missing or does not match the lot."),
        QT_TRANSLATE_NOOP("Reasons", "Set the meter's code and repeat."),
        QT_TRANSLATE_NOOP("Reasons", "The strip code does not match the lot. Set the meter's code and repeat."),
        QT_TRANSLATE_NOOP("Reasons", "other code") },
    { ReasonCode::UnitMismatch, QT_TRANSLATE_NOOP("Reasons", "The unit is not the meter's or not the range's."),
        QT_TRANSLATE_NOOP("Reasons", "Check the unit on the display and tell the coordinator."),
        QT_TRANSLATE_NOOP("Reasons", "The unit is not the meter's own. Tell the coordinator now."),
        QT_TRANSLATE_NOOP("Reasons", "other unit") },
    { ReasonCode::LevelMismatch, QT_TRANSLATE_NOOP("Reasons", "The control vial is of another level."),
        QT_TRANSLATE_NOOP("Reasons", "Check the vial and repeat."),
        QT_TRANSLATE_NOOP("Reasons", "This vial holds another level. Check the vial."), QT_TRANSLATE_NOOP("Reasons", "other level") },
    { ReasonCode::ModelMismatch, QT_TRANSLATE_NOOP("Reasons", "The strips belong to another model."),
        QT_TRANSLATE_NOOP("Reasons", "Use this meter's strips."),
        QT_TRANSLATE_NOOP("Reasons", "These strips belong to another model. Use this meter's strips.") },
    { ReasonCode::OperatorNotCompetent, QT_TRANSLATE_NOOP("Reasons", "The operator's competency does not cover that day."),
        QT_TRANSLATE_NOOP("Reasons", "Somebody competent repeats the controls."),
        QT_TRANSLATE_NOOP("Reasons", "Your competency does not cover today. Somebody competent repeats it."),
        QT_TRANSLATE_NOOP("Reasons", "not competent") },
    { ReasonCode::ComparisonFailed, QT_TRANSLATE_NOOP("Reasons", "The laboratory comparison failed."),
        QT_TRANSLATE_NOOP("Reasons", "Compare again today with a new sample.") },
    { ReasonCode::ComparisonOverdue, QT_TRANSLATE_NOOP("Reasons", "The laboratory comparison is overdue."),
        QT_TRANSLATE_NOOP("Reasons", "Compare it before the next use.") },
    { ReasonCode::ComparisonDue, QT_TRANSLATE_NOOP("Reasons", "The laboratory comparison is due soon."), nullptr },
    { ReasonCode::CalibrationFailed, QT_TRANSLATE_NOOP("Reasons", "The calibration verification lies outside the limits."),
        QT_TRANSLATE_NOOP("Reasons", "Keep it out of use and tell the coordinator.") },
    { ReasonCode::CalibrationOverdue, QT_TRANSLATE_NOOP("Reasons", "The calibration verification is overdue."),
        QT_TRANSLATE_NOOP("Reasons", "Verify low, mid and high before the next use.") },
    { ReasonCode::CalibrationDue, QT_TRANSLATE_NOOP("Reasons", "The calibration verification is due soon."), nullptr },
    { ReasonCode::EqaFailed, QT_TRANSLATE_NOOP("Reasons", "A proficiency sample failed."),
        QT_TRANSLATE_NOOP("Reasons", "Keep it out of use; the coordinator decides.") },
    { ReasonCode::EqaMissing, QT_TRANSLATE_NOOP("Reasons", "A proficiency sample was not returned in time."),
        QT_TRANSLATE_NOOP("Reasons", "It counts as failed, score zero; compare the meter with the laboratory.") },
    { ReasonCode::EqaDue, QT_TRANSLATE_NOOP("Reasons", "A proficiency sample waits."), nullptr },
    { ReasonCode::CleaningOverdue, QT_TRANSLATE_NOOP("Reasons", "It is soiled."),
        QT_TRANSLATE_NOOP("Reasons", "Clean and disinfect it as the insert says, and record it.") },
    { ReasonCode::CleaningDue, QT_TRANSLATE_NOOP("Reasons", "Cleaning is due soon."), nullptr },
    { ReasonCode::Drift, QT_TRANSLATE_NOOP("Reasons", "It drifts."), QT_TRANSLATE_NOOP("Reasons", "Tell the coordinator.") },
    { ReasonCode::StandsApart, QT_TRANSLATE_NOOP("Reasons", "It stands apart from the other meters."), nullptr },
    { ReasonCode::LotEffect, QT_TRANSLATE_NOOP("Reasons", "Other meters on the same strip lot deviate the same way."), nullptr },
    { ReasonCode::LookBackOpen, QT_TRANSLATE_NOOP("Reasons", "Results wait for the coordinator's look-back."), nullptr },
    { ReasonCode::ClockSuspect, QT_TRANSLATE_NOOP("Reasons", "The workstation's clock leapt forward."),
        QT_TRANSLATE_NOOP("Reasons", "Check it before you believe what is overdue or expired.") },
};

constexpr bool inOrderOfCodes()
{
    std::size_t at = 0;
    for (const auto& row : kSentences)
        if (static_cast<std::size_t>(row.code) != at++)
            return false;
    return at == registry::kReasonCodes;
}
static_assert(inOrderOfCodes());

} // namespace

const ReasonSentences& sentencesOf(ReasonCode code)
{
    return kSentences[static_cast<std::size_t>(code)];
}

} // namespace mk::words
