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

/// A setting is one line of text in every form, or a document could say more in one form than in the other.
base::Done checkSetting(const PolicyLine& line, const std::string& fileName)
{
    const std::string where = line.line == 0 ? fileName + ": " : fileName + " line " + std::to_string(line.line) + ": ";
    for (const auto& [text, what] : { std::pair(&line.key, "key"), std::pair(&line.text, "setting") }) {
        if (const auto sensible = registry::sensibleText(registry::TextKind::Line, *text, what); !sensible)
            return base::fault(sensible.error().kind, "%1%2", where, sensible.error());
        if (trimmed(*text) != *text || text->find('#') != std::string::npos)
            return base::badInput(where + "the " + what + " holds a # or begins or ends with a blank; take it out");
    }
    return {};
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
        return base::badInput(fileName + " line " + std::to_string(lineAt(bytes, static_cast<std::size_t>(std::max(error.offset, 0))))
            + " is not JSON: " + error.errorString().toStdString() + " at byte " + std::to_string(error.offset));
    if (!document.isObject())
        return base::badInput(fileName + " must hold one JSON object of settings, such as {\"clearance_hours\": \"24\"}");
    std::vector<PolicyLine> lines;
    const QJsonObject object = document.object();
    for (auto each = object.begin(); each != object.end(); ++each) {
        const QJsonValue value = each.value();
        const std::string key = each.key().toStdString();
        const bool whole = value.isDouble() && value.toDouble() == static_cast<double>(value.toInteger());
        if (!value.isString() && !whole)
            return base::badInput(fileName + ": the setting '" + key + "' must be a text or a whole number");
        const auto place = bytes.find("\"" + key + "\"");
        lines.push_back({ key, value.isString() ? value.toString().toStdString() : std::to_string(value.toInteger()),
            place == std::string_view::npos ? 0 : lineAt(bytes, place) });
        if (const auto plain = checkSetting(lines.back(), fileName); !plain)
            return plain.error();
    }
    if (membersIn(bytes) != lines.size()) // Qt keeps the last and says nothing
        return base::badInput(fileName + " gives a setting twice; keep one of them");
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
            return base::badInput(
                fileName + " line " + std::to_string(number) + " is no setting; write it as clearance_hours = 24, and remarks behind a #");
        lines.push_back({ std::string(key), std::string(trimmed(line.substr(equals + 1))), number });
        if (const auto plain = checkSetting(lines.back(), fileName); !plain)
            return plain.error();
        if (lines.size() > kMostSettings)
            return base::badInput(fileName + " has more than " + std::to_string(kMostSettings) + " settings; is it a policy?");
    }
    return lines;
}

} // namespace

Result<std::vector<PolicyLine>> readPolicyDocument(std::string_view bytes, const std::string& fileName)
{
    if (bytes.size() > kMostBytes)
        return base::badInput(fileName + " is larger than " + std::to_string(kMostBytes >> 10U) + " KiB; is it a policy?");
    if (bytes.starts_with("\xEF\xBB\xBF"))
        bytes.remove_prefix(3);
    const auto first = bytes.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos)
        return base::badInput(fileName + " is empty; name at least the profile, such as profile = our ward");
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
