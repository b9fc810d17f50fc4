// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/policy.h"

#include "registry/desk/known.h"

namespace mk::registry::desk {

using base::badInput;
using base::Done;
using base::refused;

Done admit(const Desk& desk, const acts::PolicyChanged& a)
{
    if (!a.by)
        return badInput("nobody is named who adopts the policy; say who with --operator ID");
    const auto person = needPerson(desk, *a.by);
    if (!person)
        return person.error();
    if ((*person)->act.role != Role::Coordinator)
        return refused("a " + std::string(word((*person)->act.role)) + " may not change the policy; the coordinator adopts it");
    if (!a.from)
        return badInput("a new version needs the day or time from which it holds; give --from");
    if (*a.from < desk.occasion.now)
        return refused("a policy never holds for the past: " + base::toText(*a.from) + " is before now (" + base::toText(desk.occasion.now)
            + "); choose today or a later day");
    const auto policy = policyFrom(a.settings);
    if (!policy)
        return policy.error();
    if (a.settings.size() != defaultPolicySettings().size())
        return badInput("a version is stored in full, every setting once; complete the document before it is recorded");
    const auto newest = desk.facts.newestPolicyVersion();
    return a.version == newest + 1 ? Done()
                                   : Done(conflict("version " + std::to_string(a.version) + " does not follow version "
                                       + std::to_string(newest) + "; somebody adopted another one meanwhile, look at it first"));
}

} // namespace mk::registry::desk
