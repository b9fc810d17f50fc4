// SPDX-License-Identifier: GPL-3.0-or-later
// Copies made by the real program, and a registry whose file is damaged.
#include "drill.h"

#include <QDir>
#include <QFile>

#include <gtest/gtest.h>

namespace mk::faults {

TEST(Backup, IntoAFolderKeepsTheNewestAndRemovesNothingElse)
{
    Drill drill;
    const QString folder = text(drill.file("copies"));
    ASSERT_TRUE(QDir().mkpath(folder));
    const FaultWard other;
    other.write("ward.mkr", FaultWard::anotherRegistry());
    ASSERT_EQ(runCli(other.command({ QStringLiteral("backup"), folder })).status, 0);
    drill.ward().write("copies/diary.mkr", "mine");
    std::vector<std::string> made;
    for (int i = 0; i < 4; ++i) {
        const Ran ran = drill.run({ "--json", "backup", folder.toUtf8().constData(), "--keep", "2" });
        ASSERT_EQ(ran.status, 0) << ran.err;
        made.push_back(jsonOf(ran)[QLatin1String("copy")].toString().toStdString());
    }
    EXPECT_FALSE(QFile::exists(text(made[0])));
    EXPECT_FALSE(QFile::exists(text(made[1])));
    EXPECT_TRUE(QFile::exists(text(made[2])));
    EXPECT_TRUE(QFile::exists(text(made[3])));
    EXPECT_EQ(QDir(folder).entryList(QDir::Files).size(), 4) << "two of ours, another registry's, and what is none";
    expectVerified(made[3]);
    EXPECT_EQ(QFile::permissions(text(made[3])), QFile::permissions(text(drill.ward().registry())));
    // A registry that does not hold costs no older copy.
    drill.ward().write("ward.mkr", withDamagedPage(drill.ward().registry(), "journal"));
    const Ran damaged = drill.run({ "backup", folder.toUtf8().constData(), "--keep", "1" });
    EXPECT_NE(damaged.status, 0);
    expectOneLine(damaged.err);
    EXPECT_TRUE(QFile::exists(text(made[2])) && QFile::exists(text(made[3])));
    EXPECT_EQ(leftovers(folder.toStdString()).size(), 0);
}

TEST(Backup, IsNotedAndRefusesAnExistingFileOrAPlaceThatIsNone)
{
    Drill drill;
    const Ran verify = drill.run({ "--json", "verify" });
    EXPECT_EQ(jsonOf(verify)[QLatin1String("newest_copy")][QLatin1String("copy")].toString().toStdString(), "copy.mkr");
    const Ran again = drill.run({ "backup", drill.copy().c_str() });
    EXPECT_EQ(again.status, 2);
    expectOneLine(again.err);
    EXPECT_TRUE(readBytes(drill.copy()) == drill.copyBytes());
    EXPECT_EQ(drill.run({ "backup", drill.file("none/copy.mkr").c_str() }).status, 2);
    EXPECT_EQ(drill.run({ "backup", drill.file("x.mkr").c_str(), "--keep", "3" }).status, 2);
    EXPECT_FALSE(QFile::exists(text(drill.file("x.mkr"))));
}

TEST(Backup, NoticesThatTheRegistryIsOlderThanItsCopyOrABranchOfIt)
{
    Drill drill;
    const QString folder = text(drill.file("copies"));
    ASSERT_TRUE(QDir().mkpath(folder));
    drill.record("later", 100, 2);
    ASSERT_EQ(drill.run({ "backup", folder.toUtf8().constData() }).status, 0);
    ASSERT_TRUE(QFile::remove(text(drill.ward().registry())));
    ASSERT_TRUE(QFile::copy(text(drill.copy()), text(drill.ward().registry())));
    const Ran older = drill.run({ "backup", folder.toUtf8().constData(), "--keep", "1" });
    EXPECT_EQ(older.status, 1);
    expectOneLine(older.err);
    EXPECT_TRUE(holds(older.err, "older than its copy") && holds(older.err, "restore")) << older.err;
    drill.record("other", 300, 9); // past the copy's last entry, another way
    const Ran branch = drill.run({ "backup", folder.toUtf8().constData(), "--keep", "1" });
    EXPECT_EQ(branch.status, 1);
    EXPECT_TRUE(holds(branch.err, "they part before entry")) << branch.err;
    EXPECT_EQ(QDir(folder).entryList(QDir::Files).size(), 1);
}

TEST(DamagedRegistry, IsShownFromItsWholeJournalAndNotWritten)
{
    Drill drill;
    const auto board = [&] { return drill.run({ "--at", "2020-03-01T12:00", "board" }); };
    const Ran whole = board();
    ASSERT_EQ(whole.status, 0) << whole.err;
    const std::string good = readBytes(drill.ward().registry());
    // What only the ward's duties are read from is asked after the meters: nothing may have been said by then.
    drill.ward().write("ward.mkr", withDamagedPage(drill.ward().registry(), "strip_vial_by_ward"));
    const Ran duties = board();
    EXPECT_EQ(duties.status, 1) << duties.err;
    EXPECT_EQ(duties.out, whole.out);
    expectOneLine(duties.err);
    drill.ward().write("ward.mkr", good);
    drill.ward().write("ward.mkr", withDamagedPage(drill.ward().registry(), "meter_state"));
    const std::string damaged = readBytes(drill.ward().registry());
    const Ran shown = board();
    EXPECT_EQ(shown.status, 1);
    EXPECT_EQ(shown.out, whole.out) << "what the journal says, nothing less";
    expectOneLine(shown.err);
    EXPECT_TRUE(holds(shown.err, "damaged") && holds(shown.err, "restore") && holds(shown.err, "paper form")) << shown.err;
    const Ran add = drill.run({ "--operator", "hale", "--at", "2020-03-02T06:00", "run", "add", "--meter", "M-01", "--strip-vial", "S1-1",
        "--run", "low:CL-1=46", "--run", "high:CH-1=300" });
    EXPECT_EQ(add.status, 2) << add.out;
    EXPECT_TRUE(holds(add.err, "damaged") && holds(add.err, "restore")) << add.err;
    EXPECT_TRUE(readBytes(drill.ward().registry()) == damaged);

    // Where the journal itself cannot be read, no meter is said to be usable.
    drill.ward().write("ward.mkr", good);
    drill.ward().write("ward.mkr", withDamagedPage(drill.ward().registry(), "journal"));
    const Ran nothing = board();
    EXPECT_EQ(nothing.status, 2);
    EXPECT_EQ(nothing.out, "");
    expectOneLine(nothing.err);
    EXPECT_TRUE(holds(nothing.err, "restore")) << nothing.err;
}

} // namespace mk::faults
