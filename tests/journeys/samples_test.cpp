// SPDX-License-Identifier: GPL-3.0-or-later
// Registries of earlier versions open in this one, and show what they showed.
#include "ward_world.h"

#include <QDir>
#include <QFile>

#include <gtest/gtest.h>

namespace mk::journeys {

using namespace registry;

class Sample : public testing::TestWithParam<std::string> { };

TEST_P(Sample, OpensHoldsAndAnswers)
{
    QTemporaryDir folder;
    const std::string copy = folder.filePath(QStringLiteral("sample.mkr")).toStdString();
    ASSERT_TRUE(QFile::copy(QStringLiteral(MK_SOURCE_DIR "/tests/samples/") + QString::fromStdString(GetParam()), QString::fromStdString(copy)));
    ASSERT_TRUE(QFile::setPermissions(QString::fromStdString(copy), QFile::ReadOwner | QFile::WriteOwner));
    auto session = store::Session::open(copy, store::Session::Access::ReadWrite);
    ASSERT_TRUE(session) << session.error().text;
    const auto verified = store::verify(**session, std::nullopt);
    ASSERT_TRUE(verified);
    EXPECT_TRUE(verified->holds());

    // What the sample's records say by hand: M1 fell, was looked over and signed back; M2 was never controlled.
    auto reader = store::Reader::open(**session);
    ASSERT_TRUE(reader);
    const base::Moment at = base::momentOf(base::parseTimeText("2026-10-05T15:00").value().wall, 120);
    const auto m1 = store::boardRow(*reader, base::MeterId("M1"), at);
    ASSERT_TRUE(m1);
    EXPECT_TRUE(m1->fitness.usable);
    EXPECT_EQ(codes(m1->fitness), "look-back-open");
    const auto m2 = store::boardRow(*reader, base::MeterId("M2"), at);
    ASSERT_TRUE(m2);
    EXPECT_EQ(codes(m2->fitness), "no-control-yet not-in-service");
}

INSTANTIATE_TEST_SUITE_P(EveryVersion, Sample, testing::ValuesIn([] {
    std::vector<std::string> names;
    for (const QString& name : QDir(QStringLiteral(MK_SOURCE_DIR "/tests/samples")).entryList({ QStringLiteral("*.mkr") }, QDir::Files))
        names.push_back(name.toStdString());
    return names;
}()));

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
