// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/study_figures.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace mk::cli {

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
    EXPECT_TRUE(axisNames({ std::string(200, 'x') }).empty());
}

TEST(StudyFigures, DrawMeansAsStrokesWithGaps)
{
    const report::PlotCurve strokes = meanStrokes("mean", { 5, 7 });
    ASSERT_EQ(strokes.x.size(), 6U);
    EXPECT_TRUE(std::ranges::is_sorted(strokes.x));
    EXPECT_EQ(strokes.y[3], 7);
    EXPECT_TRUE(std::isnan(strokes.y[2]) && std::isnan(strokes.y[5]));
}

} // namespace mk::cli
