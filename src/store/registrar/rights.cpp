// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/registrar/rights.h"

#include "registry/people/roles.h"
#include "store/journal/act_codec.h"
#include "store/db/rows.h"
#include "store/access/credentials.h"

#include <algorithm>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
using namespace registry;

namespace {

template <typename... Args>
Fault denied(std::type_identity_t<base::Sentence<sizeof...(Args)>> sentence, const Args&... args)
{
    return base::fault(FaultKind::Denied, sentence, args...);
}

/// Whom the act names as the one who did it.
std::optional<base::OperatorId> namedIn(const Act& act)
{
    if (const auto* policy = std::get_if<acts::PolicyChanged>(&act))
        return policy->by;
    return personOf(act);
}

Done mayName(Reader& reader, const OperatorRecord& me, const Act& act)
{
    const std::string kind(kindOf(act));
    const auto named = namedIn(act);
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act); correction != nullptr && correction->confirmedBy)
        return denied("a second person confirms a correction themselves, signed in (act confirm); leave out --confirmed-by");
    if (const auto* annulment = std::get_if<acts::EntryAnnulled>(&act); annulment != nullptr && annulment->confirmedBy)
        return denied("a second person confirms an annulment themselves, signed in (act confirm); leave out --confirmed-by");
    if (!named || *named == me.act.id)
        return {};
    if (me.act.role != Role::Coordinator || !mayBeEnteredFor(kind))
        return mayBeEnteredFor(kind)
            ? denied("'%1' is signed in, and the entry names '%2'; they sign in, or a coordinator enters it for them", me.act.id.value,
                named->value)
            : denied("'%1' is signed in, and the entry names '%2'; they sign in and record it themselves", me.act.id.value, named->value);
    const auto other = reader.person(*named);
    if (!other)
        return other.error();
    if (*other != nullptr && (*other)->act.role != Role::Nurse)
        return denied("a coordinator enters for a nurse what stood on paper; '%1' signs in and records it themselves", named->value);
    return {};
}

} // namespace

Result<bool> isClosed(Reader& reader, const OperatorRecord& person, base::Moment now)
{
    const auto competency = reader.competency(person, std::nullopt, now);
    if (!competency)
        return competency.error();
    return competency->state == CompetencyState::Closed;
}

Result<bool> isSignInSetUp(Session& session)
{
    bool found = false;
    // The last condition is that of the index journal_by_kind.
    static const Sql sql(
        { Entry::table }, "SELECT seq FROM journal WHERE act = 'secret.set' AND act NOT IN ('control.run', 'control.judged') LIMIT 1");
    const Done read = eachRow(session, sql, {}, [&](const Statement&) {
        found = true;
        return Done();
    });
    if (!read)
        return read.error();
    return found;
}

Result<bool> Reader::signInSetUp()
{
    if (!m_signInSetUp) {
        const auto found = isSignInSetUp(*m_session);
        if (!found)
            return found;
        m_signInSetUp = *found;
    }
    return *m_signInSetUp;
}

Result<const OperatorRecord*> signedInPerson(Reader& reader, const Author& author, std::int64_t nowMs)
{
    const SignedIn* me = author.signedIn.get();
    if (me == nullptr)
        return denied("nobody has signed in; sign in with your id and secret first (--operator ID, and the secret when it is asked for)");
    if (me->m_registry != reader.registryId())
        return denied("'%1' signed in to another registry; sign in here", me->m_person.value);
    if (!author.person.empty() && author.person != me->m_person)
        return denied("'%1' is signed in, not '%2'; who records signs in", me->m_person.value, author.person.value);
    if (nowMs - me->m_shownAt > kSessionHours * 3'600'000)
        return denied("'%1' signed in more than %2 hours ago; sign in again", me->m_person.value, kSessionHours);
    const auto sealed = newestSealed(reader.session(), me->m_person);
    if (!sealed)
        return sealed.error();
    if (!*sealed || (*sealed)->seq != me->m_secret)
        return denied("the secret of '%1' was changed since; sign in again", me->m_person.value);
    const auto person = reader.person(me->m_person);
    if (!person)
        return person;
    const auto closed = *person == nullptr ? Result<bool>(true) : isClosed(reader, **person, reader.zone().at(nowMs));
    if (!closed)
        return closed.error();
    if (*closed)
        return denied("the account of '%1' is closed; somebody whose account is open records it", me->m_person.value);
    if (me->m_once)
        return denied("the secret of '%1' was given out by somebody else; replace it first (secret set)", me->m_person.value);
    return person;
}

namespace {

/// Whoever acts; nothing where sign-in is not set up and nobody is asked.
Result<const OperatorRecord*> whoActs(Reader& reader, const Author& author, std::int64_t nowMs)
{
    const auto setUp = reader.signInSetUp();
    if (!setUp)
        return setUp.error();
    return *setUp ? signedInPerson(reader, author, nowMs) : Result<const OperatorRecord*>(nullptr);
}

} // namespace

Done mayRecordAs(Reader& reader, const Author& author, std::span<const NewAct> newActs, std::int64_t nowMs)
{
    const auto me = whoActs(reader, author, nowMs);
    if (!me)
        return me.error();
    if (*me == nullptr)
        return {};
    for (const auto& newAct : newActs) {
        const Act& act = newAct.act;
        const auto kind = kindOf(act);
        const Role role = (*me)->act.role;
        if (!mayRecord(role, kind))
            return role == Role::Inspector
                ? denied("an inspector looks and records nothing")
                : denied("a %1 does not record this (%2); the coordinator does", base::asCode(word(role)), base::asCode(kind));
        if (const Done named = mayName(reader, **me, act); !named)
            return named;
        const SignedIn& token = *author.signedIn;
        if (asksForSecret(kind) && !(token.m_toSign && nowMs - token.m_shownAt <= kSignWithinMinutes * 60'000))
            return denied("a signature asks for the secret once more, at its moment; give it and sign again");
    }
    return {};
}

namespace {

/// Nobody has to sign in, and somebody is named.
Done isNoInspector(Reader& reader, const Author& author)
{
    const auto named = author.person.empty() ? Result<const OperatorRecord*>(nullptr) : reader.person(author.person);
    if (!named)
        return named.error();
    return *named != nullptr && (*named)->act.role == Role::Inspector ? Done(denied("an inspector looks and records nothing")) : Done();
}

} // namespace

Done mayTakeOverAs(Reader& reader, const Author& author, std::int64_t nowMs)
{
    const auto me = whoActs(reader, author, nowMs);
    if (!me)
        return me.error();
    if (*me == nullptr)
        return isNoInspector(reader, author);
    return mayTakeOver((*me)->act.role)
        ? Done()
        : Done(denied("records made elsewhere are taken over by a coordinator; '%1' is not one", (*me)->act.id.value));
}

Author actingAs(const Author& author)
{
    Author acting = author;
    if (author.signedIn)
        acting.person = author.signedIn->person();
    return acting;
}

Done isOwn(const Act& act)
{
    const bool own = std::visit(
        []<typename A>(const A&) {
            return std::is_same_v<A, acts::SecretSet> || std::is_same_v<A, acts::SecretRecovered> || std::is_same_v<A, acts::SignInFailed> || std::is_same_v<A, acts::SignInUnlocked> || std::is_same_v<A, acts::RecordsShown> || std::is_same_v<A, acts::BackupMade> || std::is_same_v<A, acts::RegistryRestored> || std::is_same_v<A, acts::RegistryMoved> || std::is_same_v<A, acts::ShiftBegun> || std::is_same_v<A, acts::ShiftEnded>;
        },
        act);
    return own ? Done() : Done(base::badInput("an entry of kind %1 is recorded by a person, with its checks", base::asCode(kindOf(act))));
}

} // namespace mk::store
