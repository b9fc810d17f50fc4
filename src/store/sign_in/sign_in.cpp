// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/sign_in/sign_in.h"

#include "registry/people/secret_rules.h"
#include "store/db/rows.h"

#include <sodium.h>

#include <array>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::refused;
using base::Result;
using namespace registry;

struct SignInDesk::Shown {
    bool right = false;
    bool planted = false; ///< right, and the row is not the one on record
    Sealed secret;
    LockOut before;
    Secret proof; ///< that the present secret was known
};

namespace {

constexpr std::size_t kCodeBytes = 16; // 128 bits: nobody guesses it, so it may be kept for years

/// One answer for everything that keeps somebody out: whoever tries ids learns nothing of which exist, or which are locked.
Fault notLetIn(const Policy& policy)
{
    return base::fault(FaultKind::Denied,
        "that id and that secret do not belong together, or the id is locked: after %1 failed tries in a row it is, for %2 minutes; a coordinator unlocks it sooner",
        policy.signInTries, policy.signInLockMinutes);
}

Fault planted(const base::OperatorId& person)
{
    return base::fault(FaultKind::Denied,
        "the secret of '%1' was put in its place from outside, and is not the one on record; tell the coordinator, and run verify",
        person.value);
}

/// Letters and digits of a code as it was typed from paper.
Secret plainCode(const Secret& typed)
{
    Secret plain;
    for (const char c : typed.text())
        if (c != '-' && c != ' ')
            plain.append(c >= 'A' && c <= 'F' ? static_cast<char>(c - 'A' + 'a') : c);
    return plain;
}

Secret grouped(const Secret& code)
{
    Secret text;
    for (std::size_t i = 0; i < code.text().size(); ++i) {
        if (i > 0 && i % 4 == 0)
            text.append('-');
        text.append(code.text()[i]);
    }
    return text;
}

/// On record with an open account; null where not.
Result<const OperatorRecord*> openAccount(Reader& reader, const base::OperatorId& id, base::Moment now)
{
    const auto person = reader.person(id);
    if (!person || *person == nullptr)
        return person;
    const auto competency = reader.competency(**person, std::nullopt, now);
    if (!competency)
        return competency.error();
    return competency->state == CompetencyState::Closed ? nullptr : *person;
}

Done needCoordinatorOnRecord(Reader& reader, const base::OperatorId& id, base::Moment now)
{
    const auto person = openAccount(reader, id, now);
    if (!person)
        return person.error();
    return *person != nullptr && (*person)->act.role == Role::Coordinator
        ? Done()
        : Done(refused("'%1' is no coordinator whose account is open; a coordinator does this", id.value));
}

} // namespace

SignInDesk::SignInDesk(Session& session, Registrar& registrar, Clock clock, std::string station, Stretch stretch)
    : m_session(session),
      m_registrar(registrar),
      m_clock(std::move(clock)),
      m_station(std::move(station)),
      m_stretch(std::move(stretch))
{
}

/// Stretching takes its time before the lock is taken and compares nothing; the comparison, and what it leaves in the journal, come under
/// the lock, so that tries at the same time are counted one after the other.
Result<SignInDesk::Shown> SignInDesk::checkSecret(const base::OperatorId& person, const Secret& secret,
    const std::function<Result<std::vector<Act>>(Reader&, base::Moment, const Shown&)>& then)
{
    const auto setUp = isSignInSetUp(m_session);
    if (!setUp)
        return setUp.error();
    if (!*setUp)
        return refused("sign-in is not set up here; a coordinator does it with secret set");
    const auto none = noneHere(m_session);
    if (!none)
        return none.error();
    if (*none)
        return refused("no password came along when this registry was copied; a coordinator sets sign-in up anew with secret set");
    const auto sealedBefore = newestSealed(m_session, person);
    if (!sealedBefore)
        return sealedBefore.error();
    const auto rule = ruleFor(m_session, person);
    if (!rule)
        return rule.error();
    const auto stretched = m_stretch(secret, *rule);
    if (!stretched)
        return stretched.error();

    // A server takes its time over this, which nobody else shall wait for: it is asked before the lock, and counts only if nothing changed.
    const auto matched = matches(m_session, person, *rule, *stretched);
    if (!matched)
        return matched.error();

    Shown shown;
    shown.proof = shownPart(*rule, *stretched);
    Fault answer;
    Author author = as({}); // nobody has shown who they are; read when the acts are appended
    const auto decide = [&](Reader& reader, base::Moment now) -> Result<std::vector<Act>> {
        const bool code = person == recoveryCodeId();
        const auto account = code ? Result<const OperatorRecord*>(nullptr) : openAccount(reader, person, now);
        const auto known = reader.person(person);
        const auto sealed = newestSealed(m_session, person);
        const auto lock = lockOutOf(reader, person, now);
        if (!account || !known || !sealed || !lock)
            return !account ? account.error() : !known ? known.error() : !sealed ? sealed.error() : lock.error();
        shown.before = *lock;
        const bool checkable = (code || *account != nullptr) && *sealed && !lock->locked(now);
        shown.right = *matched && checkable && *sealedBefore && (*sealedBefore)->seq == (*sealed)->seq;
        if (shown.right) {
            shown.secret = **sealed;
            const auto seals = storedSeals(m_session);
            if (!seals)
                return seals.error();
            for (const auto& [id, seal] : *seals)
                shown.planted = shown.planted || (id == person.value && seal != shown.secret.seal);
        }
        if (!shown.right || shown.planted) {
            const Policy& policy = reader.policyAt(now);
            const LockOut after = withFailure(*lock, now, policy.signInTries, policy.signInLockMinutes);
            acts::SignInFailed failed { now, {}, after.failures, after.until };
            if (code || *known != nullptr)
                failed.person = person;
            answer = shown.planted ? planted(person) : notLetIn(policy);
            return std::vector<Act> { failed };
        }
        if (!code)
            author.person = person;
        return then(reader, now, shown);
    };
    if (const auto recorded = m_registrar.recordOwnDecided(decide, author); !recorded)
        return recorded.error();
    if (!shown.right || shown.planted)
        return answer;
    return shown;
}

Result<Admitted> SignInDesk::admitted(
    const base::OperatorId& person, const Secret& secret, const std::optional<base::WardId>& ward, bool toSign)
{
    std::shared_ptr<SignedIn> signedIn(new SignedIn);
    auto shown = checkSecret(person, secret, [&](Reader& reader, base::Moment now, const Shown& right) -> Result<std::vector<Act>> {
        const auto account = reader.person(person);
        if (!account)
            return account.error();
        signedIn->m_registry = reader.registryId();
        signedIn->m_person = person;
        signedIn->m_role = (*account)->act.role;
        signedIn->m_secret = right.secret.seq;
        signedIn->m_shownAt = now.utcMs;
        signedIn->m_once = right.secret.once;
        signedIn->m_toSign = toSign;
        std::vector<Act> acts;
        if (ward || right.before.failures > 0)
            acts.emplace_back(acts::ShiftBegun { now, person, ward.value_or(base::WardId()) });
        return acts;
    });
    if (!shown)
        return shown.error();
    return Admitted { std::move(signedIn), shown->before.failures, shown->before.lastFailure };
}

Result<Admitted> SignInDesk::signIn(const base::OperatorId& person, const Secret& secret, const std::optional<base::WardId>& ward)
{
    return admitted(person, secret, ward, false);
}

Result<Admitted> SignInDesk::signInToSign(const base::OperatorId& person, const Secret& secret)
{
    return admitted(person, secret, {}, true);
}

Result<Secret> SignInDesk::made(const Secret& secret)
{
    const StretchRule rule = newRule();
    const auto stretched = m_stretch(secret, rule);
    if (!stretched)
        return stretched.error();
    return checkText(rule, *stretched);
}

Result<std::pair<Secret, Secret>> SignInDesk::newCode()
{
    std::array<unsigned char, kCodeBytes> bytes {};
    std::array<char, 2 * kCodeBytes + 1> digits {};
    randombytes_buf(bytes.data(), bytes.size());
    sodium_bin2hex(digits.data(), digits.size(), bytes.data(), bytes.size());
    sodium_memzero(bytes.data(), bytes.size());
    Secret code = Secret::taken(digits.data(), 2 * kCodeBytes);
    auto row = made(code);
    if (!row)
        return row.error();
    return std::pair(std::move(code), std::move(row).value());
}

Result<Secret> SignInDesk::setUp(const base::OperatorId& person, const Secret& secret)
{
    const auto row = made(secret);
    const auto code = newCode();
    if (!row || !code)
        return row ? code.error() : row.error();
    const auto recorded = m_registrar.recordOwnDecided(
        [&](Reader& reader, base::Moment now) -> Result<std::vector<Act>> {
            const auto setUp = isSignInSetUp(m_session);
            const auto none = noneHere(m_session);
            if (!setUp || !none)
                return setUp ? none.error() : setUp.error();
            if (*setUp && !*none)
                return base::fault(
                    FaultKind::Conflict, "sign-in is set up already; sign in, and give secrets out with secret set --for ID");
            if (const Done coordinator = needCoordinatorOnRecord(reader, person, now); !coordinator)
                return coordinator.error();
            if (const Done sound = soundSecret(secret.text(), person, Role::Coordinator); !sound)
                return sound.error();
            for (const auto& [id, text] : { std::pair(&person, &*row), std::pair(&recoveryCodeId(), &code->second) })
                if (const Done stored = storeCredential(m_session, *id, *text, {}); !stored)
                    return stored.error();
            return std::vector<Act> { acts::SecretSet { now, person, person, sealOf(*row), false },
                acts::SecretSet { now, person, recoveryCodeId(), sealOf(code->second), false } };
        },
        as(person));
    if (!recorded)
        return recorded.error();
    return grouped(code->first);
}

Done SignInDesk::replace(const base::OperatorId& person, const Secret& present, const Secret& next)
{
    const auto row = made(next);
    if (!row)
        return row.error();
    const auto shown = checkSecret(person, present, [&](Reader& reader, base::Moment now, const Shown& right) -> Result<std::vector<Act>> {
        const auto account = reader.person(person);
        if (!account)
            return account.error();
        if (const Done sound = soundSecret(next.text(), person, (*account)->act.role); !sound)
            return sound.error();
        if (next.text() == present.text())
            return base::badInput("that is the present secret; take another one");
        if (const Done stored = storeCredential(m_session, person, *row, right.proof); !stored)
            return stored.error();
        return std::vector<Act> { acts::SecretSet { now, person, person, sealOf(*row), false } };
    });
    return shown ? Done() : Done(shown.error());
}

namespace {

/// otherwise  said of somebody who is none
Result<const OperatorRecord*> coordinatorWho(base::Sentence<1> otherwise, Reader& reader, const Author& author, base::Moment now)
{
    const auto me = signedInPerson(reader, author, now.utcMs);
    if (me && (*me)->act.role != Role::Coordinator)
        return base::fault(FaultKind::Denied, otherwise, (*me)->act.id.value);
    return me;
}

} // namespace

Done SignInDesk::giveOut(const Author& coordinator, const base::OperatorId& person, const Secret& next)
{
    const auto row = made(next);
    if (!row)
        return row.error();
    const auto recorded = m_registrar.recordOwnDecided(
        [&](Reader& reader, base::Moment now) -> Result<std::vector<Act>> {
            const auto me = coordinatorWho("a coordinator gives secrets out; '%1' is not one", reader, coordinator, now);
            if (!me)
                return me.error();
            if ((*me)->act.id == person)
                return refused("your own secret is replaced with secret set, without --for");
            const auto account = openAccount(reader, person, now);
            if (!account)
                return account.error();
            if (*account == nullptr)
                return base::fault(FaultKind::NotFound,
                    "nobody with an open account is called '%1'; record them first, or check how it is written", person.value);
            if (const Done sound = soundSecret(next.text(), person, (*account)->act.role); !sound)
                return sound.error();
            if (const Done stored = storeCredential(m_session, person, *row, {}); !stored)
                return stored.error();
            return std::vector<Act> { acts::SecretSet { now, (*me)->act.id, person, sealOf(*row), true } };
        },
        actingAs(coordinator));
    return recorded ? Done() : Done(recorded.error());
}

Done SignInDesk::unlock(const Author& coordinator, const base::OperatorId& person, const std::string& reason)
{
    const auto recorded = m_registrar.recordOwnDecided(
        [&](Reader& reader, base::Moment now) -> Result<std::vector<Act>> {
            const auto me = coordinatorWho("a coordinator unlocks an id; '%1' is not one", reader, coordinator, now);
            if (!me)
                return me.error();
            if (reason.find_first_not_of(' ') == std::string::npos)
                return base::badInput("say why with --reason, such as \"was at the desk, new glasses\"");
            const auto account = openAccount(reader, person, now);
            if (!account)
                return account.error();
            if (*account == nullptr)
                return base::fault(
                    FaultKind::NotFound, "nobody with an open account is called '%1'; check how it is written", person.value);
            const auto lock = lockOutOf(reader, person, now);
            if (!lock)
                return lock.error();
            if (lock->failures == 0)
                return refused("'%1' has no failed tries; there is nothing to unlock", person.value);
            return std::vector<Act> { acts::SignInUnlocked { now, (*me)->act.id, person, reason } };
        },
        actingAs(coordinator));
    return recorded ? Done() : Done(recorded.error());
}

Result<Secret> SignInDesk::recover(
    const base::OperatorId& person, const Secret& code, const Secret& next, const std::string& witness, const std::string& reason)
{
    const auto row = made(next);
    const auto fresh = newCode();
    if (!row || !fresh)
        return row ? fresh.error() : row.error();
    const auto shown = checkSecret(
        recoveryCodeId(), plainCode(code), [&](Reader& reader, base::Moment now, const Shown& right) -> Result<std::vector<Act>> {
            if (const Done coordinator = needCoordinatorOnRecord(reader, person, now); !coordinator)
                return coordinator.error();
            const auto account = reader.person(person);
            if (!account)
                return account.error();
            const bool self = witness == person.value || (*account)->act.name == witness;
            if (self || witness.find_first_not_of(' ') == std::string::npos)
                return base::badInput("name somebody else who stands by with --witness");
            if (reason.find_first_not_of(' ') == std::string::npos)
                return base::badInput("say why with --reason");
            if (const Done sound = soundSecret(next.text(), person, Role::Coordinator); !sound)
                return sound.error();
            if (const Done stored = storeCredential(m_session, person, *row, {}); !stored)
                return stored.error();
            if (const Done stored = storeCredential(m_session, recoveryCodeId(), fresh->second, right.proof); !stored)
                return stored.error();
            return std::vector<Act> { acts::SecretRecovered { now, person, witness, reason, sealOf(*row) },
                acts::SecretSet { now, person, recoveryCodeId(), sealOf(fresh->second), false } };
        });
    if (!shown)
        return shown.error();
    return grouped(fresh->first);
}

} // namespace mk::store
