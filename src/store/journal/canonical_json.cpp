// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/journal/canonical_json.h"

#include <QString>

#include <algorithm>
#include <charconv>

namespace mk::store {

namespace {

using base::badInput;

constexpr std::size_t kMostBytes = 1 << 20;
constexpr int kDeepest = 32;
constexpr std::size_t kMostMembers = 1000; // each is compared with all before it

bool isAscii(std::string_view text)
{
    return std::ranges::all_of(text, [](char c) { return static_cast<unsigned char>(c) < 0x80; });
}

/// RFC 8785 orders keys by UTF-16 units; for ASCII that is the order of the bytes.
bool keyLess(const std::string& a, const std::string& b)
{
    if (isAscii(a) && isAscii(b))
        return a < b;
    const QString left = QString::fromStdString(a);
    const QString right = QString::fromStdString(b);
    return std::lexicographical_compare(
        left.begin(), left.end(), right.begin(), right.end(), [](QChar x, QChar y) { return x.unicode() < y.unicode(); });
}

class JsonReader {
public:
    explicit JsonReader(std::string_view text) : m_text(text) { }

    base::Result<Json> document()
    {
        auto value = readValue(0);
        if (!value)
            return value;
        skipBlank();
        if (m_at != m_text.size())
            return fault(badInput("something follows the value"));
        return value;
    }

private:
    base::Fault fault(const base::Fault& what) const { return badInput("not a journal document: %1 at byte %2", what, m_at + 1); }

    void skipBlank()
    {
        while (m_at < m_text.size() && (m_text[m_at] == ' ' || m_text[m_at] == '\n' || m_text[m_at] == '\t' || m_text[m_at] == '\r'))
            ++m_at;
    }
    bool take(char wanted)
    {
        skipBlank();
        if (m_at >= m_text.size() || m_text[m_at] != wanted)
            return false;
        ++m_at;
        return true;
    }
    bool takeWord(std::string_view word)
    {
        if (!m_text.substr(m_at).starts_with(word))
            return false;
        m_at += word.size();
        return true;
    }

    base::Result<Json> readValue(int depth)
    {
        if (depth > kDeepest)
            return fault(badInput("nested too deep"));
        skipBlank();
        if (m_at >= m_text.size())
            return fault(badInput("it ends too early"));
        const char c = m_text[m_at];
        if (c == '{')
            return readObject(depth);
        if (c == '[')
            return readArray(depth);
        if (c == '"') {
            auto text = readString();
            if (!text)
                return text.error();
            return Json(std::move(text).value());
        }
        if (takeWord("true"))
            return Json(true);
        if (takeWord("false"))
            return Json(false);
        if (takeWord("null"))
            return Json();
        return readInteger();
    }

    base::Result<Json> readInteger()
    {
        std::int64_t value = 0;
        const auto [end, error] = std::from_chars(m_text.data() + m_at, m_text.data() + m_text.size(), value);
        const std::string_view digits = m_text.substr(m_text[m_at] == '-' ? m_at + 1 : m_at);
        if (error != std::errc() || (digits.size() > 1 && digits[0] == '0' && digits[1] >= '0' && digits[1] <= '9'))
            return fault(badInput("an unknown value")); // JSON writes no leading zeros
        m_at = static_cast<std::size_t>(end - m_text.data());
        if (m_at < m_text.size() && (m_text[m_at] == '.' || m_text[m_at] == 'e' || m_text[m_at] == 'E'))
            return fault(badInput("a number that is not whole"));
        return Json(value);
    }

    base::Result<Json> readArray(int depth)
    {
        Json::Array items;
        take('[');
        if (take(']'))
            return Json(std::move(items));
        do {
            auto item = readValue(depth + 1);
            if (!item)
                return item;
            items.push_back(std::move(item).value());
        } while (take(','));
        if (!take(']'))
            return fault(badInput("a list that does not end"));
        return Json(std::move(items));
    }

    base::Result<Json> readObject(int depth)
    {
        Json object = Json::object();
        take('{');
        if (take('}'))
            return object;
        do {
            skipBlank();
            auto key = readString();
            if (!key)
                return key.error();
            if (object.members()->size() == kMostMembers)
                return fault(badInput("an object of more than %1 members", kMostMembers));
            if (object.find(*key) != nullptr)
                return fault(badInput("the key '%1' twice", *key));
            if (!take(':'))
                return fault(badInput("a key without value"));
            auto value = readValue(depth + 1);
            if (!value)
                return value;
            object.set(*key, std::move(value).value());
        } while (take(','));
        if (!take('}'))
            return fault(badInput("an object that does not end"));
        return object;
    }

    base::Result<std::string> readString()
    {
        if (m_at >= m_text.size() || m_text[m_at] != '"')
            return fault(badInput("a text without its quote"));
        ++m_at;
        std::string text;
        while (m_at < m_text.size() && m_text[m_at] != '"') {
            const char c = m_text[m_at++];
            if (static_cast<unsigned char>(c) < 0x20)
                return fault(badInput("a raw control character"));
            if (c != '\\') {
                text += c;
                continue;
            }
            if (!readEscape(text))
                return fault(badInput("a broken escape"));
        }
        if (m_at >= m_text.size())
            return fault(badInput("a text that does not end"));
        ++m_at;
        return text;
    }

    std::optional<char16_t> readHex()
    {
        unsigned value = 0;
        const auto end = m_text.data() + std::min(m_at + 4, m_text.size());
        const auto [stop, error] = std::from_chars(m_text.data() + m_at, end, value, 16);
        if (error != std::errc() || stop != m_text.data() + m_at + 4)
            return std::nullopt;
        m_at += 4;
        return static_cast<char16_t>(value);
    }

    bool readEscape(std::string& text)
    {
        if (m_at >= m_text.size())
            return false;
        const char c = m_text[m_at++];
        static constexpr std::string_view kFrom = "\"\\/bfnrt";
        static constexpr std::string_view kTo = "\"\\/\b\f\n\r\t";
        if (const auto known = kFrom.find(c); known != std::string_view::npos) {
            text += kTo[known];
            return true;
        }
        if (c != 'u')
            return false;
        const auto first = readHex();
        if (!first)
            return false;
        QString units(QChar { *first });
        if (QChar::isHighSurrogate(*first)) {
            if (!takeWord("\\u"))
                return false;
            const auto second = readHex();
            if (!second || !QChar::isLowSurrogate(*second))
                return false;
            units += QChar(*second);
        } else if (QChar::isLowSurrogate(*first)) {
            return false;
        }
        text += units.toStdString();
        return true;
    }

    std::string_view m_text;
    std::size_t m_at = 0;
};

} // namespace

std::string quoted(std::string_view text)
{
    static constexpr char kHex[] = "0123456789abcdef";
    std::string out = "\"";
    for (const char c : text) {
        switch (c) {
        case '"': out += "\\\""; break;
        case '\\': out += "\\\\"; break;
        case '\b': out += "\\b"; break;
        case '\f': out += "\\f"; break;
        case '\n': out += "\\n"; break;
        case '\r': out += "\\r"; break;
        case '\t': out += "\\t"; break;
        default:
            if (static_cast<unsigned char>(c) < 0x20) {
                out += "\\u00";
                out += kHex[(c >> 4) & 0xf];
                out += kHex[c & 0xf];
            } else {
                out += c;
            }
        }
    }
    return out + '"';
}

Json& Json::set(std::string_view key, Json value)
{
    assert(find(key) == nullptr);
    std::get<Members>(m_value).emplace_back(std::string(key), std::move(value));
    return *this;
}

const Json* Json::find(std::string_view key) const
{
    const auto* all = members();
    if (all == nullptr)
        return nullptr;
    const auto found = std::ranges::find(*all, key, &std::pair<std::string, Json>::first);
    return found == all->end() ? nullptr : &found->second;
}

std::string Json::canonical() const
{
    std::string out;
    append(out);
    return out;
}

void Json::append(std::string& out) const
{
    if (const auto* all = members()) {
        std::vector<const std::pair<std::string, Json>*> sorted;
        for (const auto& member : *all)
            sorted.push_back(&member);
        std::ranges::sort(sorted, keyLess, [](const auto* member) -> const std::string& { return member->first; });
        out += '{';
        for (const auto* member : sorted) {
            if (out.back() != '{')
                out += ',';
            out += store::quoted(member->first);
            out += ':';
            member->second.append(out);
        }
        out += '}';
    } else if (const auto* items = array()) {
        out += '[';
        for (const auto& item : *items) {
            if (&item != items->data())
                out += ',';
            item.append(out);
        }
        out += ']';
    } else if (const auto* string = text()) {
        out += store::quoted(*string);
    } else if (const auto* number = integer()) {
        out += std::to_string(*number);
    } else if (const auto* flag = boolean()) {
        out += *flag ? "true" : "false";
    } else {
        out += "null";
    }
}

base::Result<Json> Json::parse(std::string_view text)
{
    if (text.size() > kMostBytes)
        return badInput("not a journal document: larger than 1 MiB");
    if (!isAscii(text) && QString::fromUtf8(text.data(), static_cast<qsizetype>(text.size())).toUtf8().toStdString() != text)
        return badInput("not a journal document: not UTF-8");
    return JsonReader(text).document();
}

} // namespace mk::store
