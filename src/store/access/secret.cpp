// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/access/secret.h"

#include <sodium.h>

#include <algorithm>
#include <cstring>

namespace mk::store {

void wipeText(std::string& text)
{
    text.resize(text.capacity()); // also what an earlier, longer content left behind
    sodium_memzero(text.data(), text.size());
    text.clear();
}

void Secret::wipe()
{
    sodium_memzero(m_bytes.data(), m_bytes.size());
    m_size = 0;
}

void Secret::take(Secret& other) noexcept
{
    m_bytes = other.m_bytes;
    m_size = other.m_size;
    other.wipe();
}

Secret& Secret::operator=(Secret&& other) noexcept
{
    if (this != &other)
        take(other);
    return *this;
}

Secret Secret::taken(char* text, std::size_t size)
{
    Secret secret;
    secret.m_size = std::min(size, kMost);
    std::memcpy(secret.m_bytes.data(), text, secret.m_size);
    sodium_memzero(text, size);
    return secret;
}

Secret Secret::taken(std::string& text)
{
    Secret secret = taken(text.data(), text.size());
    wipeText(text);
    return secret;
}

Secret Secret::copy() const
{
    Secret secret;
    secret.m_bytes = m_bytes;
    secret.m_size = m_size;
    return secret;
}

bool Secret::append(char c)
{
    if (m_size == kMost)
        return false;
    m_bytes[m_size++] = c;
    return true;
}

void Secret::removeLast()
{
    while (m_size > 0) {
        const auto byte = static_cast<unsigned char>(m_bytes[--m_size]);
        m_bytes[m_size] = 0;
        if ((byte & 0xc0U) != 0x80U)
            return;
    }
}

} // namespace mk::store
