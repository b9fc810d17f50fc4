// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <string>
#include <utility>
#include <vector>

namespace mk::store {

/// Where a registry lives: a file, or a schema `meterkeep` in a PostgreSQL database.
struct Address {
    std::string file; ///< of a file registry; empty for a server
    std::string host; ///< name, IP address, or the folder of a socket; empty: libpq's own choice, or that of the service
    int port = 0;     ///< 0: libpq's own choice
    std::string database;
    std::string user;
    /// Connection parameters of libpq that a person may set: sslmode, sslrootcert, sslcert, sslkey, service, connect_timeout.
    std::vector<std::pair<std::string, std::string>> parameters;

    bool isServer() const { return file.empty(); }
    /// Without secrets; for messages.
    base::Arg said() const;
    /// The same in English, for logs and the journal.
    std::string inWords() const { return said().text; }

    /// text    a path, or postgresql://[user@][host][:port][/database][?name=value&…] with percent-encoding
    /// errors  BadInput naming the part: a password (it would stand in the process list), an unknown parameter, a weak sslmode for another
    /// machine
    static base::Result<Address> parse(const std::string& text);
};

} // namespace mk::store
