// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/policy/policy.h"
#include "registry/acts/records.h"
#include "registry/terms/zone.h"

#include <span>

/// May this person's controls count, for one model, at one moment (handbook 3)?
namespace mk::registry {

enum class CompetencyState { Unknown, Training, Competent, Due, Lapsed, Suspended, Closed };
template <>
struct Words<CompetencyState> {
    static constexpr std::string_view what = "standing of a person";
    static constexpr std::string_view all[] = { "not-on-record", "training", "competent", "due", "lapsed", "suspended", "closed" };
};

/// The elements of an assessment (42 CFR 493.1451(b)(8)).
inline constexpr std::string_view kCompetencyElements[] = { "observed-testing", "recording", "review", "maintenance", "unknown-sample",
    "problem-solving" };

/// What is on record about a person beside the enrolment.
struct PersonFacts {
    std::vector<Record<acts::CompetencyAssessed>> assessments;
    std::vector<Record<acts::OperatorChanged>> changes;
};

struct Competency {
    CompetencyState state = CompetencyState::Unknown;
    std::optional<base::Date> from, until;
    std::optional<base::Seq> evidence;        ///< the assessment that speaks; none: the dates of the enrolment
    std::vector<std::string> missingElements; ///< of that assessment

    /// Their runs count.
    bool holds() const { return state == CompetencyState::Competent || state == CompetencyState::Due; }
};

/// The newest assessment for the model, or for every model, speaks; without one the dates of the enrolment.
/// model        none: what holds for every model
/// knownBefore  entries from here on are left out: what a run was judged by is not changed by what is recorded later
Competency competencyOf(const OperatorRecord& person, const PersonFacts& facts, const std::optional<base::ModelId>& model, base::Moment at,
    base::Seq knownBefore, const Policy& policy, const Zone& zone);

/// Until when an assessment holds that names no day: shorter within a year of the first one.
base::Date competencyEnd(base::Date assessed, base::Date first, const Policy& policy);

/// The words of an assessment's elements.
/// errors  BadInput naming the word that is none, or is there twice
base::Result<std::vector<std::string>> readElements(const std::string& text);

/// The person as the changes tell: newest role and name.
OperatorRecord withChanges(OperatorRecord person, const PersonFacts& facts);

} // namespace mk::registry
