// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"

#include <span>

/// Everything that may stand against a meter, a run or a vial: one row a code. Its sentences are in words/reasons.
namespace mk::registry {

/// What is to be done with a meter. The words of each are in words/steps.
enum class StepKind {
    AskWhetherShared,
    CompareAgain,
    OpenStripVial,
    Clean,
    LookItOver,
    RunLevels,
    RunOnOtherMaterials,
    RunInReserve,
    RunOnNewMaterial,
    LookInInsert,
    ClimbLadder,
    ConfirmArrival,
    Compare,
    CompareInsteadOfSample,
    VerifyCalibration,
    MendCalibration,
    ReturnSample,
    LookAtStripLot,
    LookAtLotAndVials,
    FindDriftCause,
    WithdrawAndTell,
    DecideLookback,
    RecordReturn,
    DecideWithdrawn
};
inline constexpr std::size_t kStepKinds = static_cast<std::size_t>(StepKind::DecideWithdrawn) + 1;

enum class Blocks { Always, Never, ByPolicy };

/// What sort of finding a reason is, for whoever shows one of several.
enum class Finding {
    Happened, ///< something that was seen or recorded
    State,    ///< the state itself, which followed from something else
    Owed,     ///< what the ward owes, and does not owe on a meter that is out of its hands
    Due,      ///< not yet owed
    Pending   ///< waits for the coordinator, and says nothing of the meter now
};

/// A new one is a value here, a row below and a sentence in words/reason_sentences.
enum class ReasonCode {
    NotForSharedUse,
    NotInService,
    LadderExhausted,
    Dropped,
    Wet,
    Damaged,
    ImplausibleResult,
    BatteryChanged,
    SoftwareChanged,
    ClockWrong,
    WrongUnit,
    Temperature,
    FieldNotice,
    ErrorCodes,
    ControlRejected,
    RunInvalid,
    SetPartial,
    NoControlYet,
    ControlOverdue,
    ControlDue,
    Transferred,
    NewStripLot,
    NewStripVial,
    StripExpired,
    StripVialExpired,
    StripVialNotOpen,
    NoStripVial,
    ControlExpired,
    ControlVialExpired,
    ControlVialNotOpen,
    ControlVialEnded,
    NoControlVial,
    LotNotReleased,
    LotQuarantined,
    RangeMissing,
    CodeMismatch,
    UnitMismatch,
    LevelMismatch,
    ModelMismatch,
    OperatorNotCompetent,
    ComparisonFailed,
    ComparisonOverdue,
    ComparisonDue,
    CalibrationFailed,
    CalibrationOverdue,
    CalibrationDue,
    EqaFailed,
    EqaMissing,
    EqaDue,
    CleaningOverdue,
    CleaningDue,
    Drift,
    StandsApart,
    LotEffect,
    LookBackOpen,
    ClockSuspect
};
inline constexpr std::size_t kReasonCodes = static_cast<std::size_t>(ReasonCode::ClockSuspect) + 1;

/// code      as files, the journal and `--json` write it
/// advice    for a meter that it blocks
/// step      what it asks for, of a meter that it blocks
/// needsInspection, needsComparison   what a return asks: after an incident, or after a withdrawal for this cause
struct ReasonRow {
    ReasonCode reason;
    std::string_view code;
    Blocks blocks = Blocks::Always;
    Advice advice = Advice::Hold;
    Finding finding = Finding::Happened;
    std::optional<StepKind> step {};
    bool needsInspection = false;
    bool needsComparison = false;
};

/// In the order of the enum.
inline constexpr ReasonRow kReasonRows[] = {
    { ReasonCode::NotForSharedUse, "not-for-shared-use", Blocks::Always, Advice::Withdraw },
    { ReasonCode::NotInService, "not-in-service", Blocks::Always, Advice::Hold, Finding::State },
    { ReasonCode::LadderExhausted, "ladder-exhausted" },
    { ReasonCode::Dropped, "dropped", Blocks::Always, Advice::Hold, Finding::Happened, StepKind::RunLevels, true },
    { ReasonCode::Wet, "wet", Blocks::Always, Advice::Withdraw, Finding::Happened, std::nullopt, true, true },
    { ReasonCode::Damaged, "damaged", Blocks::Always, Advice::Withdraw, Finding::Happened, std::nullopt, true, true },
    { ReasonCode::ImplausibleResult, "implausible-result" },
    { ReasonCode::BatteryChanged, "battery-changed", Blocks::Always, Advice::Hold, Finding::Happened, std::nullopt, true },
    { ReasonCode::SoftwareChanged, "software-changed" },
    { ReasonCode::ClockWrong, "clock-wrong", Blocks::Always, Advice::Hold, Finding::Happened, std::nullopt, true },
    { ReasonCode::WrongUnit, "wrong-unit", Blocks::Always, Advice::Withdraw, Finding::Happened, std::nullopt, true },
    { ReasonCode::Temperature, "temperature" },
    { ReasonCode::FieldNotice, "field-notice", Blocks::Always, Advice::Withdraw },
    { ReasonCode::ErrorCodes, "error-codes" },
    { ReasonCode::ControlRejected, "control-rejected", Blocks::Always, Advice::Hold, Finding::Happened, StepKind::RunLevels },
    { ReasonCode::RunInvalid, "run-invalid", Blocks::Always, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { ReasonCode::SetPartial, "set-partial", Blocks::Always, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { ReasonCode::NoControlYet, "no-control-yet", Blocks::Always, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { ReasonCode::ControlOverdue, "control-overdue", Blocks::Always, Advice::Check, Finding::Owed, StepKind::RunLevels },
    { ReasonCode::ControlDue, "control-due", Blocks::Never, Advice::Check, Finding::Due },
    { ReasonCode::Transferred, "transferred", Blocks::Always, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { ReasonCode::NewStripLot, "new-strip-lot", Blocks::Always, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { ReasonCode::NewStripVial, "new-strip-vial", Blocks::Always, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { ReasonCode::StripExpired, "strip-expired", Blocks::Always, Advice::Check, Finding::Happened, StepKind::OpenStripVial },
    { ReasonCode::StripVialExpired, "strip-vial-expired", Blocks::Always, Advice::Check, Finding::Happened, StepKind::OpenStripVial },
    { ReasonCode::StripVialNotOpen, "strip-vial-not-open" },
    { ReasonCode::NoStripVial, "no-strip-vial", Blocks::Always, Advice::Check, Finding::Happened, StepKind::OpenStripVial },
    { ReasonCode::ControlExpired, "control-expired", Blocks::Always, Advice::Check },
    { ReasonCode::ControlVialExpired, "control-vial-expired", Blocks::Always, Advice::Check },
    { ReasonCode::ControlVialNotOpen, "control-vial-not-open" },
    { ReasonCode::ControlVialEnded, "control-vial-ended" },
    { ReasonCode::NoControlVial, "no-control-vial" },
    { ReasonCode::LotNotReleased, "lot-not-released" },
    { ReasonCode::LotQuarantined, "lot-quarantined" },
    { ReasonCode::RangeMissing, "range-missing" },
    { ReasonCode::CodeMismatch, "code-mismatch" },
    { ReasonCode::UnitMismatch, "unit-mismatch" },
    { ReasonCode::LevelMismatch, "level-mismatch" },
    { ReasonCode::ModelMismatch, "model-mismatch" },
    { ReasonCode::OperatorNotCompetent, "operator-not-competent", Blocks::Always, Advice::Check },
    { ReasonCode::ComparisonFailed, "comparison-failed", Blocks::Always, Advice::Hold, Finding::Happened, StepKind::CompareAgain, false,
        true },
    { ReasonCode::ComparisonOverdue, "comparison-overdue", Blocks::Always, Advice::Check, Finding::Owed, StepKind::Compare },
    { ReasonCode::ComparisonDue, "comparison-due", Blocks::Never, Advice::Check, Finding::Due },
    { ReasonCode::CalibrationFailed, "calibration-failed" },
    { ReasonCode::CalibrationOverdue, "calibration-overdue" },
    { ReasonCode::CalibrationDue, "calibration-due", Blocks::Never, Advice::Check, Finding::Due },
    { ReasonCode::EqaFailed, "eqa-failed", Blocks::Always, Advice::Hold, Finding::Happened, std::nullopt, false, true },
    { ReasonCode::EqaMissing, "eqa-missing", Blocks::Never, Advice::Check },
    { ReasonCode::EqaDue, "eqa-due", Blocks::Never, Advice::Check, Finding::Due },
    { ReasonCode::CleaningOverdue, "cleaning-overdue", Blocks::Always, Advice::Check, Finding::Happened, StepKind::Clean },
    { ReasonCode::CleaningDue, "cleaning-due", Blocks::Never, Advice::Check, Finding::Due },
    { ReasonCode::Drift, "drift", Blocks::ByPolicy, Advice::Withdraw, Finding::Happened, std::nullopt, false, true },
    { ReasonCode::StandsApart, "stands-apart", Blocks::Never, Advice::Check },
    { ReasonCode::LotEffect, "lot-effect", Blocks::ByPolicy, Advice::Withdraw },
    { ReasonCode::LookBackOpen, "look-back-open", Blocks::Never, Advice::Check, Finding::Pending },
    { ReasonCode::ClockSuspect, "clock-suspect", Blocks::Never, Advice::Check },
};

/// Causes of a stop that are no reason by themselves.
enum class StopOnly { Found, Movement, ReturnAnnulled };
template <>
struct Words<StopOnly> {
    static constexpr std::string_view what = "cause of a stop";
    static constexpr std::string_view all[] = { "found", "movement", "return-annulled" };
};

/// In the order of the enum.
std::span<const ReasonRow> reasonRows();
const ReasonRow& rowOf(ReasonCode reason);
std::string_view code(ReasonCode reason);
/// returns nothing for a code that this version does not know
std::optional<ReasonCode> reasonOf(std::string_view code);

/// What an incident does to a meter (handbook 1.5). What its reason asks of a return stands in that reason's row.
struct IncidentEffect {
    IncidentKind kind {};
    std::optional<ReasonCode> reason {}; ///< that it stands as; none where it is none by itself
    bool holds = false;                  ///< ON HOLD from the moment it is told
    bool withdraws = false;              ///< WITHDRAWN from the moment it is told
    bool cancelsClearance = false;       ///< earlier accepted sets no longer clear the meter
    bool startsSegment = false;          ///< control statistics begin again

    bool needsInspection() const { return reason && rowOf(*reason).needsInspection; }
    bool needsComparison() const { return reason && rowOf(*reason).needsComparison; }
};
const IncidentEffect& effectOf(IncidentKind kind);

} // namespace mk::registry
