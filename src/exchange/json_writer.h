// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <concepts>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace mk::exchange {

/// Writes one JSON document into a string, value after value, without spaces.
/// Objects take `key` before each value. Doubles are the shortest text that reads back as the same number; NaN and infinity,
/// which JSON cannot say, become null, and so does an empty optional. Text must be UTF-8.
/// Every begin needs its end: `text` is a document only when all are closed.
class JsonWriter {
public:
    JsonWriter& beginObject() { return open('{'); }
    JsonWriter& endObject() { return close('}'); }
    JsonWriter& beginArray() { return open('['); }
    JsonWriter& endArray() { return close(']'); }
    JsonWriter& key(std::string_view name);

    JsonWriter& value(std::string_view text);
    JsonWriter& value(const char* text) { return value(std::string_view(text)); }
    JsonWriter& value(bool truth);
    JsonWriter& value(double number);
    template <std::integral Integer>
    requires(!std::same_as<Integer, bool>) JsonWriter& value(Integer number) { return raw(std::to_string(number)); }
    template <typename T>
    JsonWriter& value(const std::optional<T>& maybe)
    {
        return maybe ? value(*maybe) : null();
    }
    JsonWriter& null();

    /// An array of values that this class can write.
    template <typename T>
    JsonWriter& array(const std::vector<T>& values)
    {
        beginArray();
        for (const T& one : values)
            value(one);
        return endArray();
    }

    const std::string& text() const noexcept { return m_text; }

private:
    JsonWriter& open(char bracket);
    JsonWriter& close(char bracket);
    JsonWriter& raw(std::string_view text);
    void separate();
    void appendQuoted(std::string_view text);
    void appendEscaped(char c);

    std::string m_text;
    bool m_needsComma = false;
};

} // namespace mk::exchange
