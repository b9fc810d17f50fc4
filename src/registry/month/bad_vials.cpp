// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/month/bad_vials.h"

#include "registry/control/failure_ladder.h"

#include <algorithm>

namespace mk::registry {

namespace {

bool isRejected(const RunRecord& run)
{
    return run.judged.verdict == Verdict::Rejected && run.judged.valid;
}

/// Did a run that is counted here fail on that climb?
bool failedOn(const Ladder& climb, const BadVial& vial)
{
    return std::ranges::any_of(climb.attempts,
        [&](const LadderAttempt& attempt) { return attempt.failed && std::ranges::find(vial.runs, attempt.run) != vial.runs.end(); });
}

} // namespace

std::map<std::string, BadVial> badControlVials(std::span<const MeterSet> sets, std::span<const MonthMeterInput> meters)
{
    std::map<std::string, BadVial> vials;
    for (const auto& [meter, set] : sets)
        for (const auto& run : set->runs) {
            if (!isRejected(run))
                continue;
            BadVial& vial = vials[run.run.controlVial.value];
            vial.runs.push_back(run.seq);
            if (run.judged.attempt == 1)
                vial.firstAttempts.push_back(run.seq);
            if (std::ranges::find(vial.meters, meter) == vial.meters.end())
                vial.meters.push_back(meter);
        }
    for (const auto& meter : meters)
        for (const auto& climb : climbsIn(meter.sets, {}))
            if (climb.ending == LadderEnding::ControlMaterial)
                for (const auto& spent : climb.spentVials)
                    if (const auto vial = vials.find(spent); vial != vials.end())
                        vial->second.ended = vial->second.ended || failedOn(climb, vial->second);
    std::erase_if(vials, [](const auto& each) {
        const BadVial& vial = each.second;
        return !vial.ended && (vial.firstAttempts.size() < kFailuresOfVial || vial.meters.size() < kMetersOfVial);
    });
    return vials;
}

std::string vialBehind(const SetRecord& set, const std::map<std::string, BadVial>& vials)
{
    std::string behind;
    for (const auto& run : set.runs) {
        if (std::holds_alternative<ErrorCode>(run.run.result))
            return {};
        if (!isRejected(run))
            continue;
        const std::string& vial = run.run.controlVial.value;
        if (!vials.contains(vial) || (!behind.empty() && behind != vial))
            return {};
        behind = vial;
    }
    return behind;
}

} // namespace mk::registry
