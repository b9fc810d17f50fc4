// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/engines/server_care.h"

#include "store/db/address.h"
#include "store/engines/postgresql.h"
#include "store/db/migrations.h"

namespace mk::store {

using base::Result;

namespace {

Result<Address> serverAt(const std::string& place)
{
    auto address = Address::parse(place);
    if (address && !address->isServer())
        return base::badInput("%1 is a file, which needs no such care; name a server with --registry postgresql://…", place);
    return address;
}

} // namespace

std::string_view rolesScript()
{
    return postgresqlRoles();
}

Result<Upgraded> upgradeServer(const std::string& place, const PasswordSource& password)
{
    const auto address = serverAt(place);
    if (!address)
        return address.error();
    return PostgresqlEngine::upgrade(*address, password);
}

Result<std::string> startMonth(const std::string& place, const PasswordSource& password)
{
    const auto address = serverAt(place);
    if (!address)
        return address.error();
    return PostgresqlEngine::startMonth(*address, password);
}

} // namespace mk::store
