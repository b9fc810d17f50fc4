// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/fault.h"
#include "base/moment.h"
#include "registry/terms/values.h"

#include <span>
#include <type_traits>

/// Why the desk does not admit an act: a row each. words/refusals.cpp says them.
namespace mk::registry::desk {

enum class Refusal {
    WardUnknown,
    MeterUnknown,
    ModelUnknown,
    StripLotUnknown,
    ControlLotUnknown,
    StripVialUnknown,
    ControlVialUnknown,
    OperatorUnknown,
    LotUnknown,
    VialUnknown,
    NoticeUnknown,
    RoleMayNotChangeAccounts,
    RoleMayNotAssess,
    RoleMayNotDescribe,
    RoleMayNotAccept,
    CoordinatorReleasesVials,
    CoordinatorIssuesNotices,
    CoordinatorClosesNotices,
    CoordinatorReleasesLots,
    CoordinatorRejectsLots,
    CoordinatorSetsTargets,
    CoordinatorClosesLookbacks,
    CoordinatorAcceptsLateEntries,
    ControlLotOfOtherLevel,
    ControlVialOfOtherLevel,
    NoticeHitsNothing,
    ItemNotHit,
    VialOfStoppedLot,
    VialOfUnreleasedLot,
    VialOfExpiredLot,
    OpeningNamedByNotice,
    VialOpenedAlready,
    KeyKnown,
    SampleUnknown,
    OtherUnit,
    SampleDueBeforeArrival,
    SampleKnown,
    SampleReturnedAlready,
    NotAttested,
    SampleRunBeforeArrival,
    ScoreHalfGiven,
    ScoreSdNotPositive,
    SampleStillInTime,
    SampleScoredOtherwise,
    AssignedValuesDoNotRise,
    InspectorChecksNoTechnique,
    CleaningFieldsElsewhere,
    ContactTimeNotKept,
    NoticedBeforeItHappened,
    AccountClosed,
    InspectorRecordsNothing,
    RoleMayNotEnrol,
    SerialMissing,
    UdiKnown,
    FirmwareWithoutUpdate,
    OnThatWardAlready,
    MeasuringRangeReversed,
    SerialKnown,
    NothingSaidOfMeter,
    NotInAcceptance,
    InspectorConfirmsNoTransfer,
    NoTransfer,
    SentToAnotherWard,
    TransferConfirmedAlready,
    MovementNamesNothing,
    InspectorMovesNoMeter,
    NoLookback,
    LookbackDecided,
    LotNotReady,
    LotReleasedAlready,
    LotRejectedForGood,
    LotReasonMissing,
    RangeReversed,
    SdBelowZero,
    LotRejectedAlready,
    VialsNotWhole,
    ShipmentKnown,
    RangeUnknown,
    LotInUseAlready,
    LotOfOtherModel,
    LotComparedTooLate,
    CurrentLotNotReleased,
    SampleOnMeterKnown,
    RunOfLevelMissing,
    NoSuchColumn,
    CorrectedBefore,
    RunBehindItsEntry,
    ConfirmedByOneselfAlone,
    NotACorrection,
    ColumnNeverCorrected,
    MendingNotTakenBack,
    NoRecordOfKey,
    VialReleaseNotAnnulled,
    AnnulledAlready,
    CorrectionConfirmedAlready,
    ConfirmedByOneself,
    InspectorOpensNothing,
    NonconformityIncomplete,
    SubjectUnknown,
    EntryUnknown,
    NoNonconformity,
    ExcursionTimes,
    VialNotQuarantined,
    VialReasonMissing,
    VialNamedByNotice,
    NoticeKnown,
    NoticeNamesNothing,
    VialsWithoutLot,
    ModelOfNoticeUnknown,
    NoticeClosedAlready,
    ItemActionMissing,
    NoticeItemsLeft,
    MeterNamedByNotice,
    AccountUnchanged,
    OwnAccount,
    OwnAssessment,
    UntilWithoutCompetent,
    ElementsMissing,
    UntilBeforeAssessment,
    PolicyByNobody,
    RoleMayNotChangePolicy,
    PolicyWithoutStart,
    PolicyForThePast,
    PolicyIncomplete,
    PolicyVersionOvertaken,
    NothingToTakeAsItStands,
    NotComparedSinceItMoved,
    MonthSigned,
    QuestionHalfGiven,
    OwnSupervisor,
    SetOfOtherMeter,
    RepeatOfNoFailure,
    LookbackForNobody,
    LookbackDuePast,
    LookbackIncomplete,
    LookbackUndecided,
    NotInServiceThen,
    RepeatOfEndedFailure,
    ResultBeyondModel,
    NoReasonCode,
    KeptInTheFuture,
    TimeInTheFuture,
    SetUnknown,
    SetNeedsNoAcceptance,
    SetAcceptedAlready,
    OpenedTooLongAgo,
    FoundOpenWithTime,
    OpeningTimeMissing,
    VialEndedAlready,
    AnnulmentNeedsRole,
    AnnulledByNobody,
    SecondNotCompetent,
    SecondHasPart,
    MendingReasonMissing,
    NothingWaits,
    OwnMendingWaits,
    ReleaseOfItsOwn,
    LotDoubtUnsaid,
    SpanWithoutOrder,
    NoticeMissesAll,
};

struct RefusalRow {
    Refusal refusal {};
    std::string_view code;
    base::FaultKind kind {};
};
/// In the order of the enum.
std::span<const RefusalRow> refusalRows();
const RefusalRow& rowOf(Refusal refusal);

/// What stands in one place of a sentence, from a value of the registry.
template <typename T>
base::Arg argOf(const T& value)
{
    using Kind = base::Arg::Kind;
    if constexpr (std::is_same_v<T, base::Moment>)
        return { Kind::Moment, base::toText(value) };
    else if constexpr (std::is_same_v<T, base::Date>)
        return { Kind::Date, base::toText(value) };
    else if constexpr (std::is_same_v<T, base::Seq>)
        return { value.value };
    else if constexpr (std::is_same_v<T, base::GlucoseUnit>)
        return { Kind::Code, std::string(base::toText(value)) };
    else if constexpr (std::is_enum_v<T>)
        return { Kind::Code, std::string(word(value)) };
    else
        return { value };
}

/// args  for the places %1, %2 … of its sentence
template <typename... A>
base::Fault refuse(Refusal refusal, const A&... args)
{
    const RefusalRow& row = rowOf(refusal);
    return { row.kind, {}, row.code, { argOf(args)... } };
}

} // namespace mk::registry::desk
