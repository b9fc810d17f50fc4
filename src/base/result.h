// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cassert>
#include <string>
#include <utility>
#include <variant>

namespace mk::base {

/// Why a call could not do what was asked.
enum class FaultKind {
    BadInput,    ///< what came in cannot be read or may not be said
    NotFound,    ///< an id that nobody has given out
    Conflict,    ///< known already, with other content, or somebody else came first
    Refused,     ///< understood, and against a rule of the trade or the policy
    Damaged,     ///< stored data contradicts itself
    NewerFormat, ///< written by a later version of the program
    Busy,        ///< another program holds the lock
    Unreachable, ///< the server cannot be reached, or went away; what was sent may or may not have arrived
    Denied,      ///< nobody has signed in, or not with enough rights
    ReadOnly,    ///< the place may not be written
    Full,        ///< no room left
    Io           ///< the operating system said no
};

/// An expected failure: its kind, and one plain English line that says what, where and what to do.
struct Fault {
    FaultKind kind = FaultKind::BadInput;
    std::string text;
};

/// A value, or the fault that kept it away. Look before you take.
template <typename T>
class [[nodiscard]] Result {
public:
    Result(T value) : m_state(std::in_place_index<0>, std::move(value)) { }
    Result(Fault fault) : m_state(std::in_place_index<1>, std::move(fault)) { }

    explicit operator bool() const noexcept { return m_state.index() == 0; }
    const T& operator*() const& { return value(); }
    T& operator*() & { return value(); }
    const T* operator->() const { return &value(); }
    T* operator->() { return &value(); }
    const T& value() const&
    {
        assert(m_state.index() == 0);
        return *std::get_if<0>(&m_state);
    }
    T& value() &
    {
        assert(m_state.index() == 0);
        return *std::get_if<0>(&m_state);
    }
    T value() &&
    {
        assert(m_state.index() == 0);
        return std::move(*std::get_if<0>(&m_state));
    }
    const Fault& error() const
    {
        assert(m_state.index() == 1);
        return *std::get_if<1>(&m_state);
    }

private:
    std::variant<T, Fault> m_state;
};

/// Done, or the fault that prevented it.
class [[nodiscard]] Done {
public:
    Done() = default;
    Done(Fault fault) : m_fault(std::move(fault)), m_ok(false) { }

    explicit operator bool() const noexcept { return m_ok; }
    const Fault& error() const
    {
        assert(!m_ok);
        return m_fault;
    }

private:
    Fault m_fault;
    bool m_ok = true;
};

inline Fault badInput(std::string text)
{
    return { FaultKind::BadInput, std::move(text) };
}
inline Fault refused(std::string text)
{
    return { FaultKind::Refused, std::move(text) };
}

} // namespace mk::base
