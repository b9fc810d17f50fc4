// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/terminal_text.h"

#include "base/utf8.h"
#include "words/numbers.h"

#include <QCoreApplication>

#include <algorithm>
#include <cstddef>

namespace mk::words {

namespace {

struct TerminalTexts {
    Q_DECLARE_TR_FUNCTIONS(Terminal)
};

void writeOut(std::string& into, char32_t c)
{
    static constexpr char kHex[] = "0123456789abcdef";
    into += "\\u";
    for (const unsigned shift : { 12U, 8U, 4U, 0U })
        into += kHex[(c >> shift) & 0xfU];
}

/// How many characters the UTF-8 text has, which is what a terminal lines up by.
std::size_t shownWidth(const std::string& text)
{
    return static_cast<std::size_t>(std::ranges::count_if(text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

} // namespace

std::string visible(std::string_view text)
{
    std::string shown;
    shown.reserve(text.size());
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t from = at;
        const auto c = base::nextCharacter(text, at);
        if (!c)
            writeOut(shown, static_cast<unsigned char>(text[at++]));
        else if ((base::isControl(*c) && *c != '\n' && *c != '\t') || base::turnsDirection(*c))
            writeOut(shown, *c);
        else
            shown += text.substr(from, at - from);
    }
    return shown;
}

namespace {

/// A cell is one line.
std::string visibleCell(std::string_view text)
{
    std::string shown;
    for (const char c : visible(text)) {
        if (c == '\n' || c == '\t')
            writeOut(shown, static_cast<char32_t>(c));
        else
            shown += c;
    }
    return shown;
}

} // namespace

std::string alignedTable(const std::vector<std::vector<std::string>>& given)
{
    std::vector<std::vector<std::string>> rows = given;
    for (auto& row : rows)
        std::ranges::transform(row, row.begin(), visibleCell);
    std::vector<std::size_t> widths;
    for (const auto& row : rows) {
        widths.resize(std::max(widths.size(), row.size()));
        for (std::size_t i = 0; i < row.size(); ++i)
            widths[i] = std::max(widths[i], shownWidth(row[i]));
    }
    std::string text;
    for (const auto& row : rows) {
        std::string line;
        for (std::size_t i = 0; i < row.size(); ++i)
            line += row[i] + std::string(widths[i] - shownWidth(row[i]) + 2, ' ');
        line.erase(line.find_last_not_of(' ') + 1);
        text += line + '\n';
    }
    return text;
}

std::string ignoredLine(const std::vector<std::string>& columns)
{
    return columns.empty() ? "" : TerminalTexts::tr("Ignored columns: %1.").arg(listed(columns)).toStdString() + "\n";
}

std::string joined(const std::vector<std::string>& texts, const char* separator)
{
    std::string all;
    for (const std::string& text : texts)
        all += (all.empty() ? "" : separator) + text;
    return all;
}

} // namespace mk::words
