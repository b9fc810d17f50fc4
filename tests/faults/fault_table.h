// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QCoreApplication>
#include <QFile>
#include <QLockFile>
#include <QSaveFile>
#include <QStringList>

#include <gtest/gtest.h>

#include <cstdint>
#include <string>

/// What the tests found out by making things fail, as one table that the test run itself writes. Every test program may add to it.
namespace mk::faults {

/// `fault-table.md` beside the test program, or the path in MK_FAULT_TABLE.
inline QString faultTablePath()
{
    const QString wanted = qEnvironmentVariable("MK_FAULT_TABLE");
    return wanted.isEmpty() ? QCoreApplication::applicationDirPath() + QStringLiteral("/fault-table.md") : wanted;
}

/// Adds a row, or replaces the row of that fault from an earlier run. Needs a QCoreApplication.
/// fault      what was done to the program, in words: the key of the row
/// tries      how often
/// lost       acknowledged entries that were gone afterwards; of damage, how often unsaid
/// halfThere  acts of which a part was there, chains or indexes that did not hold; of damage, how often unsaid
/// foundBy    who says so: `the next act`, `opening`, `verify`, `nobody has to: nothing was wrong`
inline void addFaultRow(const std::string& fault, std::int64_t tries, std::int64_t lost, std::int64_t halfThere, const std::string& foundBy)
{
    const QString path = faultTablePath();
    QLockFile lock(path + QStringLiteral(".lock")); // ctest starts several programs at once
    ASSERT_TRUE(lock.lock()) << path.toStdString();
    const QString head = QStringLiteral("| fault | tries | lost | half there | found by |");
    const QString key = QStringLiteral("| ") + QString::fromStdString(fault) + QStringLiteral(" | ");
    QStringList rows;
    if (QFile old(path); old.open(QIODevice::ReadOnly | QIODevice::Text))
        for (const QString& row : QString::fromUtf8(old.readAll()).split(QLatin1Char('\n')))
            if (row.startsWith(QStringLiteral("| ")) && row != head && !row.startsWith(key))
                rows << row;
    rows << key + QStringLiteral("%1 | %2 | %3 | ").arg(tries).arg(lost).arg(halfThere) + QString::fromStdString(foundBy)
            + QStringLiteral(" |");
    rows.sort();
    QSaveFile file(path);
    ASSERT_TRUE(file.open(QIODevice::WriteOnly | QIODevice::Text)) << path.toStdString();
    file.write((head + QStringLiteral("\n|---|---:|---:|---:|---|\n") + rows.join(QLatin1Char('\n')) + QLatin1Char('\n')).toUtf8());
    ASSERT_TRUE(file.commit()) << path.toStdString();
}

} // namespace mk::faults
