// SPDX-License-Identifier: GPL-3.0-or-later
// Registries of earlier versions open in this one, and show what they showed.
#include "ward_world.h"

#include <QDir>
#include <QFile>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::journeys {

using namespace registry;

/// What a sample's records say by hand at a moment.
struct SampleSays {
    const char* file;
    const char* at;
    int offsetMinutes;
    const char* m1; ///< the codes of what stands against M1, which may be used
    const char* m2; ///< of M2, which may not
};
constexpr SampleSays kSamples[] = {
    // M1 fell, was looked over and signed back; M2 was never controlled.
    { "registry-0.1.0.mkr", "2026-10-05T15:00", 120, "look-back-open", "no-control-yet not-in-service" },
    // The high control of M2 read 390 at 06:12 (the set of the day before was good until then) and was repeated at 06:31.
    { "registry-schema-3.mkr", "2026-11-04T06:20", 60, "", "control-overdue control-rejected not-in-service" },
};

class Sample : public testing::TestWithParam<SampleSays> { };

TEST_P(Sample, OpensHoldsAndAnswers)
{
    const SampleSays& says = GetParam();
    QTemporaryDir folder;
    const std::string copy = folder.filePath(QStringLiteral("sample.mkr")).toStdString();
    ASSERT_TRUE(QFile::copy(QStringLiteral(MK_SOURCE_DIR "/tests/samples/") + QLatin1String(says.file), QString::fromStdString(copy)));
    ASSERT_TRUE(QFile::setPermissions(QString::fromStdString(copy), QFile::ReadOwner | QFile::WriteOwner));
    auto session = store::Session::open(copy, store::Session::Access::ReadWrite);
    ASSERT_TRUE(session) << session.error().text;
    const auto verified = store::verify(**session, std::nullopt);
    ASSERT_TRUE(verified);
    EXPECT_TRUE(verified->holds());

    auto reader = store::Reader::open(**session);
    ASSERT_TRUE(reader);
    const base::Moment at = base::momentOf(base::parseTimeText(says.at).value().wall, says.offsetMinutes);
    const auto m1 = store::boardRow(*reader, base::MeterId("M1"), at);
    ASSERT_TRUE(m1);
    EXPECT_TRUE(m1->fitness.usable);
    EXPECT_EQ(codes(m1->fitness), says.m1);
    const auto m2 = store::boardRow(*reader, base::MeterId("M2"), at);
    ASSERT_TRUE(m2);
    EXPECT_FALSE(m2->fitness.usable);
    EXPECT_EQ(codes(m2->fitness), says.m2);
}

INSTANTIATE_TEST_SUITE_P(
    EveryVersion, Sample, testing::ValuesIn(kSamples), [](const auto& sample) { return "Number" + std::to_string(sample.index); });

TEST(Samples, AreAllOpened)
{
    for (const QString& name : QDir(QStringLiteral(MK_SOURCE_DIR "/tests/samples")).entryList({ QStringLiteral("*.mkr") }, QDir::Files))
        EXPECT_TRUE(std::ranges::any_of(kSamples, [&](const SampleSays& sample) { return name == QLatin1String(sample.file); }))
            << name.toStdString();
}

// The run, and its correction two minutes later, in one import: what was typed is judged before it is corrected.
TEST(Import, ACorrectionRightAfterItsRunShowsBothVerdicts)
{
    Ground empty;
    empty.empty = true;
    WardWorld ward(empty);
    ward.goTo("2026-05-05T12:00");
    auto files = groundFiles();
    files["control_runs.csv"] = "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment\n"
                                "typo,2026-05-04T07:00,M1,N1,V1,low,L1,26,mg/dL,,,\n"
                                "typo,2026-05-04T07:02,M1,N1,V1,high,H1,300,mg/dL,,,\n";
    files["corrections.csv"] = "at,operator,set,level,column,old,new,reason,confirmed_by\n"
                               "2026-05-04T07:04,N1,typo,low,result,26,62,transposed,N2\n";
    const auto report = ward.import(files);
    ASSERT_FALSE(report.anyRejected());
    const SetRecord set = ward.set("typo");
    EXPECT_EQ(set.judged.verdict, Verdict::Accepted);
    EXPECT_EQ(set.judged.oldVerdict, Verdict::Rejected);
    EXPECT_EQ(ward.fitness("2026-05-04T07:03").state, MeterState::OnHold) << "from the save";
    EXPECT_EQ(ward.fitness("2026-05-04T07:05").state, MeterState::InService) << "to the confirmation";
    EXPECT_EQ(ward.entriesOf("verdict.revised").size(), 1U);
    EXPECT_TRUE(ward.verification().holds());
}

} // namespace mk::journeys
