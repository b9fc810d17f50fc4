// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "model/ward_reference.h"

#include "registry/meter/fitness.h"

#include <string>

/// The registry's answer beside the reference's.
namespace mk::model {

std::string describe(const Expected& expected);
std::string describe(const registry::Fitness& fitness);
/// Where the registry's answer is none that the pages allow; empty where it is.
std::string disagreement(const Expected& expected, const registry::Fitness& fitness);

} // namespace mk::model
