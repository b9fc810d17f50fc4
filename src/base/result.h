// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/fault.h"

#include <utility>
#include <variant>

namespace mk::base {

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
        if (m_state.index() != 0) [[unlikely]]
            endOnMissingValue(std::get_if<1>(&m_state));
        return *std::get_if<0>(&m_state);
    }
    T& value() &
    {
        if (m_state.index() != 0) [[unlikely]]
            endOnMissingValue(std::get_if<1>(&m_state));
        return *std::get_if<0>(&m_state);
    }
    T value() &&
    {
        if (m_state.index() != 0) [[unlikely]]
            endOnMissingValue(std::get_if<1>(&m_state));
        return std::move(*std::get_if<0>(&m_state));
    }
    const Fault& error() const
    {
        if (m_state.index() != 1) [[unlikely]]
            endOnMissingValue(nullptr);
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
        if (m_ok) [[unlikely]]
            endOnMissingValue(nullptr);
        return m_fault;
    }

private:
    Fault m_fault;
    bool m_ok = true;
};

} // namespace mk::base
