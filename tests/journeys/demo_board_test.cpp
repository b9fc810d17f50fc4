// SPDX-License-Identifier: GPL-3.0-or-later
// The demo hospital against the board that its story expects (demo-data/README.md): every day, every meter.
#include "exchange/csv.h"
#include "exchange/registry_csv.h"
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

#include <QDir>
#include <QFile>

namespace mk::journeys {
namespace {

using namespace registry;

const QString kDemoFolder = QStringLiteral(MK_SOURCE_DIR "/demo-data");

std::string demoText(const QString& name)
{
    QFile file(kDemoFolder + QLatin1Char('/') + name);
    EXPECT_TRUE(file.open(QIODevice::ReadOnly)) << name.toStdString();
    return file.readAll().toStdString();
}

std::map<std::string, std::string> demoFiles()
{
    std::map<std::string, std::string> files;
    for (const QString& name : QDir(kDemoFolder).entryList({ QStringLiteral("*.csv") }, QDir::Files))
        if (exchange::isRegistryFile(name.toStdString()))
            files[name.toStdString()] = demoText(name);
    return files;
}

/// The demo hospital, taken over once for all tests of this file.
class DemoBoard : public ::testing::Test {
protected:
    static void SetUpTestSuite()
    {
        Ground empty;
        empty.empty = true;
        empty.day = "2026-11-13";
        s_ward = std::make_unique<WardWorld>(empty);
        s_report = s_ward->import(demoFiles());
    }
    static void TearDownTestSuite() { s_ward.reset(); }

    static std::unique_ptr<WardWorld> s_ward;
    static store::ImportReport s_report;
};

std::unique_ptr<WardWorld> DemoBoard::s_ward;
store::ImportReport DemoBoard::s_report;

} // namespace

TEST_F(DemoBoard, EveryFileIsTakenOverWhole)
{
    EXPECT_EQ(s_report.files.size(), 18U);
    for (const auto& file : s_report.files) {
        EXPECT_TRUE(file.rejected.empty()) << file.file << " line " << file.rejected.front().line << ": "
                                           << base::plainly(file.rejected.front().fault);
        EXPECT_EQ(file.added, file.rows) << file.file;
        EXPECT_EQ(file.unchanged, 0U) << file.file;
    }
}

TEST_F(DemoBoard, EveryNoonIsAsExpected)
{
    const auto table = exchange::parseCsv(demoText(QStringLiteral("expected.csv")), "expected.csv");
    ASSERT_TRUE(table) << table.error().text;
    std::map<std::string, std::map<std::string, std::pair<std::string, std::string>>> expected; // day, meter: usable, codes
    for (const auto& row : table->rows)
        expected[row.text(0)][row.text(1)] = { row.text(2), row.text(3) };
    EXPECT_EQ(expected.size(), 184U);

    auto reader = s_ward->reader();
    std::size_t compared = 0;
    int shown = 0;
    for (const auto& [day, meters] : expected) {
        EXPECT_EQ(meters.size(), 14U) << day;
        const auto rows = store::board(reader, {}, s_ward->at(day + "T12:00"));
        ASSERT_TRUE(rows) << rows.error().text;
        EXPECT_EQ(rows->size(), meters.size()) << day;
        for (const auto& row : *rows) {
            const auto wanted = meters.find(row.history.meter.act.meter.value);
            ASSERT_NE(wanted, meters.end()) << day;
            const auto found = std::pair<std::string, std::string>(row.fitness.usable ? "yes" : "no", codes(row.fitness));
            ++compared;
            if (found != wanted->second && ++shown <= 20)
                ADD_FAILURE() << day << " " << wanted->first << ": expected " << wanted->second.first << " [" << wanted->second.second
                              << "], found " << found.first << " [" << found.second << "]";
        }
    }
    EXPECT_EQ(compared, 2576U);
    EXPECT_EQ(shown, 0);
}

TEST_F(DemoBoard, TheSameFolderAgainAddsNothing)
{
    const base::Seq before = s_ward->head();
    const auto again = s_ward->import(demoFiles());
    EXPECT_EQ(again.seq, before);
    EXPECT_EQ(s_ward->head(), before);
    for (const auto& file : again.files) {
        EXPECT_TRUE(file.rejected.empty()) << file.file << ": " << base::plainly(file.rejected.front().fault);
        EXPECT_EQ(file.unchanged, file.rows) << file.file;
        EXPECT_EQ(file.added, 0U) << file.file;
    }
}

TEST_F(DemoBoard, TheFileVerifies)
{
    const auto found = s_ward->verification();
    EXPECT_TRUE(found.chainIntact) << found.brokenBecause;
    EXPECT_TRUE(found.indexMatches) << (found.differsIn.empty() ? std::string() : found.differsIn.front());
    EXPECT_EQ(found.entries, s_ward->head().value);
}

TEST_F(DemoBoard, NothingButTheFoundingIsWrittenByTheRegistryItself)
{
    // interface.md: without --operator the entry's operator is `import`.
    for (const auto& entry : s_ward->entries())
        EXPECT_EQ(entry.person, entry.seq.value <= 2 ? "registry" : "import") << entry.seq.value;
}

} // namespace mk::journeys
