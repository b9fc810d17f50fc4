// SPDX-License-Identifier: GPL-3.0-or-later
#include "exchange/json_writer.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <limits>

namespace mk::exchange {

TEST(JsonWriter, NestsObjectsAndArraysWithCommasWhereTheyBelong)
{
    JsonWriter json;
    json.beginObject().key("a").beginArray().value(1).value(2).beginObject().endObject().endArray();
    json.key("b").beginObject().key("c").value(true).key("d").null().endObject().key("e").value("x").endObject();
    EXPECT_EQ(json.text(), R"({"a":[1,2,{}],"b":{"c":true,"d":null},"e":"x"})");
}

TEST(JsonWriter, TellsTextFromTruth)
{
    JsonWriter json;
    const char* text = "yes";
    json.beginArray().value(text).value(std::string("no")).value(false).endArray();
    EXPECT_EQ(json.text(), R"(["yes","no",false])");
}

TEST(JsonWriter, EscapesWhatJsonCannotHold)
{
    JsonWriter json;
    json.value(std::string_view("a\"b\\c\n\r\t\x01\x1f\0/\x7f\xC3\xA4", 15));
    EXPECT_EQ(json.text(), "\"a\\\"b\\\\c\\n\\r\\t\\u0001\\u001f\\u0000/\x7f\xC3\xA4\"");
}

TEST(JsonWriter, WritesDoublesThatReadBackUnchanged)
{
    for (const double number : { 0.1, 2.0000000000000018, 1.0 / 3, 1e300, -17.3, 190.45, 123456789012.0 }) {
        JsonWriter json;
        json.value(number);
        EXPECT_EQ(std::stod(json.text()), number);
    }
    JsonWriter json;
    json.beginArray().value(0.1).value(1e300).value(100.0).endArray();
    EXPECT_EQ(json.text(), "[0.1,1e+300,100]");
}

TEST(JsonWriter, WritesNullForWhatIsNoNumber)
{
    JsonWriter json;
    json.beginArray().value(std::nan("")).value(-std::numeric_limits<double>::infinity()).value(std::optional<double>()).endArray();
    EXPECT_EQ(json.text(), "[null,null,null]");
}

TEST(JsonWriter, WritesIntegersInFull)
{
    JsonWriter json;
    json.array(std::vector<std::int64_t> { std::numeric_limits<std::int64_t>::min(), std::numeric_limits<std::int64_t>::max() });
    EXPECT_EQ(json.text(), "[-9223372036854775808,9223372036854775807]");
}

} // namespace mk::exchange
