// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/sign_in/sign_in.h"

#include "store/journal/act_codec.h"
#include "store/store_desk.h"
#include "store/copies/verification.h"

#include <gtest/gtest.h>

#include <QSqlError>

#include <sodium.h>

#include <new>
#include <regex>
#include <set>

namespace mk::store {
namespace {

using namespace registry;
using sample::StoreDesk;

constexpr const char* kCoordinators = "kettle on the sill";
constexpr const char* kNurses = "480517";

Secret secret(std::string text)
{
    return Secret::taken(text);
}

/// Like argon2id, and quick: what is tested here does not hang on the cost. The server's tests and the command line's use the real one.
base::Result<Secret> quick(const Secret& given, const StretchRule& rule)
{
    return argon2id(given, { 1, std::size_t { 16 } << 10U, rule.salt });
}

/// The common ground with a second coordinator and an inspector, and a desk whose stretching is counted.
class SignIn : public ::testing::Test, protected StoreDesk {
protected:
    SignIn()
    {
        goTo("2026-05-02T08:00");
        record(acts::OperatorEnrolled { base::OperatorId("C2"), "Second", Role::Coordinator, {}, {} });
        record(acts::OperatorEnrolled { base::OperatorId("I1"), "Inspector", Role::Inspector, {}, {} });
    }
    SignInDesk desk()
    {
        return { session(), registrar(), [this] { return now().utcMs; }, "desk",
            [this](const Secret& given, const StretchRule& rule) {
                m_rules.push_back(rule);
                return quick(given, rule);
            } };
    }
    base::Result<Admitted> in(const std::string& person, const std::string& typed)
    {
        return desk().signIn(base::OperatorId(person), secret(typed));
    }
    Author author(const std::string& person, const std::string& typed)
    {
        const auto admitted = in(person, typed);
        EXPECT_TRUE(admitted) << person << ": " << admitted.error().text;
        return { base::OperatorId(person), "desk", admitted ? admitted->signedIn : nullptr };
    }
    /// Sign-in set up by C1. Keeps the recovery code.
    void setUp()
    {
        const auto code = desk().setUp(base::OperatorId("C1"), secret(kCoordinators));
        ASSERT_TRUE(code) << code.error().text;
        m_code = std::string(code->text());
    }
    /// N1 with a secret of their own.
    void giveN1()
    {
        ASSERT_TRUE(desk().giveOut(author("C1", kCoordinators), base::OperatorId("N1"), secret("905173")));
        const auto own = desk().replace(base::OperatorId("N1"), secret("905173"), secret(kNurses));
        ASSERT_TRUE(own) << own.error().text;
    }
    base::Result<std::vector<Outcome>> recordAs(const Act& act, const Author& by)
    {
        const NewAct one { act, {} };
        return registrar().record({ &one, 1 }, by);
    }
    acts::NoteAdded note(const char* by) const { return { now(), base::OperatorId(by), base::MeterId("M1"), "looked at" }; }
    void later(std::int64_t minutes) { goTo(base::toText(base::plusMs(now(), minutes * 60'000))); }
    /// As somebody could who has the file, or is the administrator of the server.
    void outside(const char* sql)
    {
        if (support::onServer()) {
            const QString place = QString::fromStdString(path());
            const QString name = place.section(QLatin1Char('?'), 0, 0).section(QLatin1Char('/'), -1);
            const QString said = support::PrivateServer::shared().sql(
                name, QStringLiteral("SET search_path = meterkeep; ") + QString::fromUtf8(sql));
            EXPECT_FALSE(said.startsWith(QStringLiteral("ERROR"))) << said.toStdString();
            return;
        }
        onPlainConnection(
            [&](QSqlQuery& query) { EXPECT_TRUE(query.exec(QString::fromUtf8(sql))) << query.lastError().text().toStdString(); });
    }
    std::vector<std::string> differences()
    {
        const auto found = verify(session(), std::nullopt);
        EXPECT_TRUE(found) << found.error().text;
        EXPECT_TRUE(found && found->chainIntact);
        return found ? found->differsIn : std::vector<std::string> { "not read" };
    }

    std::vector<StretchRule> m_rules;
    std::string m_code;
};

} // namespace

TEST_F(SignIn, IsSetUpByACoordinatorsFirstSecretAndForGood)
{
    EXPECT_TRUE(recordAs(note("N1"), { {}, "desk" })) << "until then everything is as it was";
    EXPECT_EQ(in("C1", kCoordinators).error().kind, base::FaultKind::Refused);
    EXPECT_FALSE(desk().setUp(base::OperatorId("N1"), secret("kettle on the sill")));
    EXPECT_FALSE(desk().setUp(base::OperatorId("nobody"), secret("kettle on the sill")));
    EXPECT_FALSE(desk().setUp(base::OperatorId("C1"), secret("123456")));
    EXPECT_FALSE(*isSignInSetUp(session()));
    EXPECT_TRUE(recordAs(note("N1"), { {}, "desk" }));

    setUp();
    EXPECT_TRUE(std::regex_match(m_code, std::regex("([0-9a-f]{4}-){7}[0-9a-f]{4}"))) << "128 bits";
    EXPECT_EQ(desk().setUp(base::OperatorId("C2"), secret("another long one")).error().kind, base::FaultKind::Conflict);
    EXPECT_EQ(recordAs(note("N1"), { base::OperatorId("N1"), "desk" }).error().kind, base::FaultKind::Denied);
    EXPECT_EQ(registrar().importFiles({}, { base::OperatorId("C1"), "desk" }).error().kind, base::FaultKind::Denied);
    EXPECT_TRUE(recordAs(note("C1"), author("C1", kCoordinators)));
    EXPECT_TRUE(registrar().importFiles({}, author("C1", kCoordinators)));
    EXPECT_TRUE(differences().empty());
}

TEST_F(SignIn, NeitherTheSecretNorWhatItIsCheckedAgainstEntersTheJournal)
{
    setUp();
    giveN1();
    std::set<std::string> seals;
    for (const auto& entry : entriesOf("secret.set")) {
        seals.insert(entry.body.substr(entry.body.find("\"seal\":\"") + 8, 64));
        EXPECT_EQ(entry.body.find("argon2id"), std::string::npos);
    }
    EXPECT_EQ(seals.size(), 4u) << "C1, the code, N1 twice";
    for (const auto& entry : entries())
        for (const auto& hidden : { std::string(kCoordinators), std::string(kNurses), std::string("905173"), m_code })
            EXPECT_EQ(entry.body.find(hidden), std::string::npos) << entry.act;
    // What everybody can read does not let them try secrets by themselves: the seal covers digits that leave the row nowhere.
    const auto rule = ruleFor(session(), base::OperatorId("N1"));
    const auto stretched = quick(secret(kNurses), *rule);
    EXPECT_TRUE(*matches(session(), base::OperatorId("N1"), *rule, *stretched));
    EXPECT_FALSE(seals.contains(sealOf(shownPart(*rule, *stretched))));
}

TEST_F(SignIn, WhoeverIsKeptOutHearsTheSameWordsAfterTheSameWork)
{
    setUp();
    giveN1();
    ASSERT_TRUE(recordAs(
        acts::OperatorChanged { now(), base::OperatorId("C1"), base::OperatorId("N2"), {}, {}, YesNo::Yes }, author("C1", kCoordinators)));
    for (int i = 0; i < 5; ++i)
        EXPECT_FALSE(in("N1", "000000"));
    std::set<std::string> answers;
    std::set<std::string> figures;
    for (const auto& [person, typed] : std::vector<std::pair<std::string, std::string>> { { "C1", "wrong wrong wrong" },
             { "nobody", "wrong wrong wrong" }, { "C2", "has none yet" }, { "N2", "account closed" }, { "N1", kNurses },
             { "", "no id at all" }, { "(recovery code)", "000000" } }) {
        m_rules.clear();
        const auto head = this->head();
        const auto answer = in(person, typed);
        ASSERT_FALSE(answer) << person;
        EXPECT_EQ(answer.error().kind, base::FaultKind::Denied);
        answers.insert(answer.error().text);
        ASSERT_EQ(m_rules.size(), 1u) << person << ": one stretching for everybody";
        figures.insert(m_rules[0].text().substr(0, m_rules[0].text().rfind(':')));
        EXPECT_EQ(this->head().value, head.value + 1) << person << ": one entry for everybody";
    }
    EXPECT_EQ(answers.size(), 1u);
    EXPECT_EQ(figures.size(), 1u);
    EXPECT_EQ(ruleFor(session(), base::OperatorId("nobody"))->salt, ruleFor(session(), base::OperatorId("nobody"))->salt);
}

TEST_F(SignIn, LocksAfterTriesInARowAndChecksNothingWhileLocked)
{
    setUp();
    giveN1();
    for (int i = 0; i < 4; ++i)
        EXPECT_FALSE(in("N1", "000000"));
    EXPECT_TRUE(in("N1", kNurses)) << "four are not five";
    for (int i = 0; i < 5; ++i)
        EXPECT_FALSE(in("N1", "000000"));
    later(14);
    EXPECT_FALSE(in("N1", kNurses)) << "not even the right one";
    EXPECT_TRUE(in("C1", kCoordinators)) << "nobody else is locked";
    later(1);
    const auto admitted = in("N1", kNurses);
    ASSERT_TRUE(admitted) << "the try in between did not make it longer";
    EXPECT_EQ(admitted->failedBefore, 5);
    EXPECT_EQ(in("N1", kNurses)->failedBefore, 0) << "coming in ended the row";

    const auto failures = entriesOf("sign_in.failed");
    ASSERT_EQ(failures.size(), 10u);
    EXPECT_EQ(failures[8].subject, "N1");
    EXPECT_EQ(failures[8].person, "registry") << "nobody had shown who they are";
    EXPECT_NE(failures[8].body.find("\"in_a_row\":5"), std::string::npos) << failures[8].body;
    EXPECT_NE(failures[8].body.find("\"locked_until\":\"2026-05-02T08:15"), std::string::npos) << failures[8].body;
    EXPECT_NE(failures[9].body.find("\"in_a_row\":5"), std::string::npos) << "not checked, not counted";
    EXPECT_EQ(entriesOf("session.begun").size(), 2u)
        << "what ended a row is on record; a clean sign-in at the command line shows in its entries";
}

TEST_F(SignIn, KeepsNothingOfAnUnknownId)
{
    setUp();
    EXPECT_FALSE(in("tulip-7788", "orchid-9911"));
    const auto failures = entriesOf("sign_in.failed");
    ASSERT_EQ(failures.size(), 1u);
    EXPECT_EQ(failures[0].subject, "unknown");
    for (const auto& entry : entries()) {
        const std::string whole = entry.body + entry.subject + entry.person;
        EXPECT_EQ(whole.find("tulip"), std::string::npos) << "it may have been a secret, typed into the wrong field";
        EXPECT_EQ(whole.find("orchid"), std::string::npos);
    }
    auto from = reader();
    EXPECT_EQ(*unknownTriesOfLastDay(from, now()), 1);
}

TEST_F(SignIn, UnlockIsACoordinatorsWithAReasonOnRecord)
{
    setUp();
    giveN1();
    const Author nurse = author("N1", kNurses);
    for (int i = 0; i < 5; ++i)
        EXPECT_FALSE(in("N1", "000000"));
    EXPECT_EQ(desk().unlock(nurse, base::OperatorId("N1"), "my own").error().kind, base::FaultKind::Denied);
    EXPECT_EQ(desk().unlock({ base::OperatorId("C1"), "desk", nullptr }, base::OperatorId("N1"), "nobody signed in").error().kind,
        base::FaultKind::Denied);
    const Author coordinator = author("C1", kCoordinators);
    EXPECT_FALSE(desk().unlock(coordinator, base::OperatorId("N1"), " "));
    EXPECT_FALSE(in("N1", kNurses));
    auto from = reader();
    const auto standings = signInStandings(from, now());
    ASSERT_TRUE(standings);
    bool listed = false;
    for (const auto& each : *standings)
        listed = listed || (each.person.value == "N1" && each.lockOut.locked(now()));
    EXPECT_TRUE(listed) << "the coordinator's list shows it";
    ASSERT_TRUE(desk().unlock(coordinator, base::OperatorId("N1"), "new keyboard"));
    EXPECT_TRUE(in("N1", kNurses));
    EXPECT_FALSE(desk().unlock(coordinator, base::OperatorId("N1"), "again")) << "nothing to unlock";
    ASSERT_EQ(entriesOf("sign_in.unlocked").size(), 1u);
    EXPECT_EQ(entriesOf("sign_in.unlocked")[0].person, "C1");
}

TEST_F(SignIn, AClosedAccountComesInNoMoreAndItsNameStaysOnTheRecord)
{
    setUp();
    giveN1();
    const Author before = author("N1", kNurses);
    const auto written = recordAs(note("N1"), before);
    ASSERT_TRUE(written);
    ASSERT_TRUE(recordAs(
        acts::OperatorChanged { now(), base::OperatorId("C1"), base::OperatorId("N1"), {}, {}, YesNo::Yes }, author("C1", kCoordinators)));
    EXPECT_FALSE(in("N1", kNurses));
    EXPECT_EQ(recordAs(note("N1"), before).error().kind, base::FaultKind::Denied) << "nor goes on with the session that was open";
    EXPECT_FALSE(desk().giveOut(author("C1", kCoordinators), base::OperatorId("N1"), secret("770519")));
    EXPECT_EQ(entriesOf("note.added").front().person, "N1");
}

TEST_F(SignIn, ASecretThatWasGivenOutIsReplacedBeforeAnythingElse)
{
    setUp();
    const Author coordinator = author("C1", kCoordinators);
    ASSERT_TRUE(desk().giveOut(coordinator, base::OperatorId("N1"), secret("905173")));
    const auto admitted = in("N1", "905173");
    ASSERT_TRUE(admitted);
    EXPECT_TRUE(admitted->signedIn->mustReplace());
    const auto tried = recordAs(note("N1"), { base::OperatorId("N1"), "desk", admitted->signedIn });
    ASSERT_FALSE(tried);
    EXPECT_NE(tried.error().text.find("replace"), std::string::npos) << tried.error().text;
    EXPECT_FALSE(desk().replace(base::OperatorId("N1"), secret("905173"), secret("905173"))) << "the same again";
    EXPECT_FALSE(desk().replace(base::OperatorId("N1"), secret("905173"), secret("111111")));
    EXPECT_FALSE(desk().replace(base::OperatorId("N1"), secret("000001"), secret(kNurses))) << "without knowing the present one";
    EXPECT_FALSE(in("N1", kNurses));
    ASSERT_TRUE(desk().replace(base::OperatorId("N1"), secret("905173"), secret(kNurses)));
    EXPECT_FALSE(in("N1", "905173"));
    EXPECT_TRUE(recordAs(note("N1"), author("N1", kNurses)));
    EXPECT_EQ(recordAs(note("N1"), { base::OperatorId("N1"), "desk", admitted->signedIn }).error().kind, base::FaultKind::Denied)
        << "a session of the old secret";

    EXPECT_FALSE(desk().giveOut(author("N1", kNurses), base::OperatorId("N2"), secret("770519"))) << "a nurse gives out none";
    EXPECT_FALSE(desk().giveOut(coordinator, base::OperatorId("C1"), secret("another long one"))) << "nor a coordinator their own";
    EXPECT_FALSE(desk().giveOut(coordinator, base::OperatorId("(recovery code)"), secret("another long one")));
}

TEST_F(SignIn, WhoRecordsIsWhoSignedIn)
{
    setUp();
    giveN1();
    const Author nurse = author("N1", kNurses);
    const Author coordinator = author("C1", kCoordinators);
    const auto head = this->head();
    EXPECT_FALSE(recordAs(note("N2"), nurse)) << "not for a colleague";
    EXPECT_FALSE(recordAs(note("N1"), { base::OperatorId("N2"), "desk", nurse.signedIn })) << "nor under their id";
    EXPECT_FALSE(recordAs(note("C1"), nurse));
    EXPECT_FALSE(recordAs(note("C2"), coordinator)) << "no coordinator for another";
    EXPECT_FALSE(recordAs(acts::ReturnStep { now(), base::MeterId("M1"), base::OperatorId("N1"), ReturnStepKind::Signed, {} }, coordinator))
        << "nobody signs for another";
    EXPECT_FALSE(recordAs(acts::WardAdded { base::WardId("W9"), {} }, nurse)) << "an act that names nobody asks the role too";
    acts::EntryCorrected twice { now(), base::OperatorId("N1"), base::SetId("s"), Level::Low, "result", "60", "61", "typing",
        base::OperatorId("C1") };
    EXPECT_EQ(recordAs(twice, nurse).error().kind, base::FaultKind::Denied) << "the second person has to show who they are";
    EXPECT_EQ(this->head(), head) << "nothing of it is on record";

    // A nurse's paper form, entered by the coordinator: both are named.
    const auto entered = recordAs(aRun("s1", "2026-05-02T08:00", Level::Low, "60"), coordinator);
    ASSERT_TRUE(entered) << entered.error().text;
    const auto entry = entriesOf("control.run").back();
    EXPECT_EQ(entry.person, "C1");
    EXPECT_NE(entry.body.find("\"operator\":\"N1\""), std::string::npos);
    // Without an author's id the signed-in person's is taken.
    ASSERT_TRUE(recordAs(acts::WardAdded { base::WardId("W9"), {} }, { {}, "desk", coordinator.signedIn }));
    EXPECT_EQ(entriesOf("ward.added").back().person, "C1");
}

TEST_F(SignIn, ASessionEndsWithTheDayTheSecretTheRoleAndTheRegistry)
{
    setUp();
    giveN1();
    const Author nurse = author("N1", kNurses);
    StoreDesk other;
    other.goTo("2026-05-02T08:00");
    {
        SignInDesk elsewhere(
            other.session(), other.registrar(), [&] { return other.now().utcMs; }, "desk", quick);
        ASSERT_TRUE(elsewhere.setUp(base::OperatorId("C1"), secret(kCoordinators)));
    }
    const NewAct one { Act(acts::NoteAdded { other.now(), base::OperatorId("N1"), base::MeterId("M1"), "elsewhere" }), {} };
    EXPECT_EQ(other.registrar().record({ &one, 1 }, nurse).error().kind, base::FaultKind::Denied) << "signed in to another registry";

    ASSERT_TRUE(recordAs(acts::OperatorChanged { now(), base::OperatorId("C1"), base::OperatorId("N1"), {}, Role::Inspector, {} },
        author("C1", kCoordinators)));
    EXPECT_FALSE(recordAs(note("N1"), nurse)) << "the role of now, not of the sign-in";
    ASSERT_TRUE(recordAs(
        acts::OperatorChanged { now(), base::OperatorId("C1"), base::OperatorId("N1"), {}, Role::Nurse, {} }, author("C1", kCoordinators)));
    EXPECT_TRUE(recordAs(note("N1"), nurse));
    later(12 * 60 + 1);
    EXPECT_EQ(recordAs(note("N1"), nurse).error().kind, base::FaultKind::Denied);
    EXPECT_TRUE(recordAs(note("N1"), author("N1", kNurses)));
}

TEST_F(SignIn, AnInspectorRecordsNothingButTheirOwnTrace)
{
    setUp();
    ASSERT_TRUE(desk().giveOut(author("C1", kCoordinators), base::OperatorId("I1"), secret("905173")));
    ASSERT_TRUE(desk().replace(base::OperatorId("I1"), secret("905173"), secret("330719")));
    const Author inspector = author("I1", "330719");
    auto from = reader();
    forEachPersonsAct([&]<typename A>() {
        A act {};
        if constexpr (requires { act.by = base::OperatorId("I1"); })
            act.by = base::OperatorId("I1");
        const NewAct one { Act(act), {} };
        const bool ownTrace = A::kind == "session.begun" || A::kind == "session.ended";
        EXPECT_EQ(static_cast<bool>(mayRecordAs(from, inspector, { &one, 1 }, now().utcMs)), ownTrace) << A::kind;
    });
    const auto head = this->head();
    EXPECT_EQ(recordAs(note("I1"), inspector).error().kind, base::FaultKind::Denied);
    EXPECT_EQ(registrar().importFiles({}, inspector).error().kind, base::FaultKind::Denied);
    EXPECT_FALSE(desk().giveOut(inspector, base::OperatorId("N1"), secret("770519")));
    EXPECT_EQ(this->head(), head);

    ASSERT_TRUE(noteShown(registrar(), inspector, "meter M1"));
    ASSERT_EQ(entriesOf("records.shown").size(), 1u);
    EXPECT_EQ(entriesOf("records.shown")[0].person, "registry") << "its own entry; the inspector records nothing";
    EXPECT_NE(entriesOf("records.shown")[0].body.find("I1"), std::string::npos);
    EXPECT_NE(entriesOf("records.shown")[0].body.find("meter M1"), std::string::npos);
    ASSERT_TRUE(noteShown(registrar(), author("C1", kCoordinators), "meter M1"));
    EXPECT_EQ(entriesOf("records.shown").size(), 1u) << "for others nothing is noted";
}

TEST_F(SignIn, ASignatureAsksForTheSecretAtItsMoment)
{
    setUp();
    acts::ReviewSigned review { now(), base::OperatorId("C1"), "2026-04" };
    review.meaning = "reviewed";
    const auto early = recordAs(review, author("C1", kCoordinators));
    ASSERT_FALSE(early) << "signed in a moment ago, and yet";
    EXPECT_EQ(early.error().kind, base::FaultKind::Denied);
    EXPECT_FALSE(desk().signInToSign(base::OperatorId("C1"), secret("kettle on the shelf")));
    const auto toSign = desk().signInToSign(base::OperatorId("C1"), secret(kCoordinators));
    ASSERT_TRUE(toSign);
    const Author signer { base::OperatorId("C1"), "desk", toSign->signedIn };
    later(3);
    review.at = now();
    EXPECT_EQ(recordAs(review, signer).error().kind, base::FaultKind::Denied) << "shown for a signature, and the desk was left";
    EXPECT_TRUE(entriesOf("review.signed").empty());
    const auto again = desk().signInToSign(base::OperatorId("C1"), secret(kCoordinators));
    ASSERT_TRUE(again);
    const auto done = recordAs(review, { base::OperatorId("C1"), "desk", again->signedIn });
    ASSERT_TRUE(done) << done.error().text;
    EXPECT_EQ(entriesOf("review.signed").size(), 1u);
}

TEST_F(SignIn, AForgottenCoordinatorsSecretIsRecoveredWithCodeWitnessAndReason)
{
    setUp();
    const auto recover = [&](const std::string& code, const char* witness, const char* reason, const char* next) {
        return desk().recover(base::OperatorId("C1"), secret(code), secret(next), witness, reason);
    };
    std::string upper = m_code;
    for (char& c : upper)
        c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
    EXPECT_EQ(recover("0000-0000-0000-0000-0000-0000-0000-0000", "M. Hale", "forgotten", "lamp by the window").error().kind,
        base::FaultKind::Denied);
    EXPECT_FALSE(recover(m_code, "", "forgotten", "lamp by the window"));
    EXPECT_FALSE(recover(m_code, "C1", "forgotten", "lamp by the window")) << "a witness is somebody else";
    EXPECT_FALSE(recover(m_code, "M. Hale", "", "lamp by the window"));
    EXPECT_FALSE(recover(m_code, "M. Hale", "forgotten", "123456"));
    EXPECT_FALSE(desk().recover(base::OperatorId("N1"), secret(m_code), secret("lamp by the window"), "M. Hale", "not a coordinator"));
    EXPECT_TRUE(entriesOf("secret.recovered").empty());
    EXPECT_TRUE(in("C1", kCoordinators)) << "nothing changed so far";

    const auto next = recover(upper, "M. Hale", "forgotten over leave", "lamp by the window");
    ASSERT_TRUE(next) << next.error().text;
    EXPECT_NE(next->text(), m_code);
    EXPECT_FALSE(in("C1", kCoordinators));
    EXPECT_TRUE(in("C1", "lamp by the window"));
    EXPECT_FALSE(recover(m_code, "M. Hale", "again", "chair in the hall")) << "the code is spent";
    EXPECT_TRUE(recover(std::string(next->text()), "M. Hale", "again", "chair in the hall"));
    const auto told = entriesOf("secret.recovered");
    ASSERT_EQ(told.size(), 2u);
    EXPECT_NE(told[0].body.find("M. Hale"), std::string::npos);
    EXPECT_NE(told[0].body.find("forgotten over leave"), std::string::npos);
    EXPECT_TRUE(differences().empty());
}

TEST_F(SignIn, ARowThatWasPutInItsPlaceLetsNobodyInAndVerifyNamesIt)
{
    setUp();
    giveN1();
    EXPECT_TRUE(differences().empty());
    const StretchRule rule = newRule();
    const Secret planted = checkText(rule, *quick(secret("my own choice"), rule));
    outside(("UPDATE credential SET check_text = '" + std::string(planted.text()) + "' WHERE operator = 'C1'").c_str());
    const auto tried = in("C1", "my own choice");
    ASSERT_FALSE(tried);
    EXPECT_NE(tried.error().text.find("put in its place"), std::string::npos) << tried.error().text;
    EXPECT_FALSE(in("C1", kCoordinators));
    EXPECT_TRUE(in("N1", kNurses)) << "nobody else is touched";
    EXPECT_EQ(differences(), std::vector<std::string> { "credential of C1" });

    outside("DELETE FROM credential WHERE operator = 'N1'");
    EXPECT_FALSE(in("N1", kNurses));
    outside(("INSERT INTO credential (operator, check_text) VALUES ('C2', '" + std::string(planted.text()) + "')").c_str());
    EXPECT_FALSE(in("C2", "my own choice")) << "a row that nobody put on record";
    EXPECT_EQ(differences(), (std::vector<std::string> { "credential of C1", "credential of C2", "credential of N1" }));
    // A row that asks for more than the machine has is not followed.
    outside(
        "UPDATE credential SET check_text = 'argon2id:19:4000000000:99999999999:00000000000000000000000000000000:00:00' WHERE operator = 'C1'");
    EXPECT_FALSE(in("C1", kCoordinators));
}

TEST_F(SignIn, TheRegistrysOwnWordTakesNothingThatPeopleRecord)
{
    setUp();
    const auto head = this->head();
    EXPECT_FALSE(registrar().recordOwn(note("N1"), { base::OperatorId("N1"), "desk" })) << "no way around the roles";
    EXPECT_FALSE(registrar().recordOwn(acts::PolicyChanged {}, { base::OperatorId("C1"), "desk" }));
    EXPECT_FALSE(registrar().recordOwn(acts::MeterReturned {}, { base::OperatorId("C1"), "desk" }));
    EXPECT_EQ(this->head(), head);
    EXPECT_TRUE(differences().empty());
}

TEST_F(SignIn, BeginsASessionOnTheWardWhereOneIsNamed)
{
    setUp();
    const auto admitted = desk().signIn(base::OperatorId("C1"), secret(kCoordinators), base::WardId("W1"));
    ASSERT_TRUE(admitted);
    ASSERT_EQ(entriesOf("session.begun").size(), 1u);
    EXPECT_EQ(entriesOf("session.begun")[0].person, "C1");
    EXPECT_TRUE(in("C1", kCoordinators));
    EXPECT_EQ(entriesOf("session.begun").size(), 1u) << "the command line begins no session on a ward";
}

} // namespace mk::store
