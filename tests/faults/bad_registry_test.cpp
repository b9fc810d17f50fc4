// SPDX-License-Identifier: GPL-3.0-or-later
// Files that are no registry, or one that may not, or not now, be written: one clear line, exit 2, and not a byte changed.
#include "fault_ward.h"

#include "store/journal/journal.h"

#include <QDir>
#include <QFile>
#include <QSqlDatabase>
#include <QSqlError>
#include <QSqlQuery>

#include <gtest/gtest.h>

#include <sys/prctl.h>
#include <linux/capability.h>

#include <random>

namespace mk::faults {

namespace {

/// A plain connection of another program to a file; gone with the object.
class OtherProgram {
public:
    explicit OtherProgram(const std::string& path) : m_name(QStringLiteral("other program at ") + QString::fromStdString(path))
    {
        QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QSQLITE"), m_name);
        database.setDatabaseName(QString::fromStdString(path));
        EXPECT_TRUE(database.open());
    }
    ~OtherProgram()
    {
        QSqlDatabase::database(m_name, false).close();
        QSqlDatabase::removeDatabase(m_name);
    }
    OtherProgram(const OtherProgram&) = delete;
    OtherProgram& operator=(const OtherProgram&) = delete;

    void run(const QString& sql)
    {
        QSqlQuery query(QSqlDatabase::database(m_name, false));
        EXPECT_TRUE(query.exec(sql)) << query.lastError().text().toStdString();
    }

private:
    QString m_name;
};

const QStringList& addSet()
{
    static const QStringList words { QStringLiteral("--operator"), QStringLiteral("hale"), QStringLiteral("--at"),
        QStringLiteral("2020-03-02T06:00"), QStringLiteral("run"), QStringLiteral("add"), QStringLiteral("--meter"), QStringLiteral("M-01"),
        QStringLiteral("--strip-vial"), QStringLiteral("S1-1"), QStringLiteral("--run"), QStringLiteral("low:CL-1=46"),
        QStringLiteral("--run"), QStringLiteral("high:CH-1=300") };
    return words;
}

/// Every command that opens a registry.
std::vector<QStringList> openingCommands()
{
    return { { QStringLiteral("board") }, { QStringLiteral("verify") }, { QStringLiteral("meter"), QStringLiteral("M-01") }, addSet() };
}

void expectNoRegistry(const std::string& path, const std::vector<const char*>& names)
{
    const std::string before = readBytes(path);
    for (const QStringList& command : openingCommands()) {
        SCOPED_TRACE(command.join(QLatin1Char(' ')).toStdString());
        const Ran ran = runCli(QStringList { QStringLiteral("--registry"), QString::fromStdString(path) } + command);
        EXPECT_EQ(ran.status, 2) << ran.out;
        EXPECT_EQ(ran.out, "");
        expectOneLine(ran.err);
        EXPECT_NE(ran.err.find(path), std::string::npos) << ran.err;
        for (const char* name : names)
            EXPECT_NE(ran.err.find(name), std::string::npos) << "does not speak of " << name << ": " << ran.err;
    }
    EXPECT_TRUE(readBytes(path) == before);
}

/// In the child: root, too, must ask the rights of a file.
void giveUpOverridingRights()
{
    static_cast<void>(::prctl(PR_CAPBSET_DROP, CAP_DAC_OVERRIDE, 0, 0, 0)); // fails where it is not root, who alone needs it
}

} // namespace

TEST(NoRegistry, IsRefusedAndNotTouched)
{
    const FaultWard ward;
    std::mt19937 random(7); // NOLINT: the same bytes each time
    std::string noise(20'000, '\0');
    for (char& c : noise)
        c = static_cast<char>(random() & 0xffU);
    expectNoRegistry(
        ward.write("letter.mkr", "Dear colleague,\nthis is not a registry, however long it may be.\n"), { "not a registry", "init" });
    expectNoRegistry(ward.write("empty.mkr", ""), { "not a registry" });
    expectNoRegistry(ward.write("noise.mkr", noise), { "not a registry" });
    expectNoRegistry(ward.write("half.mkr", std::string("SQLite format 3\0", 16) + noise), { "registry" });
}

TEST(NoRegistry, NoFileAtAllOrAFolderIsNamed)
{
    const FaultWard ward;
    for (const std::string& path : { ward.folder() + "/none.mkr", ward.folder(), ward.folder() + "/none/there.mkr" }) {
        for (const QStringList& command : openingCommands()) {
            SCOPED_TRACE(path);
            const Ran ran = runCli(QStringList { QStringLiteral("--registry"), QString::fromStdString(path) } + command);
            EXPECT_EQ(ran.status, 2);
            expectOneLine(ran.err);
            EXPECT_NE(ran.err.find(path), std::string::npos) << ran.err;
        }
    }
    EXPECT_FALSE(QFile::exists(QString::fromStdString(ward.folder() + "/none.mkr")));
}

TEST(NoRegistry, AnotherProgramsDatabaseIsRefusedAndNotTouched)
{
    const FaultWard ward;
    const std::string path = ward.folder() + "/recipes.db";
    {
        OtherProgram other(path);
        other.run(QStringLiteral("CREATE TABLE journal (seq INTEGER PRIMARY KEY, text TEXT)"));
        other.run(QStringLiteral("INSERT INTO journal VALUES (1, 'flour')"));
    }
    expectNoRegistry(path, { "not a registry" });
}

TEST(NoRegistry, ALaterSchemaIsRefusedAndNotTouched)
{
    const FaultWard ward;
    OtherProgram(ward.registry()).run(QStringLiteral("PRAGMA user_version = 999"));
    expectNoRegistry(ward.registry(), { "later version", "999", "Update" });
}

TEST(DamagedRegistry, IsToldInOneLineWhereverItIsCut)
{
    const FaultWard ward;
    const std::string whole = readBytes(ward.registry());
    for (const std::size_t size : { whole.size() / 4, whole.size() / 2, whole.size() - 4096, std::size_t { 4096 }, std::size_t { 100 } }) {
        SCOPED_TRACE(size);
        const std::string path = ward.write("cut.mkr", whole.substr(0, size));
        for (const QStringList& command : openingCommands()) {
            const Ran ran = runCli(QStringList { QStringLiteral("--registry"), QString::fromStdString(path) } + command);
            EXPECT_TRUE(ran.status == 1 || ran.status == 2)
                << command.join(QLatin1Char(' ')).toStdString() << ": " << ran.status << ran.out;
            if (ran.status == 2)
                expectOneLine(ran.err);
        }
    }
}

TEST(DamagedRegistry, WithAnOverwrittenJournalIsFoundByVerify)
{
    const FaultWard ward;
    const std::string file = ward.write("control_runs.csv", runsFile("s", 30));
    ASSERT_EQ(runCli(ward.command({ QStringLiteral("import"), QString::fromStdString(file) })).status, 0);
    std::string bytes = readBytes(ward.registry());
    const std::size_t at = bytes.find("\"result\":\"4");
    ASSERT_NE(at, std::string::npos);
    bytes[at + 11] = bytes[at + 11] == '9' ? '8' : '9'; // 44 becomes 49, in the journal alone
    const std::string path = ward.write("changed.mkr", bytes);
    const Ran ran = runCli(
        { QStringLiteral("--registry"), QString::fromStdString(path), QStringLiteral("--json"), QStringLiteral("verify") });
    EXPECT_EQ(ran.status, 1) << ran.err;
    EXPECT_NE(ran.out.find("\"chain\":\"broken\""), std::string::npos) << ran.out;
    EXPECT_NE(ran.out.find("\"index\":\"differs\""), std::string::npos) << ran.out;
}

// Waits out the ten seconds that a write waits for another one: the only test that does.
TEST(LockedRegistry, IsReadAtOnceAndRefusesAWriteInOneLine)
{
    const FaultWard ward;
    const std::string before = ward.head();
    {
        OtherProgram other(ward.registry());
        other.run(QStringLiteral("BEGIN EXCLUSIVE"));
        const Ran board = runCli(ward.command({ QStringLiteral("board") }));
        EXPECT_EQ(board.status, 0) << board.err;
        const Ran add = runCli(ward.command(addSet()));
        EXPECT_EQ(add.status, 2) << add.out;
        EXPECT_EQ(add.out, "");
        expectOneLine(add.err);
        EXPECT_NE(add.err.find("locked by another program"), std::string::npos) << add.err;
        EXPECT_NE(add.err.find("try again"), std::string::npos) << add.err;
        other.run(QStringLiteral("ROLLBACK"));
    }
    EXPECT_EQ(ward.head(), before);
    const Ran later = runCli(ward.command(addSet()));
    EXPECT_EQ(later.status, 0) << later.err;
}

TEST(ReadOnlyRegistry, IsReadAndNeverWritten)
{
    const FaultWard ward;
    const std::string before = ward.head();
    const QString folder = QString::fromStdString(ward.folder());
    const QString file = QString::fromStdString(ward.registry());
    ASSERT_TRUE(QFile::setPermissions(file, QFile::ReadOwner));
    ASSERT_TRUE(QFile::setPermissions(folder, QFile::ReadOwner | QFile::ExeOwner));
    const Ran add = runCli(ward.command(addSet()), giveUpOverridingRights);
    const Ran import = runCli(
        ward.command({ QStringLiteral("import"), QStringLiteral(MK_SOURCE_DIR "/demo-data/wards.csv") }), giveUpOverridingRights);
    const Ran board = runCli(ward.command({ QStringLiteral("board") }), giveUpOverridingRights);
    const Ran verify = runCli(ward.command({ QStringLiteral("verify") }), giveUpOverridingRights);
    const Ran init = runCli(
        { QStringLiteral("--registry"), folder + QStringLiteral("/new.mkr"), QStringLiteral("init") }, giveUpOverridingRights);
    ASSERT_TRUE(QFile::setPermissions(folder, QFile::ReadOwner | QFile::WriteOwner | QFile::ExeOwner));
    for (const Ran& refused : { add, import, init }) {
        EXPECT_EQ(refused.status, 2) << refused.out;
        EXPECT_EQ(refused.out, "");
        expectOneLine(refused.err);
        EXPECT_NE(refused.err.find("rights") + refused.err.find("may be written"), 2 * std::string::npos) << refused.err;
    }
    // An inspector's copy on a medium that cannot be written is still read.
    EXPECT_EQ(board.status, 0) << board.err;
    EXPECT_NE(board.out.find("M-01"), std::string::npos);
    EXPECT_EQ(verify.status, 0) << verify.err;
    ASSERT_TRUE(QFile::setPermissions(file, QFile::ReadOwner | QFile::WriteOwner));
    EXPECT_EQ(ward.head(), before);
}

// The first thing that anybody does with a registry of an earlier version may be to look at it.
TEST(EarlierRegistry, IsReadAndVerifiedByACommandThatOnlyReads)
{
    for (const char* sample : { "/tests/samples/registry-0.1.0.mkr", "/tests/samples/registry-schema-3.mkr" })
        for (const bool mayWrite : { true, false }) {
            SCOPED_TRACE(sample);
            const QTemporaryDir folder;
            const QString file = folder.filePath(QStringLiteral("earlier.mkr"));
            ASSERT_TRUE(QFile::copy(QStringLiteral(MK_SOURCE_DIR) + QLatin1String(sample), file));
            const auto rights = QFile::ReadOwner | QFile::ExeOwner;
            ASSERT_TRUE(
                QFile::setPermissions(file, mayWrite ? QFile::ReadOwner | QFile::WriteOwner : QFileDevice::Permissions(QFile::ReadOwner)));
            ASSERT_TRUE(QFile::setPermissions(folder.path(), mayWrite ? rights | QFile::WriteOwner : QFileDevice::Permissions(rights)));
            const Ran board = runCli({ QStringLiteral("--registry"), file, QStringLiteral("board") }, giveUpOverridingRights);
            const Ran verify = runCli({ QStringLiteral("--registry"), file, QStringLiteral("verify") }, giveUpOverridingRights);
            ASSERT_TRUE(QFile::setPermissions(folder.path(), rights | QFile::WriteOwner));
            EXPECT_EQ(board.status, 0) << board.err;
            EXPECT_NE(board.out.find("M1"), std::string::npos) << board.out;
            EXPECT_EQ(verify.status, 0) << verify.out << verify.err;
        }
}

} // namespace mk::faults
