// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"

#include <span>

/// Everything that may stand against a meter, a run or a vial: one row a code. Its sentences are in words/reasons.
namespace mk::registry {

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
    ControlVialNotBeside,
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
    LotEffect,
    LookBackOpen,
    ClockSuspect
};

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
    RunBesideOlder,
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
