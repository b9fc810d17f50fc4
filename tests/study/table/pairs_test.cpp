// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/table/pairs.h"

#include <gtest/gtest.h>

namespace mk::study {

TEST(ParseStudyRange, TakesTwoNumbersWithAMinusBetween)
{
    EXPECT_EQ(parseStudyRange("20-60")->lower, 20);
    EXPECT_EQ(parseStudyRange("20-60")->upper, 60);
    EXPECT_EQ(parseStudyRange("0.25-0.65")->upper, 0.65);
    EXPECT_EQ(parseStudyRange("-5-5")->lower, -5);
    EXPECT_EQ(parseStudyRange("40-40")->upper, 40);
    for (const char* bad : { "", "-", "20", "20-", "-20", "60-20", "a-b", "20 - 60", "20-60-70", "nan-nan", "0-inf" })
        EXPECT_FALSE(parseStudyRange(bad)) << bad;
}

TEST(ReadStudyPairs, KeepsDecimalsWhereAskedFor)
{
    auto table = exchange::parseCsv("test,reference\n5.60,5.5\n", "pairs.csv");
    const StudyFile file { "pairs.csv", std::move(table).value() };
    const auto doubles = readStudyPairs(file, {}, PairNumbers::Doubles).value();
    EXPECT_TRUE(doubles.exactReference.empty());
    EXPECT_EQ(doubles.reference, std::vector { 5.5 });
    EXPECT_FALSE(doubles.places[0].sample);
    const auto decimals = readStudyPairs(file, {}, PairNumbers::GlucoseResults).value();
    EXPECT_EQ(decimals.exactTest[0].exact->typed(), "5.60");
    EXPECT_EQ(decimals.test, doubles.test);
}

} // namespace mk::study
