// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/engine.h"
#include "store/engines/sqlite_place.h"

namespace mk::store {

/// One file, its log beside it; WAL with a full sync at each commit.
class SqliteEngine final : public Engine {
public:
    static base::Result<std::unique_ptr<Session>> create(const std::string& path);
    static base::Result<std::unique_ptr<Session>> open(const std::string& path, Session::Access access);
    static base::Result<std::unique_ptr<Session>> scratch();
    static int newestSchema();
    /// A file as it lies there: nothing in it is brought up to date. ReadOnly also leaves no trace beside it.
    static base::Result<std::unique_ptr<Session>> look(const std::string& path, Session::Access access);
    /// Is every page and every index of the file sound, as SQLite sees it? errors  Damaged saying what is not
    static base::Done checkPages(Session& session);
    /// Takes a file that nobody else has open out of the mode with a log beside it: then the file alone is the registry. errors  Busy
    static base::Done foldLog(Session& session);

    bool isServer() const override { return false; }
    base::Fault fault(const QSqlError& error, const base::Arg& place) const override;
    base::Done takeWriteLock(Session& session) const override;
    const char* beginRead() const override { return "BEGIN"; }
    bool preparesControl() const override { return true; }
    bool keepsOpenResults() const override { return false; }
    base::Done inPlace() const override;
    base::Done sameRegistry(Session& session) override;
    void letGo(Session& session) override;
    base::Result<SchemaCheck> checkSchema(Session& session, Session& scratch) const override;

private:
    static base::Result<std::unique_ptr<Session>> connect(const std::string& path, Session::Access access, bool isFile);
    static base::Result<std::unique_ptr<Session>> openMigratedCopy(Session& original, std::int64_t version);
    static base::Result<std::int64_t> pragma(Session& session, const char* sql);
    static base::Done checkFormat(Session& session);
    static base::Done migrate(Session& session, int from);
    static void settle(Session& session, SqlitePlace place);

    SqlitePlace m_place;
};

} // namespace mk::store
