// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <random>
#include <string>

/// A disk under SQLite that fails when it is told to, and that knows what a power cut would leave of it.
namespace mk::faults {

/// What SQLite asks of a disk.
enum class Call { Open, Read, Write, Sync, Truncate, Delete, Size, Share };

/// Stands under every file that SQLite opens in this process from its making to its end; only one at a time. What lies below `folder` is
/// counted, delayed, failed and remembered; all else passes through. No file is really synced meanwhile, which makes the tests fast: what
/// would be durable is kept in the model. The shared-memory file is no part of it, since no power cut leaves one.
class FaultDisk {
public:
    explicit FaultDisk(std::string folder);
    ~FaultDisk();
    FaultDisk(const FaultDisk&) = delete;
    FaultDisk& operator=(const FaultDisk&) = delete;

    std::int64_t calls(Call call) const;
    /// Fails calls of a kind from the n-th on, counted from now; one disk has one fault at a time.
    /// times  how many in a row; code  what SQLite is told
    void fail(Call call, std::int64_t at, int code, std::int64_t times = 1);
    /// Did a call fail since fail()?
    bool struck() const;
    /// No call fails any more.
    void mend();
    /// Each sync takes some time between the two.
    void delaySyncs(int leastMs, int mostMs);
    /// Called after each write, sync, truncation and deletion: a moment at which the power may fail.
    void onChange(std::function<void()> moment);

    /// Files by their name below the folder.
    using Image = std::map<std::string, std::string>;
    /// What the disk holds if the power fails now: what was synced, and of what was not some of everything, as `random` will have it: all,
    /// none, the earlier part, or each write by itself; whole, lost, or torn at sectors of 512 bytes; the length with rubbish where the
    /// bytes did not come.
    Image cut(std::mt19937& random) const;
    /// Takes the files of the folder as they are for durable: after they were laid there by other means.
    void forget();

    struct State;

private:
    std::unique_ptr<State> m_state;
};

/// Empties the folder, or makes it, and lays the files there.
void layOut(const FaultDisk::Image& image, const std::string& folder);
/// The files of a folder as they are.
FaultDisk::Image filesOf(const std::string& folder);

} // namespace mk::faults
