// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/ids.h"
#include "store/access/secret.h"
#include "store/db/session.h"

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

/// What secrets are checked against: table `credential`, outside the journal. In a file it is read; a server compares by itself and lets
/// nothing out.
namespace mk::store {

/// How a secret is stretched: argon2id with these figures and salt.
struct StretchRule {
    unsigned long long operations = 0;
    std::size_t memory = 0;   ///< bytes
    std::string salt;         ///< 16 bytes as hexadecimal digits
    std::string text() const; ///< "argon2id:19:3:67108864:salt"
    static std::optional<StretchRule> read(const std::string& text);
};

/// Makes of a secret what can be compared: 64 hexadecimal digits. A test counts its calls.
using Stretch = std::function<base::Result<Secret>(const Secret&, const StretchRule&)>;

// 64 MiB and 3 passes: 0.16 s on one core of a plain server, well beyond the least that RFC 9106 names for little memory (64 MiB, 3 passes,
// its second choice), and what four people who sign in at once can use up on an old workstation. A thief of the file pays the same for each
// guess, on hardware of their own some thousand guesses a second: a PIN of six digits then lasts minutes to hours, a password of a few
// words for good. That is why coordinators have passwords, why the file's rights matter, and why on a server nobody can read the table.
inline constexpr unsigned long long kStretchOperations = 3;
inline constexpr std::size_t kStretchMemory = std::size_t { 64 } << 20U;

base::Result<Secret> argon2id(const Secret& secret, const StretchRule& rule);
StretchRule newRule();

/// The row that holds what the recovery code is checked against; no person can have this id.
const base::OperatorId& recoveryCodeId();

/// What proves that a secret was known: the row without its random digits.
Secret shownPart(const StretchRule& rule, const Secret& stretched);
/// The whole of a row: rule, stretched secret, and random digits that leave the row nowhere. Its seal stands in the journal, which
/// everybody reads: without those digits nobody can try secrets against the seal.
Secret checkText(const StretchRule& rule, const Secret& stretched);
/// SHA-256 as the journal's entry `secret.set` carries it.
std::string sealOf(const Secret& checkText);

/// The rule of that id. For one without a row: a rule that looks like any other, the same at each time.
base::Result<StretchRule> ruleFor(Session& session, const base::OperatorId& person);
/// Is that what the row holds? False for an id without a row.
base::Result<bool> matches(Session& session, const base::OperatorId& person, const StretchRule& rule, const Secret& stretched);
/// Puts a row in place, within the caller's transaction.
/// present  on a server, what proves that the person knows the present secret; empty where a coordinator's login gives one out
/// errors   Denied where the server's login may not
base::Done storeCredential(Session& session, const base::OperatorId& person, const Secret& checkText, const Secret& present);
/// Did none come along? Then nobody can sign in, and a coordinator sets sign-in up anew.
base::Result<bool> noneHere(Session& session);
/// Id and seal of every row.
base::Result<std::vector<std::pair<std::string, std::string>>> storedSeals(Session& session);

/// For `verify`.
struct CredentialCheck {
    std::vector<std::string>
        strange; ///< ids whose row is not the one that the newest secret.set or secret.recovered sealed, or is gone, or was never set
    std::vector<std::string> leftBehind; ///< ids whose row did not come along into this copy
};
base::Result<CredentialCheck> checkCredentials(Session& session);
/// The seal that the newest entry gives that id, and the entry.
struct Sealed {
    base::Seq seq;
    std::string seal;
    bool once = false;
};
base::Result<std::optional<Sealed>> newestSealed(Session& session, const base::OperatorId& person);

} // namespace mk::store
