// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"

#include <algorithm>
#include <initializer_list>

/// How the text of a setting becomes a value. Each says in its fault what it takes and what it was given.
namespace mk::registry {

base::Done readInt(const std::string& text, int least, int most, int& into);
base::Done readDouble(const std::string& text, double least, double most, double& into);
base::Done readDecimal(const std::string& text, base::Decimal& into);
base::Done readPeriod(const std::string& text, base::Period& into);
/// "none" or a period
base::Done readOptionalPeriod(const std::string& text, std::optional<base::Period>& into);
base::Done readLevels(const std::string& text, std::vector<Level>& into);
base::Done readRules(const std::string& text, std::vector<RuleChoice>& into);
/// A time of day, as minutes after midnight.
base::Done readBoundary(const std::string& text, int& into);
base::Done readBoundaries(const std::string& text, std::vector<int>& into);
base::Done readYesNo(const std::string& text, bool& into);
/// The published sets of handbook 5.4. FPOC and local keep the limits that the document gives; a set by name brings its own.
base::Done readCriteria(const std::string& text, Policy& policy);

base::Done readWordOf(const std::string& text, std::initializer_list<std::string_view> words);

/// words  in the order of the enum
template <typename E>
base::Done readEnum(const std::string& text, std::initializer_list<std::string_view> words, E& into)
{
    if (const base::Done known = readWordOf(text, words); !known)
        return known;
    into = static_cast<E>(std::ranges::find(words, text) - words.begin());
    return {};
}

template <typename T>
base::Done readChoice(const std::string& text, std::string_view first, T a, std::string_view second, T b, T& into)
{
    if (text != first && text != second)
        return base::badInput("takes %1 or %2, not '%3'", base::asCode(first), base::asCode(second), text);
    into = text == first ? a : b;
    return {};
}

} // namespace mk::registry
