// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/meter/whole_life.h"

#include <QString>

namespace mk::words {

/// What happened, without its time and its person: "Withdrawn: The laboratory comparison failed."
QString lifeSaid(const registry::LifeEvent& event);

} // namespace mk::words
