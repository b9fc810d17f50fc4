// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <type_traits>
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

struct Fault;

/// What stands in one place of a sentence, in the form that machines write; words give it the form that the reader's language has.
struct Arg {
    enum class Kind {
        Text,   ///< as somebody typed it: an id, a name
        Code,   ///< a code of ours: a state, a role, a kind of act
        Term,   ///< a noun of ours, in English: the key of its translation
        Number, ///< digits
        Moment, ///< ISO 8601 with offset
        Date,   ///< YYYY-MM-DD
        Month,  ///< YYYY-MM
        Cause   ///< another fault, said in its own words
    };
    Kind kind = Kind::Text;
    std::string text;
    std::shared_ptr<const Fault> cause {};

    Arg(std::string typed) : text(std::move(typed)) { }
    Arg(std::string_view typed) : text(typed) { }
    Arg(const char* typed) : text(typed) { }
    Arg(std::int64_t number) : kind(Kind::Number), text(std::to_string(number)) { }
    Arg(int number) : Arg(std::int64_t { number }) { }
    Arg(std::size_t number) : Arg(static_cast<std::int64_t>(number)) { }
    Arg(Kind of, std::string machine) : kind(of), text(std::move(machine)) { }
    Arg(const Fault& why);
    friend bool operator==(const Arg&, const Arg&) = default;
};

/// A word of ours, said as it is typed.
inline Arg asCode(std::string_view word)
{
    return { Arg::Kind::Code, std::string(word) };
}

/// A noun of ours, said in the reader's language. ui/translations/sentence_keys.pl lists those that there are.
inline Arg asTerm(std::string_view noun)
{
    return { Arg::Kind::Term, std::string(noun) };
}

/// An expected failure: its kind and what words say of it, a code of a table or a sentence that is its own key, with what belongs in its
/// places.
struct Fault {
    FaultKind kind = FaultKind::BadInput;
    std::string text {};      ///< for logs and tests, in English: what, where and what to do; empty where a code of a table says it
    std::string_view code {}; ///< of static life: words/refusals.h has its sentence, or it is the sentence
    std::vector<Arg> args {}; ///< for the places %1, %2 … of the sentence
};

/// A sentence with the places %1 to %Count, each there: checked where it is compiled.
template <std::size_t Count>
struct Sentence {
    std::string_view text;
    consteval Sentence(const char* literal) : text(literal)
    {
        bool there[10] {};
        for (std::size_t i = 0; i + 1 < text.size(); ++i)
            if (text[i] == '%' && text[i + 1] >= '1' && text[i + 1] <= '9')
                there[text[i + 1] - '0'] = true;
        for (std::size_t place = 1; place < 10; ++place)
            if (there[place] != (place <= Count))
                throw "a place of the sentence has nothing to stand in it, or the other way round";
    }
};

/// args  for the sentence's places, all filled at once: what stands in one is not looked at for places
std::string filled(std::string_view sentence, const std::vector<Arg>& args);

/// A fault that is said with a sentence of its own: one line with what is wrong, where, and what to do. Words translate it.
template <typename... Args>
Fault fault(FaultKind kind, std::type_identity_t<Sentence<sizeof...(Args)>> sentence, const Args&... args)
{
    std::vector<Arg> places { Arg(args)... };
    std::string english = filled(sentence.text, places);
    return { kind, std::move(english), sentence.text, std::move(places) };
}
template <typename... Args>
Fault badInput(std::type_identity_t<Sentence<sizeof...(Args)>> sentence, const Args&... args)
{
    return fault(FaultKind::BadInput, sentence, args...);
}
template <typename... Args>
Fault refused(std::type_identity_t<Sentence<sizeof...(Args)>> sentence, const Args&... args)
{
    return fault(FaultKind::Refused, sentence, args...);
}

/// For logs and the end of a program: the text, or the code with what belongs to it.
std::string plainly(const Fault& fault);

/// Ends the program with a message, in every build: somebody took a value that is not there.
[[noreturn]] void endOnMissingValue(const Fault* fault);

} // namespace mk::base
