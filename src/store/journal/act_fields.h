// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"

/// The fields of each act that the program writes itself, with their names in the journal: one list, for writing and for reading. Acts that
/// people make describe themselves (registry/acts_*.h).
namespace mk::store {

void pack(auto& v, auto& s, const registry::acts::JudgedRun*)
{
    v("run", s.run), v("level", s.level), v("attempt", s.attempt), v("valid", s.valid), v("invalid_because", s.invalidBecause),
        v("low", s.low);
    v("high", s.high), v("mean", s.mean), v("sd", s.sd), v("stage", s.stage), v("in_range", s.inRange), v("z", s.z), v("u", s.u),
        v("usual", s.usual), v("base", s.base), v("evaluable", s.evaluable);
    v("counted", s.counted), v("rules", s.rules), v("strip_lot", s.stripLot), v("control_lot", s.controlLot), v("verdict", s.verdict);
}
void pack(auto& v, auto& s, const registry::acts::LevelBias*)
{
    v("level", s.level), v("bias", s.bias), v("percent", s.percent), v("n", s.n), v("beyond_half_limit", s.beyondHalfLimit);
}
void pack(auto& v, auto& s, const registry::acts::UsualLevelFinding*)
{
    v("level", s.level), v("n", s.n), v("sum", s.sum), v("start", s.start), v("newest", s.newest), v("slow", s.slow), v("count", s.count);
    v("apart", s.apart), v("silent_at", s.silentAt), v("control_lot", s.controlLot), v("base", s.base), v("cv", s.cv), v("limit", s.limit);
    v("frozen", s.frozen), v("learned", s.learned), v("usual", s.usual), v("others_slow", s.othersSlow), v("others", s.others),
        v("others_move", s.othersMove);
    v("u", s.u);
}
void pack(auto& v, auto& s, const registry::acts::UsualFinding*)
{
    v("score", s.score), v("up", s.up), v("down", s.down), v("up_since", s.upSince), v("down_since", s.downSince), v("began", s.began);
    v("told", s.told), v("own_stop", s.ownStop), v("apart_since", s.apartSince), v("lot", s.lot), v("stops", s.stops),
        v("strip_lot", s.stripLot), v("levels", s.levels);
}
void pack(auto& v, auto& s, const registry::acts::DriftFinding*)
{
    v("counted", s.counted), v("ewma", s.ewma), v("cusum_high", s.cusumHigh), v("cusum_low", s.cusumLow), v("n", s.n),
        v("high_since", s.highSince);
    v("low_since", s.lowSince), v("signals", s.flags), v("began", s.began), v("bias", s.bias), v("beyond_half_limit", s.beyondHalfLimit);
    v("usual", s.usual);
}
void pack(auto& v, auto& s, const registry::acts::SetJudged*)
{
    v("set", s.set), v("meter", s.meter), v("ward", s.ward), v("first_at", s.firstAt), v("last_at", s.lastAt), v("attempt", s.attempt);
    v("verdict", s.verdict), v("rules", s.rules), v("shift", s.shift), v("segment_start", s.segmentStart), v("runs", s.runs),
        v("drift", s.drift);
    v("policy", s.policyVersion), v("rule_set", s.ruleSet), v("old_verdict", s.oldVerdict), v("because", s.because);
}
void pack(auto& v, auto& s, const registry::acts::PairJudged*)
{
    v("pair", s.pair), v("meter", s.meter), v("at", s.at), v("outcome", s.outcome), v("excluded_because", s.excludedBecause),
        v("limits", s.limits);
    v("policy", s.policyVersion);
}
void pack(auto& v, auto& s, const registry::acts::MeterStopped*)
{
    v("meter", s.meter), v("at", s.at), v("withdrawn", s.withdrawn), v("cause", s.cause), v("because", s.because),
        v("needs_signature", s.needsSignature);
    v("by", s.by);
}
void pack(auto& v, auto& s, const registry::acts::MeterReturned*)
{
    v("meter", s.meter), v("at", s.at), v("to_state", s.toState), v("because", s.because), v("ends", s.ends);
}
void pack(auto& v, auto& s, const registry::acts::LookbackOpened*)
{
    v("meter", s.meter), v("at", s.at), v("from", s.from), v("to", s.to), v("cause", s.cause), v("because", s.because);
    v("alternative_from", s.alternativeFrom), v("used_until", s.usedUntil), v("scope", s.scope), v("direction", s.direction);
}
void pack(auto& v, auto& s, const registry::acts::ReviewOvertaken*)
{
    v("month", s.month), v("review", s.review), v("because", s.because);
}
void pack(auto& v, auto& s, const registry::acts::ClockNoticed*)
{
    v("direction", s.direction), v("by_seconds", s.bySeconds), v("last_seen", s.lastSeen), v("now", s.now);
}

void pack(auto& v, auto& s, const registry::acts::SecretSet*)
{
    v("at", s.at), v("by", s.by), v("person", s.person), v("seal", s.seal), v("once", s.once);
}
void pack(auto& v, auto& s, const registry::acts::SecretRecovered*)
{
    v("at", s.at), v("person", s.person), v("witness", s.witness), v("reason", s.reason), v("seal", s.seal);
}
void pack(auto& v, auto& s, const registry::acts::SignInFailed*)
{
    v("at", s.at), v("person", s.person), v("in_a_row", s.inARow), v("locked_until", s.lockedUntil);
}
void pack(auto& v, auto& s, const registry::acts::SignInUnlocked*)
{
    v("at", s.at), v("by", s.by), v("person", s.person), v("reason", s.reason);
}
void pack(auto& v, auto& s, const registry::acts::RecordsShown*)
{
    v("at", s.at), v("by", s.by), v("what", s.what);
}
void pack(auto& v, auto& s, const registry::acts::BackupMade*)
{
    v("at", s.at), v("copy", s.copy), v("head", s.head), v("digest", s.digest);
}
void pack(auto& v, auto& s, const registry::acts::RegistryRestored*)
{
    v("at", s.at), v("copy", s.copy), v("head", s.head), v("digest", s.digest), v("replaced_head", s.replacedHead),
        v("replaced_digest", s.replacedDigest);
}
void pack(auto& v, auto& s, const registry::acts::RegistryMoved*)
{
    v("at", s.at), v("to", s.to), v("head", s.head), v("digest", s.digest);
}

} // namespace mk::store
