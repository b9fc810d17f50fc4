// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/engine.h"
#include "store/engines/server_care.h"

namespace mk::store {

/// The schema `meterkeep` of a PostgreSQL database. Appends wait for one another at an advisory lock; the database itself recomputes each
/// link of the chain and knows which role may append what (db/postgresql).
class PostgresqlEngine final : public Engine {
public:
    PostgresqlEngine(Address address, Session::Access access, PasswordSource password);

    static base::Result<std::unique_ptr<Session>> create(const Address& address, const PasswordSource& password);
    static base::Result<std::unique_ptr<Session>> open(const Address& address, Session::Access access, const PasswordSource& password);
    /// Brings an older schema up to date; for a member of meterkeep_migrate.
    static base::Result<Upgraded> upgrade(const Address& address, const PasswordSource& password);
    /// Cuts the journal where a new month has begun; for a member of meterkeep_migrate. Returns the name of the newest partition.
    static base::Result<std::string> startMonth(const Address& address, const PasswordSource& password);
    static int newestSchema();

    bool isServer() const override { return true; }
    base::Fault fault(const QSqlError& error, const base::Arg& place) const override;
    /// The same lock as journal_guard's: what is judged under it, nobody changes until the commit.
    base::Done takeWriteLock(Session& session) const override;
    const char* beginRead() const override { return "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"; }
    bool preparesControl() const override { return false; }
    bool keepsOpenResults() const override { return true; }
    base::Result<SchemaCheck> checkSchema(Session& session, Session& scratch) const override;

    base::Done openAgain(Session& session) override;
    QString channel() const override;

private:
    static base::Result<std::unique_ptr<Session>> connect(const Address& address, Session::Access access, const PasswordSource& password);
    base::Done openConnection(Session& session);
    static base::Result<std::int64_t> schema(Session& session);
    static base::Done migrate(Session& session, std::int64_t from);

    /// What tells whether it is the same registry: the schema, and the first entry.
    static base::Result<std::string> identity(Session& session);

    Address m_address;
    std::string m_identity; ///< of the registry that was opened first
    Session::Access m_access;
    PasswordSource m_askPassword;
    std::string m_password; ///< for connecting again; wiped with the engine

public:
    ~PostgresqlEngine() override;
};

} // namespace mk::store
