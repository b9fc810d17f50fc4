// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "base/result.h"
#include "registry/terms/values.h"

#include <string_view>

/// What a secret must be to be taken. Length does most (NIST SP 800-63B 5.1.1.2); no demand of mixed characters.
namespace mk::registry {

inline constexpr std::size_t kShortestPin = 6; ///< digits only; the lock-out makes a million worth guessing for years
inline constexpr std::size_t kShortestPassword = 8;
inline constexpr std::size_t kShortestOfCoordinator = 10; ///< who may change roles and policies has no PIN
inline constexpr std::size_t kLongestSecret = 200;        ///< bytes

/// errors  BadInput: what is wrong, never the secret itself
base::Done soundSecret(std::string_view secret, const base::OperatorId& person, Role role);

} // namespace mk::registry
