// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "store/registrar/registrar.h"

#include <string>

/// What a person who signed in may record.
///
/// Once one `secret.set` is on record, sign-in is set up, for good: every record needs somebody who signed in.
namespace mk::store {

/// Proof that a person showed who they are to this registry. Only SignInDesk makes one.
class SignedIn {
public:
    const base::OperatorId& person() const { return m_person; }
    registry::Role role() const { return m_role; }
    /// The secret was given out by somebody else: nothing but a new one may be recorded with it.
    bool mustReplace() const { return m_once; }

private:
    friend class SignInDesk;
    friend base::Done mayRecordAs(Reader&, const Author&, std::span<const NewAct>, std::int64_t);
    friend base::Done mayTakeOverAs(Reader&, const Author&, std::int64_t);
    friend base::Result<const registry::OperatorRecord*> signedInPerson(Reader&, const Author&, std::int64_t);
    SignedIn() = default;

    std::string m_registry;
    base::OperatorId m_person;
    registry::Role m_role {};
    base::Seq m_secret; ///< the entry that set the secret which was shown
    std::int64_t m_shownAt = 0;
    bool m_once = false;
    bool m_toSign = false; ///< the secret was shown for a signature, just before it
};

inline constexpr std::int64_t kSessionHours = 12;     ///< nobody works longer; a window that is left open ends its session sooner
inline constexpr std::int64_t kSignWithinMinutes = 2; ///< from showing the secret to the signature that it was shown for

/// errors  Denied: nobody signed in, or not validly any more
base::Result<const registry::OperatorRecord*> signedInPerson(Reader& reader, const Author& author, std::int64_t nowMs);
/// errors  Denied: why that author may not record these acts, and what to do; never where sign-in is not set up
base::Done mayRecordAs(Reader& reader, const Author& author, std::span<const NewAct> acts, std::int64_t nowMs);
base::Done mayTakeOverAs(Reader& reader, const Author& author, std::int64_t nowMs);
/// The author with the person who signed in as the one who enters.
Author actingAs(const Author& author);
/// errors  BadInput for what people record
base::Done isOwn(const registry::Act& act);

base::Result<bool> isSignInSetUp(Session& session);
/// Is the account closed at that moment?
base::Result<bool> isClosed(Reader& reader, const registry::OperatorRecord& person, base::Moment now);

} // namespace mk::store
