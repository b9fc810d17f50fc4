// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/access/credentials.h"

#include "registry/acts/acts.h"
#include "store/journal/act_codec.h"
#include "store/db/rows.h"
#include "store/journal/journal.h"

#include <sodium.h>

#include <array>
#include <charconv>
#include <map>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

using store::bound;

constexpr std::size_t kSaltBytes = crypto_pwhash_SALTBYTES;
constexpr std::size_t kStretchedBytes = 32;
constexpr std::size_t kPepperBytes = 16;
constexpr const char* kScheme = "argon2id:19:";
// A row that a thief made could ask for all memory there is.
constexpr unsigned long long kMostOperations = 20;
constexpr std::size_t kMostMemory = std::size_t { 1 } << 30U;

template <std::size_t N>
std::string hexOf(const std::array<unsigned char, N>& bytes)
{
    std::string text(2 * N + 1, '\0');
    sodium_bin2hex(text.data(), text.size(), bytes.data(), N);
    text.resize(2 * N);
    return text;
}

template <std::size_t N>
std::string randomHex()
{
    std::array<unsigned char, N> bytes {};
    randombytes_buf(bytes.data(), bytes.size());
    return hexOf(bytes);
}

template <typename T>
bool numberFrom(std::string_view text, T& value)
{
    const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
    return read.ec == std::errc() && read.ptr == text.data() + text.size();
}

/// A stretched secret on its way into a statement. What Qt holds of it is not wiped; the secret itself never comes here.
QVariant bound(const Secret& secret)
{
    if (secret.empty())
        return QStringLiteral("");
    return QString::fromUtf8(secret.text().data(), static_cast<qsizetype>(secret.text().size()));
}

Result<Secret> rowOf(Session& session, const base::OperatorId& person)
{
    static const Sql sql({ "credential" }, "SELECT check_text FROM credential WHERE operator = :operator");
    Secret row;
    const Done read = eachRow(session, sql, { { "operator", bound(person.value) } }, [&](const Statement& each) {
        std::string text = each.text("check_text");
        row = Secret::taken(text);
        return Done();
    });
    if (!read)
        return read.error();
    return row;
}

} // namespace

std::string StretchRule::text() const
{
    return kScheme + std::to_string(operations) + ":" + std::to_string(memory) + ":" + salt;
}

std::optional<StretchRule> StretchRule::read(const std::string& text)
{
    if (!text.starts_with(kScheme))
        return std::nullopt;
    const auto first = text.find(':', std::char_traits<char>::length(kScheme));
    const auto second = first == std::string::npos ? first : text.find(':', first + 1);
    if (second == std::string::npos)
        return std::nullopt;
    const std::size_t begin = std::char_traits<char>::length(kScheme);
    StretchRule rule;
    const std::string_view all(text);
    const bool sound = numberFrom(all.substr(begin, first - begin), rule.operations)
        && numberFrom(all.substr(first + 1, second - first - 1), rule.memory) && rule.operations >= 1 && rule.operations <= kMostOperations
        && rule.memory >= crypto_pwhash_MEMLIMIT_MIN && rule.memory <= kMostMemory;
    rule.salt = text.substr(second + 1, 2 * kSaltBytes);
    if (!sound || rule.salt.size() != 2 * kSaltBytes || rule.salt.find_first_not_of("0123456789abcdef") != std::string::npos)
        return std::nullopt;
    return rule;
}

StretchRule newRule()
{
    return { kStretchOperations, kStretchMemory, randomHex<kSaltBytes>() };
}

Result<Secret> argon2id(const Secret& secret, const StretchRule& rule)
{
    std::array<unsigned char, kSaltBytes> salt {};
    std::array<unsigned char, kStretchedBytes> out {};
    std::size_t read = 0;
    if (sodium_init() < 0 || sodium_hex2bin(salt.data(), salt.size(), rule.salt.data(), rule.salt.size(), nullptr, &read, nullptr) != 0
        || read != salt.size())
        return base::fault(FaultKind::Io, "secrets cannot be checked on this machine; run verify, and tell the person who looks after it");
    const int failed = crypto_pwhash(out.data(), out.size(), secret.text().data(), secret.text().size(), salt.data(), rule.operations,
        rule.memory, crypto_pwhash_ALG_ARGON2ID13);
    std::string text = hexOf(out);
    sodium_memzero(out.data(), out.size());
    Secret stretched = Secret::taken(text);
    if (failed != 0)
        return base::fault(FaultKind::Io, "there is not enough memory to check a secret; close other programs and try again");
    return stretched;
}

const base::OperatorId& recoveryCodeId()
{
    static const base::OperatorId id("(recovery code)");
    return id;
}

Secret shownPart(const StretchRule& rule, const Secret& stretched)
{
    std::string text = rule.text() + ":";
    text.reserve(text.size() + stretched.text().size());
    text += stretched.text();
    return Secret::taken(text);
}

Secret checkText(const StretchRule& rule, const Secret& stretched)
{
    Secret row = shownPart(rule, stretched);
    row.append(':');
    for (const char c : randomHex<kPepperBytes>())
        row.append(c);
    return row;
}

std::string sealOf(const Secret& checkText)
{
    std::array<unsigned char, crypto_hash_sha256_BYTES> digest {};
    const auto text = checkText.text();
    crypto_hash_sha256(digest.data(), reinterpret_cast<const unsigned char*>(text.data()), text.size()); // NOLINT: bytes are bytes
    return hexOf(digest);
}

Result<StretchRule> ruleFor(Session& session, const base::OperatorId& person)
{
    // For an id without a row in a file: nothing is given away there, since whoever asks can read the file.
    const StretchRule plain { kStretchOperations, kStretchMemory, std::string(2 * kSaltBytes, '0') };
    if (!session.isServer()) {
        const auto row = rowOf(session, person);
        if (!row)
            return row.error();
        return StretchRule::read(std::string(row->text())).value_or(plain);
    }
    static const Sql sql({ "credential" }, "SELECT credential_rule(:operator, :plain) AS rule");
    std::optional<StretchRule> rule;
    const Values values { { "operator", bound(person.value) }, { "plain", bound(plain.text().substr(0, plain.text().rfind(':') + 1)) } };
    const Done read = eachRow(session, sql, values, [&](const Statement& row) {
        rule = StretchRule::read(row.text("rule"));
        return Done();
    });
    if (!read)
        return read.error();
    return rule.value_or(plain);
}

Result<bool> matches(Session& session, const base::OperatorId& person, const StretchRule& rule, const Secret& stretched)
{
    const Secret given = shownPart(rule, stretched);
    if (!session.isServer()) {
        auto row = rowOf(session, person);
        if (!row)
            return row.error();
        // The random digits behind the last colon are not part of the comparison.
        const auto end = row->text().rfind(':');
        const auto stored = row->text().substr(0, end == std::string_view::npos ? 0 : end);
        return stored.size() == given.text().size() && sodium_memcmp(stored.data(), given.text().data(), stored.size()) == 0;
    }
    static const Sql sql({ "credential" }, "SELECT credential_check(:operator, :given) AS is_right");
    bool right = false;
    const Done read = eachRow(session, sql, { { "operator", bound(person.value) }, { "given", bound(given) } }, [&](const Statement& row) {
        right = row.value("is_right").toBool();
        return Done();
    });
    if (!read)
        return read.error();
    return right;
}

Done storeCredential(Session& session, const base::OperatorId& person, const Secret& checkText, const Secret& present)
{
    static const Sql onServer(Writes { "credential" }, "SELECT credential_set(:operator, :check_text, :present)");
    static const Sql inFile(Writes { "credential" },
        "INSERT INTO credential (operator, check_text) VALUES (:operator, :check_text)"
        " ON CONFLICT (operator) DO UPDATE SET check_text = excluded.check_text");
    Values values { { "operator", bound(person.value) }, { "check_text", bound(checkText) } };
    if (!session.isServer())
        return execute(session, inFile, values);
    values.push_back({ "present", bound(present) });
    return eachRow(session, onServer, values, [](const Statement&) { return Done(); });
}

Result<std::vector<std::pair<std::string, std::string>>> storedSeals(Session& session)
{
    std::vector<std::pair<std::string, std::string>> seals;
    const bool server = session.isServer();
    static const Sql onServer({ "credential" }, "SELECT operator, seal AS text FROM credential_seals() ORDER BY operator");
    static const Sql inFile({ "credential" }, "SELECT operator, check_text AS text FROM credential ORDER BY operator");
    const Done read = eachRow(session, server ? onServer : inFile, {}, [&](const Statement& row) {
        std::string text = row.text("text");
        std::string seal = server ? text : sealOf(Secret::taken(text));
        seals.emplace_back(row.text("operator"), std::move(seal));
        return Done();
    });
    if (!read)
        return read.error();
    return seals;
}

namespace {

// The last condition is that of the index journal_by_kind.
const Sql kSealsOf({ Entry::table },
    "SELECT seq, act, body FROM journal WHERE act IN ('secret.set', 'secret.recovered') AND subject = :person"
    " AND act NOT IN ('control.run', 'control.judged') ORDER BY seq DESC LIMIT 1");
const Sql kAllSeals({ Entry::table },
    "SELECT seq, act, body, subject FROM journal WHERE act IN ('secret.set', 'secret.recovered')"
    " AND act NOT IN ('control.run', 'control.judged') ORDER BY seq");

Result<Sealed> sealedFrom(const Statement& row)
{
    const auto act = actFromBody(row.text("act"), row.text("body"));
    if (!act)
        return act.error();
    if (const auto* set = std::get_if<registry::acts::SecretSet>(&*act))
        return Sealed { { row.number("seq") }, set->seal, set->once };
    return Sealed { { row.number("seq") }, std::get<registry::acts::SecretRecovered>(*act).seal, false };
}

} // namespace

Result<std::optional<Sealed>> newestSealed(Session& session, const base::OperatorId& person)
{
    std::optional<Sealed> newest;
    const Done read = eachRow(session, kSealsOf, { { "person", bound(person.value) } }, [&](const Statement& row) {
        auto sealed = sealedFrom(row);
        if (!sealed)
            return Done(sealed.error());
        newest = std::move(sealed).value();
        return Done();
    });
    if (!read)
        return read.error();
    return newest;
}

Result<bool> noneHere(Session& session)
{
    const auto stored = storedSeals(session);
    return stored ? Result<bool>(stored->empty()) : Result<bool>(stored.error());
}

Result<CredentialCheck> checkCredentials(Session& session)
{
    std::map<std::string, Sealed> wanted;
    const Done read = eachRow(session, kAllSeals, {}, [&](const Statement& row) {
        auto sealed = sealedFrom(row);
        if (!sealed)
            return Done(sealed.error());
        wanted[row.text("subject")] = *sealed;
        return Done();
    });
    const auto stored = storedSeals(session);
    if (!read || !stored)
        return read ? stored.error() : read.error();
    CredentialCheck check;
    const auto code = wanted.find(recoveryCodeId().value);
    const base::Seq setUp = code == wanted.end() ? base::Seq() : code->second.seq; // right behind the secret of whoever set it up
    for (const auto& [person, seal] : *stored) {
        const auto found = wanted.find(person);
        if (found == wanted.end() || found->second.seal != seal)
            check.strange.push_back(person);
        if (found != wanted.end())
            wanted.erase(found);
    }
    // Passwords that stay behind in a copying are no fault of the copy; one that was there since sign-in was last set up is missing.
    for (const auto& [person, sealed] : wanted)
        (stored->empty() || sealed.seq.value + 1 < setUp.value ? check.leftBehind : check.strange).push_back(person);
    return check;
}

} // namespace mk::store
