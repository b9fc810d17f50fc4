// SPDX-License-Identifier: GPL-3.0-or-later
#include "server/lossy_line.h"

#include <gtest/gtest.h>

#include <array>
#include <string_view>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace mk::server {

namespace {

sockaddr_in loopback(int port)
{
    sockaddr_in address {};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    return address;
}

bool sendAll(int to, const char* data, std::size_t size)
{
    while (size > 0) {
        const ssize_t sent = ::send(to, data, size, MSG_NOSIGNAL);
        if (sent <= 0)
            return false;
        data += sent;
        size -= static_cast<std::size_t>(sent);
    }
    return true;
}

} // namespace

LossyLine::LossyLine(int serverPort) : m_serverPort(serverPort), m_listener(::socket(AF_INET, SOCK_STREAM, 0))
{
    sockaddr_in address = loopback(0);
    EXPECT_EQ(::bind(m_listener, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
    EXPECT_EQ(::listen(m_listener, 8), 0);
    socklen_t size = sizeof address;
    ::getsockname(m_listener, reinterpret_cast<sockaddr*>(&address), &size);
    m_port = ntohs(address.sin_port);
    m_thread = std::jthread([this] { serve(); });
}

LossyLine::~LossyLine()
{
    m_ends = true;
    m_thread.join();
    ::close(m_listener);
}

std::string LossyLine::address(const QString& database, const QString& user) const
{
    return QStringLiteral("postgresql://%1@127.0.0.1:%2/%3?sslmode=disable").arg(user).arg(m_port).arg(database).toStdString();
}

void LossyLine::serve()
{
    while (!m_ends) {
        pollfd waiting { m_listener, POLLIN, 0 };
        if (::poll(&waiting, 1, 50) <= 0)
            continue;
        const int client = ::accept(m_listener, nullptr, nullptr);
        carry(client); // one connection at a time is all a session needs
        ::close(client);
    }
}

void LossyLine::carry(int client)
{
    const int server = ::socket(AF_INET, SOCK_STREAM, 0);
    const sockaddr_in address = loopback(m_serverPort);
    std::array<char, 65536> buffer {};
    bool open = ::connect(server, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
    while (open && !m_ends) {
        std::array<pollfd, 2> both { pollfd { client, POLLIN, 0 }, pollfd { server, POLLIN, 0 } };
        if (::poll(both.data(), 2, 50) <= 0)
            continue;
        for (int i = 0; i < 2 && open; ++i) {
            if ((both[static_cast<std::size_t>(i)].revents & (POLLIN | POLLHUP | POLLERR)) == 0)
                continue;
            const int from = i == 0 ? client : server;
            const ssize_t got = ::recv(from, buffer.data(), buffer.size(), 0);
            if (got <= 0) {
                open = false;
                break;
            }
            const auto size = static_cast<std::size_t>(got);
            const bool commits = i == 0 && std::string_view(buffer.data(), size).find("COMMIT") != std::string_view::npos;
            const Break where = commits ? m_break.exchange(Break::Never) : Break::Never;
            if (where == Break::BeforeCommit) {
                ++m_broken;
                open = false;
                break;
            }
            open = sendAll(i == 0 ? server : client, buffer.data(), size);
            if (where == Break::AfterCommit) {
                ++m_broken;
                ::recv(server, buffer.data(), buffer.size(), 0); // the answer, which nobody gets
                open = false;
            }
        }
    }
    ::close(server);
}

} // namespace mk::server
