// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/may_hands.h"

namespace mk::journeys {

using namespace registry;

void runMay(WardWorld& ward, int lastDay, const std::string& meter, const std::function<std::string(int)>& low)
{
    for (int day = 2; day <= lastDay; ++day) {
        Setting setting;
        setting.meter = meter;
        const std::string date = "2026-05-" + std::string(day < 10 ? "0" : "") + std::to_string(day);
        ward.runSet(meter + "-" + date, date + "T07:00", low(day), std::to_string(295 + day % 7), setting);
    }
}

acts::EntryCorrected lowOf(const WardWorld& ward, const char* set, const char* old, const char* now, std::string_view at)
{
    return { ward.at(at), base::OperatorId("N1"), base::SetId(set), Level::Low, "result", old, now, "digits swapped",
        base::OperatorId("C1") };
}

} // namespace mk::journeys
