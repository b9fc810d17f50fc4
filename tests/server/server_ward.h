// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/registrar/registrar.h"
#include "store/copies/verification.h"
#include "support/private_server.h"

#include <memory>
#include <string>

namespace mk::server {

/// One person's window on a ward's registry: a session and its registrar, on the machine's clock.
struct Window {
    std::unique_ptr<store::Session> session;
    std::unique_ptr<store::Registrar> registrar;

    base::Result<std::vector<store::Outcome>> record(const registry::Act& act, const std::string& id = {});
};

/// A small ward on a server: founded by the keeper of the schema, its catalogue recorded by the coordinator.
/// Meters M1 to M8 of one model, strip vial V1, control vials L1 and H1, operators N1 and C1.
class ServerWard {
public:
    explicit ServerWard(support::PrivateServer& server = support::PrivateServer::shared());

    support::PrivateServer& server() { return m_server; }
    const QString& database() const { return m_database; }
    /// The address of the registry for a login of the server: nurse, coordinator, inspector, keeper; empty: the superuser.
    std::string address(const char* login) const { return m_server.address(m_database, QString::fromLatin1(login)); }
    Window open(const std::string& address, store::Session::Access access = store::Session::Access::ReadWrite) const;
    Window open(const char* login) const { return open(address(login)); }

    /// One run of a set that began when the test did.
    static registry::acts::ControlRun run(
        const std::string& set, const std::string& meter, registry::Level level, const std::string& result);
    store::Verification verification() const;

private:
    support::PrivateServer& m_server;
    QString m_database;
};

base::Moment now();

} // namespace mk::server
