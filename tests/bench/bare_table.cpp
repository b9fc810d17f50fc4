// SPDX-License-Identifier: GPL-3.0-or-later
#include "bare_table.h"

#include "bench_ward.h"

#include <QSqlDatabase>
#include <QSqlError>

#include <openssl/evp.h>

#include <array>

namespace mk::bench {

namespace {

/// SHA-256 with the algorithm fetched once and the context used again.
class BareDigest {
public:
    BareDigest() = default;
    ~BareDigest()
    {
        EVP_MD_CTX_free(m_context);
        EVP_MD_free(m_algorithm);
    }
    BareDigest(const BareDigest&) = delete;
    BareDigest& operator=(const BareDigest&) = delete;

    QByteArray of(const QByteArray& bytes)
    {
        QByteArray digest(32, '\0');
        if (EVP_DigestInit_ex2(m_context, m_algorithm, nullptr) != 1
            || EVP_DigestUpdate(m_context, bytes.constData(), static_cast<std::size_t>(bytes.size())) != 1
            || EVP_DigestFinal_ex(m_context, reinterpret_cast<unsigned char*>(digest.data()), nullptr) != 1)
            giveUp("OpenSSL cannot compute SHA-256");
        return digest;
    }

private:
    EVP_MD* m_algorithm = EVP_MD_fetch(nullptr, "SHA256", nullptr);
    EVP_MD_CTX* m_context = EVP_MD_CTX_new();
};

} // namespace

BareTable::BareTable(const std::string& path) : m_connection(QStringLiteral("bare ") + QString::fromStdString(path))
{
    QSqlDatabase database = QSqlDatabase::addDatabase(QStringLiteral("QSQLITE"), m_connection);
    database.setDatabaseName(QString::fromStdString(path));
    if (!database.open())
        giveUp(database.lastError().text().toStdString());
    run(QStringLiteral("PRAGMA journal_mode=WAL"));
    run(QStringLiteral("PRAGMA synchronous=FULL"));
    run(QStringLiteral(
        "CREATE TABLE run (id INTEGER PRIMARY KEY, meter INTEGER, month INTEGER, level INTEGER, at INTEGER, z REAL, bad INTEGER)"));
    run(QStringLiteral("CREATE INDEX run_covering ON run (meter, month, level, at, z, bad)"));
    run(QStringLiteral("CREATE TABLE record (id INTEGER PRIMARY KEY, body BLOB, digest BLOB)"));
    m_insert = QSqlQuery(database);
    m_insertRecord = QSqlQuery(database);
    if (!m_insert.prepare(QStringLiteral("INSERT INTO run (meter, month, level, at, z, bad) VALUES (?, ?, ?, ?, ?, ?)"))
        || !m_insertRecord.prepare(QStringLiteral("INSERT INTO record (id, body, digest) VALUES (?, ?, ?)")))
        giveUp("the bare inserts cannot be prepared");
}

BareTable::~BareTable()
{
    m_insert = QSqlQuery();
    m_insertRecord = QSqlQuery();
    QSqlDatabase::database(m_connection, false).close();
    QSqlDatabase::removeDatabase(m_connection);
}

void BareTable::run(const QString& sql)
{
    QSqlQuery query(QSqlDatabase::database(m_connection, false));
    if (!query.exec(sql))
        giveUp(query.lastError().text().toStdString());
}

void BareTable::insert()
{
    const int row = m_rows++;
    m_insert.bindValue(0, row % 137);
    m_insert.bindValue(1, row / 9000);
    m_insert.bindValue(2, row % 2);
    m_insert.bindValue(3, 1'546'300'800'000LL + row * 317LL);
    m_insert.bindValue(4, 0.001 * (row * 37 % 4000) - 2);
    m_insert.bindValue(5, row % 200 == 0 ? 1 : 0);
    if (!m_insert.exec())
        giveUp(m_insert.lastError().text().toStdString());
}

void BareTable::load(int rows, bool records)
{
    BareDigest digest;
    QByteArray record(300, 'x');
    run(QStringLiteral("BEGIN IMMEDIATE"));
    for (int i = 0; i < rows; ++i) {
        insert();
        if (!records)
            continue;
        record.replace(0, 8, QByteArray::number(10'000'000 + m_rows));
        m_insertRecord.bindValue(0, m_rows);
        m_insertRecord.bindValue(1, record);
        m_insertRecord.bindValue(2, digest.of(record));
        if (!m_insertRecord.exec())
            giveUp(m_insertRecord.lastError().text().toStdString());
    }
    run(QStringLiteral("COMMIT"));
}

void BareTable::commitOne()
{
    insert();
}

} // namespace mk::bench
