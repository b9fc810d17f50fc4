// SPDX-License-Identifier: GPL-3.0-or-later
#include "worker.h"

#include <QCoreApplication>

#include <gtest/gtest.h>

int main(int argc, char** argv)
{
    QCoreApplication application(argc, argv); // the SQL driver is a plug-in, which needs one
    const QStringList arguments = QCoreApplication::arguments();
    if (arguments.value(1) == QStringLiteral("--worker"))
        return mk::faults::workerMain(arguments.mid(2));
    testing::InitGoogleTest(&argc, argv);
    return RUN_ALL_TESTS();
}
