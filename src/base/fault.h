// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace mk::base {

/// Why a call could not do what was asked.
enum class FaultKind {
    BadInput,    ///< what came in cannot be read or may not be said
    NotFound,    ///< an id that nobody has given out
    Conflict,    ///< known already, with other content, or somebody else came first
    Refused,     ///< understood, and against a rule of the trade or the policy
    Damaged,     ///< stored data contradicts itself
    NewerFormat, ///< written by a later version of the program
    Busy,        ///< another program holds the lock
    Unreachable, ///< the server cannot be reached, or went away; what was sent may or may not have arrived
    Denied,      ///< nobody has signed in, or not with enough rights
    ReadOnly,    ///< the place may not be written
    Full,        ///< no room left
    Io           ///< the operating system said no
};

/// What stands in one place of a sentence, in the form that machines write; words give it the form that the reader's language has.
struct Arg {
    enum class Kind {
        Text,   ///< as somebody typed it: an id, a name
        Code,   ///< a code of ours: a state, a role, a kind of act
        Number, ///< digits
        Moment, ///< ISO 8601 with offset
        Date    ///< YYYY-MM-DD
    };
    Kind kind = Kind::Text;
    std::string text;

    Arg(std::string typed) : text(std::move(typed)) { }
    Arg(std::string_view typed) : text(typed) { }
    Arg(const char* typed) : text(typed) { }
    Arg(std::int64_t number) : kind(Kind::Number), text(std::to_string(number)) { }
    Arg(int number) : Arg(std::int64_t { number }) { }
    Arg(std::size_t number) : Arg(static_cast<std::int64_t>(number)) { }
    Arg(Kind of, std::string machine) : kind(of), text(std::move(machine)) { }
    friend bool operator==(const Arg&, const Arg&) = default;
};

/// An expected failure: its kind, and either a code with what belongs in its sentence, which words speak, or one plain English line.
struct Fault {
    FaultKind kind = FaultKind::BadInput;
    std::string text {};      ///< what, where and what to do; empty where a code says it
    std::string_view code {}; ///< of static life
    std::vector<Arg> args {}; ///< for the places %1, %2 … of the code's sentence
};

inline Fault badInput(std::string text)
{
    return { FaultKind::BadInput, std::move(text) };
}
inline Fault refused(std::string text)
{
    return { FaultKind::Refused, std::move(text) };
}

/// For logs and the end of a program: the text, or the code with what belongs to it.
std::string plainly(const Fault& fault);

/// Ends the program with a message, in every build: somebody took a value that is not there.
[[noreturn]] void endOnMissingValue(const Fault* fault);

} // namespace mk::base
