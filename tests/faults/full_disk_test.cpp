// SPDX-License-Identifier: GPL-3.0-or-later
// No room left: what was acknowledged stays, what was not is told, and work goes on once there is room.
#include "fault_ward.h"

#include "store/journal.h"

#include <QDir>
#include <QFile>

#include <gtest/gtest.h>

#include <sched.h>
#include <sys/mount.h>
#include <sys/resource.h>

#include <csignal>

namespace mk::faults {

namespace {

    /// A file system of a few megabytes that only this process and its children see; gone with the process.
    class SmallDisk {
    public:
        SmallDisk()
        {
            m_mounted = ::unshare(CLONE_NEWNS) == 0 && ::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) == 0
                && ::mount("none", m_place.path().toUtf8().constData(), "tmpfs", 0, "size=3m") == 0;
        }
        ~SmallDisk()
        {
            if (m_mounted)
                ::umount2(m_place.path().toUtf8().constData(), MNT_DETACH);
        }
        SmallDisk(const SmallDisk&) = delete;
        SmallDisk& operator=(const SmallDisk&) = delete;

        bool mounted() const { return m_mounted; }
        std::string path() const { return m_place.path().toStdString(); }

    private:
        QTemporaryDir m_place;
        bool m_mounted = false;
    };

    /// In the child: no file grows beyond this, which the system answers like a disk without room.
    void limitFileSize()
    {
        const rlimit limit { 600'000, 600'000 };
        static_cast<void>(::setrlimit(RLIMIT_FSIZE, &limit));
        static_cast<void>(std::signal(SIGXFSZ, SIG_IGN));
    }

} // namespace

TEST(FullDisk, KeepsWhatWasAcknowledgedAndGoesOnOnceThereIsRoom)
{
    const SmallDisk disk;
    if (!disk.mounted())
        GTEST_SKIP() << "only root may mount a small file system; the test of a limited file size stands in";
    const FaultWard ward(disk.path());
    const std::string ballast = ward.write("ballast", std::string(1'000'000, 'x'));
    auto session = store::Session::open(ward.registry(), store::Session::Access::ReadWrite);
    ASSERT_TRUE(session);
    auto registrar = store::Registrar::open(**session, store::machineClock);
    ASSERT_TRUE(registrar);
    const store::Author author { base::OperatorId("hale"), "test" };
    std::vector<std::string> acknowledged;
    std::optional<base::Fault> fault;
    for (int i = 0; i < 2000 && !fault; ++i) {
        const std::string name = "s-" + std::to_string(i);
        const auto outcomes = (*registrar)->record(setOf(name, "M-01", 60 * i, true), author);
        if (outcomes)
            acknowledged.push_back(name);
        else
            fault = outcomes.error();
    }
    ASSERT_TRUE(fault) << "the disk never filled";
    EXPECT_EQ(fault->kind, base::FaultKind::Full) << fault->text;
    EXPECT_NE(fault->text.find("full"), std::string::npos) << fault->text;
    EXPECT_GT(acknowledged.size(), 10U);

    // Another program at the same full disk is told so, too, and changes nothing.
    const auto before = store::headOf(**session);
    ASSERT_TRUE(before);
    const std::string file = std::string(MK_SOURCE_DIR) + "/demo-data"; // far more than what a set left over
    const Ran ran = runCli(ward.command({ QStringLiteral("import"), QString::fromStdString(file) }));
    EXPECT_EQ(ran.status, 2) << ran.out;
    expectOneLine(ran.err);
    EXPECT_NE(ran.err.find("full"), std::string::npos) << ran.err;
    const auto after = store::headOf(**session);
    ASSERT_TRUE(after);
    EXPECT_EQ(after->digest, before->digest);

    ASSERT_TRUE(QFile::remove(QString::fromStdString(ballast)));
    const auto outcomes = (*registrar)->record(setOf("later", "M-01", 900'000, true), author);
    ASSERT_TRUE(outcomes) << outcomes.error().text;
    acknowledged.emplace_back("later");
    std::ranges::sort(acknowledged);
    const StoredSets stored = storedSets(ward.registry());
    EXPECT_EQ(stored.whole, acknowledged);
    EXPECT_TRUE(stored.broken.empty());
    expectVerified(ward.registry());
}

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
