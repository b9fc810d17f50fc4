// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>

#include <string_view>

namespace mk::words {

/// Why a meter was stopped, or what a look-back or a nonconformity follows from, as a sentence; what is no code as it was typed.
QString causeSaid(std::string_view code);

} // namespace mk::words
