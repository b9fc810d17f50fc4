// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

/// Nothing of a patient stands in the record (handbook 9).
namespace mk::registry {

/// Is the field of this name for a person's own words?
bool isFreeText(std::string_view field);

/// Looks through what a person wrote in words; numbers of papers, serials and lots have fields of their own and are left alone.
/// errors  Refused where six or more digits stand in a row, naming the field and not the digits
base::Done withoutPatientNumbers(const Act& act);

} // namespace mk::registry
