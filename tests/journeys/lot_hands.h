// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "journeys/ward_world.h"

#include "registry/control/limits.h"

/// What the stories of lots, vials and limits do again and again.
namespace mk::journeys {

inline constexpr auto kMg = base::GlucoseUnit::MgPerDl;

/// Records as this person at the station; gives the refusal, or nothing.
std::string recordBy(WardWorld& ward, const std::string& person, const registry::Act& act);
base::Moment now(WardWorld& ward, std::string_view time);
void addMeterTo(WardWorld& ward, const std::string& meter, base::Moment at);
void openVial(WardWorld& ward, const std::string& vial, const std::string& lot, base::Moment at);
registry::acts::RangeAssigned rangeOn(
    const std::string& lot, registry::Level level, const std::string& low, const std::string& high, base::Moment from);
/// A lot that came without a release.
registry::acts::StripLotReceived newLot(const std::string& lot, base::Moment at);
/// S2, taken over as released, with ranges from its own label and a vial.
void bringInReleasedS2(WardWorld& ward, std::string_view time);
Setting with(const std::string& meter, const std::string& strip);
std::string dayOf(int day, const std::string& time);
std::vector<registry::LimitProposal> proposals(
    WardWorld& ward, std::string_view time, registry::Level level, const std::string& lot = "S2");

} // namespace mk::journeys
