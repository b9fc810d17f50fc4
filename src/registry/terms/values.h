// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/glucose_concentration.h"
#include "base/ids.h"
#include "base/moment.h"

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>

namespace mk::registry {

enum class Level { Low, Normal, High };
enum class Role { Nurse, Coordinator, Inspector };
enum class Stage { Range, Interim, Established };
enum class MeterState { Received, Acceptance, InService, OnHold, Withdrawn, AtRepair, Reserve, Missing, Retired };
enum class IncidentKind {
    Dropped,
    Wet,
    Damaged,
    ErrorCode,
    ImplausibleResult,
    BatteryChanged,
    SoftwareUpdated,
    ClockWrong,
    WrongUnit,
    Temperature,
    Soiled,
    Cleaned,
    NotInUse,
    Found,
    FieldNotice
};
enum class ReturnStepKind { Inspected, ControlsPassed, ComparisonPassed, GroupChecked, LotChecked, Signed };
enum class VialEndKind { Empty, Discarded, Quarantined };
enum class LotEventKind { Released, Quarantined, Rejected };
enum class Verdict { Rejected, Invalid, Partial, Warned, Accepted };
enum class Advice { Use, Check, Hold, Withdraw };

/// A warning asks for a look, and the set counts.
constexpr bool isAccepted(Verdict verdict)
{
    return verdict == Verdict::Accepted || verdict == Verdict::Warned;
}

/// The word of each value as files and the journal write it, in the order of the enum.
template <typename E>
struct Words;

template <>
struct Words<Level> {
    static constexpr std::string_view what = "level";
    static constexpr std::string_view all[] = { "low", "normal", "high" };
};
template <>
struct Words<Role> {
    static constexpr std::string_view what = "role";
    static constexpr std::string_view all[] = { "nurse", "coordinator", "inspector" };
};
template <>
struct Words<Stage> {
    static constexpr std::string_view what = "stage";
    static constexpr std::string_view all[] = { "range", "interim", "established" };
};
template <>
struct Words<MeterState> {
    static constexpr std::string_view what = "state";
    static constexpr std::string_view all[] = { "received", "acceptance", "in-service", "on-hold", "withdrawn", "at-repair", "reserve",
        "missing", "retired" };
};
template <>
struct Words<IncidentKind> {
    static constexpr std::string_view what = "kind of incident";
    static constexpr std::string_view all[] = { "dropped", "wet", "damaged", "error-code", "implausible-result", "battery-changed",
        "software-updated", "clock-wrong", "wrong-unit", "temperature", "soiled", "cleaned", "not-in-use", "found", "field-notice" };
};
template <>
struct Words<ReturnStepKind> {
    static constexpr std::string_view what = "step";
    static constexpr std::string_view all[] = { "inspected", "controls-passed", "comparison-passed", "group-checked", "lot-checked",
        "signed" };
};
template <>
struct Words<VialEndKind> {
    static constexpr std::string_view what = "end of a vial";
    static constexpr std::string_view all[] = { "empty", "discarded", "quarantined" };
};
template <>
struct Words<LotEventKind> {
    static constexpr std::string_view what = "lot event";
    static constexpr std::string_view all[] = { "released", "quarantined", "rejected" };
};
template <>
struct Words<Verdict> {
    static constexpr std::string_view what = "verdict";
    static constexpr std::string_view all[] = { "rejected", "invalid", "partial", "warned", "accepted" };
};
template <>
struct Words<Advice> {
    static constexpr std::string_view what = "advice";
    static constexpr std::string_view all[] = { "use", "check", "hold", "withdraw" };
};

template <typename E>
concept Worded = requires
{
    Words<E>::all;
};

template <Worded E>
std::string_view word(E value)
{
    return Words<E>::all[static_cast<std::size_t>(value)];
}

template <Worded E>
std::optional<E> valueOf(std::string_view text)
{
    std::size_t at = 0;
    for (const auto candidate : Words<E>::all) {
        if (candidate == text)
            return static_cast<E>(at);
        ++at;
    }
    return std::nullopt;
}

/// What a meter showed: a number, a word that is no number, or a code. Never one for the other.
struct High {
    friend bool operator==(const High&, const High&) = default;
};
struct Low {
    friend bool operator==(const Low&, const Low&) = default;
};
struct ErrorCode {
    std::string code;
    friend bool operator==(const ErrorCode&, const ErrorCode&) = default;
};
using Reading = std::variant<base::Decimal, High, Low, ErrorCode>;

/// input a decimal, HI, LO or ERR:code; errors BadInput
base::Result<Reading> parseReading(std::string_view typed);
std::string toText(const Reading& reading);
/// "number", "HI", "LO" or "error"
std::string_view kindWord(const Reading& reading);

/// yes or no, as a file says it.
enum class YesNo { No, Yes };
template <>
struct Words<YesNo> {
    static constexpr std::string_view what = "answer";
    static constexpr std::string_view all[] = { "no", "yes" };
};

} // namespace mk::registry
