// SPDX-License-Identifier: GPL-3.0-or-later
// The journal knows neither the program's language nor how its code is laid out: the demo hospital, taken over at a given moment with given
// ids, a given policy document and a given program text, comes out byte for byte. The document is one of before meters had usual values of
// their own: what was judged then is judged so still.
#include "exchange/registry_csv.h"
#include "journeys/ward_world.h"

#include <gtest/gtest.h>

#include <QDir>
#include <QFile>

#include <cstdio>

namespace mk::journeys {
namespace {

/// The head's digest for form 1 of the entries. Who changes the form of an entry gives it a version and adds a second digest beside this.
constexpr std::string_view kHeadOfForm1 = "923115fe9e86c691c4c0eeb1fa2856c9053b563dd6c3b49f91a002e94a60784c";

std::string digestFile(const QString& path)
{
    QFile file(path);
    EXPECT_TRUE(file.open(QIODevice::ReadOnly)) << path.toStdString();
    return file.readAll().toStdString();
}

/// The default document of the day on which the digest was taken: "key = text" a line.
std::vector<std::pair<std::string, std::string>> digestPolicy()
{
    std::vector<std::pair<std::string, std::string>> settings;
    for (const QString& line : QString::fromStdString(digestFile(QStringLiteral(MK_SOURCE_DIR "/tests/journeys/demo_digest_policy.txt")))
                                   .split(QLatin1Char('\n'), Qt::SkipEmptyParts)) {
        const auto equals = line.indexOf(QLatin1String(" = "));
        settings.emplace_back(line.left(equals).toStdString(), line.mid(equals + 3).toStdString());
    }
    return settings;
}

/// The records on which the digest was taken: one meter's last days were other ones then.
std::string olderRecords(const QString& name, std::string bytes)
{
    if (name != QLatin1String("control_runs.csv"))
        return bytes;
    const QStringList older = QString::fromStdString(digestFile(QStringLiteral(MK_SOURCE_DIR "/tests/journeys/demo_older_rows.csv")))
                                  .split(QLatin1Char('\n'));
    QStringList rows = QString::fromStdString(bytes).split(QLatin1Char('\n'));
    const auto keyOf = [](const QString& row) { return row.section(QLatin1Char(','), 0, 6); }; // up to the result
    int replaced = 0;
    for (QString& row : rows)
        for (const QString& other : older.mid(1))
            if (!other.isEmpty() && keyOf(row) == keyOf(other)) {
                row = other;
                ++replaced;
            }
    EXPECT_EQ(replaced, static_cast<int>(older.size()) - 2) << "each of them stands once in today's records";
    return rows.join(QLatin1Char('\n')).toStdString();
}

} // namespace

TEST(DemoDigest, TheSameRecordsMakeTheSameJournal)
{
    int made = 0;
    const store::Ids ids = [&made] {
        char id[37];
        std::snprintf(id, sizeof id, "00000000-0000-7000-8000-%012d", ++made);
        return std::string(id);
    };
    const registry::Zone zone = registry::Zone::named("Europe/Berlin").value();
    const auto moment = zone.resolve({ base::parseDate("2026-11-13").value(), 5 * 3'600'000 }).first;
    const store::Clock clock = [moment] { return moment.utcMs; };
    const store::Author author { {}, "test" };

    auto session = store::Session::scratch();
    ASSERT_TRUE(session) << session.error().text;
    store::Founding founding;
    founding.ids = ids;
    founding.program = "Meterkeep 0.1";
    founding.documentAsGiven = true;
    const auto founded = store::found(**session, "Europe/Berlin", digestPolicy(), author, clock, founding);
    ASSERT_TRUE(founded) << founded.error().text;

    std::vector<registry::FileRows> files;
    const QDir folder(QStringLiteral(MK_SOURCE_DIR "/demo-data"));
    for (const QString& name : folder.entryList({ QStringLiteral("*.csv") }, QDir::Files))
        if (exchange::isRegistryFile(name.toStdString())) {
            files.push_back(exchange::readRegistryFile(name.toStdString(), olderRecords(name, digestFile(folder.filePath(name))), zone));
        }
    auto registrar = store::Registrar::open(
        **session, clock, [] { return std::int64_t { 0 }; }, ids);
    ASSERT_TRUE(registrar) << registrar.error().text;
    const auto report = (*registrar)->importFiles(std::move(files), author);
    ASSERT_TRUE(report) << report.error().text;
    EXPECT_FALSE(report->anyRejected());

    const auto head = store::headOf(**session);
    ASSERT_TRUE(head) << head.error().text;
    EXPECT_EQ(head->digest, kHeadOfForm1) << head->seq.value << " entries";
}

} // namespace mk::journeys
