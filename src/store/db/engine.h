// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/address.h"
#include "store/db/session.h"

#include <QString>

class QSqlError;

namespace mk::store {

/// What differs between SQLite and PostgreSQL; everything else in the store is the same SQL for both.
class Engine {
public:
    virtual ~Engine() = default;
    Engine() = default;
    Engine(const Engine&) = delete;
    Engine& operator=(const Engine&) = delete;

    virtual bool isServer() const = 0;
    /// What the driver said, for people. place  the registry, in words
    virtual base::Fault fault(const QSqlError& error, const base::Arg& place) const = 0;
    /// Begins a transaction with the write lock held, waiting for it as long as somebody at a window would. errors  Busy
    virtual base::Done takeWriteLock(Session& session) const = 0;
    /// What begins a transaction that shows an unchanging view.
    virtual const char* beginRead() const = 0;
    /// Can BEGIN and COMMIT be prepared?
    virtual bool preparesControl() const = 0;
    /// Must a result that was begun survive other statements of the session? Then the driver has to hold it whole.
    virtual bool keepsOpenResults() const = 0;
    /// Is the registry still the one that was opened? A file may be removed or replaced under the program.
    virtual base::Done inPlace() const { return {}; }
    /// The same with the write lock held, and looking closer where something wrote to it.
    virtual base::Done sameRegistry(Session&) { return {}; }
    /// After it was not, outside of a transaction.
    virtual void letGo(Session&) { }
    /// Opens the lost connection to a server anew. errors  Unreachable; another registry by now
    virtual base::Done openAgain(Session&) { return {}; }
    /// Where a server announces each commit of entries; a file has none.
    virtual QString channel() const { return {}; }
    /// Where the schema differs from what the migrations make: for `verify`.
    struct SchemaCheck {
        std::vector<base::Arg> differs;
        std::vector<std::string> unverified;
    };
    virtual base::Result<SchemaCheck> checkSchema(Session& session, Session& scratch) const = 0;
};

} // namespace mk::store
