// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/fault.h"

#include <cstdio>
#include <cstdlib>

#ifdef NDEBUG
#error "Every build keeps its asserts; CMakeLists.txt says why"
#endif

namespace mk::base {

std::string plainly(const Fault& fault)
{
    std::string line = fault.code.empty() ? fault.text : std::string(fault.code);
    for (const auto& arg : fault.args)
        line += " '" + arg.text + "'";
    return line;
}

void endOnMissingValue(const Fault* fault)
{
    const std::string why = fault != nullptr ? "a value was taken where there is a fault: " + plainly(*fault)
                                             : "a fault was taken where there is none";
    std::fprintf(stderr, "meterkeep: stopped by an error in the program: %s\n", why.c_str());
    std::abort();
}

} // namespace mk::base
