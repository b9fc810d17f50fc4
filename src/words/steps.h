// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_ladder.h"
#include "registry/meter/fitness.h"

#include <QString>

/// What is to be done: phrases that begin a line, without a point at their end.
namespace mk::words {

/// "Run low and high"
QString stepSaid(const registry::NextStep& step);
/// "Open a new control vial and run the level again"; empty where nothing failed
QString ladderStepSaid(const registry::LadderStanding& ladder);
/// "The control was mixed as its insert says"
QString techniqueSaid(registry::TechniquePoint point);

} // namespace mk::words
