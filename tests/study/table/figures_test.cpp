// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/table/figures.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace mk::study {

TEST(StudyFigures, WriteWhatIsAbsentAsNullOrADash)
{
    JsonWriter json;
    json.beginArray();
    writeBounds(json, std::nullopt);
    writeBounds(json, stats::Interval { 1, 2.5 });
    json.endArray();
    EXPECT_EQ(json.text(), "[null,[1,2.5]]");
    EXPECT_EQ(boundsText(std::nullopt), "-");
    EXPECT_EQ(boundsText(stats::Interval { 1, 2.5 }), "1 to 2.5");
    EXPECT_EQ(maybeText(std::nullopt), "-");
    EXPECT_EQ(yesNoText(false), "no");
    EXPECT_EQ(yesNoText(std::nullopt), "-");
    EXPECT_EQ(percentText(0.95), "95 %");
}

TEST(StudyFigures, KeepTitlesShortButNoWholeNumberWrong)
{
    EXPECT_EQ(titleNumber(1.4726965), "1.473");
    EXPECT_EQ(titleNumber(-0.000012345678), "-1.235e-05");
    EXPECT_EQ(titleNumber(123456), "123456");
}

TEST(StudyFigures, NameAnAxisOnlyWhereTheNamesCanBeRead)
{
    EXPECT_EQ(axisNames({ "a", "b" }), (std::vector<std::string> { "a", "b" }));
    EXPECT_TRUE(axisNames(std::vector<std::string>(25, "a")).empty());
    const auto shortened = axisNames({ std::string(200, 'x'), "b", "M\u00e4rz" });
    ASSERT_EQ(shortened.size(), 3U);
    EXPECT_TRUE(shortened[0].starts_with("xxxxxx") && shortened[0].ends_with("…"));
    EXPECT_LT(shortened[0].size(), 140U);
    EXPECT_EQ(shortened[1], "b");
    EXPECT_EQ(shortened[2], "M\u00e4rz");
    const std::string umlauts = axisNames({ std::string(200, 'x').replace(0, 0, "\u00e4\u00e4"), std::string("\u00e4") }).front();
    EXPECT_TRUE(umlauts.starts_with("\u00e4\u00e4x"));
    const std::string stem(150, 'x');
    EXPECT_TRUE(axisNames({ stem + "1", stem + "2" }).empty()); // the ends that tell them apart would be cut off
}

TEST(StudyFigures, GiveAKeyToNumbersThatStandForNames)
{
    EXPECT_EQ(namesKey({ "a", "b" }), "1 a, 2 b");
    EXPECT_EQ(namesKey(std::vector<std::string>(30, "a")).substr(0, 14), "1 a, 2 a, 3 a,");
    EXPECT_TRUE(namesKey(std::vector<std::string>(30, "a")).ends_with("24 a, …"));
}

TEST(StudyFigures, GiveWhatIsAllowedAtOnePlaceAWidth)
{
    const auto curves = allowedCurves(100, 100, [](double) { return std::optional(stats::Interval { -5, 5 }); });
    EXPECT_EQ(curves[0].x.front(), 95);
    EXPECT_EQ(curves[0].x.back(), 105);
    EXPECT_EQ(allowedCurves(0, 0, [](double) { return std::optional(stats::Interval { -5, 5 }); })[0].x.back(), 1);
    EXPECT_EQ(allowedCurves(2, 8, [](double) { return std::optional(stats::Interval { -5, 5 }); })[0].x.back(), 8);
}

TEST(StudyFigures, DrawMeansAsStrokesWithGaps)
{
    const report::PlotCurve strokes = meanStrokes("mean", { 5, 7 });
    ASSERT_EQ(strokes.x.size(), 6U);
    EXPECT_TRUE(std::ranges::is_sorted(strokes.x));
    EXPECT_EQ(strokes.y[3], 7);
    EXPECT_TRUE(std::isnan(strokes.y[2]) && std::isnan(strokes.y[5]));
}

} // namespace mk::study
