// SPDX-License-Identifier: GPL-3.0-or-later
// No room left, as the real program meets it; every single write of a full disk is in disk_errors_test.cpp.
#include "fault_ward.h"

#include <QFile>

#include <gtest/gtest.h>

#include <sys/resource.h>

#include <csignal>

namespace mk::faults {

namespace {

/// In the child: no file grows beyond this, which the system answers like a disk without room.
void limitFileSize()
{
    const rlimit limit { 600'000, 600'000 };
    static_cast<void>(::setrlimit(RLIMIT_FSIZE, &limit));
    static_cast<void>(std::signal(SIGXFSZ, SIG_IGN));
}

} // namespace

TEST(FullDisk, DuringAnImportLeavesNothingOfIt)
{
    const FaultWard ward;
    const std::string before = ward.head();
    const std::string file = ward.write("control_runs.csv", runsFile("s", 600));
    const QStringList import = ward.command({ QStringLiteral("import"), QString::fromStdString(file) });
    const Ran ran = runCli(import, limitFileSize);
    EXPECT_EQ(ran.status, 2) << ran.out;
    EXPECT_EQ(ran.out, "");
    expectOneLine(ran.err);
    EXPECT_NE(ran.err.find("nothing was stored"), std::string::npos) << ran.err;
    EXPECT_EQ(ward.head(), before);
    EXPECT_TRUE(storedSets(ward.registry()).whole.empty());
    expectVerified(ward.registry());
    // With room, the same call goes through.
    const Ran again = runCli(import);
    EXPECT_EQ(again.status, 0) << again.err;
    EXPECT_EQ(storedSets(ward.registry()).whole.size(), 600U);
}

TEST(FullDisk, WhileARegistryIsFoundedLeavesNoHalfOne)
{
    const FaultWard ward;
    const QString path = QString::fromStdString(ward.folder() + "/new.mkr");
    const QStringList init { QStringLiteral("--registry"), path, QStringLiteral("init"), QStringLiteral("--zone"),
        QStringLiteral("Europe/Berlin") };
    const Ran ran = runCli(init, [] {
        const rlimit limit { 50'000, 50'000 };
        static_cast<void>(::setrlimit(RLIMIT_FSIZE, &limit));
        static_cast<void>(std::signal(SIGXFSZ, SIG_IGN));
    });
    EXPECT_EQ(ran.status, 2) << ran.out;
    expectOneLine(ran.err);
    EXPECT_FALSE(QFile::exists(path));
    const Ran again = runCli(init);
    EXPECT_EQ(again.status, 0) << again.err;
}

TEST(FullDisk, AtStandardOutputIsNoSuccess)
{
    const FaultWard ward;
    QProcess process;
    process.setStandardOutputFile(QStringLiteral("/dev/full"));
    process.start(QStringLiteral(MK_CLI), ward.command({ QStringLiteral("board") }));
    ASSERT_TRUE(process.waitForFinished(60'000));
    EXPECT_EQ(process.exitCode(), 2);
    expectOneLine(process.readAllStandardError().toStdString());
}

} // namespace mk::faults
