// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <string_view>

namespace mk::store {

/// A password, a PIN or what was made of one; its bytes are wiped when it goes, and when it moves on. Never written to a log or a list.
class Secret {
public:
    static constexpr std::size_t kMost = 256;

    Secret() = default;
    ~Secret() { wipe(); }
    Secret(Secret&& other) noexcept { take(other); }
    Secret& operator=(Secret&& other) noexcept;
    Secret(const Secret&) = delete;
    Secret& operator=(const Secret&) = delete;

    /// Takes the text over and wipes it where it was. What is longer than kMost is cut: no such secret is ever taken.
    static Secret taken(std::string& text);
    static Secret taken(char* text, std::size_t size);
    Secret copy() const;

    std::string_view text() const { return { m_bytes.data(), m_size }; }
    bool empty() const { return m_size == 0; }
    bool append(char c); ///< false: full
    void removeLast();   ///< the last character, of whatever length
    void wipe();

private:
    void take(Secret& other) noexcept;

    std::array<char, kMost> m_bytes {};
    std::size_t m_size = 0;
};

/// Wipes a text that held a secret.
void wipeText(std::string& text);

} // namespace mk::store
