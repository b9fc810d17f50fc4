// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/table/columns.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

namespace mk::study {

namespace {

StudyFile columnsFile(const std::string& bytes)
{
    return readStudyFile(testing_studies::studyCsv(bytes)).value();
}

} // namespace

TEST(StudyLabels, NumberLabelsByTheirFirstRow)
{
    const auto labels = studyLabels(columnsFile("day,value\nTue,1\nMon,2\nTue,3\n"), "day").value();
    EXPECT_EQ(labels.names, (std::vector<std::string> { "Tue", "Mon" }));
    EXPECT_EQ(labels.numbers, (std::vector<std::size_t> { 0, 1, 0 }));
    EXPECT_TRUE(studyLabels(columnsFile("day,value\n"), "day")->numbers.empty());
}

TEST(StudyLabels, RefuseAnEmptyCell)
{
    EXPECT_NE(studyLabels(columnsFile("day,value\nTue,1\n,2\n"), "day")
                  .error()
                  .text.find(".csv line 3: the cell under 'day' is empty; give a label or leave the row out"),
        std::string::npos);
    EXPECT_NE(studyLabels(columnsFile("value\n1\n"), "day").error().text.find("has no column 'day'"), std::string::npos);
}

TEST(StudyOffsets, AreSubtractedAsDecimals)
{
    const auto offsets = studyOffsets(columnsFile("value\n1000000000000.4\n1000000000000.3\n1000000000001\n"), "value").value();
    EXPECT_EQ(offsets.origin, 1000000000000.4);
    EXPECT_EQ(offsets.offsets, (std::vector<double> { 0, -0.1, 0.6 }));
    EXPECT_EQ(offsets.values[1], 1000000000000.3);
    EXPECT_EQ(studyOffsets(columnsFile("value\n-5.60\n0.123456789\n"), "value")->offsets[1], 5.723456789);
    EXPECT_TRUE(studyOffsets(columnsFile("value\n"), "value")->offsets.empty());
}

TEST(StudyOffsets, AreDifferencesOfDoublesWhereADecimalHoldsNotAllDigits)
{
    const auto offsets = studyOffsets(columnsFile("value\n5\n5.5\n1e300\n"), "value").value();
    EXPECT_EQ(offsets.offsets, (std::vector<double> { 0, 0.5, 1e300 }));
}

} // namespace mk::study
