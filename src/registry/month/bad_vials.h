// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/month/month.h"

/// A control vial that failed is one thing, however many meters were controlled with it.
namespace mk::registry {

inline constexpr std::size_t kFailuresOfVial = 3, kMetersOfVial = 2; ///< first attempts on one control vial, where no climb says so

/// What failed with one control vial, whichever meter it was on.
/// ended  the ladder ended on another control vial
struct BadVial {
    std::vector<base::MeterId> meters {};
    std::vector<base::Seq> runs {}, firstAttempts {};
    bool ended = false;
};

struct MeterSet {
    base::MeterId meter;
    const SetRecord* set = nullptr;
};

/// By id; a vial of which nothing says that it was the cause is not among them.
/// sets    whose failures count
/// meters  with all their sets: how a climb ended may stand in a later one
std::map<std::string, BadVial> badControlVials(std::span<const MeterSet> sets, std::span<const MonthMeterInput> meters);

/// The vial that every rejected run of the set was run with, where it is one of those; else empty.
std::string vialBehind(const SetRecord& set, const std::map<std::string, BadVial>& vials);

} // namespace mk::registry
