// SPDX-License-Identifier: GPL-3.0-or-later
#include "drill.h"

#include "store/db/rows.h"

#include <QDir>
#include <QJsonDocument>
#include <QSqlDatabase>
#include <QSqlQuery>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::faults {

QString text(const std::string& path)
{
    return QString::fromStdString(path);
}

QJsonObject jsonOf(const Ran& ran)
{
    return QJsonDocument::fromJson(QByteArray::fromStdString(ran.out)).object();
}

bool holds(const std::string& whole, const std::string& part)
{
    return whole.find(part) != std::string::npos;
}

Drill::Drill() : m_copy(m_ward.folder() + "/copy.mkr")
{
    record("before", 0, 6);
    const Ran made = run({ "backup", m_copy.c_str() });
    EXPECT_EQ(made.status, 0) << made.err;
    m_copyBytes = readBytes(m_copy);
}

Ran Drill::run(const std::vector<const char*>& words) const
{
    QStringList arguments;
    for (const char* word : words)
        arguments << QString::fromUtf8(word);
    return runCli(m_ward.command(arguments));
}

void Drill::recordIn(const std::string& registry, const std::string& prefix, int from, int count)
{
    auto session = store::Session::open(registry, store::Session::Access::ReadWrite);
    ASSERT_TRUE(session) << session.error().text;
    auto registrar = store::Registrar::open(**session, store::machineClock);
    ASSERT_TRUE(registrar);
    for (int i = 0; i < count; ++i)
        ASSERT_TRUE(
            (*registrar)
                ->record(setOf(prefix + "-" + std::to_string(i), "M-01", (from + i) * 600, true), { base::OperatorId("hale"), "test" }));
}

void tamper(const std::string& path, const QStringList& statements)
{
    const QString name = QStringLiteral("tamperer");
    {
        QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QSQLITE"), name);
        database.setDatabaseName(text(path));
        ASSERT_TRUE(database.open());
        QSqlQuery query(database);
        for (const auto& statement : statements)
            ASSERT_TRUE(query.exec(statement)) << statement.toStdString();
    }
    QSqlDatabase::removeDatabase(name);
}

std::string withDamagedPage(const std::string& path, const char* table)
{
    std::int64_t page = 0;
    std::int64_t size = 0;
    auto session = store::Session::open(path, store::Session::Access::ReadOnly);
    EXPECT_TRUE(session);
    EXPECT_TRUE(store::eachRow(**session, "SELECT rootpage FROM sqlite_master WHERE name = ?", { store::bound(std::string(table)) },
        [&](const store::Statement& row) {
            page = row.number(0);
            return base::Done();
        }));
    EXPECT_TRUE(store::eachRow(**session, "PRAGMA page_size", {}, [&](const store::Statement& row) {
        size = row.number(0);
        return base::Done();
    }));
    session->reset();
    std::string bytes = readBytes(path);
    EXPECT_GT(page, 1);
    const auto at = static_cast<std::size_t>((page - 1) * size);
    EXPECT_LT(at + static_cast<std::size_t>(size), bytes.size() + 1);
    std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(at), size, '\xee');
    return bytes;
}

QStringList leftovers(const std::string& folder)
{
    return QDir(text(folder)).entryList({ QStringLiteral("*.copying*"), QStringLiteral("*.restoring") }, QDir::Files);
}

} // namespace mk::faults
