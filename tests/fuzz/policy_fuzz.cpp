// SPDX-License-Identifier: GPL-3.0-or-later
// Any bytes as a policy document: refused by file and line, or settings that read the same in either form; and a policy that they make.
#include "exchange/policy_file.h"
#include "property.h"
#include "registry/policy/policy.h"

#include <algorithm>

using namespace mk;
using fuzz::mustHold;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
    const std::string_view bytes = fuzz::bytesOf(data, size);
    const auto lines = exchange::readPolicyDocument(bytes, "ward.policy");
    if (!lines) {
        mustHold(lines.error().text.starts_with("ward.policy"), "a fault names its file", lines.error().text);
        return 0;
    }
    const std::size_t most = static_cast<std::size_t>(std::ranges::count(bytes, '\n')) + 1;
    for (const auto& line : *lines)
        mustHold(line.line <= most, "a line stands within the file");
    const auto settings = exchange::settingsOf(*lines);
    const auto faults = registry::policyFaults(settings);
    for (const auto& fault : faults)
        mustHold(fault.at < std::max<std::size_t>(settings.size(), 1) && !fault.text.empty(), "a fault names a setting", fault.text);
    const auto policy = registry::policyFrom(settings);
    if (!policy)
        return 0;
    mustHold(faults.empty(), "a policy without faults is taken");
    const auto complete = registry::completePolicy(settings);
    std::string document;
    for (const auto& [key, text] : complete)
        document += key + " = " + text + "\n";
    const auto again = exchange::readPolicyFile(document, "again.policy");
    mustHold(bool(again), "a policy can be written and read", again ? document : again.error().text);
    mustHold(*again == complete, "a policy reads the same", document);
    mustHold(bool(registry::policyFrom(*again)), "a policy that was taken is taken again", document);
    return 0;
}
