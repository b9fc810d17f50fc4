// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string_view>

namespace mk::store {

/// One step of the schema: the text of db/sqlite/NNNN_what.sql, statements split at lines `-- next`.
struct Migration {
    int version;
    std::string_view name;
    std::string_view sql;
};

std::span<const Migration> sqliteMigrations();
std::span<const Migration> postgresqlMigrations();
/// The roles that the migrations of PostgreSQL rest on.
std::string_view postgresqlRoles();

} // namespace mk::store
