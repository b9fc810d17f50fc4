// SPDX-License-Identifier: GPL-3.0-or-later
// Sign-in against a server, each person with the database login of their role.
#include "store/sign_in/sign_in.h"

#include "store/copies/backup.h"
#include "store/copies/restore.h"
#include "store/db/rows.h"
#include "store/copies/verification.h"
#include "support/private_server.h"

#include <QTemporaryDir>

#include <gtest/gtest.h>

namespace mk::store {
namespace {

using namespace registry;
using support::PrivateServer;

Secret typed(std::string text)
{
    return Secret::taken(text);
}

class SignInOnServer : public ::testing::Test {
protected:
    struct Login {
        std::unique_ptr<Session> session;
        std::unique_ptr<Registrar> registrar;
        SignInDesk desk() { return { *session, *registrar, machineClock, "desk" }; }
    };
    SignInOnServer() : m_database(PrivateServer::shared().newDatabase())
    {
        auto session = Session::create(PrivateServer::shared().address(m_database, QStringLiteral("keeper")));
        EXPECT_TRUE(session) << session.error().text;
        const auto founded = found(**session, "Europe/Berlin", {}, { {}, "desk" }, machineClock);
        EXPECT_TRUE(founded) << founded.error().text;
        auto coordinator = as("coordinator");
        const std::vector<NewAct> people { { Act(acts::WardAdded { base::WardId("W1"), {} }), {} },
            { Act(acts::OperatorEnrolled { base::OperatorId("C1"), {}, Role::Coordinator, {}, {} }), {} },
            { Act(acts::OperatorEnrolled { base::OperatorId("N1"), {}, Role::Nurse, {}, {} }), {} },
            { Act(acts::OperatorEnrolled { base::OperatorId("I1"), {}, Role::Inspector, {}, {} }), {} } };
        const auto recorded = coordinator.registrar->record(people, { base::OperatorId("C1"), "desk" });
        EXPECT_TRUE(recorded) << recorded.error().text;
    }
    Login as(const char* login)
    {
        auto session = Session::open(PrivateServer::shared().address(m_database, QLatin1String(login)), Session::Access::ReadWrite);
        EXPECT_TRUE(session) << session.error().text;
        Login opened { std::move(session).value(), nullptr };
        auto registrar = Registrar::open(*opened.session, machineClock);
        EXPECT_TRUE(registrar) << registrar.error().text;
        opened.registrar = std::move(registrar).value();
        return opened;
    }
    void setUpAll()
    {
        auto coordinator = as("coordinator");
        auto desk = coordinator.desk();
        const auto code = desk.setUp(base::OperatorId("C1"), typed("kettle on the sill"));
        ASSERT_TRUE(code) << code.error().text;
        const auto admitted = desk.signIn(base::OperatorId("C1"), typed("kettle on the sill"));
        ASSERT_TRUE(admitted) << admitted.error().text;
        const Author author { base::OperatorId("C1"), "desk", admitted->signedIn };
        for (const char* person : { "N1", "I1" }) {
            const auto given = desk.giveOut(author, base::OperatorId(person), typed("905173"));
            ASSERT_TRUE(given) << given.error().text;
        }
    }
    QString m_database;
};

} // namespace

TEST_F(SignInOnServer, NurseAndInspectorSignInWithTheLoginsOfTheirRoles)
{
    setUpAll();
    for (const auto& [login, person] : { std::pair("nurse", "N1"), std::pair("inspector", "I1") }) {
        auto own = as(login);
        auto desk = own.desk();
        EXPECT_FALSE(desk.signIn(base::OperatorId(person), typed("111111"))) << "and the failure is on record";
        const auto replaced = desk.replace(base::OperatorId(person), typed("905173"), typed("480517"));
        ASSERT_TRUE(replaced) << login << ": " << replaced.error().text;
        EXPECT_FALSE(desk.signIn(base::OperatorId(person), typed("905173")));
        const auto admitted = desk.signIn(base::OperatorId(person), typed("480517"));
        ASSERT_TRUE(admitted) << login << ": " << admitted.error().text;
        const Author author { base::OperatorId(person), "desk", admitted->signedIn };
        const auto noted = noteShown(*own.registrar, author, "board");
        EXPECT_TRUE(noted) << noted.error().text;
    }
    auto reader = Reader::open(*as("inspector").session);
    auto again = as("inspector");
    auto from = Reader::open(*again.session);
    EXPECT_EQ(from->facts<acts::RecordsShown>()->size(), 1u) << "the inspector's";
    EXPECT_EQ(from->facts<acts::SignInFailed>()->size(), 4u);
}

TEST_F(SignInOnServer, NobodyReadsWhatSecretsAreCheckedAgainst)
{
    setUpAll();
    for (const char* login : { "nurse", "coordinator", "inspector" }) {
        auto own = as(login);
        for (const char* sql : { "SELECT check_text FROM credential", "SELECT bytes FROM server_secret", "DELETE FROM credential",
                 "UPDATE credential SET check_text = ''", "INSERT INTO credential (operator, check_text) VALUES ('X', 'Y')" }) {
            const auto done = own.session->execute(sql);
            ASSERT_FALSE(done) << login << " may " << sql;
            EXPECT_EQ(done.error().kind, base::FaultKind::Denied) << done.error().text;
        }
        // What is given out: how to stretch, never what comes of it; and for an id that nobody has it looks the same.
        const auto known = ruleFor(*own.session, base::OperatorId("N1"));
        const auto unknown = ruleFor(*own.session, base::OperatorId("nobody"));
        ASSERT_TRUE(known && unknown);
        EXPECT_EQ(known->operations, unknown->operations);
        EXPECT_EQ(known->memory, unknown->memory);
        EXPECT_EQ(known->salt.size(), unknown->salt.size());
        EXPECT_NE(unknown->salt, std::string(32, '0'));
        EXPECT_EQ(unknown->salt, ruleFor(*own.session, base::OperatorId("nobody"))->salt) << "asking twice tells nothing either";
        EXPECT_NE(unknown->salt, ruleFor(*own.session, base::OperatorId("somebody"))->salt);
        EXPECT_TRUE(checkCredentials(*own.session)->strange.empty()) << "verify works for every login";
    }
}

TEST_F(SignInOnServer, OnlyReviewGivesASecretOutWithoutKnowingThePresentOne)
{
    setUpAll();
    auto nurse = as("nurse");
    const StretchRule rule = newRule();
    const auto stretched = argon2id(typed("my own choice"), rule);
    const Secret planted = checkText(rule, *stretched);
    for (const char* person : { "C1", "N1", "X" }) {
        const auto stored = storeCredential(*nurse.session, base::OperatorId(person), planted, shownPart(rule, *stretched));
        ASSERT_FALSE(stored) << person;
        EXPECT_EQ(stored.error().kind, base::FaultKind::Denied) << stored.error().text;
    }
    EXPECT_FALSE(nurse.desk().setUp(base::OperatorId("C1"), typed("another long one")));
    // A nurse's login cannot unlock either, whatever program it uses.
    const auto unlocked = nurse.registrar->recordOwn(
        acts::SignInUnlocked { base::Moment {}, base::OperatorId("C1"), base::OperatorId("N1"), "by hand" },
        { base::OperatorId("C1"), "desk" });
    ASSERT_FALSE(unlocked);
    EXPECT_EQ(unlocked.error().kind, base::FaultKind::Denied);
}

TEST_F(SignInOnServer, ACopyWithoutThePasswordsHoldsAndSaysWhoseStayedBehind)
{
    setUpAll();
    const QTemporaryDir folder;
    auto nurse = as("nurse");
    auto nurseDesk = nurse.desk();
    ASSERT_TRUE(nurseDesk.replace(base::OperatorId("N1"), typed("905173"), typed("318427")));
    const auto admitted = nurseDesk.signIn(base::OperatorId("N1"), typed("318427"));
    ASSERT_TRUE(admitted) << admitted.error().text;
    const auto made = backUp(*nurse.session, { folder.path().toStdString(), {}, { base::OperatorId("N1"), "desk", admitted->signedIn } });
    ASSERT_TRUE(made) << made.error().text;
    EXPECT_TRUE(made->noted) << made->notNotedBecause;
    EXPECT_EQ(made->secretsLeft, 4) << "three people and the recovery code";

    const std::string place = folder.filePath(QStringLiteral("back.mkr")).toStdString();
    const auto restored = restore({ made->copy, place, false, { base::OperatorId("C1"), "desk" }, machineClock, {}, {} });
    ASSERT_TRUE(restored) << restored.error().text;
    ASSERT_TRUE(restored->done) << base::plainly(restored->refused.value_or(base::Fault()));
    auto session = Session::open(place, Session::Access::ReadWrite);
    ASSERT_TRUE(session) << session.error().text;
    const auto found = verify(**session, made->head.digest);
    ASSERT_TRUE(found);
    EXPECT_TRUE(found->holds());
    EXPECT_EQ(found->passwordsMissing.size(), 4U);

    // Nobody can sign in by an old password, and a coordinator sets sign-in up anew, on record.
    auto registrar = Registrar::open(**session, machineClock);
    ASSERT_TRUE(registrar);
    SignInDesk desk { **session, **registrar, machineClock, "desk" };
    const auto tried = desk.signIn(base::OperatorId("N1"), typed("318427"));
    ASSERT_FALSE(tried);
    EXPECT_NE(tried.error().text.find("no password came along"), std::string::npos) << tried.error().text;
    EXPECT_FALSE(desk.setUp(base::OperatorId("N1"), typed("a nurse sets up"))) << "a nurse does not";
    ASSERT_TRUE(desk.setUp(base::OperatorId("C1"), typed("kettle on another sill")));
    EXPECT_TRUE(desk.signIn(base::OperatorId("C1"), typed("kettle on another sill")));
    EXPECT_FALSE(desk.setUp(base::OperatorId("C1"), typed("and once again so"))) << "only while there is none";
    const auto after = verify(**session, std::nullopt);
    ASSERT_TRUE(after);
    EXPECT_TRUE(after->holds());
    EXPECT_EQ(after->passwordsMissing, (std::vector<std::string> { "I1", "N1" }));
}

TEST_F(SignInOnServer, ARightGuessIsNotToldSoonerThanAWrongOne)
{
    setUpAll();
    const QString right = PrivateServer::shared().sql(
        m_database, QStringLiteral("SELECT substring(check_text FROM '^(.*):[^:]+$') FROM meterkeep.credential WHERE operator = 'N1'"));
    const auto asNurse = [&](const QString& text, const char* timeout) {
        return PrivateServer::shared().sql(m_database,
            QStringLiteral("SET ROLE nurse; SET statement_timeout = '%1'; SELECT meterkeep.credential_check('N1', '%2')")
                .arg(QLatin1String(timeout), text));
    };
    EXPECT_EQ(asNurse(right, "0").toStdString(), "t");
    EXPECT_EQ(asNurse(QStringLiteral("argon2id:nonsense"), "0").toStdString(), "f");
    EXPECT_TRUE(asNurse(right, "100ms").startsWith(QStringLiteral("ERROR"))) << "neither is told to who does not wait";
    EXPECT_TRUE(asNurse(QStringLiteral("argon2id:nonsense"), "100ms").startsWith(QStringLiteral("ERROR")));
}

} // namespace mk::store
