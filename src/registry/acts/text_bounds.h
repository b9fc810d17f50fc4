// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

/// What a text in the record may hold, however it came in: typed, scanned, imported.
namespace mk::registry {

/// Id    names something: one line, no invisible characters, short enough for every index
/// Line  one line: a name, a serial, a paper's number
/// Words what somebody wrote: lines and tabs allowed
enum class TextKind { Id, Line, Words };

/// In characters.
inline constexpr std::size_t kLongestId = 100, kLongestLine = 500, kLongestWords = 4000;

/// errors  BadInput saying what it holds that it may not: not UTF-8, a control character, a mark that turns the direction of writing, too
/// long.
///         `field` begins the sentence
base::Done sensibleText(TextKind kind, std::string_view text, std::string_view field);

/// The same of every text of an act that a person makes, and of a policy.
base::Done sensibleTexts(const Act& act);

} // namespace mk::registry
