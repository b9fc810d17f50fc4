// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/db/session.h"

namespace mk::cli {

/// The password of a server's user: from the system's key store, else asked at the terminal, without echo. A script without a terminal and
/// without a key store gets a fault, never a hanging question.
store::PasswordSource passwordSource();

} // namespace mk::cli
