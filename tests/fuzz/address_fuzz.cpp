// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as the address of a registry: nothing that is taken can break out of libpq's line, carry a password, or reach another machine
// in the clear.
#include "property.h"
#include "store/db/address.h"

#include <algorithm>

using namespace mk;
using fuzz::mustHold;

namespace {

bool isHarmless(const std::string& part)
{
    return std::ranges::none_of(
        part, [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f || c == '\'' || c == '"' || c == '\\' || c == ';'; });
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const std::string text(fuzz::bytesOf(data, size));
    const auto address = store::Address::parse(text);
    if (!address) {
        mustHold(address.error().kind == base::FaultKind::BadInput, "an address that is not one is bad input");
        return 0;
    }
    const bool scheme = text.starts_with("postgresql://") || text.starts_with("postgres://");
    mustHold(address->isServer() == scheme, "a file is a file, and a server a server");
    mustHold(!address->inWords().empty(), "an address can be told", text);
    if (!address->isServer()) {
        mustHold(address->file == text, "a path stays as it was given");
        return 0;
    }
    mustHold(isHarmless(address->host) && isHarmless(address->database) && isHarmless(address->user), "no part ends libpq's value", text);
    mustHold(address->host.find(',') == std::string::npos, "one host", text);
    mustHold(address->port >= 0 && address->port <= 65535, "a port is one", text);
    std::string mode;
    bool byService = false;
    for (const auto& [name, value] : address->parameters) {
        mustHold(isHarmless(value), "no parameter ends libpq's value", text);
        mustHold(name == "sslmode" || name == "sslrootcert" || name == "sslcert" || name == "sslkey" || name == "service"
                || name == "connect_timeout",
            "only known parameters", name);
        byService = byService || name == "service";
        if (name == "sslmode")
            mode = value;
    }
    const bool here = address->host.empty() || address->host.front() == '/' || address->host == "localhost" || address->host == "127.0.0.1"
        || address->host == "::1";
    if (byService || !here)
        mustHold(mode == "require" || mode == "verify-ca" || mode == "verify-full", "another machine only with TLS", text);
    mustHold(address->user.find(':') == std::string::npos || text.find("%3") != std::string::npos, "no password", text);
    return 0;
}
