// SPDX-License-Identifier: GPL-3.0-or-later
// Which engine a place asks for: the one part of Session that knows them all.
#include "store/engines/postgresql.h"
#include "store/engines/sqlite.h"

namespace mk::store {

int Session::newestSchema()
{
    return SqliteEngine::newestSchema();
}

base::Result<std::unique_ptr<Session>> Session::create(const std::string& place, const PasswordSource& password)
{
    const auto address = Address::parse(place);
    if (!address)
        return address.error();
    return address->isServer() ? PostgresqlEngine::create(*address, password) : SqliteEngine::create(address->file);
}

base::Result<std::unique_ptr<Session>> Session::open(const std::string& place, Access access, const PasswordSource& password)
{
    const auto address = Address::parse(place);
    if (!address)
        return address.error();
    return address->isServer() ? PostgresqlEngine::open(*address, access, password) : SqliteEngine::open(address->file, access);
}

base::Result<std::unique_ptr<Session>> Session::scratch()
{
    return SqliteEngine::scratch();
}

} // namespace mk::store
