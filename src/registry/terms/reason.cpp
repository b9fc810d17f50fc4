// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/terms/reason.h"

#include <algorithm>
#include <iterator>

namespace mk::registry {

namespace {

using Code = ReasonCode;
constexpr auto kAlwaysBlocks = Blocks::Always, kNeverBlocks = Blocks::Never;
constexpr std::optional<StepKind> kNoStep;

constexpr ReasonRow kReasons[] = {
    { Code::NotForSharedUse, "not-for-shared-use", kAlwaysBlocks, Advice::Withdraw },
    { Code::NotInService, "not-in-service", kAlwaysBlocks, Advice::Hold, Finding::State },
    { Code::LadderExhausted, "ladder-exhausted" },
    { Code::Dropped, "dropped", kAlwaysBlocks, Advice::Hold, Finding::Happened, StepKind::RunLevels, true },
    { Code::Wet, "wet", kAlwaysBlocks, Advice::Withdraw, Finding::Happened, kNoStep, true, true },
    { Code::Damaged, "damaged", kAlwaysBlocks, Advice::Withdraw, Finding::Happened, kNoStep, true, true },
    { Code::ImplausibleResult, "implausible-result" },
    { Code::BatteryChanged, "battery-changed", kAlwaysBlocks, Advice::Hold, Finding::Happened, kNoStep, true },
    { Code::SoftwareChanged, "software-changed" },
    { Code::ClockWrong, "clock-wrong", kAlwaysBlocks, Advice::Hold, Finding::Happened, kNoStep, true },
    { Code::WrongUnit, "wrong-unit", kAlwaysBlocks, Advice::Withdraw, Finding::Happened, kNoStep, true },
    { Code::Temperature, "temperature" },
    { Code::FieldNotice, "field-notice", kAlwaysBlocks, Advice::Withdraw },
    { Code::ErrorCodes, "error-codes" },
    { Code::ControlRejected, "control-rejected", kAlwaysBlocks, Advice::Hold, Finding::Happened, StepKind::RunLevels },
    { Code::RunInvalid, "run-invalid", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { Code::SetPartial, "set-partial", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { Code::NoControlYet, "no-control-yet", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { Code::ControlOverdue, "control-overdue", kAlwaysBlocks, Advice::Check, Finding::Owed, StepKind::RunLevels },
    { Code::ControlDue, "control-due", kNeverBlocks, Advice::Check, Finding::Due },
    { Code::Transferred, "transferred", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { Code::NewStripLot, "new-strip-lot", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { Code::NewStripVial, "new-strip-vial", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::RunLevels },
    { Code::StripExpired, "strip-expired", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::OpenStripVial },
    { Code::StripVialExpired, "strip-vial-expired", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::OpenStripVial },
    { Code::StripVialNotOpen, "strip-vial-not-open" },
    { Code::NoStripVial, "no-strip-vial", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::OpenStripVial },
    { Code::ControlExpired, "control-expired", kAlwaysBlocks, Advice::Check },
    { Code::ControlVialExpired, "control-vial-expired", kAlwaysBlocks, Advice::Check },
    { Code::ControlVialNotOpen, "control-vial-not-open" },
    { Code::ControlVialEnded, "control-vial-ended" },
    { Code::NoControlVial, "no-control-vial" },
    { Code::LotNotReleased, "lot-not-released" },
    { Code::LotQuarantined, "lot-quarantined" },
    { Code::RangeMissing, "range-missing" },
    { Code::CodeMismatch, "code-mismatch" },
    { Code::UnitMismatch, "unit-mismatch" },
    { Code::LevelMismatch, "level-mismatch" },
    { Code::ModelMismatch, "model-mismatch" },
    { Code::OperatorNotCompetent, "operator-not-competent", kAlwaysBlocks, Advice::Check },
    { Code::ComparisonFailed, "comparison-failed", kAlwaysBlocks, Advice::Hold, Finding::Happened, StepKind::CompareAgain, false, true },
    { Code::ComparisonOverdue, "comparison-overdue", kAlwaysBlocks, Advice::Check, Finding::Owed, StepKind::Compare },
    { Code::ComparisonDue, "comparison-due", kNeverBlocks, Advice::Check, Finding::Due },
    { Code::CalibrationFailed, "calibration-failed" },
    { Code::CalibrationOverdue, "calibration-overdue" },
    { Code::CalibrationDue, "calibration-due", kNeverBlocks, Advice::Check, Finding::Due },
    { Code::EqaFailed, "eqa-failed", kAlwaysBlocks, Advice::Hold, Finding::Happened, kNoStep, false, true },
    { Code::EqaMissing, "eqa-missing", kNeverBlocks, Advice::Check },
    { Code::EqaDue, "eqa-due", kNeverBlocks, Advice::Check, Finding::Due },
    { Code::CleaningOverdue, "cleaning-overdue", kAlwaysBlocks, Advice::Check, Finding::Happened, StepKind::Clean },
    { Code::CleaningDue, "cleaning-due", kNeverBlocks, Advice::Check, Finding::Due },
    { Code::Drift, "drift", Blocks::ByPolicy, Advice::Withdraw, Finding::Happened, kNoStep, false, true },
    { Code::LotEffect, "lot-effect", kNeverBlocks, Advice::Check },
    { Code::LookBackOpen, "look-back-open", kNeverBlocks, Advice::Check, Finding::Pending },
    { Code::ClockSuspect, "clock-suspect", kNeverBlocks, Advice::Check },
};

using Kind = IncidentKind;
constexpr bool kHolds = true, kWithdraws = true, kCancels = true, kSegment = true, kNo = false;

constexpr IncidentEffect kIncidents[] = {
    { Kind::Dropped, Code::Dropped, kHolds, kNo, kCancels, kNo },
    { Kind::Wet, Code::Wet, kNo, kWithdraws, kCancels, kNo },
    { Kind::Damaged, Code::Damaged, kNo, kWithdraws, kCancels, kNo },
    { Kind::ErrorCode }, // counted, see the policy's error_codes
    { Kind::ImplausibleResult, Code::ImplausibleResult, kHolds, kNo, kCancels, kNo },
    { Kind::BatteryChanged, Code::BatteryChanged, kHolds, kNo, kCancels, kNo },
    { Kind::SoftwareUpdated, Code::SoftwareChanged, kHolds, kNo, kCancels, kSegment },
    { Kind::ClockWrong, Code::ClockWrong, kHolds, kNo, kCancels, kNo },
    { Kind::WrongUnit, Code::WrongUnit, kNo, kWithdraws, kCancels, kNo },
    { Kind::Temperature, Code::Temperature, kHolds, kNo, kCancels, kNo },
    { Kind::Soiled }, // unfit by computation until cleaned
    { Kind::Cleaned },
    { Kind::NotInUse },
    { Kind::Found }, // withdraws a missing meter, T14
    { Kind::FieldNotice, Code::FieldNotice, kNo, kWithdraws, kNo, kNo },
};

/// A row in the wrong place would speak for another code.
template <typename Rows, typename Member>
constexpr bool inOrder(const Rows& rows, Member member)
{
    std::size_t at = 0;
    for (const auto& row : rows)
        if (static_cast<std::size_t>(row.*member) != at++)
            return false;
    return true;
}
static_assert(inOrder(kReasons, &ReasonRow::reason) && std::size(kReasons) == static_cast<std::size_t>(Code::ClockSuspect) + 1);
static_assert(inOrder(kIncidents, &IncidentEffect::kind) && std::size(kIncidents) == std::size(Words<IncidentKind>::all));

} // namespace

std::span<const ReasonRow> reasonRows()
{
    return kReasons;
}

const ReasonRow& rowOf(ReasonCode reason)
{
    return kReasons[static_cast<std::size_t>(reason)];
}

std::string_view code(ReasonCode reason)
{
    return rowOf(reason).code;
}

std::optional<ReasonCode> reasonOf(std::string_view code)
{
    const auto* const found = std::ranges::find(kReasons, code, &ReasonRow::code);
    return found == std::end(kReasons) ? std::nullopt : std::optional(found->reason);
}

const IncidentEffect& effectOf(IncidentKind kind)
{
    return kIncidents[static_cast<std::size_t>(kind)];
}

} // namespace mk::registry
