// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/copies/copying.h"
#include "store/read/reader.h"

#include <optional>
#include <string>
#include <vector>

/// Copies of a registry that are read back and proven before anybody relies on them.
namespace mk::store {

struct BackupRequest {
    std::string to;          ///< a file that is not there yet, or a folder that is: then the copy's name is made of day and entry
    std::optional<int> keep; ///< in a folder: so many of this registry's copies stay, the oldest others go
    Author author;
    Clock clock = machineClock;
};

struct MadeCopy {
    std::string copy;
    Head head;                      ///< of the copy
    std::optional<base::Seq> noted; ///< the entry `backup.made` in the registry
    std::string notNotedBecause;
    std::vector<std::string> removed;     ///< older copies
    std::vector<std::string> notReadable; ///< files that have the name of a copy and are none
    std::int64_t secretsLeft = 0;
};

/// Copies while others write, reads the copy back, proves chain and index, and notes it in the registry.
/// errors  Conflict: the file exists; Refused: the folder holds a newer copy of this registry than the registry itself; Damaged: it does
/// not hold; Full, Io
base::Result<MadeCopy> backUp(Session& session, const BackupRequest& request);

/// What the registry knows of its copies.
struct CopyStanding {
    std::optional<registry::Record<registry::acts::BackupMade>> newest;
    int days = 1;         ///< the policy's
    bool overdue = false; ///< also where there is none although the registry is that old
};
base::Result<CopyStanding> copyStanding(Reader& reader, base::Moment now);

} // namespace mk::store
