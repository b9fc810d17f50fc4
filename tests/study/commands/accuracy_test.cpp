// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/accuracy.h"

#include "study/study_runner.h"
#include "study/table/pairs.h"

#include "reference/reference_table.h"

#include <gtest/gtest.h>

#include <QFile>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>

#include <limits>

namespace mk::study {

namespace {

QJsonArray criteriaRules()
{
    QFile file(QStringLiteral(MK_SOURCE_DIR "/tests/reference/accuracy/criteria.json"));
    EXPECT_TRUE(file.open(QIODevice::ReadOnly));
    return QJsonDocument::fromJson(file.readAll())[QStringLiteral("rules")].toArray();
}

std::string criteriaText(const QJsonObject& object, const char* key)
{
    return object[QLatin1String(key)].toString().toStdString();
}

/// A figure of the reference: text with an exact decimal, a whole number, or null.
std::string criteriaFigure(const QJsonObject& object, const char* key)
{
    const QJsonValue value = object[QLatin1String(key)];
    if (value.isDouble())
        return std::to_string(value.toInt());
    return value.isNull() ? "-" : value.toString().toStdString();
}

std::string criteriaFigure(const std::optional<base::Decimal>& figure)
{
    return figure ? figure->typed() : "-";
}

void expectCriterionBand(const stats::CriterionBand& band, const QJsonObject& expected)
{
    EXPECT_EQ(criteriaFigure(band.from), criteriaFigure(expected, "ref_min"));
    EXPECT_EQ(band.fromIncluded, expected[QStringLiteral("ref_min_inclusive")].toBool());
    EXPECT_EQ(criteriaFigure(band.to), criteriaFigure(expected, "ref_max"));
    EXPECT_EQ(band.toIncluded, expected[QStringLiteral("ref_max_inclusive")].toBool());
    EXPECT_EQ(criteriaFigure(band.absolute), criteriaFigure(expected, "abs"));
    EXPECT_EQ(criteriaFigure(band.percent), criteriaFigure(expected, "pct"));
}

void expectCriterionTier(const stats::CriterionTier& tier, const QJsonObject& expected)
{
    EXPECT_EQ(tier.name, criteriaText(expected, "name"));
    EXPECT_EQ(tier.minimumProportion.typed(), criteriaText(expected, "min_proportion_within"));
    EXPECT_EQ(tier.mode == stats::CriterionMode::BandLimit ? "band" : "greater_of_abs_and_pct", criteriaText(expected, "mode"));
    EXPECT_EQ("abs(meter-ref) <= limit", criteriaText(expected, "limit_comparison"));
    const QJsonArray bands = expected[QStringLiteral("bands")].toArray();
    ASSERT_EQ(tier.bands.size(), static_cast<std::size_t>(bands.size()));
    for (std::size_t i = 0; i < tier.bands.size(); ++i)
        expectCriterionBand(tier.bands[i], bands[static_cast<qsizetype>(i)].toObject());
}

StudyNumber accuracyTyped(const char* text)
{
    auto decimal = base::Decimal::parse(text).value();
    return { decimal.toDouble(), decimal };
}

const stats::CriterionResult* accuracyOf(const StudyAccuracy& accuracy, std::string_view id)
{
    const auto found = std::ranges::find(accuracy.criteria, id, &stats::CriterionResult::id);
    return found == accuracy.criteria.end() ? nullptr : &*found;
}

} // namespace

TEST(AccuracyCriteriaTable, IsTheReferenceFieldByField)
{
    const QJsonArray rules = criteriaRules();
    const auto& criteria = stats::accuracyCriteria();
    ASSERT_EQ(criteria.size(), static_cast<std::size_t>(rules.size()));
    for (std::size_t i = 0; i < criteria.size(); ++i) {
        const QJsonObject rule = rules[static_cast<qsizetype>(i)].toObject();
        SCOPED_TRACE(criteriaText(rule, "id"));
        EXPECT_EQ(criteria[i].id, criteriaText(rule, "id"));
        EXPECT_EQ(criteria[i].title, criteriaText(rule, "title"));
        EXPECT_EQ(criteria[i].year ? std::to_string(*criteria[i].year) : "-", criteriaFigure(rule, "year"));
        EXPECT_EQ(criteria[i].unit, base::glucoseUnitNamed(criteriaText(rule, "unit")));
        EXPECT_EQ(criteria[i].audience, criteriaText(rule, "audience"));
        EXPECT_EQ(criteria[i].also, criteriaText(rule, "also"));
        EXPECT_EQ(criteria[i].status, criteriaText(rule, "status"));
        EXPECT_EQ(criteria[i].confirmed, criteria[i].status.starts_with("confirmed"));
        EXPECT_EQ(criteria[i].source, criteriaText(rule, "source"));
        const QJsonArray tiers = rule[QStringLiteral("tiers")].toArray();
        ASSERT_EQ(criteria[i].tiers.size(), static_cast<std::size_t>(tiers.size()));
        for (std::size_t t = 0; t < criteria[i].tiers.size(); ++t)
            expectCriterionTier(criteria[i].tiers[t], tiers[static_cast<qsizetype>(t)].toObject());
    }
}

// Counts: reference/accuracy/errorgrid_ega_counts.csv, exact rational arithmetic
TEST(StudyAccuracy, CountsTheZonesOfThePublishedPairs)
{
    const reference::ReferenceTable table("accuracy/errorgrid_ega_pairs.csv");
    std::vector<StudyNumber> reference, test;
    for (std::size_t row = 0; row < table.size(); ++row) {
        reference.push_back(accuracyTyped(table.text(row, "reference_mg_dL").c_str()));
        test.push_back(accuracyTyped(table.text(row, "meter_mg_dL").c_str()));
    }
    const auto accuracy = studyAccuracy(reference, test, base::GlucoseUnit::MgPerDl);
    EXPECT_EQ(accuracy.consensus, (std::array<std::size_t, 5> { 3913, 947, 163, 47, 2 }));
    EXPECT_EQ(accuracy.clarke, (std::array<std::size_t, 5> { 3657, 1166, 53, 180, 16 }));
    ASSERT_TRUE(accuracyOf(accuracy, "poct12_a3"));
    EXPECT_EQ(accuracyOf(accuracy, "poct12_a3")->of, 5072U);
}

TEST(StudyAccuracy, JudgesDecimalsAsTheyWereTyped)
{
    // 5.53 + 0.83 is 6.36, though the doubles are further apart than 0.83.
    const std::vector<StudyNumber> reference = { accuracyTyped("5.53") };
    const std::vector<StudyNumber> test = { accuracyTyped("6.36") };
    const auto accuracy = studyAccuracy(reference, test, base::GlucoseUnit::MmolPerL);
    ASSERT_TRUE(accuracyOf(accuracy, "iso15197_2013_mmol"));
    EXPECT_EQ(accuracyOf(accuracy, "iso15197_2013_mmol")->met, true);
    EXPECT_FALSE(accuracyOf(accuracy, "iso15197_2013_mgdl"));
}

TEST(StudyAccuracy, RoundsNumbersWithMoreDigitsThanADecimalHolds)
{
    const std::vector<StudyNumber> reference = { { 100.00000000000001, std::nullopt } };
    const std::vector<StudyNumber> test = { { 115.00000000000003, std::nullopt } };
    const auto accuracy = studyAccuracy(reference, test, base::GlucoseUnit::MgPerDl);
    EXPECT_EQ(accuracyOf(accuracy, "iso15197_2013_mgdl")->met, true);
}

TEST(StudyAccuracy, TakesOnlyGlucoseResults)
{
    const auto file = readStudyFile(testing_studies::studyCsv("test\n0\n1000000\n5.53\n-5\n1e30\n999999999\n")).value();
    const auto taken = [&](std::size_t row) { return glucoseCell(file, file.table.rows[row], 0); };
    EXPECT_EQ(taken(0)->value, 0);
    EXPECT_EQ(taken(1)->value, 1e6);
    EXPECT_EQ(taken(2)->value, 5.53);
    for (std::size_t row = 3; row < 6; ++row) {
        ASSERT_FALSE(taken(row));
        EXPECT_NE(taken(row).error().text.find("line " + std::to_string(row + 2) + ": '"), std::string::npos);
    }
}

TEST(StudyAccuracy, HasNoAnswerWithoutPairs)
{
    const auto nothing = studyAccuracy({}, {}, base::GlucoseUnit::MgPerDl);
    EXPECT_EQ(accuracyOf(nothing, "iso15197_2013_mgdl")->met, std::nullopt);
    EXPECT_NE(studyAccuracyTable(nothing).find("no such pair"), std::string::npos);
}

TEST(StudyAccuracy, WritesTheKeysOfTheContract)
{
    const std::vector<StudyNumber> numbers(20, accuracyTyped("8.0"));
    JsonWriter json;
    json.beginObject();
    writeStudyAccuracy(json, studyAccuracy(numbers, numbers, base::GlucoseUnit::MmolPerL));
    json.endObject();
    const std::string start
        = R"({"criteria":[{"id":"iso15197_2013_mmol","tier":"main","within":20,"of":20,"percent":100,"needed":19,"met":true,)"
          R"("confirmed":true},)";
    EXPECT_TRUE(json.text().starts_with(start)) << json.text();
    const std::string end = R"("consensus_grid":{"A":20,"B":0,"C":0,"D":0,"E":0},"clarke_grid":{"A":20,"B":0,"C":0,"D":0,"E":0}})";
    EXPECT_TRUE(json.text().ends_with(end)) << json.text();
}

} // namespace mk::study
