// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/lots/lot_verification.h"

#include "registry/comparison/comparison.h"

#include <algorithm>
#include <map>

namespace mk::registry {

namespace {

const VerifiedRange* rangeOf(const LotVerification& verification, const base::ControlLotId& controlLot, Level level)
{
    const auto found = std::ranges::find_if(verification.ranges,
        [&](const VerifiedRange& each) { return each.range.act.controlLot == controlLot && each.range.act.level == level; });
    return found == verification.ranges.end() ? nullptr : &*found;
}

void missingOfLevel(const LotVerification& verification, const Policy& policy, Level level, std::vector<std::string>& missing)
{
    const std::string name(word(level));
    const auto ofLevel = [&](const VerifiedRange& each) { return each.range.act.level == level; };
    if (std::ranges::none_of(verification.ranges, ofLevel))
        missing.push_back("no " + name + " range is on record: enter it from this lot's own label");
    else if (std::ranges::none_of(verification.ranges, [&](const VerifiedRange& each) { return ofLevel(each) && each.confirmed; }))
        missing.push_back("no " + name + " range was typed again by a second person");

    std::map<base::MeterId, int> inside;
    for (const auto& [check, controlLot] : verification.controls) {
        if (check.act.level != level)
            continue;
        const VerifiedRange* range = rangeOf(verification, controlLot, level);
        const auto* number = std::get_if<base::Decimal>(&check.act.result);
        const bool holds = range != nullptr && number != nullptr && check.act.unit == range->range.act.unit
            && range->range.act.low <= *number && *number <= range->range.act.high;
        if (holds)
            ++inside[check.act.meter];
        else if (range != nullptr)
            missing.push_back("the " + name + " control on " + check.act.meter.value + " read " + toText(check.act.result) + ", outside "
                + range->range.act.low.typed() + " to " + range->range.act.high.typed() + " (entry " + std::to_string(check.seq.value)
                + ")");
    }
    const auto meters = std::ranges::count_if(inside, [&](const auto& each) { return each.second >= policy.releaseReplicates; });
    if (meters < policy.releaseMeters)
        missing.push_back("the " + name + " control was inside its range " + std::to_string(policy.releaseReplicates) + " times on "
            + std::to_string(meters) + " of " + std::to_string(policy.releaseMeters) + " meters");
}

} // namespace

bool withinSampleLimit(const acts::LotSampleCompared& sample, const Policy& policy)
{
    // The lot in use stands where a comparison has the laboratory.
    acts::ComparisonRecorded pair;
    pair.meterAt = pair.labAt = sample.at;
    pair.meterResult = sample.candidate;
    pair.labResult = sample.current;
    pair.unit = sample.unit;
    return judgePair(pair, nullptr, policy).outcome == PairOutcome::Inside;
}

std::vector<std::string> missingForRelease(const LotVerification& verification, const Policy& policy)
{
    std::vector<std::string> missing;
    for (const Level level : policy.requiredLevels)
        missingOfLevel(verification, policy, level, missing);
    std::vector<std::string> samples;
    for (const auto& sample : verification.samples) {
        if (!withinSampleLimit(sample.act, policy)) {
            missing.push_back("sample " + sample.act.sample + " read " + sample.act.candidate.typed() + " on this lot and "
                + sample.act.current.typed() + " on " + sample.act.currentLot.value + ", further apart than a comparison allows (entry "
                + std::to_string(sample.seq.value) + ")");
            continue;
        }
        if (std::ranges::find(samples, sample.act.sample) == samples.end())
            samples.push_back(sample.act.sample);
    }
    if (!verification.noSamples && std::ssize(samples) < policy.releaseSamples)
        missing.push_back(std::to_string(samples.size()) + " of " + std::to_string(policy.releaseSamples)
            + " blood samples were compared with the lot in use (or give no_samples with the reason)");
    return missing;
}

base::Done confirms(const acts::RangeConfirmed& confirmation, const RangeRecord& range, const std::string& typedBy)
{
    if (confirmation.by.value == typedBy)
        return base::refused("a range is typed again by a second person; '%1' typed entry %2", typedBy, range.seq.value);
    if (confirmation.low == range.act.low && confirmation.high == range.act.high)
        return {};
    return base::refused(
        "the %1 range of %2 with %3 is %4 to %5 in entry %6 by %7, and %8 to %9 as typed now; look at the label together and enter the range anew where the first was wrong",
        base::asCode(word(confirmation.level)), confirmation.stripLot.value, confirmation.controlLot.value, range.act.low.typed(),
        range.act.high.typed(), range.seq.value, typedBy, confirmation.low.typed(), confirmation.high.typed());
}

} // namespace mk::registry
