// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/terms/text_form.h"

/// The acts that people make, one struct each; acts.h holds the variant over all.
///
/// Each is described once, by `describe`: the names of its fields are the columns of its file, the keys of
/// its journal body and the options of the command line. A visitor is called as v(name, member, Field).
/// `recordedBy` says whose it is (people/roles.h).
namespace mk::registry::acts {

enum class Field {
    Key,        ///< must be given, and is part of what makes two records the same one
    Needed,     ///< must be given
    Given,      ///< may be left out; absent is stored as absent
    KeyIfGiven, ///< may be left out; where given, part of the key
    Program     ///< the program writes it into the journal; in no file, and nobody types it
};

/// Who may record an act once sign-in is set up.
enum class RecordedBy {
    Everybody,    ///< the inspector too
    Staff,        ///< nurses and coordinators
    StaffOrPaper, ///< staff; a downtime form has a line for it, so a coordinator may enter it for the nurse who did it
    Coordinator,
    Program ///< what follows from other acts, and its own word on sign-ins, copies and places
};

template <typename T>
using Opt = std::optional<T>;

struct WardAdded {
    static constexpr std::string_view kind = "ward.added", file = "wards.csv", word = "ward";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::WardId ward;
    Opt<std::string> name {};
    static void describe(auto& v, auto& s) { v("ward", s.ward, Field::Key), v("name", s.name, Field::Given); }
};

struct ModelAdded {
    static constexpr std::string_view kind = "model.added", file = "models.csv", word = "model";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::ModelId model;
    base::GlucoseUnit unit {};
    Opt<base::Decimal> low {}, high {}, haematocritLow {}, haematocritHigh {};
    Opt<YesNo> needsCode {}, sharedUse {};
    Opt<std::string> marketApproval {};
    static void describe(auto& v, auto& s)
    {
        v("model", s.model, Field::Key), v("unit", s.unit, Field::Needed), v("low", s.low, Field::Given), v("high", s.high, Field::Given);
        v("haematocrit_low", s.haematocritLow, Field::Given), v("haematocrit_high", s.haematocritHigh, Field::Given);
        v("needs_code", s.needsCode, Field::Given), v("shared_use", s.sharedUse, Field::Given);
        v("market_approval", s.marketApproval, Field::Given);
    }
};

struct MeterEnrolled {
    static constexpr std::string_view kind = "meter.enrolled", file = "meters.csv", word = "meter";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::MeterId meter;
    base::ModelId model;
    Opt<std::string> serial {};
    base::WardId ward;
    base::Moment enrolled;
    Opt<MeterState> state {};
    static void describe(auto& v, auto& s)
    {
        v("meter", s.meter, Field::Key), v("model", s.model, Field::Needed), v("serial", s.serial, Field::Given),
            v("ward", s.ward, Field::Needed);
        v("enrolled", s.enrolled, Field::Needed), v("state", s.state, Field::Given);
    }
};

struct OperatorEnrolled {
    static constexpr std::string_view kind = "operator.enrolled", file = "operators.csv", word = "operator";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::OperatorId id;
    Opt<std::string> name {};
    Role role {};
    Opt<base::Date> competentFrom {}, competentUntil {};
    static void describe(auto& v, auto& s)
    {
        v("operator", s.id, Field::Key), v("name", s.name, Field::Given), v("role", s.role, Field::Needed);
        v("competent_from", s.competentFrom, Field::Given), v("competent_until", s.competentUntil, Field::Given);
    }
};

struct StripLotReceived {
    static constexpr std::string_view kind = "strip_lot.received", file = "strip_lots.csv", word = "strip-lot";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::StripLotId lot;
    base::ModelId model;
    Opt<std::string> gtin {}, code {};
    Opt<base::PrintedDate> expiry {};
    Opt<base::Period> openPeriod {};
    Opt<base::Moment> received {}, released {};
    static void describe(auto& v, auto& s)
    {
        v("lot", s.lot, Field::Key), v("model", s.model, Field::Needed), v("gtin", s.gtin, Field::Given), v("code", s.code, Field::Given);
        v("expiry", s.expiry, Field::Given), v("open_period", s.openPeriod, Field::Given), v("received", s.received, Field::Given);
        v("released", s.released, Field::Given);
    }
};

struct StripVialOpened {
    static constexpr std::string_view kind = "strip_vial.opened", file = "strip_vials.csv", word = "strip-vial";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::StripVialId vial;
    base::StripLotId lot;
    Opt<base::Moment> opened {};
    Opt<base::WardId> ward {};
    Opt<YesNo> foundOpen {}; ///< it stood open without a record: it can only be discarded or quarantined
    static void describe(auto& v, auto& s)
    {
        v("vial", s.vial, Field::Key), v("lot", s.lot, Field::Needed), v("opened", s.opened, Field::Given);
        v("ward", s.ward, Field::Given), v("found_open", s.foundOpen, Field::Given);
    }
};

struct ControlLotReceived {
    static constexpr std::string_view kind = "control_lot.received", file = "control_lots.csv", word = "control-lot";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::ControlLotId lot;
    Level level {};
    Opt<base::PrintedDate> expiry {};
    Opt<base::Period> openPeriod {};
    Opt<base::Moment> received {};
    static void describe(auto& v, auto& s)
    {
        v("lot", s.lot, Field::Key), v("level", s.level, Field::Needed), v("expiry", s.expiry, Field::Given);
        v("open_period", s.openPeriod, Field::Given), v("received", s.received, Field::Given);
    }
};

struct ControlVialOpened {
    static constexpr std::string_view kind = "control_vial.opened", file = "control_vials.csv", word = "control-vial";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::ControlVialId vial;
    base::ControlLotId lot;
    Opt<base::Moment> opened {};
    Opt<base::WardId> ward {};
    Opt<YesNo> foundOpen {}; ///< it stood open without a record: it can only be discarded or quarantined
    static void describe(auto& v, auto& s)
    {
        v("vial", s.vial, Field::Key), v("lot", s.lot, Field::Needed), v("opened", s.opened, Field::Given);
        v("ward", s.ward, Field::Given), v("found_open", s.foundOpen, Field::Given);
    }
};

struct RangeAssigned {
    static constexpr std::string_view kind = "range.assigned", file = "ranges.csv", word = "range";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::StripLotId stripLot;
    base::ControlLotId controlLot;
    Level level {};
    base::GlucoseUnit unit {};
    base::Decimal low, high;
    Opt<base::Decimal> mean {}, sd {};
    Opt<Stage> stage {};
    Opt<base::Moment> from {};
    Opt<base::MeterId> meter {}; ///< limits for one meter; none: for the group of meters on these lots
    Opt<std::string> reason {};  ///< why limits were changed; the journal keeps it, no index table does
    // The journal alone keeps these (handbook 17.12, 17.16). Absent: taken over from a file, or older than the rule.
    Opt<base::Moment> typedAt {}; ///< it judges no run before
    Opt<YesNo> waits {};          ///< it holds once a second person has typed the same; no: the policy asks nobody
    static void describe(auto& v, auto& s)
    {
        v("strip_lot", s.stripLot, Field::Key), v("control_lot", s.controlLot, Field::Key), v("level", s.level, Field::Key);
        v("unit", s.unit, Field::Needed), v("low", s.low, Field::Needed), v("high", s.high, Field::Needed), v("mean", s.mean, Field::Given);
        v("sd", s.sd, Field::Given), v("stage", s.stage, Field::Given), v("from", s.from, Field::Key);
        v("meter", s.meter, Field::KeyIfGiven), v("reason", s.reason, Field::Given);
        v("typed_at", s.typedAt, Field::Program), v("waits", s.waits, Field::Program);
    }
};

struct ControlRun {
    static constexpr std::string_view kind = "control.run", file = "control_runs.csv", word = "run";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::SetId set;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    base::StripVialId stripVial;
    Level level {};
    base::ControlVialId controlVial;
    Reading result;
    base::GlucoseUnit unit {};
    Opt<std::string> reason {}, repeatOf {}, comment {}, codeShown {};
    Opt<base::OperatorId> supervisor {};     ///< who stood by while a trainee ran it
    Opt<std::string> deviation {};           ///< why one more attempt on the same materials
    Opt<std::string> lateReason {}, form {}; ///< why it is entered late, and the number of the paper it stood on
    Opt<std::string> question {}, answer {}; ///< what was asked before it was saved, and what was answered
    static void describe(auto& v, auto& s)
    {
        v("set", s.set, Field::Key), v("at", s.at, Field::Needed), v("meter", s.meter, Field::Needed), v("operator", s.by, Field::Needed);
        v("strip_vial", s.stripVial, Field::Needed), v("level", s.level, Field::Key), v("control_vial", s.controlVial, Field::Needed);
        v("result", s.result, Field::Needed), v("unit", s.unit, Field::Needed), v("reason", s.reason, Field::Given);
        v("repeat_of", s.repeatOf, Field::Given), v("comment", s.comment, Field::Given), v("code_shown", s.codeShown, Field::Given);
        v("supervisor", s.supervisor, Field::Given), v("deviation", s.deviation, Field::Given),
            v("late_reason", s.lateReason, Field::Given);
        v("form", s.form, Field::Given), v("question", s.question, Field::Given), v("answer", s.answer, Field::Given);
    }
};

struct ComparisonRecorded {
    static constexpr std::string_view kind = "comparison.recorded", file = "comparisons.csv", word = "comparison";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::PairId pair;
    base::MeterId meter;
    base::Moment meterAt, labAt;
    base::OperatorId by;
    Opt<base::StripVialId> stripVial {};
    Opt<std::string> sample {}, sampleType {};
    Reading meterResult, labResult;
    base::GlucoseUnit unit {};
    Opt<base::Decimal> haematocrit {};
    Opt<std::string> round {}; ///< pairs of one round are judged together; none: the pair stands alone
    Opt<std::string> labSampleType {}, tube {}, method {};
    Opt<YesNo> fasting {};
    Opt<base::Moment> drawnAt {}, separatedAt {};
    static void describe(auto& v, auto& s)
    {
        v("pair", s.pair, Field::Key), v("meter", s.meter, Field::Needed), v("meter_at", s.meterAt, Field::Needed);
        v("lab_at", s.labAt, Field::Needed), v("operator", s.by, Field::Needed), v("strip_vial", s.stripVial, Field::Given);
        v("sample", s.sample, Field::Given), v("sample_type", s.sampleType, Field::Given), v("meter_result", s.meterResult, Field::Needed);
        v("lab_result", s.labResult, Field::Needed), v("unit", s.unit, Field::Needed), v("haematocrit", s.haematocrit, Field::Given);
        v("round", s.round, Field::Given), v("lab_sample_type", s.labSampleType, Field::Given), v("tube", s.tube, Field::Given);
        v("method", s.method, Field::Given), v("fasting", s.fasting, Field::Given), v("drawn_at", s.drawnAt, Field::Given);
        v("separated_at", s.separatedAt, Field::Given);
    }
};

struct IncidentReported {
    static constexpr std::string_view kind = "incident.reported", file = "incidents.csv", word = "incident";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    Opt<base::Moment> noticedAt {};
    base::MeterId meter;
    base::OperatorId by;
    IncidentKind what {};
    Opt<std::string> detail {};
    Opt<std::string> agent {};     ///< cleaned: with what
    Opt<YesNo> contactTimeKept {}; ///< cleaned: was it left wet as long as the insert says
    Opt<YesNo> used {};            ///< was the meter used on patients between the event and its notice
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("noticed_at", s.noticedAt, Field::Given), v("meter", s.meter, Field::Key),
            v("operator", s.by, Field::Needed);
        v("kind", s.what, Field::Key), v("detail", s.detail, Field::Given);
        v("agent", s.agent, Field::Given), v("contact_time_kept", s.contactTimeKept, Field::Given), v("used", s.used, Field::Given);
    }
};

struct ReturnStep {
    static constexpr std::string_view kind = "return.step", file = "returns.csv", word = "return";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    ReturnStepKind step {};
    Opt<std::string> detail {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Needed), v("step", s.step, Field::Key);
        v("detail", s.detail, Field::Given);
    }
};

struct MeterMoved {
    static constexpr std::string_view kind = "meter.moved", file = "movements.csv", word = "movement";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    Opt<MeterState> toState {};
    Opt<base::WardId> toWard {};
    Opt<std::string> reason {};
    Opt<std::string> document {}; ///< delivery note, service report, decontamination record …
    Opt<YesNo> memoryCleared {};  ///< patient data in the meter's memory dealt with
    Opt<YesNo> labelled {};       ///< a label on the meter says that it is out of use
    Opt<std::string> replacement {}, lastSeen {}, condition {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Key), v("to_state", s.toState, Field::Key);
        v("to_ward", s.toWard, Field::Key), v("reason", s.reason, Field::Key), v("document", s.document, Field::Given);
        v("memory_cleared", s.memoryCleared, Field::Given), v("labelled", s.labelled, Field::Given),
            v("replacement", s.replacement, Field::Given);
        v("last_seen", s.lastSeen, Field::Given), v("condition", s.condition, Field::Given);
    }
};

struct VialEnded {
    static constexpr std::string_view kind = "vial.ended", file = "vial_ends.csv", word = "vial-end";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    std::string vial; ///< a strip vial or a control vial
    base::OperatorId by;
    VialEndKind how {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("vial", s.vial, Field::Key), v("operator", s.by, Field::Key), v("how", s.how, Field::Key);
    }
};

struct LotEvent {
    static constexpr std::string_view kind = "lot.event", file = "lot_events.csv", word = "lot-event";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    std::string lot; ///< a strip lot or a control lot
    base::OperatorId by;
    LotEventKind what {};
    Opt<std::string> detail {};
    Opt<std::string> noSamples {};         ///< released without blood samples compared: why
    Opt<std::string> releasedElsewhere {}; ///< the document of whoever verified it (handbook 17.2)
    Opt<YesNo> inDoubt {};                 ///< a quarantined strip lot: are its results in doubt (handbook 17.8)?
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("lot", s.lot, Field::Key), v("operator", s.by, Field::Key), v("kind", s.what, Field::Key);
        v("detail", s.detail, Field::Key), v("no_samples", s.noSamples, Field::Given);
        v("released_elsewhere", s.releasedElsewhere, Field::Given), v("results_in_doubt", s.inDoubt, Field::Given);
    }
};

struct EntryCorrected {
    static constexpr std::string_view kind = "entry.corrected", file = "corrections.csv", word = "correction";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    base::SetId set;
    Level level {};
    std::string column, oldText, newText;
    std::string reason;
    Opt<base::OperatorId> confirmedBy {};
    Opt<YesNo> waits {}; ///< it betters a verdict: nothing follows until a second person confirms it; no: the policy asks nobody
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("set", s.set, Field::Key), v("level", s.level, Field::Key);
        v("column", s.column, Field::Key), v("old", s.oldText, Field::Key), v("new", s.newText, Field::Key),
            v("reason", s.reason, Field::Key);
        v("confirmed_by", s.confirmedBy, Field::Key), v("waits", s.waits, Field::Program);
    }
};

struct EntryAnnulled {
    static constexpr std::string_view kind = "entry.annulled", file = "annulments.csv", word = "annulment";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    std::string file_, key;
    std::string reason;
    Opt<base::OperatorId> confirmedBy {};
    Opt<YesNo> waits {}; ///< likewise
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("file", s.file_, Field::Key), v("key", s.key, Field::Key);
        v("reason", s.reason, Field::Key);
        v("confirmed_by", s.confirmedBy, Field::KeyIfGiven), v("waits", s.waits, Field::Program);
    }
};

/// The second person's word that a correction or an annulment is right: what waited for it follows now.
struct CorrectionConfirmed {
    static constexpr std::string_view kind = "correction.confirmed", file = "", word = "confirm";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    base::Seq entry;
    static void describe(auto& v, auto& s) { v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("entry", s.entry, Field::Key); }
};

/// What came of a look-back. No patient data: counts and a decision only.
struct LookbackClosed {
    static constexpr std::string_view kind = "lookback.recorded", file = "", word = "look-back";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    base::Seq entry; ///< the entry that opened it
    std::string decision;
    Opt<base::Decimal> reviewed {}, doubtful {}; ///< how many results
    Opt<YesNo> informed {};                      ///< the responsible clinician
    Opt<base::Moment> informedAt {}, chosenStart {};
    Opt<std::string> judgedBy {}, why {}; ///< who judged the clinical side; why that start
    Opt<std::string> notUsedSays {};      ///< the one other answer: not used in that time, and who says so
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("entry", s.entry, Field::Key), v("decision", s.decision, Field::Key);
        v("reviewed", s.reviewed, Field::Given), v("doubtful", s.doubtful, Field::Given), v("informed", s.informed, Field::Given);
        v("informed_at", s.informedAt, Field::Given), v("chosen_start", s.chosenStart, Field::Given),
            v("judged_by", s.judgedBy, Field::Given);
        v("why", s.why, Field::Given), v("not_used_says", s.notUsedSays, Field::Given);
    }
};

/// Who decides a look-back, and by when: so long it holds no meter back (handbook 17.3).
struct LookbackAssigned {
    static constexpr std::string_view kind = "lookback.assigned", file = "", word = "look-back-assigned";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    base::Seq entry;     ///< the entry that opened it
    std::string decides; ///< a person's name or role, as typed
    base::Date until;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("entry", s.entry, Field::Key), v("decides", s.decides, Field::Key);
        v("until", s.until, Field::Needed);
    }
};

/// The coordinator asks for a look-back that nothing opened by itself.
struct LookbackAsked {
    static constexpr std::string_view kind = "lookback.asked", file = "", word = "look-back-open";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    base::MeterId meter;
    base::Moment from, to;
    std::string cause;                       ///< as typed: drift, comparison-failed, technique, strip-lot …
    Opt<std::string> scope {}, direction {}; ///< what it lies in; how far, and which way
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("meter", s.meter, Field::Key), v("from", s.from, Field::Key);
        v("to", s.to, Field::Needed), v("cause", s.cause, Field::Needed), v("scope", s.scope, Field::Given);
        v("direction", s.direction, Field::Given);
    }
};

/// A decision is taken back: the look-back waits again.
struct LookbackReopened {
    static constexpr std::string_view kind = "lookback.reopened", file = "", word = "look-back-reopened";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    base::Seq entry; ///< the entry that opened it
    std::string reason;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("entry", s.entry, Field::Key), v("reason", s.reason, Field::Needed);
    }
};

struct NoteAdded {
    static constexpr std::string_view kind = "note.added", file = "", word = "note";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::OperatorId by;
    base::MeterId meter;
    std::string text;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("meter", s.meter, Field::Key), v("text", s.text, Field::Key);
    }
};

} // namespace mk::registry::acts
