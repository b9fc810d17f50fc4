// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/fault.h"

#include <cstdio>
#include <cstdlib>

#ifdef NDEBUG
#error "Every build keeps its asserts; CMakeLists.txt says why"
#endif

namespace mk::base {

Arg::Arg(const Fault& why) : kind(Kind::Cause), text(plainly(why)), cause(std::make_shared<const Fault>(why)) { }

std::string filled(std::string_view sentence, const std::vector<Arg>& args)
{
    std::string whole;
    for (std::size_t at = 0; at < sentence.size(); ++at) {
        const int place = sentence[at] == '%' && at + 1 < sentence.size() ? sentence[at + 1] - '0' : 0;
        if (place >= 1 && place <= 9 && static_cast<std::size_t>(place) <= args.size()) {
            whole += args[static_cast<std::size_t>(place - 1)].text;
            ++at;
        } else {
            whole += sentence[at];
        }
    }
    return whole;
}

std::string plainly(const Fault& fault)
{
    if (!fault.text.empty())
        return fault.text;
    std::string line(fault.code);
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
