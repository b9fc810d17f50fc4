// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/session.h"

#include <string_view>

/// What the person who looks after the server does now and then.
namespace mk::store {

/// db/postgresql/roles.sql, to be run once by the database's administrator.
std::string_view rolesScript();

/// Brings the schema on a server up to date; as a member of meterkeep_migrate. Returns the versions before and after.
/// errors BadInput (no server), NotFound, NewerFormat, Denied, Unreachable
struct Upgraded {
    std::int64_t before = 0, after = 0;
};
base::Result<Upgraded> upgradeServer(const std::string& place, const PasswordSource& password);

/// Lets new entries go into a partition of their own once a new month has begun. Returns the name of the newest partition.
base::Result<std::string> startMonth(const std::string& place, const PasswordSource& password);

} // namespace mk::store
