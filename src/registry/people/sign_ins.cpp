// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/sign_ins.h"

#include <algorithm>

namespace mk::registry {

namespace {

bool samePlace(const SignIn& a, const SignIn& b)
{
    return a.ward == b.ward && a.station == b.station;
}

} // namespace

std::vector<SignInClash> clashesOf(std::span<const SignIn> events, int withinMinutes)
{
    std::vector<SignInClash> clashes;
    std::vector<SignIn> open;
    for (const auto& event : events) {
        if (!event.begins) {
            std::erase_if(open, [&](const SignIn& each) { return each.person == event.person && samePlace(each, event); });
            continue;
        }
        for (const auto& other : open)
            if (other.person == event.person && !samePlace(other, event)
                && event.at.utcMs - other.at.utcMs <= withinMinutes * std::int64_t { 60'000 })
                clashes.push_back({ other, event });
        std::erase_if(open, [&](const SignIn& each) { return each.person == event.person && samePlace(each, event); });
        open.push_back(event);
    }
    return clashes;
}

} // namespace mk::registry
