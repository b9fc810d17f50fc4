// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/db/address.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>
#include <string_view>

namespace mk::store {

namespace {

using base::badInput;
using base::Result;

constexpr std::array<std::string_view, 6> kParameters { "sslmode", "sslrootcert", "sslcert", "sslkey", "service", "connect_timeout" };
constexpr std::size_t kLongest = 2000;
constexpr std::string_view kForm = "postgresql://user@host:port/database?sslmode=verify-full";

std::optional<std::string> decoded(std::string_view text)
{
    const auto digit = [](char c) {
        return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
    };
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '%') {
            plain += text[i];
            continue;
        }
        if (i + 2 >= text.size() || digit(text[i + 1]) < 0 || digit(text[i + 2]) < 0)
            return std::nullopt;
        plain += static_cast<char>(digit(text[i + 1]) * 16 + digit(text[i + 2]));
        i += 2;
    }
    // These parts become a line of libpq's; what could end a part or a line there has no place in a name.
    const bool clean = std::ranges::none_of(
        plain, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f || c == '\'' || c == '\\' || c == ';' || c == '"'; });
    return clean ? std::optional(plain) : std::nullopt;
}

bool isThisMachine(const std::string& host)
{
    return host.empty() || host.front() == '/' || host == "localhost" || host == "127.0.0.1" || host == "::1";
}

} // namespace

base::Arg Address::said() const
{
    if (!isServer())
        return file;
    for (const auto& [name, value] : parameters)
        if (name == "service")
            return badInput("the registry of service %1", value);
    const bool here = host.empty() || host.front() == '/';
    if (database.empty())
        return here ? badInput("the registry on this machine's server") : badInput("the registry on %1", host);
    return here ? badInput("the registry on this machine's server, database %1", database)
                : badInput("the registry on %1, database %2", host, database);
}

Result<Address> Address::parse(const std::string& text)
{
    std::string_view rest;
    for (const std::string_view scheme : { "postgresql://", "postgres://" })
        if (text.starts_with(scheme))
            rest = std::string_view(text).substr(scheme.size());
    if (rest.data() == nullptr) {
        if (text.empty())
            return badInput("the registry has no name; give a path or a postgresql:// address with --registry");
        Address address;
        address.file = text;
        return address;
    }
    const auto wrong = []<typename... Args>(std::type_identity_t<base::Sentence<sizeof...(Args) + 1>> sentence, const Args&... args) {
        return badInput(sentence, base::asCode(kForm), args...);
    };
    if (text.size() > kLongest)
        return wrong("the address of the registry is longer than %2 characters; write %1", kLongest);
    if (rest.find('#') != std::string_view::npos)
        return wrong("the address of the registry has a '#', which belongs into none; write %1");
    Address address;
    const auto query = rest.find('?');
    std::string_view parameters = query == std::string_view::npos ? std::string_view() : rest.substr(query + 1);
    rest = rest.substr(0, query);
    const auto slash = rest.find('/');
    std::string_view where = rest.substr(0, slash);
    const std::string_view database = slash == std::string_view::npos ? std::string_view() : rest.substr(slash + 1);

    const auto take = [](std::string_view part, std::string& into) {
        auto plain = decoded(part);
        if (plain)
            into = std::move(*plain);
        return plain.has_value();
    };
    if (!take(database, address.database) || address.database.find('/') != std::string::npos)
        return wrong("the address of the registry has a database name that cannot be read; write %1");
    if (const auto at = where.rfind('@'); at != std::string_view::npos) {
        const std::string_view user = where.substr(0, at);
        if (user.find(':') != std::string_view::npos)
            return badInput(
                "the address of the registry carries a password, which everybody on this machine could see; take it out: it is asked for, or kept in the system's key store");
        if (!take(user, address.user))
            return wrong("the address of the registry has a user that cannot be read; write %1");
        where.remove_prefix(at + 1);
    }
    std::string_view host = where, port;
    if (where.starts_with('[')) {
        const auto end = where.find(']');
        if (end == std::string_view::npos)
            return wrong("the address of the registry has an IPv6 address without its ']'; write %1");
        host = where.substr(1, end - 1);
        port = where.substr(end + 1);
        if (!port.empty() && port.front() != ':')
            return wrong("the address of the registry has something between its IPv6 address and its port; write %1");
    } else if (const auto colon = where.find(':'); colon != std::string_view::npos) {
        host = where.substr(0, colon);
        port = where.substr(colon);
    }
    if (!take(host, address.host) || address.host.find(',') != std::string::npos)
        return wrong("the address of the registry has a host that cannot be read; one host, or a service that names several; write %1");
    if (!port.empty()) {
        port.remove_prefix(1);
        const auto [end, error] = std::from_chars(port.data(), port.data() + port.size(), address.port);
        if (error != std::errc() || end != port.data() + port.size() || address.port < 1 || address.port > 65535)
            return wrong("the address of the registry has a port that is no number from 1 to 65535; write %1");
    }
    std::string mode;
    while (!parameters.empty()) {
        const auto end = std::min(parameters.find('&'), parameters.size());
        const std::string_view part = parameters.substr(0, end);
        parameters.remove_prefix(std::min(end + 1, parameters.size()));
        const auto equals = part.find('=');
        std::string name(part.substr(0, equals)), value;
        if (equals == std::string_view::npos || !take(part.substr(equals + 1), value))
            return wrong("the address of the registry has a parameter '%2' that cannot be read; write %1", name);
        if (name == "password" || name == "passfile")
            return badInput(
                "the address of the registry names a password; take it out: it is asked for, or kept in the system's key store");
        if (name == "host" && address.host.empty()) { // the folder of a socket, and nothing that may be on another machine
            if (value.empty() || value.front() != '/' || value.find(',') != std::string::npos)
                return wrong(
                    "the address of the registry has a 'host' that is not the one folder of a socket; a server's name stands before the database; write %1");
            address.host = value;
            continue;
        }
        if (std::ranges::find(kParameters, name) == kParameters.end())
            return wrong(
                "the address of the registry has a parameter '%2' that is not known (known: host, sslmode, sslrootcert, sslcert, sslkey, service, connect_timeout); write %1",
                name);
        if (std::ranges::find(address.parameters, name, &std::pair<std::string, std::string>::first) != address.parameters.end())
            return wrong("the address of the registry gives '%2' twice; write %1", name);
        if (name == "sslmode")
            mode = value;
        address.parameters.emplace_back(std::move(name), std::move(value));
    }
    const bool byService = std::ranges::find(address.parameters, "service", &std::pair<std::string, std::string>::first)
        != address.parameters.end();
    if (!mode.empty() && mode != "disable" && mode != "require" && mode != "verify-ca" && mode != "verify-full")
        return wrong(
            "the address of the registry has an sslmode '%2'; take verify-full, verify-ca or require, or disable on this machine alone; write %1",
            mode);
    if (byService || !isThisMachine(address.host)) {
        if (mode == "disable")
            return wrong(
                "the address of the registry would speak with another machine, or one that a service names, without encryption; write %1");
        if (mode.empty())
            address.parameters.emplace_back("sslmode", "verify-full");
    }
    if (byService && (!address.host.empty() || address.port != 0))
        return wrong("the address of the registry names a service and a host; keep one of them; write %1");
    return address;
}

} // namespace mk::store
