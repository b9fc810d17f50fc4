// SPDX-License-Identifier: GPL-3.0-or-later
#include "forked.h"

#include <gtest/gtest.h>

#include <poll.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>

namespace mk::faults {

Forked::Forked(const std::function<void(const Say&)>& work)
{
    int ends[2];
    if (::pipe(ends) != 0)
        return;
    m_pid = ::fork();
    if (m_pid == 0) {
        ::close(ends[0]);
        work([&](const std::string& text) {
            const std::string line = text + "\n";
            if (::write(ends[1], line.data(), line.size()) != static_cast<ssize_t>(line.size()))
                ::_exit(1);
        });
        ::_exit(0); // without the parent's destructors
    }
    ::close(ends[1]);
    m_pipe = ends[0];
    EXPECT_GT(m_pid, 0);
}

Forked::~Forked()
{
    killNow();
}

bool Forked::listen(int mostMs)
{
    if (m_pipe < 0)
        return false;
    pollfd waiting { m_pipe, POLLIN, 0 };
    return ::poll(&waiting, 1, mostMs) <= 0 || take();
}

bool Forked::take()
{
    char bytes[4096];
    const ssize_t count = ::read(m_pipe, bytes, sizeof bytes);
    if (count <= 0) {
        ::close(m_pipe);
        m_pipe = -1;
        return false;
    }
    m_rest.append(bytes, static_cast<std::size_t>(count));
    for (auto end = m_rest.find('\n'); end != std::string::npos; end = m_rest.find('\n')) {
        m_said.push_back(m_rest.substr(0, end));
        m_rest.erase(0, end + 1);
    }
    return true;
}

void Forked::killNow()
{
    if (m_pid <= 0)
        return;
    ::kill(m_pid, SIGKILL);
    while (m_pipe >= 0 && take()) { }
    ::waitpid(m_pid, nullptr, 0);
    m_pid = -1;
}

} // namespace mk::faults
