// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/acts_people.h"

#include <cstdint>

/// Who came in, what was shown to them, and where copies of the registry lie. The program writes these; nobody types them.
namespace mk::registry::acts {

/// A person's password or PIN was set. The secret itself, and what it is checked against, never enter the journal.
struct SecretSet {
    static constexpr std::string_view kind = "secret.set";
    static constexpr auto recordedBy = RecordedBy::Everybody; // one's own; another's is a coordinator's, see store/sign_in
    base::Moment at;
    base::OperatorId by;     ///< whoever set it
    base::OperatorId person; ///< whose it is
    std::string seal;        ///< SHA-256, lower-case hex, of the stored check text: a row that was put in its place is noticed
    bool once = false;       ///< given out by somebody else: to be replaced at the first sign-in
};

/// A coordinator came back in with the recovery code, and set a new secret.
struct SecretRecovered {
    static constexpr std::string_view kind = "secret.recovered";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId person;
    std::string witness; ///< who stood by, as typed
    std::string reason;
    std::string seal;
};

/// A sign-in that failed. Written by the registry itself: nobody has shown who they are.
struct SignInFailed {
    static constexpr std::string_view kind = "sign_in.failed";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::Moment at;
    Opt<base::OperatorId> person {}; ///< none: no such id. What was typed is not kept, it may have been a secret
    std::int64_t inARow = 1;         ///< failures of this id since it last came in
    Opt<base::Moment> lockedUntil {};
};

struct SignInUnlocked {
    static constexpr std::string_view kind = "sign_in.unlocked";
    static constexpr auto recordedBy = RecordedBy::Coordinator;
    base::Moment at;
    base::OperatorId by;
    base::OperatorId person;
    std::string reason;
};

/// An inspector looked at something, or took it out.
struct RecordsShown {
    static constexpr std::string_view kind = "records.shown";
    static constexpr auto recordedBy = RecordedBy::Everybody;
    base::Moment at;
    base::OperatorId by;
    std::string what; ///< in words: "meter M-07", "export, all files"
};

struct BackupMade {
    static constexpr std::string_view kind = "backup.made";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::Moment at;
    std::string copy; ///< the name of the copy, without its folder
    base::Seq head;   ///< the newest entry in the copy
    std::string digest;
};

/// A copy took the place of a registry, or came back where none was.
struct RegistryRestored {
    static constexpr std::string_view kind = "registry.restored";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::Moment at;
    std::string copy; ///< the name of the copy, without its folder
    base::Seq head;   ///< of the copy
    std::string digest;
    Opt<base::Seq> replacedHead {}; ///< of what was there
    Opt<std::string> replacedDigest {};
};

/// The last entry of a registry that goes on elsewhere: nothing may follow it here.
struct RegistryMoved {
    static constexpr std::string_view kind = "registry.moved";
    static constexpr auto recordedBy = RecordedBy::Program;
    base::Moment at;
    std::string to; ///< a place in words, without secrets
    base::Seq head; ///< the last entry that was taken along
    std::string digest;
};

} // namespace mk::registry::acts
