// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/desk/desk.h"

#include "registry/desk/comparison.h"
#include "registry/desk/eqa.h"
#include "registry/desk/failures.h"
#include "registry/desk/incidents.h"
#include "registry/desk/known.h"
#include "registry/desk/judging.h"
#include "registry/desk/life.h"
#include "registry/desk/lookbacks.h"
#include "registry/desk/lots.h"
#include "registry/desk/mending.h"
#include "registry/desk/second_person.h"
#include "registry/desk/nonconformity.h"
#include "registry/desk/notices.h"
#include "registry/desk/people.h"
#include "registry/desk/policy.h"
#include "registry/desk/returns.h"
#include "registry/desk/reviews.h"
#include "registry/desk/runs.h"
#include "registry/desk/time.h"
#include "registry/desk/vials.h"
#include "registry/desk/refusal.h"
#include "registry/people/roles.h"

namespace mk::registry::desk {

using base::Done;
using base::Result;
using base::Seq;

namespace {

// Acts of which nothing is asked, and from which nothing follows.
template <typename A>
Done admit(const Desk&, const A&)
{
    return {};
}
template <typename A>
Done follow(const Desk&, Seq, const A&)
{
    return {};
}

/// An inspector looks. Whoever enters it, and whoever is named as the one who did it, stops included (handbook 17.6).
Done isNoInspectors(const Desk& desk, const Act& act)
{
    if (desk.occasion.imported)
        return {};
    for (const auto& who : { std::optional(desk.occasion.author), personOf(act) }) {
        const auto person = who && !who->empty() ? desk.facts.person(*who) : Result<const OperatorRecord*>(nullptr);
        if (!person)
            return person.error();
        if (*person != nullptr && (*person)->act.role == Role::Inspector && !mayRecord(Role::Inspector, kindOf(act)))
            return refuse(Refusal::InspectorRecordsNothing);
    }
    return {};
}

/// A record that a file calls by the same key is there already; a run's is another attempt.
Done mayHaveItsKey(const Desk& desk, const Act& act)
{
    const std::string file(fileOf(act));
    if (file.empty() || std::holds_alternative<acts::ControlRun>(act))
        return {};
    const auto known = desk.facts.entryOfKey(file, keyOf(act));
    if (!known)
        return known.error();
    if (!*known)
        return {};
    if (const auto* vial = std::get_if<acts::StripVialOpened>(&act)) {
        const auto first = desk.facts.stripVial(vial->vial);
        if (first && *first != nullptr && (*first)->vial.opened)
            return refuse(Refusal::VialOpenedAlready, vial->vial.value, *(*first)->vial.opened, **known);
    }
    return refuse(Refusal::KeyKnown, keyOf(act), **known);
}

} // namespace

std::string Occasion::nameFor(const Act& act) const
{
    if (!author.empty())
        return author.value;
    const auto person = imported ? std::optional(base::OperatorId("import")) : personOf(act);
    return person ? person->value : "registry";
}

Result<Seq> Desk::enter(const Act& act) const
{
    auto seq = entering.enter(act, person);
    if (seq)
        judging.entered(act);
    return seq;
}

Done Desk::letFollow(const Act& act) const
{
    const auto seq = enter(act);
    return seq ? Done() : Done(seq.error());
}

Result<Admitted> admit(const Desk& desk, const Act& act)
{
    for (const auto& ask : { isNoInspectors, mayBeOfThatTime, mayBeTyped, mayHaveItsKey })
        if (const Done may = ask(desk, act); !may)
            return may.error();
    return std::visit(
        [&](const auto& a) -> Result<Admitted> {
            if constexpr (std::is_same_v<decltype(a), const acts::ControlRun&>)
                return admit(desk, a);
            else {
                const Done may = admit(desk, a);
                return may ? Result<Admitted>(Admitted()) : may.error();
            }
        },
        act);
}

Result<std::optional<Act>> asEntered(const Desk& desk, const Act& act)
{
    if (desk.occasion.imported)
        return std::optional<Act>();
    return std::visit(
        [&](const auto& given) -> Result<std::optional<Act>> {
            auto entered = given;
            if constexpr (requires { complete(desk, entered); }) {
                const Done completed = complete(desk, entered);
                return completed ? Result<std::optional<Act>>(Act(std::move(entered))) : completed.error();
            } else {
                return std::optional<Act>();
            }
        },
        act);
}

Done follow(const Desk& desk, Seq seq, const Act& act, Admitted admitted)
{
    desk.judging.entered(act);
    if (!std::holds_alternative<acts::ControlRun>(act))
        desk.judging.expectChanges();
    const Done followed = std::visit(
        [&](const auto& a) {
            if constexpr (std::is_same_v<decltype(a), const acts::ControlRun&>)
                return follow(desk, seq, a, std::move(admitted));
            else
                return follow(desk, seq, a);
        },
        act);
    return followed && !waitsForSecond(act) ? overtakeReviews(desk, seq, act) : followed;
}

} // namespace mk::registry::desk
