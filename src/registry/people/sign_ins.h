// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "base/moment.h"

#include <span>
#include <string>
#include <vector>

/// One id at two places at once: a badge that was lent, or a session that was left open.
namespace mk::registry {

struct SignIn {
    base::Seq seq;
    base::OperatorId person;
    base::WardId ward;
    std::string station;
    base::Moment at;
    bool begins = true; ///< false: a sign-off
};

struct SignInClash {
    SignIn first, second;
};

/// Pairs of sign-ins of one id on different wards or stations, the second within so many minutes of the first and while that was open.
/// events  in the order of their entries
std::vector<SignInClash> clashesOf(std::span<const SignIn> events, int withinMinutes);

} // namespace mk::registry
