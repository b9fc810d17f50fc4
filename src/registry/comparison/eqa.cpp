// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/comparison/eqa.h"

#include "stats/rules/control_score.h"

namespace mk::registry {

namespace {

std::optional<stats::ControlScore> eqaScore(const Reading& result, const base::Decimal& assigned, const base::Decimal& sd)
{
    if (const auto* number = std::get_if<base::Decimal>(&result))
        return stats::ControlScore::of(*number, assigned, sd);
    return std::holds_alternative<High>(result) ? stats::ControlScore::aboveAll() : stats::ControlScore::belowAll();
}

} // namespace

base::Moment eqaDueUntil(const acts::EqaReceived& received, const Zone& zone)
{
    return zone.endOf(zone.dateOf(received.due));
}

EqaJudged judgeEqa(const EqaSample& sample, base::Moment at, const Zone& zone)
{
    EqaJudged judged;
    const acts::EqaReceived& received = sample.received.act;
    const acts::EqaReturned* returned = sample.returned && sample.returned->act.at <= at ? &sample.returned->act : nullptr;
    if (returned == nullptr) {
        const bool scoredWithout = sample.scored && sample.scored->act.at <= at;
        judged.failed = at >= eqaDueUntil(received, zone) || scoredWithout;
        judged.band = judged.failed ? EqaBand::Missing : EqaBand::Waiting;
        return judged;
    }
    const bool late = returned->submittedAt.value_or(returned->at) >= eqaDueUntil(received, zone);
    judged.band = late ? EqaBand::Late : EqaBand::Returned;
    judged.failed = late;
    if (!sample.scored || sample.scored->act.at > at || !sample.scored->act.assigned || !sample.scored->act.sd)
        return judged;
    const bool errorCode = std::holds_alternative<ErrorCode>(returned->result);
    const auto score = eqaScore(returned->result, *sample.scored->act.assigned, *sample.scored->act.sd);
    if (!score)
        return judged; // an SD of zero says nothing
    if (score->isNumber() && !errorCode)
        judged.z = score->z();
    if (late)
        return judged;
    const auto beyond = [&](int limit, stats::OnLimit onLimit) {
        return score->beyond(limit, 1, onLimit) || score->beyond(limit, -1, onLimit);
    };
    if (errorCode || beyond(3, stats::OnLimit::Out))
        judged.band = EqaBand::Action;
    else
        judged.band = beyond(2, stats::OnLimit::In) ? EqaBand::Questionable : EqaBand::Satisfactory;
    judged.failed = judged.band == EqaBand::Action;
    return judged;
}

} // namespace mk::registry
