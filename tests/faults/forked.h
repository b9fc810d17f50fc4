// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <sys/types.h>

#include <functional>
#include <string>
#include <vector>

/// A child of the test program that shares nothing with it but the disk, started in a millisecond.
namespace mk::faults {

/// Runs `work` in a child process that ends with it. Nothing may have a registry open in this process while one is started.
class Forked {
public:
    /// Writes a line to the parent at once: what was said is out before a SIGKILL.
    using Say = std::function<void(const std::string&)>;

    explicit Forked(const std::function<void(const Say&)>& work);
    ~Forked(); ///< killed, where it still runs
    Forked(const Forked&) = delete;
    Forked& operator=(const Forked&) = delete;

    /// Takes in lines for at most that long. returns  false once the child has ended
    bool listen(int mostMs);
    /// SIGKILL, by its process id, and what it had said until then.
    void killNow();
    const std::vector<std::string>& said() const { return m_said; }

private:
    bool take();

    pid_t m_pid = -1;
    int m_pipe = -1;
    std::string m_rest;
    std::vector<std::string> m_said;
};

} // namespace mk::faults
