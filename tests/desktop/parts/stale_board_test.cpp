// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/stale_board.h"
#include "desktop/parts/standing.h"

#include "keys/queue_key.h"
#include "keys/secret_service.h"

#include <QFile>
#include <QTemporaryDir>

#include <gtest/gtest.h>

namespace mk::desktop {
namespace {

base::Moment at(const char* text)
{
    return base::momentOf(base::parseTimeText(text)->wall, 0);
}

BoardAnswer aBoard()
{
    BoardAnswer board;
    board.at = at("2026-11-18T14:05");
    BoardLine line;
    line.row.history.meter.act.meter = base::MeterId("M-07");
    line.row.fitness.state = registry::MeterState::InService;
    line.row.fitness.usable = true;
    line.row.fitness.at = board.at;
    line.row.fitness.until = at("2026-11-18T18:00");
    board.lines.push_back(line);
    line.row.history.meter.act.meter = base::MeterId("M-08");
    line.row.fitness.usable = false;
    line.row.fitness.until.reset();
    board.lines.push_back(line);
    return board;
}

Standing standing(const BoardAnswer& board, std::size_t line)
{
    return standingOf(board.lines[line], board.at, board.zone);
}

TEST(StaleBoard, SaysOfWhenItIs)
{
    const BoardAnswer stale = staleBoard(aBoard(), at("2026-11-18T14:17"));
    EXPECT_EQ(stale.asOf, at("2026-11-18T14:05"));
    EXPECT_TRUE(standing(stale, 0).usable);
    EXPECT_EQ(standing(stale, 0).sentence.toStdString(), "As of 14:05, M-07 may be used until 18:00");
    EXPECT_EQ(standing(aBoard(), 0).sentence.toStdString(), "M-07 may be used until 18:00");
}

TEST(StaleBoard, PromisesNothingFromTheMomentOnThatWasKnownThen)
{
    for (const char* now : { "2026-11-18T18:00", "2026-11-19T09:00" }) {
        const Standing one = standing(staleBoard(aBoard(), at(now)), 0);
        EXPECT_FALSE(one.usable) << now;
        EXPECT_EQ(one.state.toStdString(), "Not known");
        EXPECT_EQ(one.shape, StateShape::EmptySquare) << "a shape, not the colour alone";
        EXPECT_FALSE(one.sentence.contains(QStringLiteral("may be used")));
    }
    EXPECT_TRUE(standing(staleBoard(aBoard(), at("2026-11-18T17:59")), 0).usable);
}

TEST(StaleBoard, AStopStaysAStop)
{
    const Standing two = standing(staleBoard(aBoard(), at("2026-11-20T09:00")), 1);
    EXPECT_FALSE(two.usable);
    EXPECT_EQ(two.state.toStdString(), "Do not use");
}

TEST(StaleBoard, AMeterOfWhichSomethingIsKeptHereMayNotBeUsed)
{
    const Standing one = standing(staleBoard(aBoard(), at("2026-11-18T14:17"), { base::MeterId("M-07") }), 0);
    EXPECT_FALSE(one.usable) << "it may be a failed control, or a fall";
    EXPECT_EQ(one.sentence.toStdString(), "Do not use M-07");
    EXPECT_EQ(one.shape, StateShape::BarSquare);
}

TEST(StaleBoard, TellsItsAgeInWords)
{
    const auto age = [](const char* now) { return ageInWords(at("2026-11-18T14:05"), at(now), registry::Zone::utc()).toStdString(); };
    EXPECT_EQ(age("2026-11-18T14:05:30"), "as of 14:05, less than a minute ago");
    EXPECT_EQ(age("2026-11-18T14:06"), "as of 14:05, a minute ago");
    EXPECT_EQ(age("2026-11-18T14:17"), "as of 14:05, 12 minutes ago");
    EXPECT_EQ(age("2026-11-18T15:10"), "as of 14:05, an hour ago");
    EXPECT_EQ(age("2026-11-18T17:10"), "as of 14:05, 3 hours ago");
}

TEST(QueueKey, LiesInAFileOfItsOwnWhereThereIsNoKeyStore)
{
    QTemporaryDir folder;
    const QString config = folder.filePath(QStringLiteral("config"));
    const auto first = keys::queueKeys(config, false);
    ASSERT_TRUE(first) << first.error().text;
    ASSERT_EQ(first->size(), 1u);
    const auto again = keys::queueKeys(config, false);
    ASSERT_TRUE(again);
    EXPECT_EQ(again->front().bytes, first->front().bytes);
    const QString file = config + QStringLiteral("/queue.key");
    EXPECT_EQ(QFile::permissions(file)
            & (QFileDevice::ReadGroup | QFileDevice::WriteGroup | QFileDevice::ReadOther | QFileDevice::WriteOther | QFileDevice::ExeOwner),
        QFileDevice::Permissions());
    EXPECT_EQ(QFile(file).size(), 32);
    QTemporaryDir other;
    EXPECT_NE(keys::queueKeys(other.path(), false)->front().bytes, first->front().bytes);
}

TEST(QueueKey, SaysSoWhereNothingCanHoldIt)
{
    const auto none = keys::queueKeys(QStringLiteral("/proc/no/such/place"), false);
    ASSERT_FALSE(none);
    EXPECT_EQ(none.error().kind, base::FaultKind::Io);
}

TEST(SecretService, IsSimplyAbsentWithoutASession)
{
    qputenv("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nonexistent/bus");
    EXPECT_FALSE(keys::secretNow(QStringLiteral("nothing of that name")));
    EXPECT_FALSE(keys::keepSecretNow(QStringLiteral("nothing of that name"), "x"));
}

} // namespace
} // namespace mk::desktop
