// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/look/look.h"

#include <QApplication>

#include <gtest/gtest.h>

int main(int argc, char* argv[])
{
    ::testing::InitGoogleTest(&argc, argv);
    if (qEnvironmentVariableIsEmpty("QT_QPA_PLATFORM"))
        qputenv("QT_QPA_PLATFORM", "offscreen");
    QApplication application(argc, argv);
    mk::desktop::dress(application, mk::desktop::Theme::Light);
    return RUN_ALL_TESTS();
}
