// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/people.h"

#include "registry/desk/refusal.h"
#include "registry/desk/known.h"

namespace mk::registry::desk {

using base::Done;

Done admit(const Desk& desk, const acts::OperatorChanged& a)
{
    if (const auto person = needPerson(desk, a.person); !person)
        return person.error();
    if (const Done may = needCoordinator(desk, a.by, Refusal::RoleMayNotChangeAccounts); !may)
        return may;
    if (!a.name && !a.role && !a.closed)
        return refuse(Refusal::AccountUnchanged, a.person.value);
    if (a.person == a.by && (a.role || a.closed))
        return refuse(Refusal::OwnAccount);
    return {};
}

Done admit(const Desk& desk, const acts::CompetencyAssessed& a)
{
    if (const auto person = needPerson(desk, a.person); !person)
        return person.error();
    if (const Done may = needCoordinator(desk, a.by, Refusal::RoleMayNotAssess); !may)
        return may;
    if (a.person == a.by)
        return refuse(Refusal::OwnAssessment);
    if (a.model)
        if (const auto model = needModel(desk, *a.model); !model)
            return model.error();
    const auto elements = readElements(a.elements.value_or(""));
    if (!elements)
        return elements.error();
    if (a.standing != CompetencyStanding::Competent)
        return a.until ? Done(refuse(Refusal::UntilWithoutCompetent)) : Done();
    if (elements->empty())
        return refuse(Refusal::ElementsMissing);
    return a.until && *a.until < desk.facts.zone().dateOf(a.at) ? Done(refuse(Refusal::UntilBeforeAssessment)) : Done();
}

Done admit(const Desk& desk, const acts::ShiftBegun& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    return needWard(desk, a.ward);
}

Done admit(const Desk& desk, const acts::ShiftEnded& a)
{
    if (const auto person = needPerson(desk, a.by); !person)
        return person.error();
    return needWard(desk, a.ward);
}

} // namespace mk::registry::desk
