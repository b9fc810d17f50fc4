// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <string>

/// Files on their way to a place where something else lies or nothing may be overwritten.
namespace mk::store {

/// A name beside a path, on the same disk, that no file has.
std::string nameBeside(const std::string& path, const std::string& ending);

/// A file under a temporary name, removed with what belongs to it unless it was put in place.
class StagedFile {
public:
    /// place  where it shall lie in the end; the temporary name is beside it
    explicit StagedFile(const std::string& place);
    ~StagedFile();
    StagedFile(const StagedFile&) = delete;
    StagedFile& operator=(const StagedFile&) = delete;

    const std::string& path() const { return m_path; }
    /// Byte by byte, with a log of SQLite's that lies beside it. errors  Io, Full
    base::Done copyFrom(const std::string& file);
    /// Onto the disk, and under a name that nothing has yet. errors  Conflict, Io
    base::Done putAt(const std::string& place);
    /// Onto the disk, and in the place of whatever lies there: at every moment one of the two is there.
    base::Done putInPlaceOf(const std::string& place);

private:
    base::Done settle();
    std::string m_path;
    bool m_there = true;
};

/// A second name for a file; a copy of it where the disk knows no second names. errors  Io, Full, Conflict
base::Done keepAlso(const std::string& file, const std::string& name);

/// SQLite's log and journal of a file that is gone, or about to go, under the names of `kept`: they must not meet another file.
base::Done setLogsAside(const std::string& file, const std::string& kept);

/// What was renamed in the folder of that file survives a loss of power.
base::Done settleFolder(const std::string& file);

std::string fileName(const std::string& path);

} // namespace mk::store
