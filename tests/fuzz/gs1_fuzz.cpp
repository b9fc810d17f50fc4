// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a scanned code: refused with a sentence, or elements that read the same from every way of writing them.
#include "exchange/gs1.h"
#include "property.h"

#include <algorithm>

using namespace mk;
using fuzz::mustHold;

namespace {

constexpr base::Date kToday { std::chrono::year(2026) / 11 / 18 };

std::string inBrackets(const exchange::Gs1Code& code)
{
    std::string text;
    for (const auto& element : code.elements) {
        text += '(' + std::string(element.identifier->ai) + ')';
        for (const char c : element.scanned)
            text += c == '(' ? std::string("\\(") : std::string(1, c);
    }
    return text;
}

std::string withSeparators(const exchange::Gs1Code& code)
{
    std::string text = "]d2";
    for (const auto& element : code.elements)
        text += std::string(element.identifier->ai) + element.scanned + '\x1d';
    return text;
}

void readsTheSame(const exchange::Gs1Code& code, const std::string& text)
{
    const auto again = exchange::parseGs1(text, kToday);
    mustHold(bool(again), "a code can be written another way", again ? text : again.error().text + " in " + text);
    const auto same = [](const exchange::Gs1Element& a, const exchange::Gs1Element& b) {
        return a.identifier == b.identifier && a.scanned == b.scanned && a.text == b.text;
    };
    mustHold(std::ranges::equal(code.elements, again->elements, same), "a code means the same however it is written", text);
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const auto code = exchange::parseGs1(fuzz::bytesOf(data, size), kToday);
    if (!code) {
        mustHold(code.error().kind == base::FaultKind::BadInput && !code.error().text.empty(), "a refused code is told why");
        return 0;
    }
    mustHold(!code->elements.empty(), "a code says something");
    for (const auto& element : code->elements) {
        mustHold(element.identifier != nullptr, "every identifier is known");
        mustHold(element.scanned.size() >= element.identifier->least && element.scanned.size() <= element.identifier->most,
            "a value has its length", element.scanned);
        mustHold(
            std::ranges::all_of(element.scanned, [](char c) { return c > 0x20 && c < 0x7f; }), "a value is printable", element.scanned);
        mustHold(
            std::ranges::count(code->elements, element.identifier, &exchange::Gs1Element::identifier) == 1, "an identifier stands once");
        if (element.identifier->content == exchange::Gs1Content::Date)
            mustHold(bool(base::parseDate(element.text)), "a date is one", element.text);
        if (element.identifier->checkDigit && element.identifier->content == exchange::Gs1Content::Digits)
            mustHold(exchange::gs1CheckDigitHolds(element.scanned), "a check digit holds", element.scanned);
    }
    readsTheSame(*code, inBrackets(*code));
    readsTheSame(*code, withSeparators(*code));
    return 0;
}
