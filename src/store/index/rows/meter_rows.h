// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts.h"
#include "store/db/described_row.h"

/// One meter's own file, without its control sets.
namespace mk::store {

namespace acts = registry::acts;

/// happened, told  when it was, and when the registry was told of it: from then on a stop may rest on it
struct IncidentRow {
    static constexpr std::string_view table = "incident", order = "meter, happened_at, from_seq";
    acts::IncidentReported act;
    base::Moment happened, told;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("happened_at", s.happened, Stored::Instant), v("told_at", s.told, Stored::Instant);
        v("at", s.act.at), v("noticed_at", s.act.noticedAt), v("meter", s.act.meter), v("operator", s.act.by), v("kind", s.act.what);
        v("detail", s.act.detail), v("agent", s.act.agent), v("contact_time_kept", s.act.contactTimeKept), v("used", s.act.used);
        Version::describe(v, s.version);
    }
};

struct ReturnStepRow {
    static constexpr std::string_view table = "return_step", order = "meter, from_seq";
    acts::ReturnStep act;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("at", s.act.at), v("meter", s.act.meter), v("operator", s.act.by), v("step", s.act.step), v("detail", s.act.detail);
        Version::describe(v, s.version);
    }
};

/// since  when it became true; the version says when it became known
struct MeterStateRow {
    static constexpr std::string_view table = "meter_state", order = "meter, from_at, from_seq";
    base::MeterId meter;
    base::Moment since;
    registry::MeterState state {};
    std::optional<registry::MeterState> before {};
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.meter), v("from_at", s.since, Stored::Instant), v("state", s.state), v("before", s.before);
        Version::describe(v, s.version);
    }
};

struct MeterWardRow {
    static constexpr std::string_view table = "meter_ward", order = "meter, from_at, from_seq";
    base::MeterId meter;
    base::Moment since;
    base::WardId ward;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.meter), v("from_at", s.since, Stored::Instant), v("ward", s.ward);
        Version::describe(v, s.version);
    }
};

/// What a boundary is called that the meter's return made.
inline constexpr std::string_view kReturned = "returned";
/// Where the control statistics of a meter begin again.
struct SegmentBoundaryRow {
    static constexpr std::string_view table = "segment_boundary", order = "meter, at, from_seq";
    base::MeterId meter;
    base::Moment at;
    std::string what;
    Version version;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.meter), v("at", s.at, Stored::Instant), v("what", s.what);
        Version::describe(v, s.version);
    }
};

/// A stop is open until an entry ends it; who looks from before that entry sees it open.
struct MeterStopRow {
    static constexpr std::string_view table = "meter_stop", order = "meter, from_seq";
    struct End {
        std::optional<base::Moment> at {};
        std::optional<base::Seq> by {};
        static void describe(auto& v, auto& s) { v("ended_at", s.at, Stored::Instant), v("ended_seq", s.by); }
    };
    acts::MeterStopped act;
    base::Seq from;
    End end;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.act.meter), v("from_at", s.act.at, Stored::Instant), v("from_seq", s.from), v("withdrawn", s.act.withdrawn);
        v("cause", s.act.cause), v("because", s.act.because), v("needs_signature", s.act.needsSignature), v("by_policy", s.act.by);
        End::describe(v, s.end);
    }
};

struct LookbackRow {
    static constexpr std::string_view table = "lookback", order = "meter, from_seq";
    struct End {
        std::optional<base::Moment> at {};
        std::optional<base::Seq> by {};
        std::optional<std::string> decision {};
        static void describe(auto& v, auto& s) { v("closed_at", s.at, Stored::Instant), v("closed_seq", s.by), v("decision", s.decision); }
    };
    acts::LookbackOpened act;
    base::Seq from;
    End end;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.act.meter), v("from_seq", s.from), v("opened_at", s.act.at, Stored::Instant);
        v("interval_from", s.act.from, Stored::Instant), v("interval_to", s.act.to, Stored::Instant), v("cause", s.act.cause);
        v("because", s.act.because), v("alternative_from", s.act.alternativeFrom, Stored::Instant);
        v("used_until", s.act.usedUntil, Stored::Instant), v("scope", s.act.scope), v("direction", s.act.direction);
        End::describe(v, s.end);
    }
};

struct NoteRow {
    static constexpr std::string_view table = "note", order = "meter, from_seq";
    acts::NoteAdded act;
    base::Seq from;
    static void describe(auto& v, auto& s)
    {
        v("meter", s.act.meter), v("from_seq", s.from), v("at", s.act.at), v("operator", s.act.by), v("text", s.act.text);
    }
};

} // namespace mk::store
