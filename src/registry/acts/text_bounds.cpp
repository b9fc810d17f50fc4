// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/acts/text_bounds.h"

#include "base/utf8.h"
#include "registry/acts/free_text.h"

namespace mk::registry {

namespace {

constexpr std::size_t kLongest[] = { kLongestId, kLongestLine, kLongestWords };

/// Marks nobody sees, by which two ids would look like one.
bool isInvisible(char32_t c)
{
    return c == 0xad || (c >= 0x200b && c <= 0x200f) || (c >= 0x2028 && c <= 0x202f) || (c >= 0x2060 && c <= 0x206f) || c == 0xfeff;
}

struct TextChecker {
    base::Done done {};

    void check(TextKind kind, std::string_view field, std::string_view text)
    {
        if (done)
            done = sensibleText(kind, text, field);
    }
    void take(std::string_view field, const std::string& text)
    {
        // A correction's values are those of any field; whether they suit theirs is asked where it is known.
        const bool words = isFreeText(field) || field == "old" || field == "new";
        check(words ? TextKind::Words : TextKind::Line, field, text);
    }
    template <typename Tag>
    void take(std::string_view field, const base::Id<Tag>& id)
    {
        check(TextKind::Id, field, id.value);
    }
    void take(std::string_view field, const Reading& reading)
    {
        if (const auto* error = std::get_if<ErrorCode>(&reading))
            check(TextKind::Id, field, error->code);
    }
    template <typename T>
    void take(std::string_view, const T&)
    {
    }
    template <typename T>
    void operator()(std::string_view field, const T& value, acts::Field)
    {
        take(field, value);
    }
    template <typename T>
    void operator()(std::string_view field, const std::optional<T>& value, acts::Field)
    {
        if (value)
            take(field, *value);
    }
};

} // namespace

base::Done sensibleText(TextKind kind, std::string_view text, std::string_view field)
{
    const auto named = [&] {
        std::string name(field);
        std::ranges::replace(name, '_', ' ');
        return base::asTerm(name);
    };
    std::size_t characters = 0;
    for (std::size_t at = 0; at < text.size(); ++characters) {
        const auto c = base::nextCharacter(text, at);
        if (!c)
            return base::badInput("the %1 is not valid UTF-8 at byte %2; write it anew", named(), at + 1);
        const bool layout = kind == TextKind::Words && (*c == '\n' || *c == '\r' || *c == '\t');
        if (base::isControl(*c) && !layout)
            return base::badInput("the %1 holds a control character at byte %2; take it out", named(), at);
        if (base::turnsDirection(*c) || (kind == TextKind::Id && isInvisible(*c)))
            return base::badInput(
                "the %1 holds an invisible mark before byte %2, by which it would look like another text; take it out", named(), at + 1);
    }
    const std::size_t most = kLongest[static_cast<std::size_t>(kind)];
    if (characters > most)
        return base::badInput("the %1 has %2 characters, and may have %3; shorten it", named(), characters, most);
    return {};
}

base::Done sensibleTexts(const Act& act)
{
    TextChecker checker;
    std::visit(
        [&]<typename A>(const A& a) {
            if constexpr (Described<A>)
                A::describe(checker, a);
        },
        act);
    if (const auto* policy = std::get_if<acts::PolicyChanged>(&act)) {
        for (const auto& [key, text] : policy->settings) {
            checker.check(TextKind::Id, "policy's key", key);
            checker.check(TextKind::Line, key, text);
        }
        if (policy->reason)
            checker.check(TextKind::Words, "reason", *policy->reason);
    }
    return checker.done;
}

} // namespace mk::registry
