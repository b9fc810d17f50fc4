// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"

#include <algorithm>
#include <iterator>
#include <type_traits>

/// How the text of a setting becomes a value. Each says in its fault what it takes and what it was given.
namespace mk::registry {

base::Done readSetting(const std::string& text, std::string& into);
base::Done readSetting(const std::string& text, int& into, int least, int most);
base::Done readSetting(const std::string& text, std::int64_t& into, int least, int most);
base::Done readSetting(const std::string& text, std::size_t& into, int least, int most);
base::Done readSetting(const std::string& text, double& into, double least, double most);
/// "none", or long rules and EWMA
base::Done readSetting(const std::string& text, DriftMarks& into);
/// Two numbers of results: in use, frozen.
base::Done readSetting(const std::string& text, stats::BaseSettings& into);
/// A part of the clearance, "1/12", or minutes.
base::Done readSetting(const std::string& text, OccasionTolerance& into);
base::Done readSetting(const std::string& text, base::Decimal& into);
base::Done readSetting(const std::string& text, base::Period& into);
/// "none" or a period
base::Done readSetting(const std::string& text, std::optional<base::Period>& into);
base::Done readSetting(const std::string& text, std::vector<Level>& into);
base::Done readSetting(const std::string& text, std::vector<RuleChoice>& into);
/// A time of day, as minutes after midnight.
base::Done readSetting(const std::string& text, int& into);
base::Done readSetting(const std::string& text, std::vector<int>& into);
base::Done readSetting(const std::string& text, bool& into);
/// The published sets of handbook 5.4. FPOC and local keep the limits that the document gives; a set by name brings its own.
base::Done readSetting(const std::string& text, Policy& policy);

base::Done isWordOf(const std::string& text, std::span<const std::string_view> words);

template <typename E, std::size_t N>
base::Done readSetting(const std::string& text, E& into, const OneOf<N>& of)
{
    if (const base::Done known = isWordOf(text, of.words); !known)
        return known;
    into = static_cast<E>(std::ranges::find(of.words, text) - std::begin(of.words));
    return {};
}

template <typename T>
base::Done readSetting(const std::string& text, T& into, const Either& words)
{
    if (text != words.first && text != words.second)
        return base::badInput("takes %1 or %2, not '%3'", base::asCode(words.first), base::asCode(words.second), text);
    if constexpr (std::is_same_v<T, bool>)
        into = text == words.first;
    else
        into = static_cast<T>(text == words.first ? 0 : 1);
    return {};
}

} // namespace mk::registry
