// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/terminal/typed_numbers.h"

#include <gtest/gtest.h>

namespace mk::study {

TEST(StudyReals, AreNumbersBetweenCommas)
{
    EXPECT_EQ(studyReals("--shift", "0, +1.5 ,-2e1").value(), (std::vector<double> { 0, 1.5, -20 }));
    EXPECT_EQ(studyReals("--shift", "0,,1").error().text, "--shift: '' is not a number; write numbers separated by commas, such as 0,1,2");
    for (const char* bad : { "", "+", "+-5", "++5", "5x", "nan", "inf", "1e999", "0x10" })
        EXPECT_FALSE(studyReals("--shift", bad)) << bad;
}

} // namespace mk::study
