// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

namespace mk::registry {

// What is opened for a lot whose meters moved together, once for all of them: nonconformities of the strip lot.
inline constexpr std::string_view kLotMovedType = "lot-effect";
inline constexpr std::string_view kLotStoppedType = "lot-effect-stop"; ///< beyond what a comparison allows half of: its meters are stopped

} // namespace mk::registry
