// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <map>
#include <string>

namespace mk::model {

/// A small ward as files, taken over at its first morning: three meters that are shared and one that must not be, lots with and without
/// release and period, vials near their end, people of each role.
struct Ground {
    std::string day;       ///< the ward opens at 05:00 UTC of it
    std::string enrolled;  ///< of M3: so that its comparison falls due soon
    std::string lapses;    ///< last day of N2's competency
    std::string nearlyOut; ///< opening of the vials whose period ends soon
    bool targets = false;  ///< mean and SD at the interim stage, else ranges only
};

std::map<std::string, std::string> files(const Ground& ground);

} // namespace mk::model
