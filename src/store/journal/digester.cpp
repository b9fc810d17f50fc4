// SPDX-License-Identifier: GPL-3.0-or-later
// What each entry is sealed with: SHA-256 (FIPS 180-4) over the digest before it and its own canonical text (RFC 8785).
#include "store/journal/canonical_json.h"
#include "store/journal/journal.h"

#include <openssl/evp.h>

#include <array>

namespace mk::store {

using base::Fault;
using base::FaultKind;

namespace {

int hexValue(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/// What is digested: the members already in canonical order, the body as stored.
std::string digestedText(const Entry& e)
{
    return "{\"act\":" + store::quoted(e.act) + ",\"at\":" + std::to_string(e.at) + ",\"body\":" + e.body + ",\"id\":" + store::quoted(e.id)
        + ",\"operator\":" + store::quoted(e.person) + ",\"seq\":" + std::to_string(e.seq.value) + ",\"station\":"
        + store::quoted(e.station) + ",\"subject\":" + store::quoted(e.subject) + ",\"zone\":" + store::quoted(e.zone) + "}";
}

} // namespace

struct Digester::Context {
    EVP_MD* algorithm = EVP_MD_fetch(nullptr, "SHA256", nullptr); // once: fetching costs more than a digest
    EVP_MD_CTX* context = EVP_MD_CTX_new();

    Context() = default;
    Context(const Context&) = delete;
    Context& operator=(const Context&) = delete;
    ~Context()
    {
        EVP_MD_CTX_free(context);
        EVP_MD_free(algorithm);
    }
};

Digester::Digester() : m_context(std::make_unique<Context>()) { }
Digester::~Digester() = default;

base::Result<std::string> Digester::digestOf(const Entry& entry)
{
    std::array<unsigned char, 32> prev {};
    const auto brokenPrev = [&] { return base::fault(FaultKind::Damaged, "entry %1 does not name the digest before it", entry.seq.value); };
    if (entry.prev.size() != 64)
        return brokenPrev();
    for (std::size_t i = 0; i < prev.size(); ++i) {
        const int high = hexValue(entry.prev[2 * i]);
        const int low = hexValue(entry.prev[2 * i + 1]);
        if (high < 0 || low < 0)
            return brokenPrev();
        prev[i] = static_cast<unsigned char>(high * 16 + low);
    }
    const std::string text = digestedText(entry);
    std::array<unsigned char, 32> digest {};
    EVP_MD_CTX* context = m_context->context;
    const bool done = EVP_DigestInit_ex2(context, m_context->algorithm, nullptr) == 1
        && EVP_DigestUpdate(context, prev.data(), prev.size()) == 1 && EVP_DigestUpdate(context, text.data(), text.size()) == 1
        && EVP_DigestFinal_ex(context, digest.data(), nullptr) == 1;
    if (!done)
        return base::fault(FaultKind::Io, "OpenSSL cannot compute SHA-256 on this machine");
    static constexpr char kHex[] = "0123456789abcdef";
    std::string hex;
    hex.reserve(64);
    for (const unsigned char byte : digest) {
        hex += kHex[byte >> 4];
        hex += kHex[byte & 15];
    }
    return hex;
}

std::string noDigest()
{
    return std::string(64, '0');
}

} // namespace mk::store
