// SPDX-License-Identifier: GPL-3.0-or-later
// The check values of handbook 6.6 through files and the command line.
#include "journeys/ward_world.h"
#include "reference/reference_table.h"

#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QProcess>

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

using reference::ReferenceTable;

std::map<std::string, std::string> filesOf(const std::string& name)
{
    auto files = groundFiles();
    for (auto& [file, text] : files)
        for (std::size_t at = text.find(",90 d,"); at != std::string::npos; at = text.find(",90 d,"))
            text.replace(at, 6, ",24 m,");
    std::string runs = "set,at,meter,operator,strip_vial,level,control_vial,result,unit\n";
    const ReferenceTable sets("drift/compliance-" + name + ".csv");
    for (std::size_t row = 0; row < sets.size(); ++row) {
        const std::string at = sets.text(row, "accepted_at"), set = "S" + std::to_string(row);
        const auto moment = base::momentOf(base::parseTimeText(at).value().wall, 0);
        const std::string low = base::toText(base::plusMs(moment, -60'000)).substr(0, 16);
        runs += set + "," + low + ",M1,N1,V1,low,L1,60,mg/dL\n" + set + "," + at + ",M1,N1,V1,high,H1,300,mg/dL\n";
    }
    files["control_runs.csv"] = runs;
    return files;
}

QJsonObject septemberOf(const std::string& name)
{
    Ground empty;
    empty.empty = true;
    empty.day = "2026-10-20";
    WardWorld ward(empty);
    EXPECT_FALSE(ward.import(filesOf(name)).anyRejected());
    QProcess program;
    program.start(QStringLiteral(MK_CLI),
        { QStringLiteral("--registry"), QString::fromStdString(ward.path()), QStringLiteral("--json"), QStringLiteral("--at"),
            QStringLiteral("2026-10-07T12:00"), QStringLiteral("review"), QStringLiteral("2026-09") });
    EXPECT_TRUE(program.waitForFinished(60'000));
    EXPECT_EQ(program.exitCode(), 0) << program.readAllStandardError().toStdString();
    return QJsonDocument::fromJson(program.readAllStandardOutput()).object();
}

} // namespace

class ReviewOccasions : public testing::TestWithParam<const char*> { };

TEST_P(ReviewOccasions, AreThoseOfTheReference)
{
    const QJsonObject meter = septemberOf(GetParam())[QLatin1String("meters")].toArray().at(0).toObject();
    const ReferenceTable sums("drift/compliance-summary.csv");
    std::size_t row = 0;
    while (sums.text(row, "case") != GetParam())
        ++row;
    for (const char* key : { "required", "met", "late", "missed", "excused", "open", "percent" })
        EXPECT_DOUBLE_EQ(meter[QLatin1String(key)].toDouble(-1), sums.number(row, key)) << key;
    const QJsonObject notCleared = meter[QLatin1String("not_cleared")].toObject();
    EXPECT_NEAR(notCleared[QLatin1String("hours")].toDouble(-1), sums.number(row, "hours_not_cleared"), 0.0051);
    EXPECT_NEAR(notCleared[QLatin1String("longest_hours")].toDouble(-1), sums.number(row, "longest_h"), 0.0051);
    const ReferenceTable expected(std::string("drift/compliance-") + GetParam() + ".expected.csv");
    std::map<std::string, std::string> notMet, wanted;
    for (const auto& each : meter[QLatin1String("not_met")].toArray())
        notMet[each[QLatin1String("day")].toString().toStdString()] = each[QLatin1String("occasion")].toString().toStdString();
    for (std::size_t day = 0; day < expected.size(); ++day)
        if (expected.text(day, "occasion") != "met")
            wanted[expected.text(day, "day")] = expected.text(day, "occasion");
    EXPECT_EQ(notMet, wanted);
}

INSTANTIATE_TEST_SUITE_P(Handbook, ReviewOccasions,
    testing::Values("routine-one-left-out", "two-left-out-in-a-row", "around-midnight", "some-at-14"), [](const auto& name) {
        std::string word = name.param;
        std::ranges::replace(word, '-', '_');
        return word;
    });

} // namespace mk::journeys
