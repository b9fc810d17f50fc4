// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/control/failure_ladder.h"
#include "registry/meter/fitness.h"

#include <QString>

/// What is to be done: phrases that begin a line, without a point at their end.
namespace mk::words {

/// What the phrase of a kind speaks of beside the kind itself: a step of that kind carries it.
enum class StepNeeds { Nothing, Levels, Subject, Material, Ladder };
StepNeeds needsOf(registry::StepKind kind);

/// "Run low and high"
QString stepSaid(const registry::NextStep& step);
/// "Open a new control vial and run the level again"; empty where nothing failed
QString ladderStepSaid(const registry::LadderStanding& ladder);
/// "The control was mixed as its insert says"
QString techniqueSaid(registry::TechniquePoint point);

} // namespace mk::words
