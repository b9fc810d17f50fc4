// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/engines/postgresql.h"

#include "store/index/index.h"
#include "store/db/migrations.h"
#include "store/db/rows.h"
#include "store/journal/journal.h"

#include <QDir>
#include <QFile>
#include <QSqlDatabase>
#include <QSqlError>
#include <QUuid>

#include <sodium.h>

#include <algorithm>
#include <map>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

/// Whether a failed connection asks for a password, in libpq's or the server's words.
bool wantsPassword(const std::string& said)
{
    return said.find("no password supplied") != std::string::npos;
}

Fault connectionFault(const QSqlError& error, const base::Arg& place)
{
    const std::string said = error.databaseText().simplified().toStdString();
    const auto says = [&](const char* words) { return said.find(words) != std::string::npos; };
    if (wantsPassword(said))
        return base::fault(FaultKind::Denied, "%1 asks for a password; give it when asked, or keep it in the system's key store", place);
    if (says("password authentication failed") || says("authentication failed"))
        return base::fault(FaultKind::Denied, "%1 did not accept the user or the password; check both", place);
    if (says("pg_hba.conf") || says("not permitted to log in"))
        return base::fault(
            FaultKind::Denied, "%1 does not let this user in from here; ask the person who looks after the server (%2)", place, said);
    if (says("certificate") || says("SSL"))
        return base::fault(FaultKind::Denied,
            "the encrypted connection to %1 cannot be trusted: %2. Check sslrootcert, or ask the person who looks after the server", place,
            said);
    if (says("does not exist"))
        return base::fault(FaultKind::NotFound, "%1 is not there: %2. Check the name in --registry", place, said);
    return base::fault(FaultKind::Unreachable,
        "%1 cannot be reached (%2), and nothing was sent; check the network, or go on with the paper form and try again", place, said);
}

/// A service's section may not hold a password: a file is read by backups, and by whoever gets at the disk.
Done withoutPasswordInFile(const std::string& service)
{
    const QString own = qEnvironmentVariableIsEmpty("PGSERVICEFILE") ? QDir::home().filePath(QStringLiteral(".pg_service.conf"))
                                                                     : qEnvironmentVariable("PGSERVICEFILE");
    const QString system = qEnvironmentVariableIsEmpty("PGSYSCONFDIR") ? QStringLiteral("/etc/postgresql-common")
                                                                       : qEnvironmentVariable("PGSYSCONFDIR");
    for (const QString& path : { own, system + QStringLiteral("/pg_service.conf") }) {
        QFile file(path);
        if (!file.open(QIODevice::ReadOnly | QIODevice::Text))
            continue;
        bool inSection = false;
        while (!file.atEnd()) {
            const QByteArray line = file.readLine(4096).trimmed();
            if (line.startsWith('['))
                inSection = line == QByteArray::fromStdString("[" + service + "]");
            else if (inSection && (line.startsWith("password") || line.startsWith("passfile")) && line.contains('='))
                return base::fault(FaultKind::Denied,
                    "the service %1 in %2 names a password; take that line out: the password is asked for, or kept in the system's key store",
                    service, path.toStdString());
        }
    }
    return {};
}

} // namespace

PostgresqlEngine::PostgresqlEngine(Address address, Session::Access access, PasswordSource password)
    : m_address(std::move(address)),
      m_access(access),
      m_askPassword(std::move(password))
{
}

PostgresqlEngine::~PostgresqlEngine()
{
    sodium_memzero(m_password.data(), m_password.size());
}

int PostgresqlEngine::newestSchema()
{
    return postgresqlMigrations().back().version;
}

Fault PostgresqlEngine::fault(const QSqlError& error, const base::Arg& place) const
{
    const std::string code = error.nativeErrorCode().toStdString();
    // Where in a function of ours it was raised helps nobody at the desk.
    const std::string said = error.databaseText().section(QStringLiteral("\nCONTEXT:"), 0, 0).simplified().toStdString();
    if (code.empty() || code.starts_with("08") || code.starts_with("57P"))
        return said.empty()
            ? base::fault(FaultKind::Unreachable,
                "%1 went away in the middle (no answer). What was on its way may or may not have arrived: check the network, look whether it is there, then try again",
                place)
            : base::fault(FaultKind::Unreachable,
                "%1 went away in the middle (%2). What was on its way may or may not have arrived: check the network, look whether it is there, then try again",
                place, said);
    if (code == "55P03" || code == "57014")
        return base::fault(FaultKind::Busy,
            "%1 is held by another program for too long; nothing was stored. Try again; if it stays, the person who looks after the server sees in pg_locks who holds it",
            place);
    if (code == "40001" || code == "40P01")
        return base::fault(FaultKind::Busy, "%1 was busy with another entry; try again", place);
    if (code == "53100")
        return base::fault(FaultKind::Full,
            "the disk of %1 is full; nothing was stored. Tell the person who looks after the server, and go on with the paper form", place);
    if (code == "25006")
        return base::fault(FaultKind::ReadOnly,
            "%1 is opened for reading only, or is a copy for reading; nothing was stored. Name the main server with --registry", place);
    if (code == "42501" || code == "MK003")
        return base::fault(FaultKind::Denied,
            "the database user may not do that on %1 (%2); nothing was stored. Ask for the right role (record, review)", place, said);
    if (code == "MK001" || code == "MK002" || code.starts_with("23"))
        return base::fault(FaultKind::Damaged, "%1 refused an entry: %2", place, said);
    if (code.starts_with("42") || code.starts_with("3F"))
        return base::fault(FaultKind::Damaged, "%1 lacks a part that a registry has (%2); run verify", place, said);
    if (code.starts_with("XX"))
        return base::fault(FaultKind::Damaged, "%1 is damaged: %2. Keep it as it is and restore a backup", place, said);
    if (code.starts_with("22"))
        return base::fault(FaultKind::BadInput, "%1 cannot store what was given: %2", place, said);
    return base::fault(FaultKind::Io, "%1: %2 (PostgreSQL %3)", place, said, code);
}

Done PostgresqlEngine::takeWriteLock(Session& session) const
{
    return session.control("BEGIN; SELECT pg_advisory_xact_lock(1299476336, 1)"); // the server lets them in as they came
}

Done PostgresqlEngine::openConnection(Session& session)
{
    QSqlDatabase database = session.database();
    const auto text = [](const std::string& each) { return QString::fromStdString(each); };
    database.setHostName(text(m_address.host));
    database.setPort(m_address.port == 0 ? -1 : m_address.port);
    database.setDatabaseName(text(m_address.database));
    database.setUserName(text(m_address.user));
    database.setPassword(text(m_password));
    // A dead line is noticed within seconds; a password file is never read.
    // The driver asks while it opens how texts are quoted, so the server's own setting must not stand in between.
    QString options = QStringLiteral(
        "options='-c standard_conforming_strings=on';application_name=Meterkeep;keepalives_idle=5;keepalives_interval=2;keepalives_count=3;tcp_user_timeout=10000;passfile=none");
    bool timeout = false;
    for (const auto& [name, value] : m_address.parameters) {
        options += QStringLiteral(";%1='%2'").arg(text(name), text(value));
        timeout = timeout || name == "connect_timeout";
        if (name == "service")
            if (const Done clean = withoutPasswordInFile(value); !clean)
                return clean;
    }
    if (!timeout)
        options += QStringLiteral(";connect_timeout=5");
    database.setConnectOptions(options);
    bool opened = database.open();
    if (!opened && m_password.empty() && m_askPassword && wantsPassword(database.lastError().databaseText().toStdString())) {
        auto given = m_askPassword(m_address);
        if (!given)
            return given.error();
        m_password = std::move(given).value();
        database.setPassword(text(m_password));
        opened = database.open();
    }
    if (!opened)
        return connectionFault(database.lastError(), m_address.said());
    database.setPassword(QString()); // QSqlDatabase would keep it
    QString settings = QStringLiteral(
        "SET search_path = meterkeep, pg_temp; SET lock_timeout = '10s'; SET synchronous_commit = on; SET TimeZone = 'UTC';"
        " SET client_min_messages = error; SET extra_float_digits = 1;"
        // What is read under the lock was written before it was had.
        " SET default_transaction_isolation = 'read committed'");
    // A plan that was prepared while its table was still empty would go on reading the table whole. One plan for all values is enough where
    // every question goes by an index, and compiling plans, which that estimate of cost would set off, takes longer than the questions.
    settings += QStringLiteral("; SET enable_seqscan = off; SET plan_cache_mode = force_generic_plan; SET jit = off");
    if (m_access == Session::Access::ReadOnly)
        settings += QStringLiteral("; SET default_transaction_read_only = on");
    return session.runText(settings);
}

QString PostgresqlEngine::channel() const
{
    return QStringLiteral("meterkeep_journal");
}

Done PostgresqlEngine::openAgain(Session& session)
{
    session.database().close();
    if (const Done opened = openConnection(session); !opened)
        return opened;
    const auto found = identity(session);
    if (!found)
        return found.error();
    if (m_identity.empty() || *found == m_identity)
        return {};
    session.database().close();
    return base::fault(FaultKind::Conflict,
        "%1 is no longer the registry that was opened here, or was upgraded; nothing was stored. Close this program and start it again; if that does not help, ask the person who looks after the server",
        session.place());
}

Result<std::string> PostgresqlEngine::identity(Session& session)
{
    const auto version = schema(session);
    if (!version)
        return version.error();
    static const Sql sql({ Entry::table }, "SELECT digest FROM journal WHERE seq = 1");
    std::string first;
    if (*version > 0)
        if (const Done read = eachRow(session, sql, {},
                [&](const Statement& row) {
                    first = row.text("digest");
                    return Done();
                });
            !read)
            return read.error();
    return std::to_string(*version) + " " + first;
}

Result<std::unique_ptr<Session>> PostgresqlEngine::connect(const Address& address, Session::Access access, const PasswordSource& password)
{
    const QString name = QUuid::createUuid().toString(QUuid::WithoutBraces);
    if (!QSqlDatabase::addDatabase(QStringLiteral("QPSQL"), name).isValid())
        return base::fault(FaultKind::Io, "the PostgreSQL driver of Qt is missing; install the package libqt6sql6-psql");
    auto engine = std::make_unique<PostgresqlEngine>(address, access, password);
    PostgresqlEngine& mine = *engine;
    std::unique_ptr<Session> session(new Session(address.said(), name, std::move(engine)));
    if (const Done opened = mine.openConnection(*session); !opened)
        return opened.error();
    return session;
}

/// The version of the schema; 0 where there is none.
Result<std::int64_t> PostgresqlEngine::schema(Session& session)
{
    std::int64_t version = 0;
    bool there = false;
    Done read = eachRow(session, "SELECT to_regclass('meterkeep.schema_version') IS NOT NULL AS there", {}, [&](const Statement& row) {
        there = row.value("there").toBool();
        return Done();
    });
    if (read && there)
        read = eachRow(session, "SELECT coalesce(max(version), 0) AS version FROM meterkeep.schema_version", {}, [&](const Statement& row) {
            version = row.number("version");
            return Done();
        });
    if (!read)
        return read.error();
    return version;
}

Done PostgresqlEngine::migrate(Session& session, std::int64_t from)
{
    for (const auto& migration : postgresqlMigrations()) {
        if (migration.version <= from)
            continue;
        const QString version = QStringLiteral("; INSERT INTO meterkeep.schema_version (version) VALUES (%1)").arg(migration.version);
        if (const Done begun = session.runText(QStringLiteral("BEGIN")); !begun)
            return begun;
        Done done = session.runText(QString::fromUtf8(migration.sql.data(), static_cast<qsizetype>(migration.sql.size())) + version);
        if (done)
            done = session.runText(QStringLiteral("COMMIT"));
        if (!done) {
            static_cast<void>(session.runText(QStringLiteral("ROLLBACK")));
            return done;
        }
    }
    return {};
}

Result<std::unique_ptr<Session>> PostgresqlEngine::create(const Address& address, const PasswordSource& password)
{
    auto session = connect(address, Session::Access::ReadWrite, password);
    if (!session)
        return session.error();
    const auto version = schema(**session);
    if (!version)
        return version.error();
    if (*version > 0)
        return base::fault(FaultKind::Conflict, "%1 holds a registry already; name a database without one", (*session)->place());
    bool roles = false;
    bool mayMake = false;
    const Done read = eachRow(**session,
        "SELECT count(*) = 4 AS roles, coalesce(bool_or(rolname = 'meterkeep_migrate' AND pg_has_role(session_user, oid, 'MEMBER')), false) AS may_make FROM pg_roles"
        " WHERE rolname IN ('meterkeep_record', 'meterkeep_review', 'meterkeep_inspect', 'meterkeep_migrate')",
        {}, [&](const Statement& row) {
            roles = row.value("roles").toBool();
            mayMake = row.value("may_make").toBool();
            return Done();
        });
    if (!read)
        return read.error();
    if (!roles)
        return base::fault(FaultKind::NotFound,
            "%1 lacks the four roles of a registry; let the database's administrator run roles.sql (meterkeep-cli server roles prints it)",
            (*session)->place());
    if (!mayMake)
        return base::fault(FaultKind::Denied,
            "only a member of the role meterkeep_migrate makes a registry on %1; ask the person who looks after the server",
            (*session)->place());
    if (const Done migrated = migrate(**session, 0); !migrated)
        return migrated.error();
    return session;
}

Result<std::unique_ptr<Session>> PostgresqlEngine::open(const Address& address, Session::Access access, const PasswordSource& password)
{
    auto session = connect(address, access, password);
    if (!session)
        return session.error();
    const auto version = schema(**session);
    if (!version)
        return version.error();
    if (*version == 0)
        return base::fault(
            FaultKind::NotFound, "there is no registry in %1; found one with init, or name another with --registry", (*session)->place());
    if (*version > newestSchema())
        return base::fault(FaultKind::NewerFormat,
            "%1 is kept by a later version of Meterkeep (schema %2, known here %3); it was not touched. Update this program",
            (*session)->place(), *version, newestSchema());
    if (*version < newestSchema())
        return base::fault(FaultKind::NewerFormat,
            "%1 is kept by an earlier version of Meterkeep (schema %2); let the person who looks after the server run 'meterkeep-cli server upgrade'",
            (*session)->place(), *version);
    auto found = identity(**session);
    if (!found)
        return found.error();
    static_cast<PostgresqlEngine&>(*(*session)->m_engine).m_identity = std::move(found).value();
    return session;
}

Result<Upgraded> PostgresqlEngine::upgrade(const Address& address, const PasswordSource& password)
{
    auto session = connect(address, Session::Access::ReadWrite, password);
    if (!session)
        return session.error();
    const auto before = schema(**session);
    if (!before)
        return before.error();
    if (*before == 0)
        return base::fault(FaultKind::NotFound, "there is no registry in %1; found one with init", (*session)->place());
    if (*before > newestSchema())
        return base::fault(FaultKind::NewerFormat, "%1 is kept by a later version of Meterkeep (schema %2); update this program",
            (*session)->place(), *before);
    if (const Done migrated = migrate(**session, *before); !migrated)
        return migrated.error();
    return Upgraded { *before, newestSchema() };
}

namespace {

/// What the only column of a statement holds.
Result<std::vector<std::string>> namesOf(Session& session, const char* sql, const QVariantList& values = {})
{
    std::vector<std::string> names;
    const Done read = eachRow(session, sql, values, [&](const Statement& row) {
        names.push_back(row.textOr(0).value_or(""));
        return Done();
    });
    if (!read)
        return read.error();
    return names;
}

/// What the migrations say, in one text: a function's body must stand in it word for word.
std::string allMigrations()
{
    std::string all;
    for (const auto& migration : postgresqlMigrations())
        all += migration.sql;
    return all;
}

struct GuardCheck {
    const char* what;
    const char* sql; ///< a row for each thing that is not as it should be
};

constexpr GuardCheck kGuards[] = {
    { QT_TRANSLATE_NOOP("Term", "a trigger that keeps the journal"),
        "SELECT c.relname || '.' || t.name FROM pg_class c CROSS JOIN (VALUES ('journal_guard'), ('journal_never_changed'), ('journal_never_emptied')) AS t(name)"
        " WHERE (c.oid = 'meterkeep.journal'::regclass OR c.oid IN (SELECT inhrelid FROM pg_inherits WHERE inhparent = 'meterkeep.journal'::regclass))"
        " AND NOT EXISTS (SELECT 1 FROM pg_trigger g WHERE g.tgrelid = c.oid AND g.tgname = t.name AND g.tgenabled = 'O') ORDER BY 1" },
    { QT_TRANSLATE_NOOP("Term", "a trigger that keeps the ids"),
        "SELECT 'journal_id' WHERE NOT EXISTS (SELECT 1 FROM pg_trigger WHERE tgrelid = 'meterkeep.journal_id'::regclass AND tgname = 'journal_id_never_changed' AND tgenabled = 'O')" },
    { QT_TRANSLATE_NOOP("Term", "a right to change or delete"),
        "SELECT DISTINCT c.relname || ' for ' || coalesce(r.rolname, 'everybody') FROM pg_class c CROSS JOIN LATERAL aclexplode(c.relacl) a LEFT JOIN pg_roles r ON r.oid = a.grantee"
        " WHERE c.relnamespace = 'meterkeep'::regnamespace AND a.grantee <> c.relowner AND (a.privilege_type IN ('DELETE', 'TRUNCATE', 'TRIGGER')"
        " OR (a.privilege_type = 'UPDATE' AND c.relkind IN ('r', 'p'))) ORDER BY 1" },
    { QT_TRANSLATE_NOOP("Term", "a right to change columns of the journal"),
        "SELECT DISTINCT c.relname || '.' || t.attname FROM pg_class c JOIN pg_attribute t ON t.attrelid = c.oid CROSS JOIN LATERAL aclexplode(t.attacl) a"
        " WHERE c.relnamespace = 'meterkeep'::regnamespace AND c.relname LIKE 'journal%' AND a.privilege_type = 'UPDATE' ORDER BY 1" },
    { QT_TRANSLATE_NOOP("Term", "an id that the journal does not have, or an entry without its id"),
        "SELECT coalesce(i.id, j.id) FROM journal j FULL JOIN journal_id i ON i.id = j.id AND i.seq = j.seq WHERE i.id IS NULL OR j.id IS NULL LIMIT 5" },
    { QT_TRANSLATE_NOOP("Term", "an index"),
        "SELECT n.name FROM (VALUES ('act_key_plain'), ('strip_vial_by_ward'), ('control_vial_by_ward'), ('set_verdict_by_set'), ('journal_by_kind'),"
        " ('control_run_by_meter'), ('control_run_by_strip_vial'), ('control_run_by_control_vial'), ('comparison_by_strip_vial'),"
        " ('set_verdict_not_at_once')) AS n(name)"
        " WHERE NOT EXISTS (SELECT 1 FROM pg_class c JOIN pg_index x ON x.indexrelid = c.oid WHERE c.relname = n.name AND c.relnamespace = 'meterkeep'::regnamespace"
        " AND x.indisvalid) ORDER BY 1" },
};

} // namespace

Result<Engine::SchemaCheck> PostgresqlEngine::checkSchema(Session& session, Session& scratch) const
{
    SchemaCheck check;
    std::vector<std::string> tables { "journal" };
    for (const auto& table : indexTables())
        tables.emplace_back(table.name);
    for (const auto& table : tables) {
        const auto stored = namesOf(session,
            "SELECT attname::text FROM pg_attribute WHERE attrelid = to_regclass('meterkeep.' || quote_ident(?)) AND attnum > 0 AND NOT attisdropped ORDER BY attnum",
            { bound(table) });
        const auto wanted = namesOf(scratch, "SELECT name FROM pragma_table_info(?) ORDER BY cid", { bound(table) });
        if (!stored || !wanted)
            return stored ? wanted.error() : stored.error();
        if (*stored != *wanted)
            check.differs.push_back(base::badInput("schema: table %1", table));
    }
    for (const auto& guard : kGuards) {
        const auto found = namesOf(session, guard.sql);
        if (!found)
            return found.error();
        for (const auto& name : *found)
            check.differs.push_back(base::badInput("schema: %1: %2", base::asTerm(guard.what), name));
    }
    const auto bodies = namesOf(session,
        "SELECT coalesce((SELECT prosrc FROM pg_proc WHERE proname = n.name AND pronamespace = 'meterkeep'::regnamespace LIMIT 1), 'absent')"
        " FROM (VALUES ('journal_guard'), ('never_changed'), ('credential_rule'), ('credential_check'), ('credential_set'), ('credential_seals')) AS n(name) ORDER BY n.name");
    if (!bodies)
        return bodies.error();
    const std::string migrations = allMigrations();
    for (const auto& body : *bodies)
        if (migrations.find(body) == std::string::npos)
            check.differs.push_back(base::badInput("schema: a function that keeps the journal"));
    const auto others = namesOf(session,
        "SELECT c.relname::text FROM pg_class c WHERE c.relnamespace = 'meterkeep'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'm', 'f') AND c.relname <> 'journal_id'"
        " AND c.relname <> 'schema_version' AND c.relname <> 'credential' AND c.relname <> 'server_secret' AND NOT EXISTS (SELECT 1 FROM pg_inherits WHERE inhrelid = c.oid) ORDER BY 1");
    if (!others)
        return others.error();
    for (const auto& name : *others)
        if (std::ranges::find(tables, name) == tables.end())
            check.unverified.push_back("table " + name);
    return check;
}

Result<std::string> PostgresqlEngine::startMonth(const Address& address, const PasswordSource& password)
{
    auto session = open(address, Session::Access::ReadWrite, password);
    if (!session)
        return session.error();
    if (const Done role = (*session)->runText(QStringLiteral("SET ROLE meterkeep_migrate")); !role)
        return role.error();
    const auto names = namesOf(**session, "SELECT start_month()");
    if (!names)
        return names.error();
    return names->front();
}

} // namespace mk::store
