// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/people/lock_out.h"
#include "store/access/credentials.h"
#include "store/registrar/registrar.h"
#include "store/registrar/rights.h"

#include <memory>
#include <optional>
#include <string>
#include <vector>

/// Where people show who they are: secrets and the lock-out.
namespace mk::store {

/// What the journal says of that id's tries.
base::Result<registry::LockOut> lockOutOf(Reader& reader, const base::OperatorId& person, base::Moment now);
/// For an inspector: says on record what was looked at or taken out; for others nothing.
base::Done noteShown(Registrar& registrar, const Author& author, const std::string& what);

struct Admitted {
    std::shared_ptr<const SignedIn> signedIn;
    std::int64_t failedBefore = 0; ///< tries that failed since this person last came in: somebody else's?
    std::optional<base::Moment> lastFailure;
};

/// How a person's way in stands, for the coordinator's list.
struct SignInStanding {
    base::OperatorId person;
    std::string name;
    registry::Role role {};
    bool closed = false, hasSecret = false, mustReplace = false;
    registry::LockOut lockOut;
};
base::Result<std::vector<SignInStanding>> signInStandings(Reader& reader, base::Moment now);
/// Tries with ids that nobody has, of the last day.
base::Result<std::int64_t> unknownTriesOfLastDay(Reader& reader, base::Moment now);

/// Where people sign in. Belongs to its session's thread; each call is one transaction.
class SignInDesk {
public:
    /// registrar  of that session
    SignInDesk(Session& session, Registrar& registrar, Clock clock, std::string station, Stretch stretch = argon2id);

    /// errors  Denied, in the same words for an id that nobody has, a closed account, one without a secret, a wrong secret and a locked id;
    ///         Refused where sign-in is not set up
    /// ward    where the person begins to work; none (the command line): the session goes on record only where it ends a row of failures,
    /// since
    ///         each entry of the person names them anyway
    base::Result<Admitted> signIn(const base::OperatorId& person, const Secret& secret, const std::optional<base::WardId>& ward = {});
    /// For one signature, at its moment: both components, or with somebody signed in already the secret alone.
    base::Result<Admitted> signInToSign(const base::OperatorId& person, const Secret& secret);

    /// The first secret, a coordinator's, sets sign-in up. returns  the recovery code, to be shown once
    base::Result<Secret> setUp(const base::OperatorId& person, const Secret& secret);
    /// A person's own, knowing the present one.
    base::Done replace(const base::OperatorId& person, const Secret& present, const Secret& next);
    /// A coordinator gives one out, to be replaced at first use; it unlocks too.
    base::Done giveOut(const Author& coordinator, const base::OperatorId& person, const Secret& next);
    base::Done unlock(const Author& coordinator, const base::OperatorId& person, const std::string& reason);
    /// A coordinator who forgot theirs, with the code from its envelope, a witness and a reason. returns  the next code
    base::Result<Secret> recover(
        const base::OperatorId& person, const Secret& code, const Secret& next, const std::string& witness, const std::string& reason);

private:
    struct Shown; ///< what one try showed
    /// then  runs under the lock, where the secret is right
    base::Result<Shown> checkSecret(const base::OperatorId& person, const Secret& secret,
        const std::function<base::Result<std::vector<registry::Act>>(Reader&, base::Moment, const Shown&)>& then);
    base::Result<Admitted> admitted(
        const base::OperatorId& person, const Secret& secret, const std::optional<base::WardId>& ward, bool toSign);
    /// A row ready to be stored.
    base::Result<Secret> made(const Secret& secret);
    /// A new recovery code, and its row
    base::Result<std::pair<Secret, Secret>> newCode();
    Author as(const base::OperatorId& person) const { return { person, m_station }; }

    Session& m_session;
    Registrar& m_registrar;
    Clock m_clock;
    std::string m_station;
    Stretch m_stretch;
};

} // namespace mk::store
