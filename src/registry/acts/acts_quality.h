// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts_people.h"

/// What people record when something was not right: technique, nonconformities, late entries, signed months.
namespace mk::registry {

enum class CauseClass { Meter, StripVial, StripLot, ControlVial, Technique, Environment, EntryError, Random, Unknown };
template <>
struct Words<CauseClass> {
    static constexpr std::string_view what = "cause";
    static constexpr std::string_view all[] = { "meter", "strip-vial", "strip-lot", "control-material", "technique", "environment",
        "entry-error", "random", "unknown" };
};

/// How the occasions of a month are counted: each day against yesterday's minute, as long ago, or by handbook 6.6.
enum class CountedBy { Minute, Occasion };
template <>
struct Words<CountedBy> {
    static constexpr std::string_view what = "way of counting";
    static constexpr std::string_view all[] = { "minute", "occasion" };
};

enum class NcState { Open, Contained, CauseFound, ActionDone, EffectivenessChecked, Closed };
template <>
struct Words<NcState> {
    static constexpr std::string_view what = "state of a nonconformity";
    static constexpr std::string_view all[] = { "open", "contained", "cause-found", "action-done", "effectiveness-checked", "closed" };
};

} // namespace mk::registry

namespace mk::registry::acts {

/// The technique check of the ladder's first step (handbook 4.6, 4.7), or an observer's look at somebody's technique.
struct TechniqueChecked {
    static constexpr std::string_view kind = "technique.checked", file = "", word = "technique";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    Opt<base::OperatorId> observed {};    ///< whose technique; none: one's own, after a failure
    Opt<std::string> found {}, remark {}; ///< found: the points that were not as they should be, blanks between
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Key),
            v("observed", s.observed, Field::Given);
        v("found", s.found, Field::Given), v("remark", s.remark, Field::Given);
    }
};

/// A nonconformity (handbook 7.1); the registry opens some by itself. Its number is its entry.
struct NcOpened {
    static constexpr std::string_view kind = "nonconformity.opened", file = "", word = "nonconformity";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    std::string type;    ///< a reason code where the registry opened it
    std::string subject; ///< meter, lot or vial
    std::string description;
    Opt<std::string> immediateAction {}, owner {};
    Opt<base::Date> due {};
    Opt<base::Seq> because {}; ///< the entry it follows from
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("type", s.type, Field::Key), v("subject", s.subject, Field::Key);
        v("description", s.description, Field::Needed), v("immediate_action", s.immediateAction, Field::Given),
            v("owner", s.owner, Field::Given);
        v("due", s.due, Field::Given), v("because", s.because, Field::Given);
    }
};

/// One step of it: contained, cause found, action done, effectiveness checked, closed; `open` opens it again with a reason.
struct NcStep {
    static constexpr std::string_view kind = "nonconformity.step", file = "", word = "nonconformity-step";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    base::Seq entry; ///< that opened it
    NcState to {};
    std::string text;
    Opt<CauseClass> cause {};
    Opt<std::string> owner {}, report {}; ///< report: what was sent to maker or authority, with its reference
    Opt<base::Date> due {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("entry", s.entry, Field::Key), v("to", s.to, Field::Key);
        v("text", s.text, Field::Needed), v("cause", s.cause, Field::Given), v("owner", s.owner, Field::Given),
            v("report", s.report, Field::Given);
        v("due", s.due, Field::Given);
    }
};

/// The coordinator lets a control that was entered late and without paper count as made in time (handbook, S35).
struct LateEntryAccepted {
    static constexpr std::string_view kind = "late_entry.accepted", file = "", word = "late-entry";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    base::SetId set;
    std::string reason;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("set", s.set, Field::Key), v("reason", s.reason, Field::Key);
    }
};

/// The month as it stood at one entry, signed. The figures are those that the registry gives as of that entry.
struct ReviewSigned {
    static constexpr std::string_view kind = "review.signed", file = "", word = "review";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    std::string month; ///< "2026-10"
    Opt<base::WardId> ward {};
    Opt<base::Seq> cutOff {};             ///< the last entry that it has seen; the program fills it in
    Opt<std::string> head {}, figures {}; ///< digests: of that entry, and of the figures as canonical text
    Opt<std::string> meaning {}, remark {};
    Opt<CountedBy> countedBy {}; ///< none: by minute; the program fills it in
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("month", s.month, Field::Key), v("ward", s.ward, Field::Given);
        v("cut_off", s.cutOff, Field::Given), v("head", s.head, Field::Given), v("figures", s.figures, Field::Given),
            v("meaning", s.meaning, Field::Given);
        v("remark", s.remark, Field::Given), v("counted_by", s.countedBy, Field::Given);
    }
};

} // namespace mk::registry::acts
