// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/comparison/eqa.h"
#include "registry/facts/facts.h"
#include "registry/meter/nonconformity.h"
#include "registry/month/month.h"

#include <map>

/// What happened in a month beside its figures (handbook 7.2). Everything that stands in it is told, with the entries that say so.
namespace mk::registry {

/// A stop with who caused it and who ended it: whose signature it was, or whose control.
struct ToldStop {
    StopRecord stop;
    std::string stoppedBy, endedBy;                       ///< ids of people; empty while it stands
    std::optional<Record<acts::ReturnStep>> signature {}; ///< under which the meter came back; none: nobody had to sign
};

/// Overdue: owed at the end of the month, and not made.
enum class ComparisonStanding { Passed, Failed, Excluded, Overdue };
template <>
struct Words<ComparisonStanding> {
    static constexpr std::string_view what = "standing of a comparison";
    static constexpr std::string_view all[] = { "passed", "failed", "excluded", "overdue" };
};

/// A comparison that was made, or one that was owed.
/// at     of its newest pair; of an overdue one when it fell due
/// pairs  ids; none of an overdue one
struct MonthComparison {
    base::MeterId meter;
    ComparisonStanding standing {};
    base::Moment at;
    std::optional<std::string> round {};
    std::vector<base::PairId> pairs {};
    std::vector<base::Seq> evidence {};
};

/// open  at the end of the month; it may have been decided since
struct MonthLookback {
    LookbackRecord record;
    std::optional<acts::LookbackAssigned> assigned {};
    std::optional<base::OperatorId> closedBy {};
    bool open = false;
    std::vector<base::Seq> evidence {};
};

/// As it stood at the end of the month.
struct MonthNonconformity {
    Nonconformity item;
    bool overdue = false;
    std::vector<base::Seq> evidence {};
};

struct MonthNotice {
    NoticeRecord notice;
    bool open = false; ///< at the end of the month
    std::vector<base::Seq> evidence {};
};

/// A vial that was used although it was expired, or nobody could know whether it was; told once, whoever used it.
/// against   what stood against it at some use
/// undated   its opening, its period or its printed date is not on record
/// lastDay   through which it might have been used
/// evidence  the runs and pairs that name it
struct MonthVial {
    std::string vial, lot;
    std::vector<ReasonCode> against {};
    bool undated = false;
    std::optional<base::Date> lastDay {};
    std::vector<base::MeterId> meters {};
    std::vector<base::Seq> evidence {};
};

/// A person whose competency had ended by the end of the month, or was soon to end.
/// models  for which it is so; none: for every model
struct MonthCompetency {
    OperatorRecord person;
    CompetencyState state {};
    std::optional<base::Date> until {};
    std::vector<base::ModelId> models {};
    std::vector<base::Seq> evidence {};
};

/// asked    the policy asks for cleaning at intervals
/// overdue  when it was owed and not logged, within the month
/// missing  it was owed at the end of the month, by the policy or because the meter was soiled
struct MonthCleaning {
    base::MeterId meter;
    std::size_t logged = 0;
    bool asked = false, missing = false;
    std::vector<TimeSpan> overdue {};
    std::vector<base::Seq> evidence {};
};

/// A sample as it stood at the end of the month.
struct MonthProficiency {
    EqaSample sample;
    EqaJudged judged;
    std::vector<base::Seq> evidence {};
};

/// An entry that was struck through: it is shown as it was.
struct MonthAnnulled {
    KnownEntry entry;
    Record<acts::EntryAnnulled> annulment;
    std::optional<base::MeterId> meter {};
    bool unconfirmed = false; ///< it bettered something, or was taken over, and no second person has said so too (handbook 17.12)
};

struct MonthCorrected {
    Record<acts::EntryCorrected> correction;
    std::optional<base::MeterId> meter {};
    bool confirmed = false; ///< by a second person
};

/// Each list in the order of its times, or of its ids where there is no time.
struct MonthEvents {
    std::vector<MonthComparison> comparisons;
    std::vector<MonthLookback> lookbacks;
    std::vector<MonthNonconformity> nonconformities;
    std::vector<MonthNotice> notices;
    std::vector<Record<acts::LotEvent>> lots; ///< what was said of a lot after its receipt
    std::vector<MonthVial> vials;
    std::vector<MonthCompetency> competency;
    std::vector<MonthCleaning> cleaning;
    std::vector<MonthProficiency> proficiency;
    std::vector<MonthAnnulled> annulled;
    std::vector<MonthCorrected> corrected;
};

/// The stretch of time that a month's review looks at.
/// end  the first moment after the month; by: the last one of it that is known, the cut-off where that comes before
struct MonthStretch {
    base::Moment start, end, by;
    bool holds(base::Moment at) const { return start <= at && at < end && at <= by; }
};
MonthStretch stretchOf(const MonthFigures& figures, const Zone& zone);

/// An entry and the one that took it back.
struct AnnulledPair {
    base::Seq seq, by;
};

/// meters     of all wards, as the figures were made of them
/// standing   what is said of each meter at the end of the month
/// annulled   every annulment on record
struct MonthEventsInput {
    Facts& facts;
    std::span<const MonthMeterInput> meters;
    const MonthFigures& figures;
    std::map<base::MeterId, Fitness> standing {};
    std::vector<AnnulledPair> annulled {};
};

/// What concerns the meters that the figures show; lots, notices and people of all wards.
base::Result<MonthEvents> monthEvents(const MonthEventsInput& input);

} // namespace mk::registry
