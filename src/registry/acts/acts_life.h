// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts_people.h"

/// What people record about meters, about each other and about proficiency samples, beyond what a file carries.
namespace mk::registry {

enum class AcceptanceItem { Identity, SharedUse, UnitAndClock, Firmware, Controls, Agreement };
template <>
struct Words<AcceptanceItem> {
    static constexpr std::string_view what = "item of acceptance";
    static constexpr std::string_view all[] = { "identity", "shared-use", "unit-and-clock", "firmware", "controls", "agreement" };
};

enum class CompetencyStanding { Training, Competent, Suspended };
template <>
struct Words<CompetencyStanding> {
    static constexpr std::string_view what = "standing";
    static constexpr std::string_view all[] = { "training", "competent", "suspended" };
};

} // namespace mk::registry

namespace mk::registry::acts {

/// What the meter's file holds beside its enrolment (handbook 1.1); the newest entry that gives a field speaks.
struct MeterDescribed {
    static constexpr std::string_view kind = "meter.described", file = "", word = "meter-file";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    Opt<std::string> maker {}, udi {}, firmware {}, insert {}, condition {}, disinfectant {}, contactTime {}, claims {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Key), v("maker", s.maker, Field::Given);
        v("udi", s.udi, Field::Given), v("firmware", s.firmware, Field::Given), v("insert_edition", s.insert, Field::Given);
        v("condition", s.condition, Field::Given), v("disinfectant", s.disinfectant, Field::Given),
            v("contact_time", s.contactTime, Field::Given);
        v("claims", s.claims, Field::Given);
    }
};

/// One line of the acceptance list (handbook 1.3), found right or not.
struct AcceptanceChecked {
    static constexpr std::string_view kind = "acceptance.checked", file = "", word = "acceptance";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    AcceptanceItem item {};
    YesNo met {};
    Opt<std::string> evidence {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Key), v("item", s.item, Field::Key);
        v("met", s.met, Field::Key), v("evidence", s.evidence, Field::Given);
    }
};

/// The receiving ward's word that a meter arrived.
struct TransferConfirmed {
    static constexpr std::string_view kind = "transfer.confirmed", file = "", word = "transfer";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    base::WardId ward;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Key), v("ward", s.ward, Field::Key);
    }
};

/// The coordinator takes a meter as it stands, on a comparison that passed: where it reads now is its usual value from here on.
struct TakenAsItStands {
    static constexpr std::string_view kind = "meter.taken_as_it_stands", file = "", word = "as-it-stands";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    std::string reason;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Key), v("reason", s.reason, Field::Needed);
    }
};

/// Three points of the measuring range held against known material (handbook 4.1, D13).
struct CalibrationVerified {
    static constexpr std::string_view kind = "calibration.verified", file = "", word = "calibration";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::MeterId meter;
    base::OperatorId by;
    std::string material;
    base::GlucoseUnit unit {};
    base::Decimal lowAssigned, lowResult, midAssigned, midResult, highAssigned, highResult;
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("meter", s.meter, Field::Key), v("operator", s.by, Field::Key),
            v("material", s.material, Field::Needed);
        v("unit", s.unit, Field::Needed), v("low_assigned", s.lowAssigned, Field::Needed), v("low_result", s.lowResult, Field::Needed);
        v("mid_assigned", s.midAssigned, Field::Needed), v("mid_result", s.midResult, Field::Needed);
        v("high_assigned", s.highAssigned, Field::Needed), v("high_result", s.highResult, Field::Needed);
    }
};

/// A change to somebody on record: role, name, or that the account is closed. The name on earlier records stays.
struct OperatorChanged {
    static constexpr std::string_view kind = "operator.changed", file = "", word = "operator-change";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    base::OperatorId person;
    Opt<std::string> name {};
    Opt<Role> role {};
    Opt<YesNo> closed {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("person", s.person, Field::Key), v("name", s.name, Field::Given);
        v("role", s.role, Field::Given), v("closed", s.closed, Field::Given);
    }
};

/// An assessment of one person on one model (handbook 3). Elements: observed-testing, recording, review, maintenance, unknown-sample,
/// problem-solving.
struct CompetencyAssessed {
    static constexpr std::string_view kind = "operator.competency", file = "", word = "competency";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by; ///< who assessed
    base::OperatorId person;
    Opt<base::ModelId> model {}; ///< none: every model
    CompetencyStanding standing {};
    Opt<base::Date> until {};
    Opt<std::string> elements {}, remark {}; ///< elements: words of the six, blanks between
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("person", s.person, Field::Key), v("model", s.model, Field::Given);
        v("standing", s.standing, Field::Key), v("until", s.until, Field::Given), v("elements", s.elements, Field::Given);
        v("remark", s.remark, Field::Given);
    }
};

/// Somebody began to work at a station of a ward.
struct ShiftBegun {
    static constexpr std::string_view kind = "session.begun", file = "", word = "sign-in";
    static constexpr auto recordedBy = RecordedBy::Everybody;
    base::Moment at;
    base::OperatorId by;
    base::WardId ward;
    static void describe(auto& v, auto& s) { v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("ward", s.ward, Field::Key); }
};

struct ShiftEnded {
    static constexpr std::string_view kind = "session.ended", file = "", word = "sign-off";
    static constexpr auto recordedBy = RecordedBy::Everybody;
    base::Moment at;
    base::OperatorId by;
    base::WardId ward;
    static void describe(auto& v, auto& s) { v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("ward", s.ward, Field::Key); }
};

/// A proficiency sample arrived (handbook 8.9).
struct EqaReceived {
    static constexpr std::string_view kind = "eqa.received", file = "", word = "eqa-sample";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::OperatorId by;
    std::string scheme, event, sample;
    base::Moment due;
    base::MeterId meter;
    Opt<std::string> condition {}, storage {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("scheme", s.scheme, Field::Key), v("event", s.event, Field::Key);
        v("sample", s.sample, Field::Key), v("due", s.due, Field::Needed), v("meter", s.meter, Field::Needed);
        v("condition", s.condition, Field::Given), v("storage", s.storage, Field::Given);
    }
};

/// What the meter read on it, and that it was sent in. `attested`: treated like a patient's sample and discussed with nobody.
struct EqaReturned {
    static constexpr std::string_view kind = "eqa.recorded", file = "", word = "eqa-result";
    static constexpr auto recordedBy = RecordedBy::StaffOrPaper;
    base::Moment at;
    base::OperatorId by;
    std::string scheme, event, sample;
    base::StripVialId stripVial;
    Reading result;
    base::GlucoseUnit unit {};
    Opt<base::Moment> submittedAt {};
    YesNo attested {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("scheme", s.scheme, Field::Key), v("event", s.event, Field::Key);
        v("sample", s.sample, Field::Key), v("strip_vial", s.stripVial, Field::Needed), v("result", s.result, Field::Needed);
        v("unit", s.unit, Field::Needed), v("submitted_at", s.submittedAt, Field::Given), v("attested", s.attested, Field::Needed);
    }
};

/// The scheme's report on one sample, with what the ward makes of it.
struct EqaScored {
    static constexpr std::string_view kind = "eqa.scored", file = "", word = "eqa-score";
    static constexpr auto recordedBy = RecordedBy::Staff;
    base::Moment at;
    base::OperatorId by;
    std::string scheme, event, sample;
    Opt<base::Decimal> assigned {}, sd {};
    Opt<std::string> peers {}, cause {}, action {}, reviewedBy {};
    static void describe(auto& v, auto& s)
    {
        v("at", s.at, Field::Key), v("operator", s.by, Field::Key), v("scheme", s.scheme, Field::Key), v("event", s.event, Field::Key);
        v("sample", s.sample, Field::Key), v("assigned", s.assigned, Field::Given), v("sd", s.sd, Field::Given),
            v("peers", s.peers, Field::Given);
        v("cause", s.cause, Field::Given), v("action", s.action, Field::Given), v("reviewed_by", s.reviewedBy, Field::Given);
    }
};

} // namespace mk::registry::acts
