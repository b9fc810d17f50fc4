// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/terminal_text.h"

#include "base/utf8.h"

namespace mk::cli {

namespace {

void writeOut(std::string& into, char32_t c)
{
    static constexpr char kHex[] = "0123456789abcdef";
    into += "\\u";
    for (const unsigned shift : { 12U, 8U, 4U, 0U })
        into += kHex[(c >> shift) & 0xfU];
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

} // namespace mk::cli
