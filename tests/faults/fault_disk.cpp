// SPDX-License-Identifier: GPL-3.0-or-later
#include "fault_disk.h"

#include <gtest/gtest.h>

#include <sqlite3.h>

#include <algorithm>
#include <chrono>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <thread>
#include <vector>

namespace mk::faults {

namespace {

constexpr std::size_t kSector = 512;
using Random = std::mt19937;

bool oneIn(Random& random, unsigned n)
{
    return random() % n == 0;
}

std::string bytesOf(const std::filesystem::path& path)
{
    std::ifstream file(path, std::ios::binary);
    return { std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>() };
}

/// One thing done to a file since its last sync.
struct Change {
    enum class Kind { Made, Written, Cut, Gone };
    Kind kind;
    std::size_t at = 0; ///< of a write; the new length of a cut
    std::string bytes {};
};

/// One file: what a power cut leaves for certain, and what may or may not be there.
struct DiskFile {
    bool there = false;
    std::string durable;
    std::vector<Change> since;
};

void put(std::string& bytes, std::size_t at, std::string_view written, Random& random)
{
    if (bytes.size() < at + written.size()) {
        const char fill = oneIn(random, 2) ? '\0' : static_cast<char>(random()); // grown, but not written: zeros or what lay there
        bytes.resize(at + written.size(), fill);
    }
    std::ranges::copy(written, bytes.begin() + static_cast<std::ptrdiff_t>(at));
}

/// Some of its sectors came, some did not.
void putTorn(std::string& bytes, const Change& change, Random& random)
{
    for (std::size_t from = 0; from < change.bytes.size();) {
        const std::size_t next = std::min(change.bytes.size(), ((change.at + from) / kSector + 1) * kSector - change.at);
        if (oneIn(random, 2))
            put(bytes, change.at + from, std::string_view(change.bytes).substr(from, next - from), random);
        from = next;
    }
}

void apply(DiskFile& file, const Change& change, bool torn, Random& random)
{
    switch (change.kind) {
    case Change::Kind::Made: break;
    case Change::Kind::Written: torn ? putTorn(file.durable, change, random) : put(file.durable, change.at, change.bytes, random); break;
    case Change::Kind::Cut: file.durable.resize(std::min(change.at, file.durable.size())); break;
    case Change::Kind::Gone: file.durable.clear(); break;
    }
    file.there = change.kind != Change::Kind::Gone;
}

/// Everything came.
void settle(DiskFile& file)
{
    Random unused;
    for (const Change& change : file.since) {
        if (change.kind == Change::Kind::Written && change.at > file.durable.size())
            file.durable.resize(change.at, '\0');
        apply(file, change, false, unused);
    }
    file.since.clear();
}

/// How the power cut treats what was not synced.
enum class Fate { Lost, Kept, Earlier, Each };

DiskFile afterCut(DiskFile file, Fate fate, Random& random)
{
    const std::vector<Change> since = std::move(file.since);
    file.since.clear();
    const std::size_t earlier = since.empty() ? 0 : random() % (since.size() + 1);
    const unsigned lostOneIn = 2 + random() % 8;
    for (std::size_t i = 0; i < since.size(); ++i) {
        const bool kept = fate == Fate::Kept || (fate == Fate::Earlier && i < earlier) || (fate == Fate::Each && !oneIn(random, lostOneIn));
        const bool torn = fate == Fate::Each ? oneIn(random, 6) : fate == Fate::Earlier && i == earlier;
        if (kept || (torn && since[i].kind == Change::Kind::Written))
            apply(file, since[i], torn, random);
        else if (since[i].kind == Change::Kind::Gone)
            break; // the name still leads to the old file, and what came later to another
        else if (fate == Fate::Each && since[i].kind == Change::Kind::Written && oneIn(random, 3)) // its length came, its bytes did not
            put(file.durable, std::max(file.durable.size(), since[i].at + since[i].bytes.size()), {}, random);
    }
    return file;
}

} // namespace

struct FaultDisk::State {
    std::string folder;
    sqlite3_vfs vfs {};
    sqlite3_vfs* real = nullptr;
    std::map<std::string, DiskFile> files;
    std::map<Call, std::int64_t> calls;
    Call failing = Call::Open;
    std::int64_t failFrom = 0, failUntil = 0; ///< numbers of calls of that kind
    int failCode = SQLITE_OK;
    bool struck = false;
    int leastMs = 0, mostMs = 0;
    Random delay { 1 };
    std::function<void()> moment;

    /// Counts a call. returns  what SQLite is told; SQLITE_OK: go on
    int take(Call call)
    {
        const std::int64_t number = ++calls[call];
        if (call == failing && number >= failFrom && number < failUntil) {
            struck = true;
            return failCode;
        }
        return SQLITE_OK;
    }
    void changed() const
    {
        if (moment)
            moment();
    }
    bool covers(const char* name) const
    {
        return name != nullptr && std::string_view(name).starts_with(folder) && !std::string_view(name).ends_with("-shm");
    }
    /// The model of a file, as it lies there where it was not known.
    DiskFile& file(const std::string& name)
    {
        const auto [found, fresh] = files.try_emplace(name);
        if (fresh && std::filesystem::exists(name))
            found->second = { true, bytesOf(name), {} };
        return found->second;
    }
};

namespace {

using State = FaultDisk::State;

/// SQLite's file of ours, with the real one behind it in the same block.
struct File {
    sqlite3_file base;
    State* disk;                                                               ///< nothing: passes through
    std::string* name;                                                         ///< owned
    sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); } // NOLINT: SQLite's own idiom
};

File& of(sqlite3_file* file)
{
    return *reinterpret_cast<File*>(file); // NOLINT
}

/// Counts and perhaps fails a call on a file that is covered.
int taken(sqlite3_file* file, Call call)
{
    return of(file).disk != nullptr ? of(file).disk->take(call) : SQLITE_OK;
}

void remember(sqlite3_file* file, Change change)
{
    if (State* disk = of(file).disk; disk != nullptr) {
        disk->file(*of(file).name).since.push_back(std::move(change));
        disk->changed();
    }
}

int closeFile(sqlite3_file* file)
{
    sqlite3_file* real = of(file).real();
    const int code = real->pMethods != nullptr ? real->pMethods->xClose(real) : SQLITE_OK;
    delete of(file).name;
    of(file).name = nullptr;
    return code;
}

int readFile(sqlite3_file* file, void* bytes, int count, sqlite3_int64 at)
{
    if (const int code = taken(file, Call::Read); code != SQLITE_OK)
        return code;
    return of(file).real()->pMethods->xRead(of(file).real(), bytes, count, at);
}

int writeFile(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 at)
{
    if (const int code = taken(file, Call::Write); code != SQLITE_OK)
        return code;
    const int code = of(file).real()->pMethods->xWrite(of(file).real(), bytes, count, at);
    if (code == SQLITE_OK)
        remember(file,
            { Change::Kind::Written, static_cast<std::size_t>(at),
                std::string(static_cast<const char*>(bytes), static_cast<std::size_t>(count)) });
    return code;
}

int truncateFile(sqlite3_file* file, sqlite3_int64 size)
{
    if (const int code = taken(file, Call::Truncate); code != SQLITE_OK)
        return code;
    const int code = of(file).real()->pMethods->xTruncate(of(file).real(), size);
    if (code == SQLITE_OK)
        remember(file, { Change::Kind::Cut, static_cast<std::size_t>(size) });
    return code;
}

int syncFile(sqlite3_file* file, int)
{
    State* disk = of(file).disk;
    if (disk == nullptr)
        return SQLITE_OK;
    if (disk->mostMs > 0)
        std::this_thread::sleep_for(
            std::chrono::milliseconds(std::uniform_int_distribution<int>(disk->leastMs, disk->mostMs)(disk->delay)));
    if (const int code = taken(file, Call::Sync); code != SQLITE_OK)
        return code;
    settle(disk->file(*of(file).name));
    disk->changed();
    return SQLITE_OK;
}

int sizeOfFile(sqlite3_file* file, sqlite3_int64* size)
{
    if (const int code = taken(file, Call::Size); code != SQLITE_OK)
        return code;
    return of(file).real()->pMethods->xFileSize(of(file).real(), size);
}

int lockFile(sqlite3_file* file, int kind)
{
    return of(file).real()->pMethods->xLock(of(file).real(), kind);
}
int unlockFile(sqlite3_file* file, int kind)
{
    return of(file).real()->pMethods->xUnlock(of(file).real(), kind);
}
int reservedLock(sqlite3_file* file, int* held)
{
    return of(file).real()->pMethods->xCheckReservedLock(of(file).real(), held);
}
int controlFile(sqlite3_file* file, int what, void* value)
{
    return of(file).real()->pMethods->xFileControl(of(file).real(), what, value);
}
int sectorSize(sqlite3_file* file)
{
    return of(file).real()->pMethods->xSectorSize(of(file).real());
}
int traits(sqlite3_file* file)
{
    return of(file).real()->pMethods->xDeviceCharacteristics(of(file).real());
}

int shareMap(sqlite3_file* file, int page, int size, int extend, void volatile** bytes)
{
    if (const int code = taken(file, Call::Share); code != SQLITE_OK)
        return code;
    return of(file).real()->pMethods->xShmMap(of(file).real(), page, size, extend, bytes);
}
int shareLock(sqlite3_file* file, int from, int count, int flags)
{
    return of(file).real()->pMethods->xShmLock(of(file).real(), from, count, flags);
}
void shareBarrier(sqlite3_file* file)
{
    of(file).real()->pMethods->xShmBarrier(of(file).real());
}
int shareUnmap(sqlite3_file* file, int remove)
{
    return of(file).real()->pMethods->xShmUnmap(of(file).real(), remove);
}

// Version 2: SQLite then maps no page of the file itself past this disk.
const sqlite3_io_methods kMethods { 2, closeFile, readFile, writeFile, truncateFile, syncFile, sizeOfFile, lockFile, unlockFile,
    reservedLock, controlFile, sectorSize, traits, shareMap, shareLock, shareBarrier, shareUnmap, nullptr, nullptr };

State& diskOf(sqlite3_vfs* vfs)
{
    return *static_cast<State*>(vfs->pAppData);
}

int openFile(sqlite3_vfs* vfs, const char* name, sqlite3_file* opened, int flags, int* outFlags)
{
    State& disk = diskOf(vfs);
    File& file = of(opened);
    file.base.pMethods = nullptr;
    file.disk = disk.covers(name) ? &disk : nullptr;
    file.name = nullptr;
    file.real()->pMethods = nullptr;
    const bool isNew = file.disk != nullptr && !std::filesystem::exists(name);
    if (file.disk != nullptr)
        if (const int code = disk.take(Call::Open); code != SQLITE_OK)
            return code;
    const int code = disk.real->xOpen(disk.real, name, file.real(), flags, outFlags);
    if (code != SQLITE_OK)
        return code;
    file.base.pMethods = &kMethods;
    if (file.disk != nullptr) {
        file.name = new std::string(name);
        if (isNew)
            disk.files[name].since.push_back({ Change::Kind::Made });
        else
            disk.file(name);
    }
    return SQLITE_OK;
}

int deleteFile(sqlite3_vfs* vfs, const char* name, int syncFolder)
{
    State& disk = diskOf(vfs);
    if (!disk.covers(name))
        return disk.real->xDelete(disk.real, name, 0);
    if (const int code = disk.take(Call::Delete); code != SQLITE_OK)
        return code;
    DiskFile& model = disk.file(name);
    const int code = disk.real->xDelete(disk.real, name, 0);
    if (code == SQLITE_OK) {
        model.since.push_back({ Change::Kind::Gone });
        if (syncFolder != 0)
            model = {};
        disk.changed();
    }
    return code;
}

int accessFile(sqlite3_vfs* vfs, const char* name, int flags, int* result)
{
    return diskOf(vfs).real->xAccess(diskOf(vfs).real, name, flags, result);
}

int fullName(sqlite3_vfs* vfs, const char* name, int size, char* out)
{
    return diskOf(vfs).real->xFullPathname(diskOf(vfs).real, name, size, out);
}

} // namespace

FaultDisk::FaultDisk(std::string folder) : m_state(std::make_unique<State>())
{
    m_state->folder = std::filesystem::canonical(folder).string();
    m_state->real = sqlite3_vfs_find(nullptr);
    sqlite3_vfs& vfs = m_state->vfs;
    vfs = *m_state->real; // clock, randomness and the rest are the real one's
    vfs.iVersion = 2;
    vfs.szOsFile = static_cast<int>(sizeof(File)) + m_state->real->szOsFile;
    vfs.pNext = nullptr;
    vfs.zName = "fault-disk";
    vfs.pAppData = m_state.get();
    vfs.xOpen = openFile;
    vfs.xDelete = deleteFile;
    vfs.xAccess = accessFile;
    vfs.xFullPathname = fullName;
    EXPECT_EQ(sqlite3_vfs_register(&vfs, 1), SQLITE_OK);
}

FaultDisk::~FaultDisk()
{
    sqlite3_vfs_unregister(&m_state->vfs);
    sqlite3_vfs_register(m_state->real, 1);
}

std::int64_t FaultDisk::calls(Call call) const
{
    return m_state->calls[call];
}

void FaultDisk::fail(Call call, std::int64_t at, int code, std::int64_t times)
{
    m_state->failing = call;
    m_state->failFrom = m_state->calls[call] + at;
    m_state->failUntil = m_state->failFrom + times;
    m_state->failCode = code;
    m_state->struck = false;
}

bool FaultDisk::struck() const
{
    return m_state->struck;
}

void FaultDisk::mend()
{
    m_state->failUntil = 0;
}

void FaultDisk::delaySyncs(int leastMs, int mostMs)
{
    m_state->leastMs = leastMs;
    m_state->mostMs = mostMs;
}

void FaultDisk::onChange(std::function<void()> moment)
{
    m_state->moment = std::move(moment);
}

FaultDisk::Image FaultDisk::cut(std::mt19937& random) const
{
    Image image;
    const auto fate = static_cast<Fate>(random() % 4);
    for (const auto& [name, file] : m_state->files) {
        const DiskFile left = afterCut(file, fate, random);
        if (left.there)
            image[std::filesystem::path(name).filename().string()] = left.durable;
    }
    return image;
}

void FaultDisk::forget()
{
    m_state->files.clear();
}

void layOut(const FaultDisk::Image& image, const std::string& folder)
{
    std::filesystem::create_directories(folder);
    for (const auto& old : std::filesystem::directory_iterator(folder))
        if (old.is_regular_file())
            std::filesystem::remove(old.path());
    for (const auto& [name, bytes] : image)
        std::ofstream(folder + "/" + name, std::ios::binary) << bytes;
}

FaultDisk::Image filesOf(const std::string& folder)
{
    FaultDisk::Image image;
    for (const auto& file : std::filesystem::directory_iterator(folder))
        if (file.is_regular_file())
            image[file.path().filename().string()] = bytesOf(file.path());
    return image;
}

} // namespace mk::faults
