// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/people/competency.h"

#include <algorithm>
#include <sstream>

namespace mk::registry {

namespace {

constexpr base::Period kYear { 12, base::Period::Unit::Months };

bool closedBy(const PersonFacts& facts, base::Moment at, base::Seq knownBefore)
{
    bool closed = false;
    for (const auto& change : facts.changes)
        if (change.seq < knownBefore && change.act.at <= at && change.act.closed)
            closed = *change.act.closed == YesNo::Yes;
    return closed;
}

CompetencyState stateOn(base::Date day, std::optional<base::Date> from, std::optional<base::Date> until, const Policy& policy)
{
    if (!from || !until || day < *from)
        return CompetencyState::Unknown;
    if (day > *until)
        return CompetencyState::Lapsed;
    return base::addDays(*until, -policy.dueSoonDays) <= day ? CompetencyState::Due : CompetencyState::Competent;
}

std::vector<std::string> elementsNotIn(const std::optional<std::string>& text)
{
    const auto given = readElements(text.value_or(""));
    std::vector<std::string> missing;
    for (const auto element : kCompetencyElements)
        if (!given || std::ranges::find(*given, element) == given->end())
            missing.emplace_back(element);
    return missing;
}

} // namespace

base::Date competencyEnd(base::Date assessed, base::Date first, const Policy& policy)
{
    const bool firstYear = assessed < base::lastUsableDay(first, kYear);
    return base::lastUsableDay(assessed, firstYear ? policy.competencyFirstYear : policy.competencyInterval);
}

base::Result<std::vector<std::string>> readElements(const std::string& text)
{
    std::vector<std::string> words;
    std::istringstream in(text);
    for (std::string word; in >> word;) {
        if (std::ranges::find(kCompetencyElements, word) == std::end(kCompetencyElements)) {
            std::string known;
            for (const auto element : kCompetencyElements)
                known += (known.empty() ? "" : ", ") + std::string(element);
            return base::badInput("'%1' is no element of an assessment; write %2", word, base::asCode(known));
        }
        if (std::ranges::find(words, word) != words.end())
            return base::badInput("the element '%1' is named twice; name it once", word);
        words.push_back(word);
    }
    return words;
}

Competency competencyOf(const OperatorRecord& person, const PersonFacts& facts, const std::optional<base::ModelId>& model, base::Moment at,
    base::Seq knownBefore, const Policy& policy, const Zone& zone)
{
    Competency found;
    const base::Date day = zone.dateOf(at);
    std::optional<base::Date> first = person.act.competentFrom;
    const Record<acts::CompetencyAssessed>* newest = nullptr;
    for (const auto& each : facts.assessments) {
        const bool ofModel = !each.act.model || (model && *each.act.model == *model);
        if (!ofModel || each.seq >= knownBefore || each.act.at > at)
            continue;
        if (newest == nullptr || newest->act.at <= each.act.at)
            newest = &each;
        const base::Date assessed = zone.dateOf(each.act.at);
        if (each.act.standing == CompetencyStanding::Competent)
            first = first ? std::min(*first, assessed) : assessed;
    }
    if (newest == nullptr) {
        found.from = person.act.competentFrom;
        found.until = person.act.competentUntil;
        found.state = stateOn(day, found.from, found.until, policy);
    } else {
        found.evidence = newest->seq;
        switch (newest->act.standing) {
        case CompetencyStanding::Training: found.state = CompetencyState::Training; break;
        case CompetencyStanding::Suspended: found.state = CompetencyState::Suspended; break;
        case CompetencyStanding::Competent: {
            const base::Date assessed = zone.dateOf(newest->act.at);
            found.from = assessed;
            found.until = newest->act.until ? *newest->act.until : competencyEnd(assessed, first.value_or(assessed), policy);
            found.state = stateOn(day, found.from, found.until, policy);
            found.missingElements = elementsNotIn(newest->act.elements);
            break;
        }
        }
    }
    if (closedBy(facts, at, knownBefore))
        found.state = CompetencyState::Closed;
    return found;
}

OperatorRecord withChanges(OperatorRecord person, const PersonFacts& facts)
{
    for (const auto& change : facts.changes) {
        if (change.act.role)
            person.act.role = *change.act.role;
        if (change.act.name)
            person.act.name = change.act.name;
    }
    return person;
}

} // namespace mk::registry
