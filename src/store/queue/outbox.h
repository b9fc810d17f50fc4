// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/registrar/registrar.h"

#include <array>
#include <memory>
#include <span>
#include <string>
#include <vector>

class QFile;
class QLockFile;

namespace mk::store {

/// Locks and unlocks a queue; wiped when it goes.
struct OutboxKey {
    std::array<unsigned char, 32> bytes {};
    OutboxKey() = default;
    OutboxKey(const OutboxKey&) = default;
    OutboxKey& operator=(const OutboxKey&) = default;
    ~OutboxKey();
    static OutboxKey fresh();
};

/// Acts that one person saved together while the server was away.
struct KeptActs {
    std::uint64_t number = 0; ///< of the record in the file
    std::vector<NewAct> acts; ///< each with its id, made before the first try, and the moment it was kept
    base::MeterId meter;
    Author author;
    base::Moment since;
};

/// Kept acts that the registry did not take when they were delivered.
struct RefusedActs {
    KeptActs kept;
    std::string reason;
};

/// The queue of one workstation for one registry: a file of encrypted records, each bound to its place, written to the disk before it
/// counts as kept. A record changed, moved or taken out of the middle is found; the last ones cut off at a record's end are not,
/// as is a whole queue that was removed: who can write the file can destroy it, and never read or forge it.
/// thread  its owner's; one program at a time has it open
class Outbox {
public:
    /// folder  of the user's data; place  the address of the registry
    /// errors  Busy (another window has it), Denied (locked with another key; the file stays as it is), Io, Full
    static base::Result<std::unique_ptr<Outbox>> open(const std::string& folder, const std::string& place, const OutboxKey& key);
    /// Is there a queue of this registry with anything in it?
    static bool holdsSomething(const std::string& folder, const std::string& place);
    ~Outbox();

    /// Keeps acts; they count as kept when this returns.
    /// acts    each with its id
    /// errors  Full, Io: nothing was kept
    base::Done keep(std::span<const NewAct> acts, const base::MeterId& meter, const Author& author, base::Moment since);
    /// The registry has them.
    base::Done delivered(std::uint64_t number);
    /// The registry did not take them: they stay here until a person has read why.
    base::Done setAside(std::uint64_t number, const std::string& reason);
    /// A person has read of everything that was set aside.
    base::Done readAll();

    const std::vector<KeptActs>& waiting() const { return m_waiting; }
    const std::vector<RefusedActs>& aside() const { return m_aside; }
    /// What was wrong with the file when it was opened, for people; empty where nothing was.
    const std::string& trouble() const { return m_trouble; }
    const std::string& path() const { return m_path; }

private:
    Outbox(std::string path, std::string place, const OutboxKey& key);
    base::Done read();
    base::Done readRecords(const std::string& bytes);
    base::Done startFile();
    base::Done write(const std::string& plain);
    base::Done writeSettled(const std::string& what, std::uint64_t number, const std::string& reason);
    base::Done apply(std::uint64_t number, const std::string& plain);
    base::Done mendFile();
    base::Done emptyWhereDone();
    std::string associated(std::uint64_t number) const;

    std::string m_path;
    std::string m_place;
    OutboxKey m_key;
    std::string m_fileId;
    std::uint64_t m_next = 1;
    std::vector<KeptActs> m_waiting;
    std::vector<RefusedActs> m_aside;
    std::string m_trouble;
    std::unique_ptr<QFile> m_file;
    std::unique_ptr<QLockFile> m_lock;
};

} // namespace mk::store
