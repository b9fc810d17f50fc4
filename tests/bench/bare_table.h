// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QSqlQuery>
#include <QString>

#include <string>

namespace mk::bench {

/// The limits L4 and L5: a table of runs with one covering index and nothing else, in a SQLite file of its own
/// (WAL, synchronous=FULL). Ends the program with a line on standard error where SQLite says no.
class BareTable {
public:
    explicit BareTable(const std::string& path);
    ~BareTable();
    BareTable(const BareTable&) = delete;
    BareTable& operator=(const BareTable&) = delete;

    /// Adds rows in one transaction: a row each, and where asked a record of 300 bytes with its SHA-256.
    void load(int rows, bool records);
    /// L4: one row, one durable commit.
    void commitOne();

private:
    void run(const QString& sql);
    void insert();

    QString m_connection;
    QSqlQuery m_insert;
    QSqlQuery m_insertRecord;
    int m_rows = 0;
};

} // namespace mk::bench
