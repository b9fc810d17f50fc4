// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "base/result.h"

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <utility>

namespace mk::store {

class Session;

/// Where a registry's file lay when it was opened. SQLite goes on with a file that was removed or replaced, and what is then stored is in
/// no registry; so each writing, and each look at the head, asks whether the file under the name is still the same one.
class SqlitePlace {
public:
    SqlitePlace() = default;                ///< none: every check passes
    explicit SqlitePlace(std::string path); ///< of a file that this process has just made
    /// Looks at a file before SQLite opens it: is it one of SQLite's, and is its log whole? Only where this process does not have it open
    /// already: closing a file, however it was opened, drops the locks that SQLite holds on it for the whole process.
    /// errors NotFound, BadInput, Io, Damaged
    static base::Result<SqlitePlace> enter(const std::string& path);

    /// Are the file and its two companions those that are open? errors NotFound, Damaged
    base::Done check() const;
    /// With the write lock held. Where the file was written to since the last time, by a checkpoint or by a copy laid over it, it is read
    /// anew, and must hold the founding and the newest entry of that time.
    base::Done checkCloser(Session& session);
    /// Does another file lie under the name? Then what the log holds must not be laid over that one.
    bool isReplaced() const;

private:
    using File = std::pair<std::uint64_t, std::uint64_t>; ///< device and inode
    struct Forget {
        void operator()(const File* file) const;
    };
    struct Entry {
        base::Seq seq;
        std::string digest;
    };
    base::Done readAnew() const;

    std::string m_path;
    std::optional<File> m_file, m_log, m_shared;
    std::unique_ptr<const File, Forget> m_openHere;
    std::pair<std::int64_t, std::int64_t> m_written {}; ///< when, to the nanosecond, and how long it was
    std::optional<Entry> m_founding, m_newest;
};

} // namespace mk::store
