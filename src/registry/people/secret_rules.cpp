// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/secret_rules.h"

#include <algorithm>
#include <string>

namespace mk::registry {

using base::badInput;
using base::Done;

namespace {

char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

bool sameLetters(std::string_view a, std::string_view b)
{
    return std::ranges::equal(a, b, {}, lower, lower);
}

/// The same one to three characters again and again.
bool repeats(std::string_view secret)
{
    for (std::size_t period = 1; period <= 3; ++period) {
        bool all = true;
        for (std::size_t i = period; all && i < secret.size(); ++i)
            all = lower(secret[i]) == lower(secret[i - period]);
        if (all)
            return true;
    }
    return false;
}

/// Each character is the next one up, or the next one down; 0 follows 9.
bool counts(std::string_view secret)
{
    const auto runs = [&](int step) {
        for (std::size_t i = 1; i < secret.size(); ++i) {
            const int before = secret[i - 1];
            const int now = secret[i];
            const bool digits = before >= '0' && before <= '9' && now >= '0' && now <= '9';
            if (digits ? (now - before - step + 10) % 10 != 0 : now - before != step)
                return false;
        }
        return true;
    };
    return runs(1) || runs(-1);
}

/// The id, alone or with digits after it or before it.
bool isTheId(std::string_view secret, std::string_view id)
{
    if (id.empty())
        return false;
    while (!secret.empty() && secret.back() >= '0' && secret.back() <= '9' && secret.size() > id.size())
        secret.remove_suffix(1);
    while (!secret.empty() && secret.front() >= '0' && secret.front() <= '9' && secret.size() > id.size())
        secret.remove_prefix(1);
    return sameLetters(secret, id);
}

} // namespace

Done soundSecret(std::string_view secret, const base::OperatorId& person, Role role)
{
    const bool pin = std::ranges::all_of(secret, [](char c) { return c >= '0' && c <= '9'; });
    const auto characters = static_cast<std::size_t>(
        std::ranges::count_if(secret, [](char c) { return (static_cast<unsigned char>(c) & 0xc0U) != 0x80U; }));
    if (secret.size() > kLongestSecret)
        return badInput("the secret is longer than %1 characters; take a shorter one", kLongestSecret);
    if (std::ranges::any_of(secret, [](char c) { return static_cast<unsigned char>(c) < 0x20U || c == 0x7f; }))
        return badInput("the secret holds a character that cannot be typed everywhere; take letters, digits, signs and blanks");
    if (role == Role::Coordinator && (pin || characters < kShortestOfCoordinator))
        return badInput(
            "a coordinator's secret is a password of at least %1 characters, not only digits; a few words do well", kShortestOfCoordinator);
    if (pin && characters < kShortestPin)
        return badInput("a PIN has at least %1 digits; take a longer one", kShortestPin);
    if (!pin && characters < kShortestPassword)
        return badInput("a password has at least %1 characters (a PIN of digits %2); take a longer one", kShortestPassword, kShortestPin);
    if (isTheId(secret, person.value))
        return badInput("the secret is the id itself; take one that nobody can guess from it");
    if (repeats(secret))
        return badInput("the secret says the same again and again; take one that is harder to guess");
    if (counts(secret))
        return badInput("the secret counts up or down; take one that is harder to guess");
    return {};
}

} // namespace mk::registry
