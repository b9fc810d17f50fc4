// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/meter/acceptance.h"

namespace mk::registry {

AcceptanceList acceptanceList(std::span<const Record<acts::AcceptanceChecked>> checks, base::Moment since, base::Moment until)
{
    AcceptanceList list;
    for (std::size_t i = 0; i < list.size(); ++i)
        list[i].item = static_cast<AcceptanceItem>(i);
    for (const auto& check : checks) {
        auto& newest = list[static_cast<std::size_t>(check.act.item)].newest;
        if (check.act.at >= since && check.act.at <= until && (!newest || newest->act.at <= check.act.at))
            newest = check;
    }
    return list;
}

base::Done acceptanceComplete(const AcceptanceList& list)
{
    std::string missing, wrong;
    for (const auto& line : list) {
        if (!line.newest)
            missing += (missing.empty() ? "" : ", ") + std::string(word(line.item));
        else if (!line.met())
            wrong += (wrong.empty() ? "" : ", ") + std::string(word(line.item));
    }
    if (!wrong.empty())
        return base::refused(
            "its acceptance found these not right: %1; mend them and record each anew with act acceptance --met yes", base::asCode(wrong));
    if (!missing.empty())
        return base::refused("its acceptance list lacks %1; record each with act acceptance --item … --met yes", base::asCode(missing));
    return {};
}

} // namespace mk::registry
