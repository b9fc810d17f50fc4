// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/answers.h"

#include <algorithm>

namespace mk::model {

using namespace registry;

namespace {

std::string joined(const std::set<std::string>& words)
{
    std::string text;
    for (const auto& word : words)
        text += (text.empty() ? "" : " ") + word;
    return "{" + text + "}";
}

} // namespace

std::string describe(const Expected& expected)
{
    std::string text = std::string(word(expected.state)) + " must " + joined(expected.must);
    for (const auto& group : expected.oneOf)
        text += " one of " + joined(group);
    return text + " listed " + joined(expected.listed) + " may " + joined(expected.may);
}

std::string describe(const Fitness& fitness)
{
    std::string text = std::string(word(fitness.state)) + (fitness.usable ? " usable" : " not usable");
    for (const auto& reason : fitness.reasons) {
        text += " " + std::string(registry::code(reason.code)) + (reason.blocks ? "!" : "") + "[";
        for (const auto seq : reason.evidence)
            text += " " + std::to_string(seq.value);
        text += " ]";
    }
    return text + (fitness.until ? " until " + base::toText(*fitness.until) : std::string());
}

std::string disagreement(const Expected& expected, const Fitness& fitness)
{
    static const std::set<std::string> kOwnWords { "state", "vial-ended", "vial-not-open", "unknown", "outside-twice" };
    std::set<std::string> all, blocking;
    for (const auto& reason : fitness.reasons) {
        all.emplace(registry::code(reason.code));
        if (reason.blocks)
            blocking.emplace(registry::code(reason.code));
    }
    std::string wrong;
    if (fitness.state != expected.state)
        wrong += " state";
    if (fitness.usable != (fitness.state == MeterState::InService && blocking.empty()))
        wrong += " usable against its own reasons";
    if (fitness.usable && (expected.blocked() || expected.state != MeterState::InService))
        wrong += " usable though it must not be";
    std::set<std::string> allowed = expected.may;
    for (const auto& code : expected.must) {
        allowed.insert(code);
        if (!blocking.contains(code))
            wrong += " lacks " + code;
    }
    for (const auto& group : expected.oneOf) {
        allowed.insert(group.begin(), group.end());
        if (std::ranges::none_of(group, [&](const std::string& code) { return blocking.contains(code); }))
            wrong += " lacks one of " + joined(group);
    }
    for (const auto& code : expected.listed)
        if (!kOwnWords.contains(code) && !all.contains(code))
            wrong += " does not list " + code;
    for (const auto& code : blocking)
        if (!allowed.contains(code))
            wrong += " blocks for " + code;
    return wrong;
}

} // namespace mk::model
