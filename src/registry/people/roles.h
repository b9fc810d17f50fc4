// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/values.h"

#include <string_view>

/// Who may record what, once sign-in is set up. Pure. What an act demands beyond its kind (a coordinator for a release, somebody competent
/// for a return) is checked where the act is.
namespace mk::registry {

/// kind  of an act, as the journal has it; one that is not known is nobody's
bool mayRecord(Role role, std::string_view kind);
/// Kinds that only the program writes: what follows from other acts, and its own word on sign-ins, copies and places.
bool isProgramsOwn(std::string_view kind);
/// Does a paper form carry it, so that a coordinator may enter it for the nurse who did it? Nobody decides or signs for another.
bool mayBeEnteredFor(std::string_view kind);
/// Records made elsewhere, taken over as a whole.
bool mayTakeOver(Role role);
/// A signature that asks for the secret once more, whatever was shown before.
bool asksForSecret(std::string_view kind);

} // namespace mk::registry
