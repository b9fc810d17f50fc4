// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/policy.h"

#include "registry/desk/refusal.h"
#include "registry/desk/known.h"

namespace mk::registry::desk {

using base::Done;

Done admit(const Desk& desk, const acts::PolicyChanged& a)
{
    if (!a.by)
        return refuse(Refusal::PolicyByNobody);
    const auto person = needPerson(desk, *a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role != Role::Coordinator)
        return refuse(Refusal::RoleMayNotChangePolicy, (*person)->act.role);
    if (!a.from)
        return refuse(Refusal::PolicyWithoutStart);
    if (*a.from < desk.occasion.now)
        return refuse(Refusal::PolicyForThePast, *a.from, desk.occasion.now);
    const auto policy = policyFrom(a.settings);
    if (!policy)
        return policy.error();
    if (a.settings.size() != defaultPolicySettings().size())
        return refuse(Refusal::PolicyIncomplete);
    const auto newest = desk.facts.newestPolicyVersion();
    return a.version == newest + 1 ? Done() : Done(refuse(Refusal::PolicyVersionOvertaken, a.version, newest));
}

} // namespace mk::registry::desk
