// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/moment.h"
#include "base/result.h"

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

/// What a GS1 code on a box or vial says: GTIN, lot, expiry and the like.
/// source  identifiers, formats and pairings: GS1 Barcode Syntax Dictionary; century rule: GS1 General Specifications 7.12
namespace mk::exchange {

enum class Gs1Content { Digits, Text, Date, DateTime };

/// An application identifier (AI) and what may stand behind it.
/// key, label       its name in JSON, and for people
/// least, most      characters of its value
/// checkDigit       whether the last digit is one
/// endsByItself     of a length so well known that no separator is needed behind it
/// needs            one of these must stand in the same code; empty: nothing. Pairings with identifiers not known here are not checked.
/// excludes         none of these may stand in the same code
struct Gs1Identifier {
    std::string_view ai, key, label;
    Gs1Content content = Gs1Content::Text;
    std::size_t least = 1, most = 1;
    bool checkDigit = false;
    bool endsByItself = false;
    std::vector<std::string_view> needs = {};
    std::vector<std::string_view> excludes = {};
};

/// Every identifier known here, by number.
const std::vector<Gs1Identifier>& gs1Identifiers();

/// One identifier of a code with its value.
/// scanned   the value as it stands in the code
/// text      the same for reading: a date as 2027-03-31, a date with time as 2027-03-31T12:00
struct Gs1Element {
    const Gs1Identifier* identifier = nullptr;
    std::string scanned;
    std::string text;
};

/// elements   each identifier once, in the order of the code
/// notes      what to look at although the code is well formed, one sentence each
struct Gs1Code {
    std::vector<Gs1Element> elements;
    std::vector<base::Fault> notes;
};

/// Reads a code as a reader sends it, or as it is printed for people.
/// scanned   raw: the separator (FNC1) as the byte 0x1d or the four characters \x1d, none needed behind fixed lengths, one too many at the
///           end or behind a fixed length forgiven; or bracketed: (01)…(17)…, with \( for an opening bracket inside a value. Before it
///           may stand a symbology identifier: ]d2 ]C1 ]Q3 ]e0 ]J1; without one the text is taken at its word.
/// today     decides the century of two-digit years: store the dates, do not resolve them again later
/// errors    BadInput, with the character (counted from 1, a separator as one) and what to do: another symbology identifier, an unknown or
///           unpaired identifier, two values of one, a wrong length, character, check digit or date, more than 8000 characters
/// A separator that was lost cannot be seen by syntax: the lot swallows what follows. Where it looks so, there is a note.
base::Result<Gs1Code> parseGs1(std::string_view scanned, base::Date today);

/// input    YYMMDD; day 00 is the last day of the month
/// errors   BadInput: no digits, a month or day that does not exist
base::Result<base::Date> gs1Date(std::string_view yymmdd, int currentYear);

/// The check digit that belongs behind these digits: weights 3 and 1 in turn from the right. digits: only 0 to 9
char gs1CheckDigit(std::string_view digits);
/// Whether the last of these digits is the check digit of the others.
bool gs1CheckDigitHolds(std::string_view digits);

} // namespace mk::exchange
