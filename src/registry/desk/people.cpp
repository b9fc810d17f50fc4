// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/people.h"

#include "registry/desk/known.h"

namespace mk::registry::desk {

using base::badInput;
using base::Done;
using base::refused;

Done admit(const Desk& desk, const acts::OperatorChanged& a)
{
    if (const auto person = needPerson(desk, a.person); !person)
        return person.error();
    if (const Done may = needCoordinator(desk, a.by, "change an account"); !may)
        return may;
    if (!a.name && !a.role && !a.closed)
        return badInput("nothing changes for '" + a.person.value + "'; give --name, --role or --closed");
    if (a.person == a.by && (a.role || a.closed))
        return refused("nobody changes their own role or closes their own account; another coordinator does");
    return {};
}

Done admit(const Desk& desk, const acts::CompetencyAssessed& a)
{
    if (const auto person = needPerson(desk, a.person); !person)
        return person.error();
    if (const Done may = needCoordinator(desk, a.by, "record an assessment"); !may)
        return may;
    if (a.person == a.by)
        return refused("nobody assesses themselves; another coordinator records it");
    if (a.model)
        if (const auto model = needModel(desk, *a.model); !model)
            return model.error();
    const auto elements = readElements(a.elements.value_or(""));
    if (!elements)
        return elements.error();
    if (a.standing != CompetencyStanding::Competent)
        return a.until ? Done(badInput("only 'competent' holds until a day; leave out --until")) : Done();
    if (elements->empty())
        return badInput("say which elements were assessed with --elements, such as \"observed-testing recording\"");
    return a.until && *a.until < desk.facts.zone().dateOf(a.at)
        ? Done(badInput("it would end before the day of the assessment; check --until"))
        : Done();
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
