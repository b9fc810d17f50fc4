// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/json_writer.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>

namespace mk::exchange {

JsonWriter& JsonWriter::key(std::string_view name)
{
    separate();
    appendQuoted(name);
    m_text += ':';
    m_needsComma = false;
    return *this;
}

JsonWriter& JsonWriter::value(std::string_view text)
{
    separate();
    appendQuoted(text);
    return *this;
}

JsonWriter& JsonWriter::value(bool truth)
{
    return raw(truth ? "true" : "false");
}

JsonWriter& JsonWriter::value(double number)
{
    if (!std::isfinite(number))
        return null();
    std::array<char, 32> buffer {};
    const auto written = std::to_chars(buffer.data(), buffer.data() + buffer.size(), number);
    return raw({ buffer.data(), static_cast<std::size_t>(written.ptr - buffer.data()) });
}

JsonWriter& JsonWriter::null()
{
    return raw("null");
}

JsonWriter& JsonWriter::open(char bracket)
{
    separate();
    m_text += bracket;
    m_needsComma = false;
    return *this;
}

JsonWriter& JsonWriter::close(char bracket)
{
    m_text += bracket;
    m_needsComma = true;
    return *this;
}

JsonWriter& JsonWriter::raw(std::string_view text)
{
    separate();
    m_text += text;
    return *this;
}

void JsonWriter::separate()
{
    if (m_needsComma)
        m_text += ',';
    m_needsComma = true;
}

void JsonWriter::appendQuoted(std::string_view text)
{
    const auto plain = [](char c) { return static_cast<unsigned char>(c) >= 0x20 && c != '"' && c != '\\'; };
    m_text += '"';
    for (std::size_t at = 0; at < text.size(); ++at) {
        const auto rest = text.substr(at);
        const auto run = static_cast<std::size_t>(std::ranges::find_if_not(rest, plain) - rest.begin());
        m_text += rest.substr(0, run);
        at += run;
        if (at < text.size())
            appendEscaped(text[at]);
    }
    m_text += '"';
}

void JsonWriter::appendEscaped(char c)
{
    switch (c) {
    case '"': m_text += "\\\""; return;
    case '\\': m_text += "\\\\"; return;
    case '\n': m_text += "\\n"; return;
    case '\r': m_text += "\\r"; return;
    case '\t': m_text += "\\t"; return;
    default: break;
    }
    std::array<char, 8> escaped {};
    std::snprintf(escaped.data(), escaped.size(), "\\u%04x", static_cast<unsigned>(c));
    m_text += escaped.data();
}

} // namespace mk::exchange
