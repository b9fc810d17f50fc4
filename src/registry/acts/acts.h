// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts_access.h"
#include "registry/acts/acts_life.h"
#include "registry/acts/acts_lots.h"
#include "registry/acts/acts_people.h"
#include "registry/acts/acts_quality.h"
#include "registry/acts/acts_registry.h"

#include <tuple>
#include <variant>

/// Everything that can be written into the journal: one struct an act, one variant over all.
namespace mk::registry {

using Act = std::variant<acts::WardAdded, acts::ModelAdded, acts::MeterEnrolled, acts::OperatorEnrolled, acts::StripLotReceived,
    acts::StripVialOpened, acts::ControlLotReceived, acts::ControlVialOpened, acts::RangeAssigned, acts::ControlRun,
    acts::ComparisonRecorded, acts::IncidentReported, acts::ReturnStep, acts::MeterMoved, acts::VialEnded, acts::LotEvent,
    acts::EntryCorrected, acts::EntryAnnulled, acts::CorrectionConfirmed, acts::LookbackClosed, acts::NoteAdded, acts::RegistryFounded,
    acts::PolicyChanged, acts::SetJudged, acts::PairJudged, acts::MeterStopped, acts::MeterReturned, acts::LookbackOpened,
    acts::ClockNoticed, acts::ReviewOvertaken, acts::MeterDescribed, acts::AcceptanceChecked, acts::TransferConfirmed,
    acts::CalibrationVerified, acts::OperatorChanged, acts::CompetencyAssessed, acts::ShiftBegun, acts::ShiftEnded, acts::EqaReceived,
    acts::EqaReturned, acts::EqaScored, acts::ShipmentReceived, acts::RangeConfirmed, acts::LotControlChecked, acts::LotSampleCompared,
    acts::ExcursionReported, acts::VialReleased, acts::NoticeIssued, acts::NoticeItemDone, acts::NoticeClosed, acts::TechniqueChecked,
    acts::NcOpened, acts::NcStep, acts::LateEntryAccepted, acts::ReviewSigned, acts::SecretSet, acts::SecretRecovered, acts::SignInFailed,
    acts::SignInUnlocked, acts::RecordsShown, acts::BackupMade, acts::RegistryRestored, acts::RegistryMoved, acts::TakenAsItStands,
    acts::LookbackAssigned, acts::LookbackAsked, acts::LookbackReopened>;

/// The acts that no file carries.
using LooseActs = std::tuple<acts::CorrectionConfirmed, acts::LookbackClosed, acts::NoteAdded, acts::MeterDescribed,
    acts::AcceptanceChecked, acts::TransferConfirmed, acts::CalibrationVerified, acts::OperatorChanged, acts::CompetencyAssessed,
    acts::ShiftBegun, acts::ShiftEnded, acts::EqaReceived, acts::EqaReturned, acts::EqaScored, acts::ShipmentReceived, acts::RangeConfirmed,
    acts::LotControlChecked, acts::LotSampleCompared, acts::ExcursionReported, acts::VialReleased, acts::NoticeIssued, acts::NoticeItemDone,
    acts::NoticeClosed, acts::TechniqueChecked, acts::NcOpened, acts::NcStep, acts::LateEntryAccepted, acts::ReviewSigned,
    acts::TakenAsItStands, acts::LookbackAssigned, acts::LookbackAsked, acts::LookbackReopened>;

/// Acts that people make: have `describe`, `word` and, where a file carries them, `file`.
template <typename A>
concept Described = requires
{
    A::word;
};

/// The acts that a CSV file carries, in the order of interface.md's table.
using FileActs = std::tuple<acts::WardAdded, acts::ModelAdded, acts::MeterEnrolled, acts::OperatorEnrolled, acts::StripLotReceived,
    acts::StripVialOpened, acts::ControlLotReceived, acts::ControlVialOpened, acts::RangeAssigned, acts::ControlRun,
    acts::ComparisonRecorded, acts::IncidentReported, acts::ReturnStep, acts::MeterMoved, acts::VialEnded, acts::LotEvent,
    acts::EntryCorrected, acts::EntryAnnulled>;

/// Calls f.template operator()<A>() for each act that a person can make, files first.
template <typename F>
void forEachPersonsAct(F&& f)
{
    [&]<typename... A>(std::tuple<A...>*) { (f.template operator()<A>(), ...); }(static_cast<FileActs*>(nullptr));
    [&]<typename... A>(std::tuple<A...>*) { (f.template operator()<A>(), ...); }(static_cast<LooseActs*>(nullptr));
}

std::string_view kindOf(const Act& act);
/// What the act is about: a meter, a lot, a vial, a ward … as text; may be empty.
std::string subjectOf(const Act& act);
/// When it was true; nothing for what has no time of its own (it holds from the beginning).
std::optional<base::Moment> ownTimeOf(const Act& act);
/// Who did it, where the act says so.
std::optional<base::OperatorId> personOf(const Act& act);
/// The fields of the act's key joined by '/', times as ISO 8601 with offset; empty for acts without file.
std::string keyOf(const Act& act);
/// The file that carries it, or empty.
std::string_view fileOf(const Act& act);

} // namespace mk::registry
