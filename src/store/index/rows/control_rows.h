// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/db/described_row.h"
#include "store/journal/act_codec.h"

/// Control runs and comparisons as typed, and what was judged of them.
namespace mk::store {

namespace acts = registry::acts;

/// The drift of a set, as canonical JSON.
template <>
struct ColumnForm<acts::DriftFinding> {
    static QVariant write(const acts::DriftFinding& drift) { return bound(driftText(drift)); }
    static bool read(const QVariant& stored, acts::DriftFinding& drift)
    {
        auto read = driftFrom(stored.toString().toStdString());
        if (read)
            drift = std::move(read).value();
        return read.operator bool();
    }
};

/// A correction closes one version and opens the next. run  the entry that recorded it first
struct ControlRunRow {
    static constexpr std::string_view table = "control_run", order = "set_id, run_seq, from_seq";
    acts::ControlRun act;
    base::Seq run;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("set_id", s.act.set), v("run_seq", s.run), v("at", s.act.at), v("meter", s.act.meter), v("operator", s.act.by);
        v("strip_vial", s.act.stripVial), v("level", s.act.level), v("control_vial", s.act.controlVial), v("result", s.act.result);
        v("unit", s.act.unit), v("reason", s.act.reason), v("repeat_of", s.act.repeatOf), v("comment", s.act.comment);
        v("code_shown", s.act.codeShown), v("supervisor", s.act.supervisor), v("deviation", s.act.deviation);
        v("late_reason", s.act.lateReason), v("form", s.act.form), v("question", s.act.question), v("answer", s.act.answer);
        Version::describe(v, s.version);
    }
};

struct RunVerdictRow {
    static constexpr std::string_view table = "run_verdict", order = "set_id, run_seq, from_seq";
    base::SetId set;
    acts::JudgedRun judged;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("set_id", s.set), v("run_seq", s.judged.run), v("level", s.judged.level), v("attempt", s.judged.attempt);
        v("valid", s.judged.valid), v("invalid_because", s.judged.invalidBecause), v("low", s.judged.low), v("high", s.judged.high);
        v("mean", s.judged.mean), v("sd", s.judged.sd), v("stage", s.judged.stage), v("in_range", s.judged.inRange), v("z", s.judged.z);
        v("u", s.judged.u), v("usual", s.judged.usual), v("base", s.judged.base);
        v("evaluable", s.judged.evaluable), v("counted", s.judged.counted), v("rules", s.judged.rules);
        v("strip_lot", s.judged.stripLot), v("control_lot", s.judged.controlLot), v("verdict", s.judged.verdict);
        Version::describe(v, s.version);
    }
};

/// The runs of the set have rows of their own. first, last, counted  to search by: what `judged` holds too
struct SetVerdictRow {
    static constexpr std::string_view table = "set_verdict", order = "meter, last_at, set_id, from_seq";
    acts::SetJudged judged;
    base::Moment first, last;
    bool counted = false;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.judged.meter), v("last_at", s.last, Stored::Instant), v("set_id", s.judged.set);
        v("first_at", s.first, Stored::Instant), v("first_text", s.judged.firstAt), v("last_text", s.judged.lastAt);
        v("ward", s.judged.ward), v("attempt", s.judged.attempt), v("verdict", s.judged.verdict), v("rules", s.judged.rules);
        v("shift", s.judged.shift), v("segment_start", s.judged.segmentStart), v("counted", s.counted), v("drift", s.judged.drift);
        v("policy", s.judged.policyVersion), v("rule_set", s.judged.ruleSet), v("old_verdict", s.judged.oldVerdict);
        v("because", s.judged.because);
        Version::describe(v, s.version);
    }
};

/// known  when both results were there
struct ComparisonRow {
    static constexpr std::string_view table = "comparison", order = "meter, known_at, pair, from_seq";
    /// Nothing until it was judged.
    struct Judged {
        std::optional<acts::PairOutcome> outcome {};
        std::optional<std::vector<std::string>> excludedBecause {};
        std::optional<std::string> limits {};
        std::optional<std::int64_t> policyVersion {};
        std::optional<base::Seq> by {};
        static void describe(auto& v, auto& s)
        {
            v("outcome", s.outcome), v("excluded_because", s.excludedBecause), v("limits", s.limits), v("policy", s.policyVersion);
            v("judged_seq", s.by);
        }
    };
    acts::ComparisonRecorded act;
    base::Moment known;
    Judged judged;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.act.meter), v("known_at", s.known, Stored::Instant), v("pair", s.act.pair), v("meter_at", s.act.meterAt);
        v("lab_at", s.act.labAt), v("operator", s.act.by), v("strip_vial", s.act.stripVial), v("sample", s.act.sample);
        v("sample_type", s.act.sampleType), v("meter_result", s.act.meterResult), v("lab_result", s.act.labResult);
        v("unit", s.act.unit), v("haematocrit", s.act.haematocrit), v("round", s.act.round), v("lab_sample_type", s.act.labSampleType);
        v("tube", s.act.tube), v("method", s.act.method), v("fasting", s.act.fasting), v("drawn_at", s.act.drawnAt);
        v("separated_at", s.act.separatedAt);
        Judged::describe(v, s.judged);
        Version::describe(v, s.version);
    }
};

struct CorrectionRow {
    static constexpr std::string_view table = "correction", order = "set_id, from_seq";
    struct Confirmed {
        std::optional<base::OperatorId> by {};
        std::optional<base::Seq> seq {};
        static void describe(auto& v, auto& s) { v("confirmed_by", s.by), v("confirmed_seq", s.seq); }
    };
    acts::EntryCorrected act;
    base::Seq from;
    Confirmed confirmed;
    static void describe(auto& v, auto& s)
    {
        v("set_id", s.act.set), v("level", s.act.level), v("from_seq", s.from), v("at", s.act.at), v("operator", s.act.by);
        v("column_name", s.act.column), v("old", s.act.oldText), v("new", s.act.newText), v("reason", s.act.reason);
        Confirmed::describe(v, s.confirmed);
    }
};

} // namespace mk::store
