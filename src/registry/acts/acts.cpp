// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/acts/acts.h"

namespace mk::registry {

namespace {

/// Joins the key fields of an act as its file would write them.
struct KeyJoiner {
    std::string key;
    bool first = true;

    template <typename T>
    void operator()(std::string_view, const T& value, acts::Field field)
    {
        if (field == acts::Field::Key)
            append(TextForm<T>::write(value));
    }
    template <typename T>
    void operator()(std::string_view, const std::optional<T>& value, acts::Field field)
    {
        if (field == acts::Field::Key || (field == acts::Field::KeyIfGiven && value))
            append(value ? TextForm<T>::write(*value) : std::string());
    }

private:
    void append(const std::string& text)
    {
        if (!first)
            key += '/';
        first = false;
        key += text;
    }
};

template <typename A>
constexpr bool kHasFile = requires
{
    A::file;
};

template <typename... F>
struct Cases : F... {
    using F::operator()...;
};

} // namespace

std::string_view kindOf(const Act& act)
{
    return std::visit(
        [](const auto& a) -> std::string_view {
            using A = std::decay_t<decltype(a)>;
            if constexpr (std::is_same_v<A, acts::SetJudged>)
                return a.oldVerdict ? A::kindRevised : A::kind;
            else if constexpr (std::is_same_v<A, acts::MeterStopped>)
                return a.withdrawn ? A::kindWithdrawn : A::kindHeld;
            else
                return A::kind;
        },
        act);
}

std::string subjectOf(const Act& act)
{
    return std::visit(Cases {
                          [](const acts::WardAdded& a) { return a.ward.value; },
                          [](const acts::ModelAdded& a) { return a.model.value; },
                          [](const acts::OperatorEnrolled& a) { return a.id.value; },
                          [](const acts::StripLotReceived& a) { return a.lot.value; },
                          [](const acts::StripVialOpened& a) { return a.vial.value; },
                          [](const acts::ControlLotReceived& a) { return a.lot.value; },
                          [](const acts::ControlVialOpened& a) { return a.vial.value; },
                          [](const acts::RangeAssigned& a) { return a.stripLot.value; },
                          [](const acts::VialEnded& a) { return a.vial; },
                          [](const acts::LotEvent& a) { return a.lot; },
                          [](const acts::EntryCorrected& a) { return a.set.value; },
                          [](const acts::EntryAnnulled& a) { return a.file_ + ":" + a.key; },
                          [](const acts::CorrectionConfirmed& a) { return "entry " + std::to_string(a.entry.value); },
                          [](const acts::LookbackClosed& a) { return "entry " + std::to_string(a.entry.value); },
                          [](const acts::LookbackReopened& a) { return "entry " + std::to_string(a.entry.value); },
                          [](const acts::LookbackAssigned& a) { return "entry " + std::to_string(a.entry.value); },
                          [](const acts::OperatorChanged& a) { return a.person.value; },
                          [](const acts::CompetencyAssessed& a) { return a.person.value; },
                          [](const acts::ShiftBegun& a) { return a.by.value; },
                          [](const acts::ShiftEnded& a) { return a.by.value; },
                          [](const acts::EqaReturned& a) { return a.scheme + "/" + a.event + "/" + a.sample; },
                          [](const acts::EqaScored& a) { return a.scheme + "/" + a.event + "/" + a.sample; },
                          [](const acts::ShipmentReceived& a) { return a.lot; },
                          [](const acts::RangeConfirmed& a) { return a.stripLot.value; },
                          [](const acts::LotControlChecked& a) { return a.lot.value; },
                          [](const acts::LotSampleCompared& a) { return a.lot.value; },
                          [](const acts::ExcursionReported& a) { return a.ward.value; },
                          [](const acts::VialReleased& a) { return a.vial; },
                          [](const acts::NoticeIssued& a) { return a.notice; },
                          [](const acts::NoticeItemDone& a) { return a.notice; },
                          [](const acts::NoticeClosed& a) { return a.notice; },
                          [](const acts::NcOpened& a) { return a.subject; },
                          [](const acts::NcStep& a) { return "entry " + std::to_string(a.entry.value); },
                          [](const acts::LateEntryAccepted& a) { return a.set.value; },
                          [](const acts::ReviewSigned& a) { return a.month; },
                          [](const acts::ReviewOvertaken& a) { return a.month; },
                          [](const acts::RegistryFounded& a) { return a.registry; },
                          [](const acts::PolicyChanged& a) { return "policy " + std::to_string(a.version); },
                          [](const acts::ClockNoticed&) { return std::string("clock"); },
                          [](const acts::SecretSet& a) { return a.person.value; },
                          [](const acts::SecretRecovered& a) { return a.person.value; },
                          [](const acts::SignInFailed& a) { return a.person ? a.person->value : std::string("unknown"); },
                          [](const acts::SignInUnlocked& a) { return a.person.value; },
                          [](const acts::RecordsShown& a) { return a.by.value; },
                          [](const acts::BackupMade&) { return std::string("registry"); },
                          [](const acts::RegistryRestored&) { return std::string("registry"); },
                          [](const acts::RegistryMoved&) { return std::string("registry"); },
                          [](const auto& a) { return a.meter.value; },
                      },
        act);
}

std::optional<base::Moment> ownTimeOf(const Act& act)
{
    using Time = std::optional<base::Moment>;
    return std::visit(Cases {
                          [](const acts::WardAdded&) { return Time(); },
                          [](const acts::ModelAdded&) { return Time(); },
                          [](const acts::RegistryFounded&) { return Time(); },
                          [](const acts::MeterEnrolled& a) { return Time(a.enrolled); },
                          [](const acts::OperatorEnrolled&) { return Time(); },
                          [](const acts::StripLotReceived& a) { return a.received ? a.received : a.released; },
                          [](const acts::StripVialOpened& a) { return a.opened; },
                          [](const acts::ControlLotReceived& a) { return a.received; },
                          [](const acts::ControlVialOpened& a) { return a.opened; },
                          [](const acts::RangeAssigned& a) { return a.from; },
                          [](const acts::PolicyChanged& a) { return a.from; },
                          [](const acts::ComparisonRecorded& a) { return Time(std::max(a.meterAt, a.labAt)); },
                          [](const acts::IncidentReported& a) { return Time(a.noticedAt ? std::max(*a.noticedAt, a.at) : a.at); },
                          [](const acts::SetJudged& a) { return Time(a.lastAt); },
                          [](const acts::ClockNoticed& a) { return Time(a.now); },
                          [](const acts::ReviewOvertaken&) { return Time(); },
                          [](const auto& a) { return Time(a.at); },
                      },
        act);
}

std::optional<base::OperatorId> personOf(const Act& act)
{
    return std::visit(
        [](const auto& a) -> std::optional<base::OperatorId> {
            if constexpr (requires { a.by.value; })
                return a.by;
            else
                return std::nullopt;
        },
        act);
}

std::string keyOf(const Act& act)
{
    return std::visit(
        [](const auto& a) -> std::string {
            using A = std::decay_t<decltype(a)>;
            if constexpr (kHasFile<A>) {
                KeyJoiner joiner;
                A::describe(joiner, a);
                return joiner.key;
            } else {
                return {};
            }
        },
        act);
}

std::string_view fileOf(const Act& act)
{
    return std::visit(
        [](const auto& a) -> std::string_view {
            using A = std::decay_t<decltype(a)>;
            if constexpr (kHasFile<A>)
                return A::file;
            else
                return {};
        },
        act);
}

} // namespace mk::registry
