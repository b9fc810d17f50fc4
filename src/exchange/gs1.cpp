// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/gs1.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <optional>
#include <span>

namespace mk::exchange {

namespace {

constexpr std::size_t kMostGs1Characters = 8000; // twice what the largest symbol holds
constexpr char kGs1Separator = '\x1d';
constexpr std::string_view kGs1SeparatorWritten = "\\x1d";
constexpr std::array<std::string_view, 5> kGs1Symbologies = { "]d2", "]C1", "]Q3", "]e0", "]J1" };
/// The 82 characters that GS1 allows in texts, beside letters and digits.
constexpr std::string_view kGs1Signs = "!\"%&'()*+,-./:;<=>?_";

bool isGs1Digit(char c)
{
    return c >= '0' && c <= '9';
}

bool areGs1Digits(std::string_view text)
{
    return std::ranges::all_of(text, isGs1Digit);
}

bool isGs1Character(char c)
{
    return isGs1Digit(c) || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || kGs1Signs.find(c) != std::string_view::npos;
}

int gs1Pair(std::string_view digits, std::size_t at)
{
    return (digits[at] - '0') * 10 + (digits[at + 1] - '0');
}

base::Fault gs1Fault(std::size_t at, const base::Fault& what)
{
    return base::badInput("character %1 of the code: %2", at + 1, what);
}

base::Fault gs1Name(const Gs1Identifier& identifier)
{
    return base::badInput("(%1) %2", identifier.ai, base::asTerm(identifier.label));
}

/// A character for a message, whatever byte it is.
base::Arg gs1Shown(char c)
{
    if (c == kGs1Separator)
        return base::badInput("a separator");
    if (c > ' ' && c < '\x7f')
        return "'" + std::string(1, c) + "'";
    std::array<char, 16> buffer {};
    std::snprintf(buffer.data(), buffer.size(), "0x%02x", static_cast<unsigned>(static_cast<unsigned char>(c)));
    return c == ' ' ? base::badInput("a space") : base::badInput("the byte %1", buffer.data());
}

const Gs1Identifier* gs1IdentifierAt(std::string_view rest)
{
    const auto& all = gs1Identifiers();
    const auto found = std::ranges::find_if(all, [&](const Gs1Identifier& one) { return rest.starts_with(one.ai); });
    return found == all.end() ? nullptr : &*found;
}

const Gs1Element* gs1Find(std::span<const Gs1Element> elements, std::string_view ai)
{
    const auto found = std::ranges::find_if(elements, [&](const Gs1Element& one) { return one.identifier->ai == ai; });
    return found == elements.end() ? nullptr : &*found;
}

/// An identifier with its value as they stand in the code, not yet looked at. at: where the value begins
struct Gs1Piece {
    const Gs1Identifier* identifier = nullptr;
    std::string value;
    std::size_t at = 0;
};

base::Fault gs1UnknownIdentifier(std::size_t at, std::string_view rest)
{
    if (rest.front() == kGs1Separator)
        return gs1Fault(at, base::badInput("a separator stands where an identifier should begin; scan again, or type what is printed"));
    if (!isGs1Digit(rest.front()))
        return gs1Fault(at,
            base::badInput("%1 stands where an identifier such as 01 or 17 should begin; scan again, or type what is printed",
                gs1Shown(rest.front())));
    std::string digits(rest.substr(0, 4));
    digits.erase(std::ranges::find_if_not(digits, isGs1Digit), digits.end());
    return gs1Fault(at, base::badInput("no identifier known here begins with '%1'; type lot and expiry as they are printed", digits));
}

/// Reads one element of a raw code at `at` and moves behind it and behind the separator that follows.
base::Result<Gs1Piece> readRawGs1Piece(std::string_view code, std::size_t& at)
{
    const auto* identifier = gs1IdentifierAt(code.substr(at));
    if (!identifier)
        return gs1UnknownIdentifier(at, code.substr(at));
    at += identifier->ai.size();
    std::string_view value = code.substr(at);
    value = value.substr(0, value.find(kGs1Separator));
    if (identifier->endsByItself)
        value = value.substr(0, identifier->most);
    Gs1Piece piece { identifier, std::string(value), at };
    at += value.size();
    if (at < code.size() && code[at] == kGs1Separator)
        ++at;
    return piece;
}

base::Result<std::vector<Gs1Piece>> readRawGs1(std::string_view code, std::size_t at)
{
    std::vector<Gs1Piece> pieces;
    if (code.substr(at).starts_with(kGs1Separator))
        ++at; // FNC1 in first position
    while (at < code.size()) {
        auto piece = readRawGs1Piece(code, at);
        if (!piece)
            return piece.error();
        pieces.push_back(std::move(piece).value());
    }
    return pieces;
}

/// Reads one element of a bracketed code; code[at] is its opening bracket.
base::Result<Gs1Piece> readBracketedGs1Piece(std::string_view code, std::size_t& at)
{
    const std::size_t close = code.find(')', at);
    const std::string_view ai = code.substr(at + 1, close == std::string_view::npos ? 0 : close - at - 1);
    const auto* identifier = gs1IdentifierAt(ai);
    if (!identifier || identifier->ai != ai)
        return gs1Fault(at,
            base::badInput(
                "no known identifier stands in this bracket; write (01), (17), (10) and so on, and \\( for a bracket in a value"));
    at = close + 1;
    Gs1Piece piece { identifier, {}, at };
    for (; at < code.size() && code[at] != '('; ++at) {
        if (code.substr(at).starts_with("\\("))
            ++at;
        piece.value += code[at];
    }
    return piece;
}

base::Result<std::vector<Gs1Piece>> readBracketedGs1(std::string_view code, std::size_t at)
{
    std::vector<Gs1Piece> pieces;
    while (at < code.size()) {
        auto piece = readBracketedGs1Piece(code, at);
        if (!piece)
            return piece.error();
        pieces.push_back(std::move(piece).value());
    }
    return pieces;
}

base::Done checkGs1Length(const Gs1Piece& piece)
{
    const Gs1Identifier& identifier = *piece.identifier;
    const std::size_t length = piece.value.size();
    if (length == 0)
        return gs1Fault(piece.at, base::badInput("%1 is empty; scan again, or type what is printed", gs1Name(identifier)));
    if (length > identifier.most)
        return gs1Fault(piece.at,
            base::badInput(
                "%1 is too long: %2 characters, at most %3; the separator behind it may be lost, so set the reader to send FNC1 as ASCII 29",
                gs1Name(identifier), length, identifier.most));
    if (length < identifier.least)
        return gs1Fault(piece.at,
            base::badInput("%1 is too short: %2 characters of %3; scan again, or type what is printed", gs1Name(identifier), length,
                identifier.least));
    return {};
}

base::Done checkGs1Characters(const Gs1Piece& piece)
{
    const bool text = piece.identifier->content == Gs1Content::Text;
    const auto odd = std::ranges::find_if_not(piece.value, text ? isGs1Character : isGs1Digit);
    if (odd == piece.value.end())
        return {};
    const base::Fault name = gs1Name(*piece.identifier);
    return gs1Fault(piece.at + static_cast<std::size_t>(odd - piece.value.begin()),
        text ? base::badInput("%1 may not hold %2; set the reader to send FNC1 as ASCII 29, or type what is printed", name, gs1Shown(*odd))
             : base::badInput("%1 may not hold %2, only digits; scan again, or type what is printed", name, gs1Shown(*odd)));
}

/// The value for reading.
base::Result<std::string> gs1Text(const Gs1Piece& piece, int currentYear)
{
    const Gs1Content content = piece.identifier->content;
    if (content != Gs1Content::Date && content != Gs1Content::DateTime)
        return piece.value;
    const std::string_view value = piece.value;
    const auto date = gs1Date(value.substr(0, 6), currentYear);
    if (!date)
        return gs1Fault(piece.at, base::badInput("%1: %2", gs1Name(*piece.identifier), date.error()));
    if (content == Gs1Content::Date)
        return base::toText(*date);
    if (gs1Pair(value, 4) == 0)
        return gs1Fault(piece.at, base::badInput("%1 has no day; scan again, or type the date as printed", gs1Name(*piece.identifier)));
    if (gs1Pair(value, 6) > 23 || gs1Pair(value, 8) > 59)
        return gs1Fault(
            piece.at, base::badInput("%1 has no such time of day; scan again, or type it as printed", gs1Name(*piece.identifier)));
    return base::toText(*date) + 'T' + std::string(value.substr(6, 2)) + ':' + std::string(value.substr(8, 2));
}

base::Result<Gs1Element> gs1Element(const Gs1Piece& piece, int currentYear)
{
    if (const auto length = checkGs1Length(piece); !length)
        return length.error();
    if (const auto characters = checkGs1Characters(piece); !characters)
        return characters.error();
    if (piece.identifier->checkDigit && !gs1CheckDigitHolds(piece.value))
        return gs1Fault(piece.at,
            base::badInput("%1 %2 has a wrong check digit; a digit was misread, so scan again", gs1Name(*piece.identifier), piece.value));
    auto text = gs1Text(piece, currentYear);
    if (!text)
        return text.error();
    return Gs1Element { piece.identifier, piece.value, std::move(text).value() };
}

/// Adds a value; the same one a second time adds nothing.
base::Done addGs1Element(std::vector<Gs1Element>& elements, Gs1Element element, std::size_t at)
{
    const Gs1Element* known = gs1Find(elements, element.identifier->ai);
    if (!known)
        elements.push_back(std::move(element));
    else if (known->scanned != element.scanned)
        return gs1Fault(at,
            base::badInput("%1 stands twice, as %2 and as %3; scan one label at a time", gs1Name(*element.identifier), known->scanned,
                element.scanned));
    return {};
}

base::Done checkGs1Pairings(std::span<const Gs1Element> elements)
{
    const auto present = [&](std::string_view ai) { return gs1Find(elements, ai) != nullptr; };
    for (const Gs1Element& element : elements) {
        const Gs1Identifier& identifier = *element.identifier;
        if (!identifier.needs.empty() && std::ranges::none_of(identifier.needs, present))
            return base::badInput(
                "%1 needs (%2) in the same code, which is not there; scan the whole code", gs1Name(identifier), identifier.needs.front());
        if (const auto other = std::ranges::find_if(identifier.excludes, present); other != identifier.excludes.end())
            return base::badInput("%1 and (%2) exclude each other; scan one label at a time", gs1Name(identifier), *other);
    }
    return {};
}

/// What a text seems to have swallowed: where a date identifier with a real date stands behind its first character, at the end or before
/// another identifier that often follows.
std::optional<std::string> gs1Swallowed(std::string_view text, std::string_view dateAi, int currentYear)
{
    constexpr std::array<std::string_view, 4> kFollowers = { "10", "11", "17", "21" };
    for (std::size_t at = 1; at + 8 <= text.size(); ++at) {
        const std::string_view digits = text.substr(at + 2, 6);
        if (text.substr(at, 2) != dateAi || !areGs1Digits(digits))
            continue;
        const auto date = gs1Date(digits, currentYear);
        const std::string_view rest = text.substr(at + 8);
        const bool endsWell = rest.empty() || (rest.size() > 2 && std::ranges::find(kFollowers, rest.substr(0, 2)) != kFollowers.end());
        if (date && endsWell)
            return base::toText(*date);
    }
    return std::nullopt;
}

std::vector<base::Fault> gs1Notes(std::span<const Gs1Element> elements, int currentYear)
{
    std::vector<base::Fault> notes;
    for (const Gs1Element& element : elements) {
        if (element.identifier->content != Gs1Content::Text)
            continue;
        for (const std::string_view ai : { "17", "11" }) {
            const auto date = gs1Find(elements, ai) ? std::nullopt : gs1Swallowed(element.scanned, ai, currentYear);
            if (date)
                notes.push_back(
                    base::badInput("%1 %2 seems to hold %3 %4 as well, as when the separator is lost; compare it with the print.",
                        base::asTerm(element.identifier->label), element.scanned, gs1Name(*gs1IdentifierAt(ai)), *date));
        }
    }
    return notes;
}

/// Where the data begin: behind the symbology identifier, if there is one.
base::Result<std::size_t> gs1DataBegin(std::string_view code)
{
    if (!code.starts_with(']'))
        return std::size_t { 0 };
    if (std::ranges::find(kGs1Symbologies, code.substr(0, 3)) != kGs1Symbologies.end())
        return kGs1Symbologies.front().size();
    const bool readable = code.size() >= 3 && isGs1Character(code[1]) && isGs1Character(code[2]);
    return gs1Fault(0,
        readable
            ? base::badInput(
                "'%1' is not the mark of GS1 data (]d2 ]C1 ]Q3 ]e0 ]J1); scan the GS1 code of the box, or type what is printed",
                code.substr(0, 3))
            : base::badInput(
                "the mark behind ']' is not the mark of GS1 data (]d2 ]C1 ]Q3 ]e0 ]J1); scan the GS1 code of the box, or type what is printed"));
}

std::string gs1WithSeparatorBytes(std::string_view scanned)
{
    std::string code;
    while (!scanned.empty()) {
        const bool written = scanned.starts_with(kGs1SeparatorWritten);
        code += written ? kGs1Separator : scanned.front();
        scanned.remove_prefix(written ? kGs1SeparatorWritten.size() : 1);
    }
    return code;
}

} // namespace

base::Result<Gs1Code> parseGs1(std::string_view scanned, base::Date today)
{
    if (scanned.size() > kMostGs1Characters)
        return base::badInput("the code has %1 characters, more than any GS1 code; scan one code at a time", scanned.size());
    const std::string bytes = gs1WithSeparatorBytes(scanned);
    const auto begin = gs1DataBegin(bytes);
    if (!begin)
        return begin.error();
    const bool bracketed = std::string_view(bytes).substr(*begin).starts_with('(');
    const auto pieces = bracketed ? readBracketedGs1(bytes, *begin) : readRawGs1(bytes, *begin);
    if (!pieces)
        return pieces.error();
    if (pieces->empty())
        return base::badInput("the code is empty; scan again, or type what is printed");
    const int year = static_cast<int>(today.ymd.year());
    Gs1Code code;
    for (const Gs1Piece& piece : *pieces) {
        auto element = gs1Element(piece, year);
        if (!element)
            return element.error();
        if (const auto added = addGs1Element(code.elements, std::move(element).value(), piece.at); !added)
            return added.error();
    }
    if (const auto paired = checkGs1Pairings(code.elements); !paired)
        return paired.error();
    code.notes = gs1Notes(code.elements, year);
    return code;
}

base::Result<base::Date> gs1Date(std::string_view yymmdd, int currentYear)
{
    if (yymmdd.size() != 6 || !areGs1Digits(yymmdd))
        return base::badInput("a date is six digits, YYMMDD; scan again, or type the date as printed");
    const int apart = gs1Pair(yymmdd, 0) - currentYear % 100;
    const int century = currentYear / 100 + (apart > 50 ? -1 : apart < -49 ? 1 : 0);
    const int year = century * 100 + gs1Pair(yymmdd, 0);
    const auto month = static_cast<unsigned>(gs1Pair(yymmdd, 2));
    const auto day = static_cast<unsigned>(gs1Pair(yymmdd, 4));
    if (month < 1 || month > 12)
        return base::badInput("the date %1 has no such month; scan again, or type the date as printed", yymmdd);
    if (day == 0)
        return base::lastDayOfMonth(year, month);
    const std::chrono::year_month_day ymd { std::chrono::year(year), std::chrono::month(month), std::chrono::day(day) };
    if (!ymd.ok())
        return base::badInput("the date %1 has no such day; scan again, or type the date as printed", yymmdd);
    return base::Date { ymd };
}

char gs1CheckDigit(std::string_view digits)
{
    int sum = 0;
    int weight = 3;
    for (std::size_t i = digits.size(); i-- > 0; weight = 4 - weight)
        sum = (sum + weight * (digits[i] - '0')) % 10;
    return static_cast<char>('0' + (10 - sum) % 10);
}

bool gs1CheckDigitHolds(std::string_view digits)
{
    return digits.size() > 1 && areGs1Digits(digits) && gs1CheckDigit(digits.substr(0, digits.size() - 1)) == digits.back();
}

} // namespace mk::exchange
