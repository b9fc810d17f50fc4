// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/grid.h"

#include "study/study_runner.h"

#include <gtest/gtest.h>

#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>

#include <algorithm>

namespace mk::study {

namespace {

testing_studies::Outcome runGrid(const std::string& bytes, const std::vector<std::string>& options)
{
    std::vector<std::string> words = { "grid", testing_studies::studyCsv(bytes) };
    words.insert(words.end(), options.begin(), options.end());
    return testing_studies::runStudies(std::move(words));
}

std::string gridFault(const std::string& bytes)
{
    return testing_studies::studyRefusal({ "grid" }, bytes);
}

} // namespace

TEST(StudyGridCommand, PrintsWhatTheContractNames)
{
    const auto outcome = runGrid("reference,test,sample\n100,100.0,a\n30,50,b\n245,70,c\n", { "--json" });
    EXPECT_EQ(outcome.status, 0) << outcome.err;
    EXPECT_EQ(outcome.out,
        R"({"format":1,"n":3,"unit":"mg/dL","type":1,"border":"lower","clarke_reading":"text",)"
        R"("consensus_grid":{"A":2,"B":0,"C":1,"D":0,"E":0},"clarke_grid":{"A":2,"B":0,"C":0,"D":0,"E":1},)"
        R"("points":[{"reference":"100","test":"100.0","consensus":"A","clarke":"A"},)"
        R"({"reference":"30","test":"50","consensus":"A","clarke":"A"},)"
        R"({"reference":"245","test":"70","consensus":"C","clarke":"E"}],"ignored_columns":["sample"]})"
        "\n");
}

// reference/accuracy/errorgrid_points.csv through the command: every option reaches the zones.
TEST(StudyGridCommand, GivesThePublishedZones)
{
    struct Reading {
        const char *type, *border, *clarke;
        const char *consensusColumn, *clarkeColumn;
    };
    constexpr Reading kReadings[] = {
        { "1", "lower", "text", "parkes1_border_to_lower_risk", "clarke_v1" },
        { "1", "higher", "drawing", "parkes1_border_to_higher_risk", "clarke_v2" },
        { "2", "lower", "text", "parkes2_border_to_lower_risk", "clarke_v1" },
        { "2", "higher", "drawing", "parkes2_border_to_higher_risk", "clarke_v2" },
    };
    const reference::ReferenceTable table("accuracy/errorgrid_points.csv");
    std::string bytes = "reference,test\n";
    for (std::size_t row = 0; row < table.size(); ++row)
        bytes += table.text(row, "reference_mg_dL") + ',' + table.text(row, "meter_mg_dL") + '\n';
    for (const Reading& reading : kReadings) {
        const auto outcome = runGrid(
            bytes, { "--json", "--type", reading.type, "--border", reading.border, "--clarke", reading.clarke, "--unit", "mg/dL" });
        const QJsonArray points = QJsonDocument::fromJson(QByteArray::fromStdString(outcome.out))[QStringLiteral("points")].toArray();
        ASSERT_EQ(static_cast<std::size_t>(points.size()), table.size());
        for (std::size_t row = 0; row < table.size(); ++row) {
            const QJsonObject point = points[static_cast<qsizetype>(row)].toObject();
            EXPECT_EQ(point[QStringLiteral("consensus")].toString().toStdString(), table.text(row, reading.consensusColumn)) << row;
            EXPECT_EQ(point[QStringLiteral("clarke")].toString().toStdString(), table.text(row, reading.clarkeColumn)) << row;
        }
    }
}

TEST(StudyGridCommand, ConvertsMmol)
{
    // 20 % in any unit; 3.9 mmol/L is 70.26 mg/dL, so 3.9 against 10 is B and 3.8 against 10 is E.
    const auto outcome = runGrid("reference,test\n10,12\n10,3.9\n10,3.8\n", { "--json", "--unit", "mmol/L" });
    EXPECT_NE(outcome.out.find(R"("clarke_grid":{"A":1,"B":1,"C":0,"D":0,"E":1})"), std::string::npos) << outcome.out;
}

TEST(StudyGridCommand, PrintsATableForPeople)
{
    const auto outcome = runGrid("reference,test\n100,100\n100,130\n245,70\n", {});
    EXPECT_EQ(outcome.out,
        "Pairs: 3, in mg/dL.\n"
        "zone  consensus type 1  %      Clarke  %\n"
        "A     1                 33.33  1       33.33\n"
        "B     1                 33.33  1       33.33\n"
        "C     1                 33.33  0       0.00\n"
        "D     0                 0.00   0       0.00\n"
        "E     0                 0.00   1       33.33\n"
        "A+B   2                 66.67  2       66.67\n"
        "Pairs in C, D or E of a grid: 1\n"
        "line  reference  test  consensus type 1  Clarke\n"
        "4     245        70    C                 E\n"
        "Consensus grid of Pfuetzner et al. 2013, lines straight past 550 mg/dL, a point on a border in the zone with less risk. "
        "Clarke 1987 by its text.\n");
    EXPECT_NE(runGrid("reference,test\n100,100\n", {}).out.find("No pair lies in C, D or E"), std::string::npos);
}

TEST(StudyGridCommand, ShowsTwentyOfManyRiskyPairs)
{
    std::string bytes = "reference,test\n";
    for (int i = 0; i < 50; ++i)
        bytes += "250,50\n";
    const auto outcome = runGrid(bytes, {});
    EXPECT_NE(outcome.out.find("Pairs in C, D or E of a grid: 50\n"), std::string::npos);
    EXPECT_NE(outcome.out.find("… and 30 more; --json lists every pair.\n"), std::string::npos);
    EXPECT_EQ(std::ranges::count(outcome.out, '\n'), 1 + 7 + 1 + 21 + 1 + 1);
}

TEST(StudyGridCommand, NamesTheLineOfWhatItCannotUse)
{
    EXPECT_EQ(gridFault("reference\n1\n"), ".csv line 1: has no column 'test'; name it in the header\n");
    EXPECT_EQ(gridFault("reference,test\n100,100\n-5,100\n"),
        ".csv line 3: '-5' under 'reference' is no glucose result; give a number from 0 to a million or leave "
        "the "
        "row out\n");
    EXPECT_EQ(gridFault("reference,test\n"), ".csv has no rows below its header; give at least one pair\n");
    EXPECT_TRUE(gridFault("reference,test\n5.6,HI\n").starts_with(".csv line 2: 'HI' under 'test' is not a number"));
    EXPECT_TRUE(gridFault("reference,test\n5.6,1e9\n").starts_with(".csv line 2: '1e9' under 'test' is no glucose result"));
    EXPECT_EQ(runGrid("reference,test\n1,1\n", { "--type", "3" }).status, 2);
    EXPECT_EQ(runGrid("reference,test\n1,1\n", { "--unit", "g/L" }).status, 2);
}

TEST(StudyGridPlot, ShowsBothGridsWithEveryPoint)
{
    StudyGridReport report;
    report.options.unit = base::GlucoseUnit::MmolPerL;
    report.reference = { 5, 10, 40 };
    report.test = { 5, 3.8, 40 };
    report.points.resize(3);
    report.consensus = { stats::GridZone::A, stats::GridZone::C, stats::GridZone::A };
    report.clarke = { stats::GridZone::A, stats::GridZone::E, stats::GridZone::A };
    const auto scene = studyGridPlot(report);
    ASSERT_EQ(scene.panels.size(), 2U);
    for (const report::PlotPanel& panel : scene.panels) {
        EXPECT_TRUE(panel.sameScale);
        EXPECT_GT(panel.x.upper.value(), 40); // the frame grows with the data
        EXPECT_EQ(panel.x.upper, panel.y.upper);
        EXPECT_EQ(panel.x.title, "Reference, mmol/L");
        std::size_t drawn = 0;
        for (const report::PlotPoints& points : panel.points)
            drawn += points.x.size();
        EXPECT_EQ(drawn, 3U);
        EXPECT_EQ(panel.points.size(), 2U);
    }
    EXPECT_EQ(scene.panels[1].points[1].legend, "E: 1 (33.33 %)");
    EXPECT_EQ(scene.panels[0].notes.size(), 8U);
}

} // namespace mk::study
