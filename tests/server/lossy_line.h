// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>

#include <atomic>
#include <string>
#include <thread>

namespace mk::server {

/// A line to a server on the loopback that can be made to break around a COMMIT.
class LossyLine {
public:
    enum class Break {
        Never,
        BeforeCommit, ///< the server never sees it
        AfterCommit   ///< the server does it, and its answer is lost
    };

    explicit LossyLine(int serverPort);
    ~LossyLine();
    LossyLine(const LossyLine&) = delete;
    LossyLine& operator=(const LossyLine&) = delete;

    std::string address(const QString& database, const QString& user) const;
    /// Breaks once, at the next COMMIT that passes.
    void breakAt(Break where) { m_break = where; }
    int broken() const { return m_broken; }

private:
    void serve();
    void carry(int client);

    int m_serverPort;
    int m_listener = -1;
    int m_port = 0;
    std::atomic<Break> m_break = Break::Never;
    std::atomic<int> m_broken = 0;
    std::atomic<bool> m_ends = false;
    std::jthread m_thread;
};

} // namespace mk::server
