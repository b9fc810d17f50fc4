// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/facts/eqa_samples.h"

#include <algorithm>

namespace mk::registry {

using base::Done;
using base::Result;

namespace {

template <typename A>
Done takeNewest(Facts& facts, const std::string& subject, std::optional<Record<A>>& into)
{
    auto known = facts.facts<A>(subject);
    if (!known)
        return known.error();
    if (!known->empty())
        into = std::move(known->back());
    return {};
}

Done fillEqa(Facts& facts, EqaSample& sample)
{
    const acts::EqaReceived& received = sample.received.act;
    const std::string subject = received.scheme + "/" + received.event + "/" + received.sample;
    if (const Done done = takeNewest(facts, subject, sample.returned); !done)
        return done;
    return takeNewest(facts, subject, sample.scored);
}

} // namespace

Result<std::vector<EqaSample>> eqaSamples(Facts& facts, const base::MeterId& meter)
{
    auto received = facts.facts<acts::EqaReceived>(meter.value);
    if (!received)
        return received.error();
    std::vector<EqaSample> samples;
    for (auto& each : *received) {
        EqaSample sample { std::move(each), {}, {} };
        if (const Done done = fillEqa(facts, sample); !done)
            return done.error();
        samples.push_back(std::move(sample));
    }
    return samples;
}

Result<std::optional<EqaSample>> eqaSample(Facts& facts, const std::string& scheme, const std::string& event, const std::string& sample)
{
    auto received = facts.facts<acts::EqaReceived>();
    if (!received)
        return received.error();
    const auto found = std::ranges::find_if(
        *received, [&](const auto& each) { return each.act.scheme == scheme && each.act.event == event && each.act.sample == sample; });
    if (found == received->end())
        return std::optional<EqaSample>();
    EqaSample whole { std::move(*found), {}, {} };
    if (const Done done = fillEqa(facts, whole); !done)
        return done.error();
    return std::optional(std::move(whole));
}

} // namespace mk::registry
