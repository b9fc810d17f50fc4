// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/terms/reason.h"

#include <algorithm>
#include <iterator>

namespace mk::registry {

namespace {

using Code = ReasonCode;
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
static_assert(inOrder(kReasonRows, &ReasonRow::reason) && std::size(kReasonRows) == kReasonCodes);
static_assert(inOrder(kIncidents, &IncidentEffect::kind) && std::size(kIncidents) == std::size(Words<IncidentKind>::all));

} // namespace

std::span<const ReasonRow> reasonRows()
{
    return kReasonRows;
}

const ReasonRow& rowOf(ReasonCode reason)
{
    return kReasonRows[static_cast<std::size_t>(reason)];
}

std::string_view code(ReasonCode reason)
{
    return rowOf(reason).code;
}

std::optional<ReasonCode> reasonOf(std::string_view code)
{
    const auto* const found = std::ranges::find(kReasonRows, code, &ReasonRow::code);
    return found == std::end(kReasonRows) ? std::nullopt : std::optional(found->reason);
}

const IncidentEffect& effectOf(IncidentKind kind)
{
    return kIncidents[static_cast<std::size_t>(kind)];
}

} // namespace mk::registry
