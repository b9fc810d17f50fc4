// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/version.h"

namespace mk::base {

std::string version()
{
    return MK_VERSION;
}

std::string programName()
{
    return "Meterkeep " + version();
}

} // namespace mk::base
