// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/cell_view.h"

#include <gtest/gtest.h>

namespace mk::desktop {

TEST(FittedWidths, GiveTheStretchingColumnWhatIsLeft)
{
    EXPECT_EQ(fittedWidths({ { 50, 20 }, { 80, 40 } }, 1, 200), (std::vector { 50, 150 }));
}

TEST(FittedWidths, TakeFromTheStretchingColumnFirst)
{
    EXPECT_EQ(fittedWidths({ { 100, 40 }, { 300, 40 } }, 1, 300), (std::vector { 100, 200 }));
}

TEST(FittedWidths, ThenFromTheWidestThatCanWrap)
{
    EXPECT_EQ(fittedWidths({ { 100, 40 }, { 150, 60 }, { 200, 30 } }, 2, 240), (std::vector { 90, 90, 60 })) << "a quarter stays";
}

TEST(FittedWidths, NeverBreakAWord)
{
    EXPECT_EQ(fittedWidths({ { 100, 100 }, { 60, 50 } }, 1, 120), (std::vector { 100, 50 }));
}

} // namespace mk::desktop
