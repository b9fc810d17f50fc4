// SPDX-License-Identifier: GPL-3.0-or-later
// The queue of a workstation that cannot reach the server, and what becomes of its acts when they are delivered.
#include "store/store_desk.h"

#include "registry/control/late_entry.h"
#include "store/journal/act_codec.h"
#include "store/queue/outbox.h"

#include <gtest/gtest.h>

#include <QDir>
#include <QFile>

#include <set>

namespace mk::store {
namespace {

using namespace registry;
using sample::StoreDesk;

constexpr const char* kPlace = "postgresql://nurse@server/ward?sslmode=verify-full";

NewAct noteAct(const std::string& id, const std::string& text)
{
    return { acts::NoteAdded {
                 base::momentOf(base::parseTimeText("2026-05-04T07:00:00")->wall, 120), base::OperatorId("N1"), base::MeterId("M1"), text },
        id };
}

std::string noteOf(const KeptActs& kept)
{
    return std::get<acts::NoteAdded>(kept.acts.front().act).text;
}

class OutboxTest : public ::testing::Test {
protected:
    std::unique_ptr<Outbox> open(const char* place = kPlace)
    {
        auto outbox = Outbox::open(folder(), place, m_key);
        EXPECT_TRUE(outbox) << outbox.error().text;
        return outbox ? std::move(outbox).value() : nullptr;
    }
    void keep(Outbox& outbox, const std::string& text)
    {
        const NewAct act = noteAct("id-" + text, text);
        const auto done = outbox.keep({ &act, 1 }, base::MeterId("M1"), { base::OperatorId("N1"), "W5-A" }, m_since);
        ASSERT_TRUE(done) << done.error().text;
    }
    std::string folder() const { return m_folder.filePath(QStringLiteral("queues")).toStdString(); }
    QByteArray bytesOf(const std::string& path) const
    {
        QFile file(QString::fromStdString(path));
        return file.open(QIODevice::ReadOnly) ? file.readAll() : QByteArray();
    }
    void write(const std::string& path, const QByteArray& bytes) const
    {
        QFile file(QString::fromStdString(path));
        ASSERT_TRUE(file.open(QIODevice::WriteOnly | QIODevice::Truncate));
        ASSERT_EQ(file.write(bytes), bytes.size());
    }
    /// Where each record begins, and the end.
    static std::vector<qsizetype> recordsOf(const QByteArray& bytes)
    {
        std::vector<qsizetype> starts;
        qsizetype at = 8 + 32;
        while (at < bytes.size()) {
            starts.push_back(at);
            quint32 length = 0;
            for (int i = 0; i < 4; ++i)
                length |= static_cast<quint32>(static_cast<unsigned char>(bytes[at + i])) << (8 * i);
            at += 4 + 24 + static_cast<qsizetype>(length);
        }
        starts.push_back(at);
        return starts;
    }
    /// Keeps three, spoils the closed file, opens it again, and says what is left.
    std::vector<std::string> leftAfter(const std::function<QByteArray(const QByteArray&)>& spoil)
    {
        std::string path;
        {
            auto outbox = open();
            for (const char* text : { "one", "two", "three" })
                keep(*outbox, text);
            path = outbox->path();
        }
        m_before = bytesOf(path);
        write(path, spoil(m_before));
        auto again = open();
        if (again == nullptr)
            return {};
        m_trouble = again->trouble();
        std::vector<std::string> left;
        for (const auto& kept : again->waiting())
            left.push_back(noteOf(kept));
        return left;
    }

    QTemporaryDir m_folder;
    OutboxKey m_key = OutboxKey::fresh();
    base::Moment m_since = base::momentOf(base::parseTimeText("2026-05-04T07:01:00")->wall, 120);
    QByteArray m_before;
    std::string m_trouble;
};

using Left = std::vector<std::string>;

TEST_F(OutboxTest, KeepsWhatIsGivenInOrderWithIdPersonStationAndMoment)
{
    std::string path;
    {
        auto outbox = open();
        keep(*outbox, "one");
        keep(*outbox, "two");
        path = outbox->path();
    }
    auto outbox = open();
    EXPECT_EQ(outbox->trouble(), "");
    ASSERT_EQ(outbox->waiting().size(), 2u);
    const KeptActs& first = outbox->waiting().front();
    EXPECT_EQ(noteOf(first), "one");
    EXPECT_EQ(first.acts.front().id, "id-one");
    EXPECT_EQ(first.acts.front().keptSince, m_since);
    EXPECT_EQ(first.author.person, base::OperatorId("N1"));
    EXPECT_EQ(first.author.station, "W5-A");
    EXPECT_EQ(first.meter, base::MeterId("M1"));
    EXPECT_EQ(noteOf(outbox->waiting().back()), "two");
    EXPECT_EQ(
        QFile::permissions(QString::fromStdString(path)) & (QFileDevice::ReadGroup | QFileDevice::ReadOther), QFileDevice::Permissions());
}

TEST_F(OutboxTest, ShowsNothingOfWhatItKeepsToWhoReadsTheFile)
{
    auto outbox = open();
    keep(*outbox, "a very plain note"); // words of two letters stand in random bytes now and then
    const QByteArray bytes = bytesOf(outbox->path());
    EXPECT_GT(bytes.size(), 100);
    for (const char* word : { "plain", "note", "meter", "W5-A", "id-a", "kept" })
        EXPECT_FALSE(bytes.contains(word)) << word;
}

TEST_F(OutboxTest, ForgetsWhatWasDeliveredAndKeepsTheOrderOfTheRest)
{
    {
        auto outbox = open();
        for (const char* text : { "one", "two", "three" })
            keep(*outbox, text);
        ASSERT_TRUE(outbox->delivered(outbox->waiting()[0].number));
    }
    auto outbox = open();
    ASSERT_EQ(outbox->waiting().size(), 2u);
    EXPECT_EQ(noteOf(outbox->waiting()[0]), "two");
    ASSERT_TRUE(outbox->delivered(outbox->waiting()[0].number));
    ASSERT_TRUE(outbox->delivered(outbox->waiting()[0].number));
    EXPECT_EQ(bytesOf(outbox->path()).size(), 0) << "nothing waits, nothing stays";
    keep(*outbox, "four");
    outbox.reset();
    auto again = open();
    EXPECT_EQ(again->trouble(), "");
    ASSERT_EQ(again->waiting().size(), 1u);
    EXPECT_EQ(noteOf(again->waiting().front()), "four");
}

TEST_F(OutboxTest, KeepsARefusedOneWithItsReasonUntilItWasRead)
{
    {
        auto outbox = open();
        keep(*outbox, "one");
        keep(*outbox, "two");
        ASSERT_TRUE(outbox->setAside(outbox->waiting().front().number, "no vial is called 'V9'"));
        ASSERT_TRUE(outbox->delivered(outbox->waiting().front().number)) << "what lies behind it goes on";
    }
    auto outbox = open();
    EXPECT_TRUE(outbox->waiting().empty());
    ASSERT_EQ(outbox->aside().size(), 1u);
    EXPECT_EQ(noteOf(outbox->aside().front().kept), "one");
    EXPECT_EQ(outbox->aside().front().reason, "no vial is called 'V9'");
    ASSERT_TRUE(outbox->readAll());
    EXPECT_TRUE(outbox->aside().empty());
    outbox.reset();
    EXPECT_TRUE(open()->aside().empty());
}

TEST_F(OutboxTest, FindsARecordThatWasChangedAndKeepsTheSpoiltFile)
{
    EXPECT_EQ(leftAfter([](QByteArray bytes) {
        const auto records = recordsOf(bytes);
        bytes[records[1] + 60] = static_cast<char>(bytes[records[1] + 60] ^ 1);
        return bytes;
    }),
        Left({ "one" }));
    EXPECT_NE(m_trouble.find("changed from outside at record 2"), std::string::npos) << m_trouble;
    const QStringList aside = QDir(QString::fromStdString(folder())).entryList({ QStringLiteral("*.damaged-*") });
    ASSERT_EQ(aside.size(), 1);
    EXPECT_EQ(bytesOf(folder() + "/" + aside.front().toStdString()).size(), m_before.size());
    auto again = open();
    EXPECT_EQ(again->trouble(), "") << "told once; the queue goes on";
    EXPECT_EQ(again->waiting().size(), 1u);
}

TEST_F(OutboxTest, FindsRecordsThatChangedPlaces)
{
    EXPECT_EQ(leftAfter([](const QByteArray& bytes) {
        const auto at = recordsOf(bytes);
        return bytes.left(at[0]) + bytes.mid(at[1], at[2] - at[1]) + bytes.mid(at[0], at[1] - at[0]) + bytes.mid(at[2]);
    }),
        Left {});
    EXPECT_NE(m_trouble.find("changed from outside at record 1"), std::string::npos) << m_trouble;
}

TEST_F(OutboxTest, FindsARecordTakenOutOfTheMiddle)
{
    EXPECT_EQ(leftAfter([](const QByteArray& bytes) {
        const auto at = recordsOf(bytes);
        return bytes.left(at[1]) + bytes.mid(at[2]);
    }),
        Left({ "one" }));
    EXPECT_NE(m_trouble.find("changed from outside at record 2"), std::string::npos) << m_trouble;
}

TEST_F(OutboxTest, FindsARecordOfAnotherQueueOfTheSameKey)
{
    QByteArray other;
    {
        auto outbox = open("postgresql://nurse@server/another");
        for (const char* text : { "1", "2", "3" })
            keep(*outbox, text);
        other = bytesOf(outbox->path());
    }
    EXPECT_EQ(leftAfter([&](const QByteArray& bytes) {
        const auto mine = recordsOf(bytes), theirs = recordsOf(other);
        return bytes.left(mine[1]) + other.mid(theirs[1]);
    }),
        Left({ "one" }));
}

TEST_F(OutboxTest, SaysThatItsEndIsCutOffAndLosesNothingBeforeIt)
{
    for (const int cut : { 1, 17, 40 }) {
        QFile::remove(QString::fromStdString(open()->path()));
        EXPECT_EQ(leftAfter([cut](const QByteArray& bytes) { return bytes.left(bytes.size() - cut); }), Left({ "one", "two" })) << cut;
        EXPECT_NE(m_trouble.find("cut off"), std::string::npos) << m_trouble;
    }
    auto outbox = open();
    keep(*outbox, "four");
    outbox.reset();
    auto again = open();
    EXPECT_EQ(again->trouble(), "");
    ASSERT_EQ(again->waiting().size(), 3u);
    EXPECT_EQ(noteOf(again->waiting().back()), "four");
}

TEST_F(OutboxTest, IsLeftAloneUnderAnotherKey)
{
    std::string path;
    {
        auto outbox = open();
        keep(*outbox, "one");
        path = outbox->path();
    }
    const QByteArray before = bytesOf(path);
    const auto refused = Outbox::open(folder(), kPlace, OutboxKey::fresh());
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().kind, base::FaultKind::Denied);
    EXPECT_EQ(bytesOf(path), before) << "the right key may come back";
    EXPECT_EQ(open()->waiting().size(), 1u);
}

TEST_F(OutboxTest, BelongsToOneWindowAtATime)
{
    auto outbox = open();
    const auto second = Outbox::open(folder(), kPlace, m_key);
    ASSERT_FALSE(second);
    EXPECT_EQ(second.error().kind, base::FaultKind::Busy);
    outbox.reset();
    EXPECT_TRUE(Outbox::open(folder(), kPlace, m_key));
}

TEST_F(OutboxTest, SurvivesAnySpoiltByteWithoutInventingAnything)
{
    QByteArray whole;
    std::string path;
    {
        auto outbox = open();
        keep(*outbox, "one");
        keep(*outbox, "two");
        path = outbox->path();
        whole = bytesOf(path);
    }
    for (qsizetype i = 0; i < whole.size(); i += 7) {
        QByteArray spoilt = whole;
        spoilt[i] = static_cast<char>(~spoilt[i]);
        write(path, spoilt);
        const auto outbox = Outbox::open(folder(), kPlace, m_key);
        if (!outbox) {
            EXPECT_EQ(outbox.error().kind, base::FaultKind::Denied) << i; // the fingerprint of the key
            continue;
        }
        EXPECT_NE((*outbox)->trouble(), "") << i;
        EXPECT_LT((*outbox)->waiting().size(), 2u) << i;
        for (const auto& kept : (*outbox)->waiting())
            EXPECT_EQ(noteOf(kept), "one") << i;
    }
}

// What the journal makes of acts that were kept.

NewAct keptRun(
    StoreDesk& desk, const std::string& set, std::string_view time, Level level, const std::string& result, std::string_view kept)
{
    return { desk.aRun(set, time, level, result), "id-" + set + std::string(word(level)), desk.at(kept) };
}

TEST(KeptActs, AreMarkedInTheirOwnBodyAndInNothingThatFollows)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T21:00"); // fourteen hours later: more than past_entry_hours
    const std::vector<NewAct> acts { keptRun(desk, "s1", "2026-05-04T07:00", Level::Low, "60", "2026-05-04T07:05"),
        keptRun(desk, "s1", "2026-05-04T07:01", Level::High, "300", "2026-05-04T07:05") };
    const auto outcome = desk.registrar().record(acts, { base::OperatorId("N1"), "W5-A" });
    ASSERT_TRUE(outcome) << outcome.error().text << ": no late reason is asked for what was typed in time";
    for (const auto& entry : desk.entries()) {
        const bool run = entry.act == "control.run";
        EXPECT_EQ(keptSince(entry.body).has_value(), run) << entry.body;
        if (run) {
            EXPECT_EQ(keptSince(entry.body), desk.at("2026-05-04T07:05"));
            EXPECT_EQ(entry.at, desk.at("2026-05-04T21:00").utcMs) << "the journal says when it came to know";
        }
    }
    const auto set = desk.set("s1");
    ASSERT_EQ(set.runs.size(), 2u);
    for (const auto& run : set.runs) {
        ASSERT_TRUE(run.mark);
        EXPECT_EQ(run.mark->keptSince, desk.at("2026-05-04T07:05"));
        EXPECT_FALSE(run.mark->late);
        EXPECT_FALSE(run.mark->old);
        EXPECT_EQ(run.mark->recordedAt, desk.at("2026-05-04T21:00"));
    }
    EXPECT_FALSE(needsAcceptance(set));
    ASSERT_TRUE(outcome->back().set);
    EXPECT_EQ(outcome->back().set->runs.front().mark->keptSince, desk.at("2026-05-04T07:05")) << "as it is read back";
}

TEST(KeptActs, ARunThatWasOldWhenItWasKeptStillNeedsItsReason)
{
    StoreDesk desk;
    desk.goTo("2026-05-05T09:00");
    const NewAct act = keptRun(desk, "s1", "2026-05-04T07:00", Level::Low, "60", "2026-05-05T08:00");
    const auto refused = desk.registrar().record({ &act, 1 }, { base::OperatorId("N1"), "W5-A" });
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().kind, base::FaultKind::Refused);
}

TEST(KeptActs, AreNeitherRunNorKeptInTheFuture)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T09:00");
    NewAct act = keptRun(desk, "s1", "2026-05-04T08:00", Level::Low, "60", "2026-05-04T09:30");
    EXPECT_FALSE(desk.registrar().record({ &act, 1 }, { base::OperatorId("N1"), "W5-A" })) << "kept in the future";
    act = keptRun(desk, "s1", "2026-05-04T08:00", Level::Low, "60", "2026-05-04T07:00");
    EXPECT_FALSE(desk.registrar().record({ &act, 1 }, { base::OperatorId("N1"), "W5-A" })) << "kept before it was run";
}

TEST(KeptActs, DeliveredTwiceStandOnce)
{
    StoreDesk desk;
    desk.goTo("2026-05-04T08:00");
    NewAct act = keptRun(desk, "s1", "2026-05-04T07:00", Level::Low, "60", "2026-05-04T07:05");
    const NewAct first { act.act, act.id }; // arrived at once, though its answer was lost
    ASSERT_TRUE(desk.registrar().record({ &first, 1 }, { base::OperatorId("N1"), "W5-A" }));
    const auto head = desk.head();
    const auto again = desk.registrar().record({ &act, 1 }, { base::OperatorId("N1"), "W5-A" });
    ASSERT_TRUE(again) << again.error().text;
    EXPECT_TRUE(again->front().repeated);
    EXPECT_EQ(desk.head(), head);
}

TEST(KeptActs, TheMarkGoesInAndOutOfABodyWithoutATrace)
{
    const base::Moment since = base::momentOf(base::parseTimeText("2026-05-04T07:05:00")->wall, 120);
    for (const std::vector<std::string>& keys : { Left { "at", "zone" }, Left { "zone" }, Left { "at" }, Left {} }) {
        Json plain = Json::object();
        for (const auto& key : keys)
            plain.set(key, Json(std::string("\"kept_since\":\"2020\"")));
        const std::string before = plain.canonical();
        EXPECT_FALSE(keptSince(before)) << before;
        EXPECT_EQ(withoutKept(before), before);
        markKept(plain, since);
        EXPECT_EQ(keptSince(plain.canonical()), since);
        EXPECT_EQ(withoutKept(plain.canonical()), before);
    }
}

} // namespace
} // namespace mk::store
