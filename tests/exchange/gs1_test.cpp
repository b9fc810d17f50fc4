// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/gs1.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <random>
#include <span>

namespace mk::exchange {

namespace {

const base::Date kGs1Today = base::parseDate("2026-11-25").value();

/// What the reference writes as <GS>.
std::string gs1WithSeparators(std::string text)
{
    for (auto at = text.find("<GS>"); at != std::string::npos; at = text.find("<GS>"))
        text.replace(at, 4, "\x1d");
    return text;
}

std::map<std::string, Gs1Element> gs1ByAi(const Gs1Code& code)
{
    std::map<std::string, Gs1Element> elements;
    for (const Gs1Element& element : code.elements)
        elements.emplace(element.identifier->ai, element);
    return elements;
}

std::string gs1ScannedOf(const std::map<std::string, Gs1Element>& elements, const std::string& ai)
{
    const auto found = elements.find(ai);
    return found == elements.end() ? "" : found->second.scanned;
}

std::string gs1TextOf(const std::map<std::string, Gs1Element>& elements, const std::string& ai)
{
    const auto found = elements.find(ai);
    return found == elements.end() ? "" : found->second.text;
}

/// The code as it is printed for people: (01)12345678901231(10)ABC
std::string gs1Bracketed(std::span<const Gs1Element> elements)
{
    std::string text;
    for (const Gs1Element& element : elements) {
        text += '(' + std::string(element.identifier->ai) + ')';
        for (const char c : element.scanned)
            text += c == '(' ? "\\(" : std::string(1, c);
    }
    return text;
}

std::string gs1FaultOf(const std::string& code)
{
    const auto parsed = parseGs1(code, kGs1Today);
    return parsed ? "" : parsed.error().text;
}

/// What our contract decides otherwise than the reference engine: ]E0 is not among the identifiers that we take, and a code without one,
/// as readers that act as a keyboard send it, is taken at its word.
std::string gs1Verdict(const std::string& scanned, const std::string& reference)
{
    if (scanned.starts_with("]E0"))
        return "reject";
    return scanned.starts_with(']') ? reference : "accept";
}

} // namespace

// reference/accuracy/gs1_strings.csv: GS1 Barcode Syntax Engine 1.4.1
TEST(Gs1, ReadsEveryStringAsTheReferenceEngineDoes)
{
    const reference::ReferenceTable table("accuracy/gs1_strings.csv");
    ASSERT_GE(table.size(), 30U);
    for (std::size_t row = 0; row < table.size(); ++row) {
        const std::string& scanned = table.text(row, "scan_data (<GS> = ASCII 29)");
        const auto code = parseGs1(gs1WithSeparators(scanned), kGs1Today);
        const std::string verdict = gs1Verdict(scanned, table.text(row, "reference_engine"));
        EXPECT_EQ(code ? "accept" : "reject", verdict) << scanned << ' ' << (code ? "" : code.error().text);
        if (!code || table.text(row, "reference_engine") == "reject")
            continue;
        const auto elements = gs1ByAi(*code);
        EXPECT_EQ(gs1ScannedOf(elements, "01"), table.text(row, "gtin_01")) << scanned;
        EXPECT_EQ(gs1ScannedOf(elements, "10"), table.text(row, "lot_10")) << scanned;
        EXPECT_EQ(gs1ScannedOf(elements, "17"), table.text(row, "expiry_17_raw")) << scanned;
        EXPECT_EQ(gs1TextOf(elements, "17"), table.text(row, "expiry_17_date_in_2026")) << scanned;
        EXPECT_EQ(gs1ScannedOf(elements, "11"), table.text(row, "production_11_raw")) << scanned;
        EXPECT_EQ(gs1TextOf(elements, "11"), table.text(row, "production_11_date_in_2026")) << scanned;
        EXPECT_EQ(gs1ScannedOf(elements, "21"), table.text(row, "serial_21")) << scanned;
        EXPECT_EQ(gs1ScannedOf(elements, "240"), table.text(row, "additional_id_240")) << scanned;
    }
}

TEST(Gs1, TakesTheSameStringsWithWrittenSeparators)
{
    const reference::ReferenceTable table("accuracy/gs1_strings.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const std::string bytes = gs1WithSeparators(table.text(row, "scan_data (<GS> = ASCII 29)"));
        std::string written;
        for (const char c : bytes)
            written += c == '\x1d' ? "\\x1d" : std::string(1, c);
        const auto one = parseGs1(bytes, kGs1Today);
        const auto other = parseGs1(written, kGs1Today);
        ASSERT_EQ(static_cast<bool>(one), static_cast<bool>(other)) << written;
        if (one)
            EXPECT_EQ(gs1Bracketed(one->elements), gs1Bracketed(other->elements));
        else
            EXPECT_EQ(one.error().text, other.error().text);
    }
}

// reference/accuracy/gs1_ai.csv: GS1 Barcode Syntax Dictionary
TEST(Gs1Identifiers, AreThoseOfTheDictionary)
{
    const reference::ReferenceTable table("accuracy/gs1_ai.csv");
    ASSERT_EQ(gs1Identifiers().size(), table.size() + 10); // and 90 to 99, which mean what companies agree (from memory: X..30, X..90)
    for (std::size_t i = 0; i < 10; ++i)
        EXPECT_EQ(gs1Identifiers()[table.size() + i].ai, "9" + std::to_string(i));
    for (std::size_t row = 0; row < table.size(); ++row) {
        const Gs1Identifier& identifier = gs1Identifiers()[row];
        SCOPED_TRACE(table.text(row, "ai"));
        EXPECT_EQ(identifier.ai, table.text(row, "ai"));
        EXPECT_EQ(identifier.endsByItself, table.text(row, "predefined_length_no_separator") == "yes");
        std::string format = std::string(identifier.content == Gs1Content::Text ? "X" : "N")
            + (identifier.least < identifier.most ? ".." : "")
            + std::to_string(identifier.content == Gs1Content::DateTime ? 6 : identifier.most);
        if (identifier.content == Gs1Content::Date)
            format += " YYMMDD";
        if (identifier.content == Gs1Content::DateTime)
            format += " YYMMDD + N4 HHMM";
        EXPECT_EQ(format, table.text(row, "format"));
    }
}

TEST(Gs1CheckDigit, IsAsPublished)
{
    const reference::ReferenceTable digits("accuracy/gs1_check_digits.csv");
    for (std::size_t row = 0; row < digits.size(); ++row) {
        EXPECT_EQ(std::string(1, gs1CheckDigit(digits.text(row, "digits_without_check"))), digits.text(row, "check_digit"));
        EXPECT_TRUE(gs1CheckDigitHolds(digits.text(row, "full")));
    }
    const reference::ReferenceTable some("accuracy/gs1_check_digits_bad.csv");
    for (std::size_t row = 0; row < some.size(); ++row)
        EXPECT_EQ(gs1CheckDigitHolds(some.text(row, "full")) ? "yes" : "no", some.text(row, "valid")) << some.text(row, "full");
    EXPECT_FALSE(gs1CheckDigitHolds(""));
    EXPECT_FALSE(gs1CheckDigitHolds("0"));
    EXPECT_FALSE(gs1CheckDigitHolds("12a4"));
}

// reference/accuracy/gs1_dates.csv: General Specifications 7.12
TEST(Gs1Date, IsResolvedAsPublished)
{
    const reference::ReferenceTable table("accuracy/gs1_dates.csv");
    for (std::size_t row = 0; row < table.size(); ++row) {
        const auto date = gs1Date(table.text(row, "yymmdd"), static_cast<int>(table.number(row, "current_year")));
        EXPECT_EQ(date ? base::toText(*date) : "invalid", table.text(row, "date_or_invalid"))
            << table.text(row, "yymmdd") << " in " << table.text(row, "current_year");
    }
    EXPECT_FALSE(gs1Date("27033", 2026));
    EXPECT_FALSE(gs1Date("2703-1", 2026));
}

TEST(Gs1Date, TakesTheYearClosestToTheCurrentOne)
{
    for (int current = 1990; current <= 2110; ++current) {
        for (int yy = 0; yy < 100; ++yy) {
            const auto digits = std::to_string(100 + yy).substr(1) + "0101";
            const int year = static_cast<int>(gs1Date(digits, current)->ymd.year());
            ASSERT_EQ(year % 100, yy);
            ASSERT_GE(year, current - 49);
            ASSERT_LE(year, current + 50);
        }
    }
}

TEST(Gs1, ReadsTheBracketedForm)
{
    const auto code = parseGs1(R"((01)12345678901231(17)270300(10)A\(1)B(21)S/1(7003)2703311230)", kGs1Today);
    ASSERT_TRUE(code) << code.error().text;
    const auto elements = gs1ByAi(*code);
    EXPECT_EQ(gs1TextOf(elements, "17"), "2027-03-31");
    EXPECT_EQ(gs1TextOf(elements, "10"), "A(1)B");
    EXPECT_EQ(gs1TextOf(elements, "7003"), "2027-03-31T12:30");
    EXPECT_EQ(gs1Bracketed(code->elements), R"((01)12345678901231(17)270300(10)A\(1)B(21)S/1(7003)2703311230)");
}

// A code is not refused because its maker put something of its own behind the lot.
TEST(Gs1, KeepsWhatCompaniesAgreeAmongThemselves)
{
    const auto code = parseGs1("]d2011234567890123110ABC\x1d"
                               "91XYZ\x1d"
                               "17270331",
        kGs1Today);
    ASSERT_TRUE(code) << code.error().text;
    ASSERT_EQ(code->elements.size(), 4U);
    EXPECT_EQ(code->elements[1].text, "ABC");
    EXPECT_EQ(code->elements[2].text, "XYZ");
    EXPECT_EQ(code->elements[3].text, "2027-03-31");
}

TEST(Gs1, SaysWhereAndWhatToDo)
{
    EXPECT_EQ(gs1FaultOf("]d20112345678901234"),
        "character 6 of the code: (01) GTIN 12345678901234 has a wrong check digit; a digit was misread, so scan again");
    EXPECT_EQ(gs1FaultOf("]C00112345678901231"),
        "character 1 of the code: ']C0' is not the mark of GS1 data (]d2 ]C1 ]Q3 ]e0 ]J1); scan the GS1 code of the box, or type what is "
        "printed");
    EXPECT_EQ(gs1FaultOf("011234567890123117271331"),
        "character 19 of the code: (17) Expiry: the date 271331 has no such month; scan again, or type the date as printed");
    EXPECT_EQ(gs1FaultOf("01123456789012318912"),
        "character 17 of the code: no identifier known here begins with '8912'; type lot and expiry as they are printed");
    EXPECT_EQ(gs1FaultOf("0112345678901231\x1d\x1d"
                         "10A"),
        "character 18 of the code: a separator stands where an identifier should begin; scan again, or type what is printed");
    EXPECT_EQ(gs1FaultOf("011234567890123110A^17270331"),
        "character 20 of the code: (10) Lot may not hold '^'; set the reader to send FNC1 as ASCII 29, or type what is printed");
    EXPECT_EQ(gs1FaultOf("]d210ABC"), "(10) Lot needs (01) in the same code, which is not there; scan the whole code");
    EXPECT_EQ(gs1FaultOf("0112345678901231"
                         "0100416000336108"),
        "character 19 of the code: (01) GTIN stands twice, as 12345678901231 and as 00416000336108; scan one label at a time");
    EXPECT_EQ(gs1FaultOf("(01)12345678901231(1)5"),
        "character 19 of the code: no known identifier stands in this bracket; write (01), (17), (10) and so on, and \\( for a bracket in "
        "a value");
    EXPECT_EQ(gs1FaultOf("01123456789"),
        "character 3 of the code: (01) GTIN is too short: 9 characters of 14; scan again, or type what is printed");
}

TEST(Gs1, RefusesWhatHasNoData)
{
    for (const char* code : { "", "]", "]d", "]d2", "\x1d", "]d2\x1d", "(", "()", "(01", "(01)", "]d2(01)", "hello", "]\x01\x02", "\\x1d" })
        EXPECT_NE(gs1FaultOf(code), "") << code;
    EXPECT_NE(gs1FaultOf("0112345678901231"
                         "10"
                  + std::string(9000, 'A')),
        "");
    EXPECT_NE(gs1FaultOf("0112345678901231"
                         "7003"
                         "2703001230"),
        "");
    EXPECT_NE(gs1FaultOf("0112345678901231"
                         "7003"
                         "2703312460"),
        "");
    EXPECT_NE(gs1FaultOf("0112345678901231"
                         "02"
                         "12345678901231"
                         "37"
                         "5"),
        "");
    EXPECT_EQ(gs1FaultOf("02"
                         "12345678901231"
                         "37"
                         "5"),
        "");
    EXPECT_NE(gs1FaultOf("02"
                         "12345678901231"),
        "");
}

TEST(Gs1, NotesALotThatSeemsToHoldTheExpiry)
{
    const auto notes = [](const char* code) { return parseGs1(code, kGs1Today).value().notes; };
    ASSERT_EQ(notes("]d2011234567890123110ABC12317270331").size(), 1U);
    EXPECT_EQ(notes("]d2011234567890123110ABC12317270331").front().text,
        "Lot ABC12317270331 seems to hold (17) Expiry 2027-03-31 as well, as when the separator is lost; compare it with the print.");
    EXPECT_EQ(notes("]d2011234567890123110A1727033121S1").size(), 1U);
    EXPECT_EQ(notes("]d2011234567890123110A11260331").size(), 1U);
    EXPECT_TRUE(notes("]d20112345678901231172703311011270331").empty());    // nothing would be left of the lot
    EXPECT_TRUE(notes("]d201123456789012311727033110ABC17270331").empty()); // the expiry stands where it should
    EXPECT_TRUE(notes("]d2011234567890123110ABC17271331").empty());         // no date
    EXPECT_TRUE(notes("]d2011234567890123110ABC1727033177").empty());
}

TEST(Gs1, ReadsBackWhatItIsGiven)
{
    std::mt19937 random(20261125);
    const auto below = [&](std::size_t n) { return static_cast<std::size_t>(random() % n); };
    constexpr std::string_view kText = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";
    const auto digits = [&](std::size_t n) {
        std::string text;
        for (std::size_t i = 0; i < n; ++i)
            text += static_cast<char>('0' + below(10));
        return text;
    };
    for (int round = 0; round < 3000; ++round) {
        std::vector<Gs1Element> elements;
        for (const Gs1Identifier& identifier : gs1Identifiers()) {
            const bool paired = identifier.ai == "02" || identifier.ai == "37";
            if (identifier.ai != "01" && (paired || below(3) > 0))
                continue;
            std::string value;
            const std::size_t length = identifier.least + below(identifier.most - identifier.least + 1);
            switch (identifier.content) {
            case Gs1Content::Digits:
                value = digits(length - (identifier.checkDigit ? 1 : 0));
                if (identifier.checkDigit)
                    value += gs1CheckDigit(value);
                break;
            case Gs1Content::Text:
                for (std::size_t i = 0; i < length; ++i)
                    value += kText[below(kText.size())];
                break;
            default:
                value = digits(2) + "0" + std::to_string(1 + below(9)) + std::to_string(10 + below(18)) + (length == 10 ? "2359" : "");
                break;
            }
            elements.push_back({ &identifier, value, {} });
        }
        std::ranges::shuffle(elements, random);
        std::string raw = "]d2";
        for (std::size_t i = 0; i < elements.size(); ++i) {
            raw += std::string(elements[i].identifier->ai) + elements[i].scanned;
            if (i + 1 < elements.size() && (!elements[i].identifier->endsByItself || below(4) == 0))
                raw += '\x1d';
        }
        const std::string bracketed = gs1Bracketed(elements);
        for (const std::string& form : { raw, bracketed }) {
            const auto code = parseGs1(form, kGs1Today);
            ASSERT_TRUE(code) << form << ": " << code.error().text;
            ASSERT_EQ(gs1Bracketed(code->elements), bracketed);
        }
    }
}

TEST(Gs1, SurvivesAnyBytes)
{
    std::mt19937 random(7);
    constexpr std::string_view kLikely = "01101721240()]d2C\\x\x1d\x1d"
                                         "7031A";
    std::size_t read = 0;
    for (int round = 0; round < 50000; ++round) {
        std::string code = round % 3 == 0 ? "]d20112345678901231" : "";
        const std::size_t length = random() % 40;
        for (std::size_t i = 0; i < length; ++i)
            code += random() % 8 == 0 ? static_cast<char>(random() % 256) : kLikely[random() % kLikely.size()];
        const auto parsed = parseGs1(code, kGs1Today);
        if (parsed) {
            ++read;
            ASSERT_FALSE(parsed->elements.empty());
        } else {
            ASSERT_FALSE(parsed.error().text.empty());
            ASSERT_EQ(parsed.error().text.find('\n'), std::string::npos);
        }
    }
    EXPECT_GT(read, 0U);
}

} // namespace mk::exchange
