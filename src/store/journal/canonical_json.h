// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

namespace mk::store {

/// A JSON value whose only numbers are integers: all that a journal entry may hold.
class Json {
public:
    using Array = std::vector<Json>;
    using Members = std::vector<std::pair<std::string, Json>>;

    Json() = default;
    Json(bool value) : m_value(value) { }
    Json(std::int64_t value) : m_value(value) { }
    Json(std::string value) : m_value(std::move(value)) { }
    Json(std::string_view value) : m_value(std::string(value)) { }
    Json(const char*) = delete; // would silently become a bool
    Json(Array items) : m_value(std::move(items)) { }

    static Json object() { return Json(Members()); }

    /// Adds a member; the key must be new.
    Json& set(std::string_view key, Json value);
    const Json* find(std::string_view key) const;

    const std::string* text() const { return std::get_if<std::string>(&m_value); }
    const std::int64_t* integer() const { return std::get_if<std::int64_t>(&m_value); }
    const bool* boolean() const { return std::get_if<bool>(&m_value); }
    const Array* array() const { return std::get_if<Array>(&m_value); }
    const Members* members() const { return std::get_if<Members>(&m_value); }

    /// RFC 8785: members sorted by the UTF-16 units of their keys, no white space, shortest escapes.
    std::string canonical() const;

    /// errors BadInput: not JSON, a number that is no 64-bit integer, a key twice, deeper than 32, over 1 MiB, an object of over 1000
    /// members, not UTF-8
    static base::Result<Json> parse(std::string_view text);

private:
    explicit Json(Members members) : m_value(std::move(members)) { }
    void append(std::string& out) const;

    std::variant<std::nullptr_t, bool, std::int64_t, std::string, Array, Members> m_value = nullptr;
};

/// The text as a JSON string, quotes included.
std::string quoted(std::string_view text);

} // namespace mk::store
