// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/policy_file.h"

#include "registry/acts/text_bounds.h"

#include <QJsonDocument>
#include <QJsonObject>

#include <algorithm>

namespace mk::exchange {

namespace {

using base::Result;

constexpr std::size_t kMostBytes = 256U << 10U; // a whole document with remarks has 16
constexpr std::size_t kMostSettings = 1000;

std::string_view trimmed(std::string_view text)
{
    const auto isBlank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
    while (!text.empty() && isBlank(text.front()))
        text.remove_prefix(1);
    while (!text.empty() && isBlank(text.back()))
        text.remove_suffix(1);
    return text;
}

bool isBare(const std::string& text)
{
    return trimmed(text) == text && text.find('#') == std::string::npos;
}

/// A setting is one line of text in every form, or a document could say more in one form than in the other.
base::Done checkSetting(const PolicyLine& line, const std::string& fileName)
{
    base::Done sound = registry::sensibleText(registry::TextKind::Line, line.key, "key");
    if (sound && !isBare(line.key))
        sound = base::badInput("the key holds a # or begins or ends with a blank; take it out");
    if (sound)
        sound = registry::sensibleText(registry::TextKind::Line, line.text, "setting");
    if (sound && !isBare(line.text))
        sound = base::badInput("the setting holds a # or begins or ends with a blank; take it out");
    if (sound)
        return {};
    return line.line == 0 ? base::badInput("%1: %2", fileName, sound.error())
                          : base::badInput("%1 line %2: %3", fileName, line.line, sound.error());
}

/// How many colons stand outside texts: one for each member, since no value has members of its own.
std::size_t membersIn(std::string_view json)
{
    std::size_t members = 0;
    bool inText = false;
    for (std::size_t i = 0; i < json.size(); ++i) {
        if (inText && json[i] == '\\')
            ++i;
        else if (json[i] == '"')
            inText = !inText;
        else if (!inText && json[i] == ':')
            ++members;
    }
    return members;
}

std::size_t lineAt(std::string_view bytes, std::size_t offset)
{
    return 1 + static_cast<std::size_t>(std::ranges::count(bytes.substr(0, offset), '\n'));
}

Result<std::vector<PolicyLine>> readJson(std::string_view bytes, const std::string& fileName)
{
    QJsonParseError error;
    const QJsonDocument document = QJsonDocument::fromJson(QByteArray(bytes.data(), static_cast<qsizetype>(bytes.size())), &error);
    if (error.error != QJsonParseError::NoError)
        return base::badInput("%1 line %2 is not JSON: %3 at byte %4", fileName,
            lineAt(bytes, static_cast<std::size_t>(std::max(error.offset, 0))), error.errorString().toStdString(), error.offset);
    if (!document.isObject())
        return base::badInput("%1 must hold one JSON object of settings, such as {\"clearance_hours\": \"24\"}", fileName);
    std::vector<PolicyLine> lines;
    const QJsonObject object = document.object();
    for (auto each = object.begin(); each != object.end(); ++each) {
        const QJsonValue value = each.value();
        const std::string key = each.key().toStdString();
        const bool whole = value.isDouble() && value.toDouble() == static_cast<double>(value.toInteger());
        if (!value.isString() && !whole)
            return base::badInput("%1: the setting '%2' must be a text or a whole number", fileName, key);
        const auto place = bytes.find("\"" + key + "\"");
        lines.push_back({ key, value.isString() ? value.toString().toStdString() : std::to_string(value.toInteger()),
            place == std::string_view::npos ? 0 : lineAt(bytes, place) });
        if (const auto plain = checkSetting(lines.back(), fileName); !plain)
            return plain.error();
    }
    if (membersIn(bytes) != lines.size()) // Qt keeps the last and says nothing
        return base::badInput("%1 gives a setting twice; keep one of them", fileName);
    std::ranges::stable_sort(lines, {}, &PolicyLine::line);
    return lines;
}

Result<std::vector<PolicyLine>> readLines(std::string_view bytes, const std::string& fileName)
{
    std::vector<PolicyLine> lines;
    std::size_t number = 0;
    while (!bytes.empty()) {
        ++number;
        const auto end = bytes.find('\n');
        std::string_view line = bytes.substr(0, end);
        bytes.remove_prefix(end == std::string_view::npos ? bytes.size() : end + 1);
        line = trimmed(line.substr(0, line.find('#')));
        if (line.empty())
            continue;
        const auto equals = line.find('=');
        const std::string_view key = trimmed(line.substr(0, equals));
        if (equals == std::string_view::npos || key.empty())
            return base::badInput("%1 line %2 is no setting; write it as clearance_hours = 24, and remarks behind a #", fileName, number);
        lines.push_back({ std::string(key), std::string(trimmed(line.substr(equals + 1))), number });
        if (const auto plain = checkSetting(lines.back(), fileName); !plain)
            return plain.error();
        if (lines.size() > kMostSettings)
            return base::badInput("%1 has more than %2 settings; is it a policy?", fileName, kMostSettings);
    }
    return lines;
}

} // namespace

Result<std::vector<PolicyLine>> readPolicyDocument(std::string_view bytes, const std::string& fileName)
{
    if (bytes.size() > kMostBytes)
        return base::badInput("%1 is larger than %2 KiB; is it a policy?", fileName, kMostBytes >> 10U);
    if (bytes.starts_with("\xEF\xBB\xBF"))
        bytes.remove_prefix(3);
    const auto first = bytes.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos)
        return base::badInput("%1 is empty; name at least the profile, such as profile = our ward", fileName);
    return bytes[first] == '{' || bytes[first] == '[' ? readJson(bytes, fileName) : readLines(bytes, fileName);
}

std::vector<std::pair<std::string, std::string>> settingsOf(const std::vector<PolicyLine>& lines)
{
    std::vector<std::pair<std::string, std::string>> settings;
    for (const auto& line : lines)
        settings.emplace_back(line.key, line.text);
    return settings;
}

Result<std::vector<std::pair<std::string, std::string>>> readPolicyFile(std::string_view bytes, const std::string& fileName)
{
    const auto lines = readPolicyDocument(bytes, fileName);
    if (!lines)
        return lines.error();
    return settingsOf(*lines);
}

} // namespace mk::exchange
