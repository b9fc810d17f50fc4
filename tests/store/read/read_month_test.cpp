// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_month.h"

#include <QProcess>
#include <QTemporaryDir>

#include <gtest/gtest.h>

#include <algorithm>
#include <memory>

namespace mk::store {
namespace {

using namespace registry;

/// The demo hospital as a registry file, imported by the program itself; made once, opened for reading.
class DemoMonth : public testing::Test {
protected:
    static void SetUpTestSuite()
    {
        s_folder = std::make_unique<QTemporaryDir>();
        run({ QStringLiteral("init"), QStringLiteral("--zone"), QStringLiteral("Europe/Berlin") });
        run({ QStringLiteral("import"), QStringLiteral(MK_SOURCE_DIR "/demo-data") });
    }
    static void TearDownTestSuite() { s_folder.reset(); }

    void SetUp() override
    {
        auto session = Session::open(path().toStdString(), Session::Access::ReadOnly);
        ASSERT_TRUE(session) << session.error().text;
        m_session = std::move(session).value();
    }

    base::Result<MonthReading> read(
        const char* ward, Month month = { 2026, 10 }, base::Seq asOf = Reader::kNewest, const char* cutOff = "2026-11-12T12:00")
    {
        auto reader = Reader::open(*m_session, asOf);
        if (!reader)
            return reader.error();
        const ReadContext context { &reader->zone(), nullptr };
        return readMonth(*reader, ward == nullptr ? std::nullopt : std::optional(base::WardId(ward)), month,
            TextForm<base::Moment>::read(cutOff, context).value());
    }

    Session& session() { return *m_session; }

    static const MeterMonth* meterIn(const MonthReading& reading, const char* meter)
    {
        const auto found = std::ranges::find(reading.figures.meters, base::MeterId(meter), &MeterMonth::meter);
        return found == reading.figures.meters.end() ? nullptr : &*found;
    }

private:
    static QString path() { return s_folder->filePath(QStringLiteral("demo.mkr")); }
    static void run(QStringList arguments)
    {
        arguments.prepend(path());
        arguments.prepend(QStringLiteral("--registry"));
        QProcess program;
        program.start(QStringLiteral(MK_CLI), arguments);
        ASSERT_TRUE(program.waitForFinished(60'000));
        ASSERT_EQ(program.exitCode(), 0) << program.readAllStandardError().toStdString();
    }

    inline static std::unique_ptr<QTemporaryDir> s_folder;
    std::unique_ptr<Session> m_session;
};

// The story of the demo hospital: demo-data/README.md.
TEST_F(DemoMonth, OctoberOfSurgeryIsAsTold)
{
    const auto reading = read("W5");
    ASSERT_TRUE(reading) << reading.error().text;
    EXPECT_EQ(reading->figures.meters.size(), 5u);
    const auto* m07 = meterIn(*reading, "M-07");
    ASSERT_NE(m07, nullptr);
    EXPECT_EQ(m07->required(), 31u);
    EXPECT_EQ(m07->missed, 0u);
    EXPECT_EQ(m07->high, 1u) << "HI on 7 October";
    EXPECT_EQ(m07->rejectedSets.size(), 2u) << "7 and 29 October";
    EXPECT_TRUE(m07->rejectedSets.front().bySameSet);
    EXPECT_EQ(m07->levels.size(), 4u) << "two levels on S2609 and on S2611";
    const auto* spare = meterIn(*reading, "M-10");
    ASSERT_NE(spare, nullptr);
    EXPECT_EQ(spare->required(), 0u) << "in reserve";
    EXPECT_EQ(spare->levels.size(), 2u) << "one control, on the 15th";
}

TEST_F(DemoMonth, DaysNotInUseAreExcused)
{
    const auto reading = read("W7");
    ASSERT_TRUE(reading) << reading.error().text;
    EXPECT_EQ(meterIn(*reading, "M-11")->excused, 1u);
    EXPECT_EQ(meterIn(*reading, "M-11")->required(), 30u);
    EXPECT_EQ(reading->figures.totals.excused, 2u);
    EXPECT_FALSE(meterIn(*reading, "M-11")->levels.front().sdi) << "four meters are no group";
}

TEST_F(DemoMonth, AMissedDayIsMissedOnEveryMeterInService)
{
    const auto reading = read("W5", { 2026, 6 });
    ASSERT_TRUE(reading) << reading.error().text;
    EXPECT_EQ(reading->figures.totals.missed, 4u) << "21 June, M-06 to M-09";
}

TEST_F(DemoMonth, NothingLaterThanTheCutOffIsRead)
{
    const auto early = read("W5", { 2026, 10 }, Reader::kNewest, "2026-10-20T12:00");
    ASSERT_TRUE(early) << early.error().text;
    EXPECT_FALSE(early->figures.complete);
    EXPECT_EQ(meterIn(*early, "M-07")->required(), 20u) << "the 20th is met already";
    EXPECT_EQ(meterIn(*early, "M-07")->rejectedSets.size(), 1u);
    EXPECT_FALSE(read("W5", { 2026, 10 }, Reader::kNewest, "2026-09-30T12:00"));
}

TEST_F(DemoMonth, AnUnknownWardIsRefusedAndAnEarlyPositionKnowsNothing)
{
    const auto unknown = read("W9");
    ASSERT_FALSE(unknown);
    EXPECT_EQ(unknown.error().kind, base::FaultKind::NotFound);
    const auto before = read(nullptr, { 2026, 10 }, { 2 });
    ASSERT_TRUE(before) << before.error().text;
    EXPECT_TRUE(before->figures.meters.empty());
}

TEST_F(DemoMonth, TheChainPlaceIsTheReadersOwn)
{
    auto newest = Reader::open(session());
    auto third = Reader::open(session(), { 3 });
    ASSERT_TRUE(newest && third);
    const auto head = chainPlaceOf(*newest);
    const auto early = chainPlaceOf(*third);
    ASSERT_TRUE(head && early);
    EXPECT_EQ(early->seq, base::Seq { 3 });
    EXPECT_GT(head->seq, base::Seq { 3 });
    EXPECT_EQ(early->digest.size(), 64u);
    EXPECT_NE(early->digest, head->digest);
}

} // namespace
} // namespace mk::store
