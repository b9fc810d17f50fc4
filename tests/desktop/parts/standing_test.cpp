// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/desk_fixture.h"

#include "desktop/desk/desk_worker.h"
#include "desktop/parts/standing.h"
#include "words/numbers.h"

namespace mk::desktop {
namespace {

class StandingOnTheBoard : public DeskFixture {
protected:
    Standing standingAt(const char* moment)
    {
        DeskOptions options = this->options().desk;
        options.past = wall(moment);
        DeskWorker worker(options);
        const auto board = worker.board(base::WardId("W5"));
        EXPECT_TRUE(board);
        return standingOf(board->lines.front(), board->at, board->zone);
    }
};

TEST_F(StandingOnTheBoard, SaysUntilWhenAMeterMayBeUsed)
{
    const Standing standing = standingAt("2026-11-17T12:00");
    EXPECT_EQ(standing.sentence, QStringLiteral("M-11 may be used until Wed 06:31"));
    EXPECT_EQ(standing.shape, StateShape::Circle);
    EXPECT_EQ(standing.why, QStringLiteral("Low 47, high 296, accepted 06:31 today"));
}

TEST_F(StandingOnTheBoard, TurnsToSoonInTheLastShift)
{
    const Standing standing = standingAt("2026-11-18T00:00");
    EXPECT_TRUE(standing.usable);
    EXPECT_EQ(standing.shape, StateShape::HalfCircle);
    EXPECT_EQ(standing.why, QStringLiteral("The next control is due at 06:31."));
}

TEST_F(StandingOnTheBoard, SaysSinceWhenItMayNot)
{
    const Standing standing = standingAt("2026-11-18T06:31"); // the instant itself is no longer covered
    EXPECT_FALSE(standing.usable);
    EXPECT_EQ(standing.sentence, QStringLiteral("Do not use M-11"));
    EXPECT_EQ(standing.when, QStringLiteral("since 06:31"));
    EXPECT_EQ(standing.shape, StateShape::BarSquare);
}

TEST_F(StandingOnTheBoard, NoticesWhatAnotherProgramWrote)
{
    DeskWorker worker(options().desk);
    ASSERT_TRUE(worker.board(base::WardId("W5")));
    EXPECT_FALSE(worker.newHead());
    runSet("M-12", "M-12/b", "49", "300");
    EXPECT_TRUE(worker.newHead());
}

TEST_F(StandingOnTheBoard, OffersTheOpenVialInsteadOfOneThatEnded)
{
    record({ { registry::acts::ControlVialOpened {
                   base::ControlVialId("CH-2"), base::ControlLotId("CH"), wall("2026-11-17T20:00"), base::WardId("W5") },
                 {} },
               { registry::acts::VialEnded { wall("2026-11-17T20:01"), "CH-1", base::OperatorId("arlen"), registry::VialEndKind::Empty },
                   {} } },
        base::OperatorId());
    DeskWorker worker(options().desk);
    const auto sheet = worker.sheet({ base::MeterId("M-11"), base::OperatorId("arlen"), std::nullopt, {} });
    ASSERT_TRUE(sheet) << sheet.error().text;
    ASSERT_EQ(sheet->levels.size(), 2u);
    EXPECT_EQ(sheet->levels[0].vialId, "CL-1"); // still open: remembered
    EXPECT_EQ(sheet->levels[1].vialId, "CH-2");
    EXPECT_EQ(sheet->stripVialId, "S1-01");
}

TEST_F(StandingOnTheBoard, WritesNothingFromThePast)
{
    DeskOptions past = options().desk;
    past.past = wall("2026-11-17T12:00");
    DeskWorker worker(past);
    registry::acts::NoteAdded note { wall("2026-11-17T11:00"), base::OperatorId("arlen"), base::MeterId("M-11"), "a note" };
    const RecordAnswer answer = worker.record(base::MeterId("M-11"), { { note, {} } }, base::OperatorId("arlen"));
    ASSERT_FALSE(answer.outcome);
    EXPECT_EQ(answer.outcome.error().kind, base::FaultKind::Refused);
}

TEST(Words, WriteAScoreWithATrueMinus)
{
    EXPECT_EQ(words::score(-0.28, 1), QStringLiteral("\u22120.3"));
    EXPECT_EQ(words::score(1.619, 2), QStringLiteral("+1.62"));
    EXPECT_EQ(words::score(-0.04, 1), QStringLiteral("0.0"));
}

TEST(Words, GroupTheDigitsOfAnEntryNumber)
{
    EXPECT_EQ(words::entryNumber({ 18408 }), QStringLiteral("18\u202F408"));
    EXPECT_EQ(words::entryNumber({ 408 }), QStringLiteral("408"));
}

} // namespace
} // namespace mk::desktop
