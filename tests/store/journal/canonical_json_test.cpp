// SPDX-License-Identifier: GPL-3.0-or-later
// RFC 8785 (JSON Canonicalization Scheme), the published examples that use no fractions: 3.2.2 (literals and strings) and 3.2.3 (sorting).
#include "store/journal/canonical_json.h"

#include <gtest/gtest.h>

namespace mk::store {
namespace {

std::string canonicalOf(std::string_view text)
{
    const auto json = Json::parse(text);
    EXPECT_TRUE(json) << text << ": " << json.error().text;
    return json ? json->canonical() : std::string();
}

} // namespace

TEST(CanonicalJson, SortsKeysByTheirUtf16Units)
{
    // RFC 8785 3.2.3: the input and the order of the values that it expects. The emoji (U+1F600, units D83D DE00) comes before U+FB33.
    const std::string input = R"({
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\ud83d\ude00": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis"
    })";
    const std::string expected
        = "{\"\\r\":\"Carriage Return\",\"1\":\"One\",\"\xC2\x80\":\"Control\",\"\xC3\xB6\":\"Latin Small Letter O With Diaeresis\","
          "\"\xE2\x82\xAC\":\"Euro Sign\",\"\xF0\x9F\x98\x80\":\"Emoji: Grinning Face\",\"\xEF\xAC\xB3\":\"Hebrew Letter Dalet With "
          "Dagesh\"}";
    EXPECT_EQ(canonicalOf(input), expected);
}

TEST(CanonicalJson, WritesTheShortestEscapes)
{
    // RFC 8785 3.2.2, the members "string" and "literals" of its example.
    EXPECT_EQ(canonicalOf(R"({"string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]})"),
        "{\"literals\":[null,true,false],\"string\":\"\xE2\x82\xAC$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}");
}

TEST(CanonicalJson, EscapesControlCharactersAsTheRfcSays)
{
    // RFC 8785 3.2.2.2: \b \t \n \f \r by name, other control characters as \u00xx in lower case, nothing else.
    EXPECT_EQ(
        canonicalOf(R"("\u0008\u0009\u000a\u000c\u000d\u0000\u001f\u007f\u2028")"), "\"\\b\\t\\n\\f\\r\\u0000\\u001f\x7F\xE2\x80\xA8\"");
    EXPECT_EQ(quoted("a\"b\\c"), "\"a\\\"b\\\\c\"");
}

TEST(CanonicalJson, DropsBlanksAndKeepsTheOrderOfLists)
{
    EXPECT_EQ(canonicalOf(" { \"b\" : [ 3 , 1 , 2 ] ,\n\"a\" : { } , \"c\":[ ] } "), "{\"a\":{},\"b\":[3,1,2],\"c\":[]}");
}

TEST(CanonicalJson, KeepsWholeNumbersOfSixtyFourBits)
{
    EXPECT_EQ(canonicalOf("[0,-1,9223372036854775807,-9223372036854775808]"), "[0,-1,9223372036854775807,-9223372036854775808]");
}

TEST(CanonicalJson, CanonicalTextReadsBackToItself)
{
    for (const char* text :
        { "null", "true", "\"\"", "{}", "[]", "{\"a\":{\"b\":[\"c\",1,null,false]},\"\xC3\xB6\":\"\xF0\x9F\x98\x80\"}" })
        EXPECT_EQ(canonicalOf(text), text);
}

TEST(CanonicalJson, BuildsWhatItReads)
{
    Json object = Json::object();
    object.set("z", Json(std::int64_t { 1 })).set("a", Json(Json::Array { Json(true), Json() }));
    EXPECT_EQ(object.canonical(), "{\"a\":[true,null],\"z\":1}");
    ASSERT_NE(object.find("z"), nullptr);
    EXPECT_EQ(*object.find("z")->integer(), 1);
    EXPECT_EQ(object.find("y"), nullptr);
}

TEST(CanonicalJson, RefusesWhatAJournalMayNotHold)
{
    const char* kRefused[] = { "", "{", "[1,", "[1 2]", "{\"a\":}", "{\"a\" 1}", "{a:1}", "'a'", "\"a", "\"\\x\"", "\"\\u12\"",
        "\"\\ud83d\"", "\"\\ude00\"", "\"a\nb\"", "1.5", "1e3", "9223372036854775808", "+1", "nul", "truefalse", "[] []",
        "{\"a\":1,\"a\":2}", "{\"a\":1,\"\\u0061\":2}", "\"\xC3\"", "\"\xED\xA0\x80\"", "[1],", "{\"a\":1,}" };
    for (const char* text : kRefused)
        EXPECT_FALSE(Json::parse(text)) << text;
}

TEST(CanonicalJson, RefusesLeadingZeros)
{
    // RFC 8259, section 6: leading zeros are not allowed. RFC 8785, appendix B: minus zero is written 0.
    for (const char* text : { "01", "-01", "00", "-" })
        EXPECT_FALSE(Json::parse(text)) << text;
    EXPECT_EQ(canonicalOf("[0,-0]"), "[0,0]");
}

TEST(CanonicalJson, RefusesWhatIsTooDeepOrTooLong)
{
    EXPECT_TRUE(Json::parse(std::string(30, '[') + std::string(30, ']')));
    EXPECT_FALSE(Json::parse(std::string(40, '[') + std::string(40, ']')));
    EXPECT_FALSE(Json::parse(std::string(100'000, '[')));
    EXPECT_FALSE(Json::parse("\"" + std::string(1 << 20, 'a') + "\""));
}

TEST(CanonicalJson, RefusesObjectsThatAreMadeToTakeLong)
{
    const auto objectOf = [](int members) {
        std::string text = "{";
        for (int i = 0; i < members; ++i)
            text += (i == 0 ? "\"" : ",\"") + std::to_string(i) + "\":0";
        return text + "}";
    };
    EXPECT_TRUE(Json::parse(objectOf(1000)));
    EXPECT_FALSE(Json::parse(objectOf(1001)));
    EXPECT_FALSE(Json::parse(objectOf(90'000)));
}

} // namespace mk::store
