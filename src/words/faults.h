// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/fault.h"

#include <QString>

#include <span>
#include <string_view>

/// What a fault says to a person: one line with what is wrong, where, and what to do.
namespace mk::words {

/// The sentence of one code, with places %1, %2 … for what the fault brings. In English here; translated where it is said.
struct FaultSentence {
    std::string_view code;
    const char* sentence;
};

/// What the desk refuses (registry/desk/refusal.h).
std::span<const FaultSentence> deskSentences();

/// What a program cannot do with its own options.
std::span<const FaultSentence> programSentences();

QString said(const base::Fault& fault);
/// What stands in one place of it.
QString said(const base::Arg& arg);
/// The same as a sentence of its own: begins large, ends in a point.
QString sentence(const base::Fault& fault);

} // namespace mk::words
