// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/roles.h"

#include "registry/acts/acts.h"

#include <optional>
#include <variant>

namespace mk::registry {

using acts::RecordedBy;

namespace {

/// Two acts have a second kind, by what they say.
template <typename A>
constexpr bool isCalled(std::string_view kind)
{
    if constexpr (requires { A::kindHeld; })
        return kind == A::kindHeld || kind == A::kindWithdrawn;
    else if constexpr (requires { A::kindRevised; })
        return kind == A::kind || kind == A::kindRevised;
    else
        return kind == A::kind;
}

/// As each act says itself. The database server's journal_guard (db/postgresql) keeps the same for its own roles.
std::optional<RecordedBy> recordedBy(std::string_view kind)
{
    std::optional<RecordedBy> by;
    [&]<typename... A>(std::variant<A...>*) { ((isCalled<A>(kind) ? void(by = A::recordedBy) : void()), ...); }(static_cast<Act*>(nullptr));
    return by;
}

} // namespace

bool mayRecord(Role role, std::string_view kind)
{
    const auto by = recordedBy(kind);
    if (!by)
        return false;
    switch (*by) {
    case RecordedBy::Everybody: return true;
    case RecordedBy::Staff:
    case RecordedBy::StaffOrPaper: return role == Role::Nurse || role == Role::Coordinator;
    case RecordedBy::Coordinator: return role == Role::Coordinator;
    case RecordedBy::Program: return false;
    }
    return false;
}

bool isProgramsOwn(std::string_view kind)
{
    return recordedBy(kind) == RecordedBy::Program;
}

bool mayBeEnteredFor(std::string_view kind)
{
    return recordedBy(kind) == RecordedBy::StaffOrPaper;
}

bool mayTakeOver(Role role)
{
    return role == Role::Coordinator;
}

bool asksForSecret(std::string_view kind)
{
    return kind == "review.signed";
}

} // namespace mk::registry
