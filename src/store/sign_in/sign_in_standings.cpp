// SPDX-License-Identifier: GPL-3.0-or-later
// What the journal says of people's way in.
#include "store/access/credentials.h"
#include "store/db/rows.h"
#include "store/journal/act_codec.h"
#include "store/sign_in/sign_in.h"

#include <algorithm>

namespace mk::store {

using base::Done;
using base::Result;
using namespace registry;

Result<LockOut> lockOutOf(Reader& reader, const base::OperatorId& person, base::Moment now)
{
    // Failures since the newest entry that ends a row of them.
    std::vector<SecretEvent> events;
    static const Sql sql({ Entry::table },
        "SELECT body FROM journal WHERE act = 'sign_in.failed' AND subject = :person AND act NOT IN ('control.run', 'control.judged') AND seq >"
        " (SELECT coalesce(max(seq), 0) FROM journal WHERE act IN ('session.begun', 'sign_in.unlocked', 'secret.set', 'secret.recovered') AND subject = :person"
        " AND act NOT IN ('control.run', 'control.judged')) ORDER BY seq");
    const Done read = eachRow(reader.session(), sql, { { "person", bound(person.value) } }, [&](const Statement& row) {
        const auto act = actFromBody(acts::SignInFailed::kind, row.text("body"));
        if (!act)
            return Done(act.error());
        events.push_back({ SecretEvent::What::Failed, std::get<acts::SignInFailed>(*act).at });
        return Done();
    });
    if (!read)
        return read.error();
    const Policy& policy = reader.policyAt(now);
    return registry::lockOutOf(events, policy.signInTries, policy.signInLockMinutes);
}

Done noteShown(Registrar& registrar, const Author& author, const std::string& what)
{
    if (author.signedIn && author.signedIn->role() != Role::Inspector)
        return {};
    const base::OperatorId who = author.signedIn ? author.signedIn->person() : author.person;
    // The registry's own entry: an inspector records nothing.
    const auto noted = registrar.recordOwnDecided(
        [&](Reader& reader, base::Moment now) -> Result<std::vector<Act>> {
            const auto person = reader.person(who);
            if (!person)
                return person.error();
            if (*person == nullptr || (*person)->act.role != Role::Inspector)
                return std::vector<Act>();
            return std::vector<Act> { acts::RecordsShown { now, who, what } };
        },
        { {}, author.station, author.signedIn });
    return noted ? Done() : Done(noted.error());
}

Result<std::vector<SignInStanding>> signInStandings(Reader& reader, base::Moment now)
{
    const auto people = reader.people();
    if (!people)
        return people.error();
    std::vector<SignInStanding> standings;
    for (const auto& person : *people) {
        const auto closed = isClosed(reader, person, now);
        const auto sealed = newestSealed(reader.session(), person.act.id);
        auto lock = lockOutOf(reader, person.act.id, now);
        if (!closed || !sealed || !lock)
            return !closed ? closed.error() : !sealed ? sealed.error() : lock.error();
        standings.push_back({ person.act.id, person.act.name.value_or(person.act.id.value), person.act.role, *closed, sealed->has_value(),
            *sealed && (*sealed)->once, std::move(lock).value() });
    }
    return standings;
}

Result<std::int64_t> unknownTriesOfLastDay(Reader& reader, base::Moment now)
{
    const auto failures = reader.facts<acts::SignInFailed>("unknown");
    if (!failures)
        return failures.error();
    return std::ranges::count_if(
        *failures, [&](const auto& each) { return !each.act.person && each.act.at > base::plusMs(now, -24 * std::int64_t { 3'600'000 }); });
}

} // namespace mk::store
