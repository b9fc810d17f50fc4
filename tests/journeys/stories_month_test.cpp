// SPDX-License-Identifier: GPL-3.0-or-later
// The month as the review tells it, and a meter's whole life, on the demo hospital (demo-data/README.md); expectations from handbook 7.2.
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QProcess>
#include <QTemporaryDir>

#include <gtest/gtest.h>

#include <algorithm>
#include <memory>

namespace mk::journeys {
namespace {

/// The demo hospital as a registry file, imported by the program itself; made once.
class DemoMonthTold : public testing::Test {
protected:
    static void SetUpTestSuite()
    {
        s_folder = std::make_unique<QTemporaryDir>();
        run({ QStringLiteral("init"), QStringLiteral("--zone"), QStringLiteral("Europe/Berlin") });
        run({ QStringLiteral("import"), QStringLiteral(MK_SOURCE_DIR "/demo-data") });
    }
    static void TearDownTestSuite() { s_folder.reset(); }

    static QByteArray run(QStringList arguments)
    {
        arguments.prepend(s_folder->filePath(QStringLiteral("demo.mkr")));
        arguments.prepend(QStringLiteral("--registry"));
        QProcess program;
        program.start(QStringLiteral(MK_CLI), arguments);
        EXPECT_TRUE(program.waitForFinished(120'000));
        EXPECT_EQ(program.exitCode(), 0) << program.readAllStandardError().toStdString();
        return program.readAllStandardOutput();
    }
    static QJsonObject reviewOf(const char* month, const char* ward)
    {
        return QJsonDocument::fromJson(run({ QStringLiteral("review"), QLatin1String(month), QStringLiteral("--ward"), QLatin1String(ward),
                                           QStringLiteral("--json") }))
            .object();
    }
    static QJsonArray ofMeter(const QJsonArray& all, const char* meter)
    {
        QJsonArray found;
        for (const auto& each : all)
            if (each.toObject().value(QLatin1String("meter")).toString() == QLatin1String(meter))
                found.append(each);
        return found;
    }

    inline static std::unique_ptr<QTemporaryDir> s_folder;
};

QStringList textsOf(const QJsonArray& all, const char* key)
{
    QStringList texts;
    for (const auto& each : all)
        texts << each.toObject().value(QLatin1String(key)).toString();
    return texts;
}

} // namespace

TEST_F(DemoMonthTold, JulyNamesTheWithdrawalItsSignatureAndTheComparisons)
{
    const QJsonObject july = reviewOf("2026-07", "W3");
    const QJsonArray stops = july.value(QLatin1String("stops")).toArray();
    ASSERT_EQ(stops.size(), 1);
    const QJsonObject stop = stops.first().toObject();
    EXPECT_EQ(stop.value(QLatin1String("meter")).toString(), QLatin1String("M-05"));
    EXPECT_EQ(stop.value(QLatin1String("at")).toString(), QLatin1String("2026-07-14T15:25:00+02:00"));
    EXPECT_EQ(stop.value(QLatin1String("ended_at")).toString(), QLatin1String("2026-07-21T10:20:00+02:00"));
    EXPECT_EQ(stop.value(QLatin1String("signed_by")).toString(), QLatin1String("rook"));
    EXPECT_GT(stop.value(QLatin1String("signed_seq")).toInt(), stop.value(QLatin1String("seq")).toInt());

    const QJsonArray comparisons = ofMeter(july.value(QLatin1String("comparisons")).toArray(), "M-05");
    const QStringList standings = textsOf(comparisons, "standing");
    EXPECT_EQ(standings.count(QStringLiteral("failed")), 2);
    EXPECT_EQ(standings.count(QStringLiteral("passed")), 5);
    EXPECT_EQ(comparisons.first().toObject().value(QLatin1String("pairs")).toArray().first().toString(), QLatin1String("P-05-01"));
    EXPECT_EQ(comparisons.first().toObject().value(QLatin1String("evidence")).toArray().size(), 1);
    for (const char* key :
        { "lookbacks", "nonconformities", "notices", "lots", "vials", "competency", "cleaning", "proficiency", "annulled", "corrected" })
        EXPECT_TRUE(july.value(QLatin1String(key)).isArray()) << key;
}

TEST_F(DemoMonthTold, AugustNamesTheCorrectionAndTheVialOnce)
{
    const QJsonArray corrected = reviewOf("2026-08", "W5").value(QLatin1String("corrected")).toArray();
    ASSERT_EQ(corrected.size(), 1);
    EXPECT_EQ(corrected.first().toObject().value(QLatin1String("old")).toString(), QLatin1String("74"));
    EXPECT_EQ(corrected.first().toObject().value(QLatin1String("new")).toString(), QLatin1String("47"));
    EXPECT_TRUE(corrected.first().toObject().value(QLatin1String("confirmed")).toBool());
    EXPECT_EQ(corrected.first().toObject().value(QLatin1String("meter")).toString(), QLatin1String("M-09"));

    const QJsonArray vials = reviewOf("2026-08", "W7").value(QLatin1String("vials")).toArray();
    ASSERT_EQ(vials.size(), 1) << "opened 18 May, used on 17 and 18 August";
    EXPECT_EQ(vials.first().toObject().value(QLatin1String("last_day")).toString(), QLatin1String("2026-08-16"));
    EXPECT_EQ(vials.first().toObject().value(QLatin1String("codes")).toArray().first().toString(), QLatin1String("strip-vial-expired"));
    EXPECT_FALSE(vials.first().toObject().value(QLatin1String("undated")).toBool());
    EXPECT_GE(vials.first().toObject().value(QLatin1String("meters")).toArray().size(), 3);
}

TEST_F(DemoMonthTold, SeptemberNamesTheBadControlVialOnce)
{
    QJsonArray named;
    for (const auto& pattern : reviewOf("2026-09", "W3").value(QLatin1String("patterns")).toArray())
        if (pattern.toObject().value(QLatin1String("code")).toString() == QLatin1String("bad-control-vial"))
            named.append(pattern);
    ASSERT_EQ(named.size(), 1);
    EXPECT_EQ(named.first().toObject().value(QLatin1String("about")).toArray().size(), 5);
    EXPECT_TRUE(named.first().toObject().value(QLatin1String("text")).toString().contains(QLatin1String("CH-419-5")));
    const QString text = QString::fromUtf8(
        run({ QStringLiteral("review"), QStringLiteral("2026-09"), QStringLiteral("--ward"), QStringLiteral("W3") }));
    EXPECT_TRUE(text.contains(QLatin1String("No meter to watch."))) << text.toStdString();
}

TEST_F(DemoMonthTold, EveryKindHasItsHeadAndNothingIsSaidToBeNone)
{
    const QString text = QString::fromUtf8(
        run({ QStringLiteral("review"), QStringLiteral("2026-07"), QStringLiteral("--ward"), QStringLiteral("W3") }));
    EXPECT_TRUE(text.contains(QLatin1String("Withdrawn, held, returned (1)"))) << text.toStdString();
    EXPECT_TRUE(text.contains(QLatin1String("signed back by rook"))) << text.toStdString();
    EXPECT_TRUE(text.contains(QLatin1String("Annulled entries: none"))) << text.toStdString();
    EXPECT_TRUE(text.contains(QLatin1String("Makers' notices: none"))) << text.toStdString();
}

TEST_F(DemoMonthTold, AMetersFileTellsItsWholeLife)
{
    const QJsonArray life = QJsonDocument::fromJson(run({ QStringLiteral("meter"), QStringLiteral("M-05"), QStringLiteral("--json") }))
                                .object()
                                .value(QLatin1String("life"))
                                .toArray();
    const QStringList kinds = textsOf(life, "what"), times = textsOf(life, "at");
    EXPECT_EQ(kinds.first(), QLatin1String("enrolled"));
    EXPECT_EQ(kinds.count(QStringLiteral("withdrawn")), 1);
    EXPECT_EQ(kinds.count(QStringLiteral("comparison")), 7);
    EXPECT_EQ(kinds.count(QStringLiteral("return-step")), 3);
    ASSERT_EQ(kinds.count(QStringLiteral("signed")), 1);
    EXPECT_EQ(life.at(kinds.indexOf(QStringLiteral("signed"))).toObject().value(QLatin1String("by")).toString(), QLatin1String("rook"));
    EXPECT_LT(kinds.indexOf(QStringLiteral("withdrawn")), kinds.indexOf(QStringLiteral("signed")));
    for (const auto& event : life)
        EXPECT_FALSE(event.toObject().value(QLatin1String("evidence")).toArray().isEmpty());
    const QByteArray text = run({ QStringLiteral("meter"), QStringLiteral("M-05") });
    EXPECT_TRUE(text.contains("Withdrawn: The laboratory comparison failed.")) << text.toStdString();
}

/// Rook took it out of use while it drifted, and typed other words: the return asks for the laboratory all the same (handbook 1.4, T8).
TEST_F(DemoMonthTold, AMeterWithdrawnWhileItDriftsOwesAComparison)
{
    const QJsonObject file = QJsonDocument::fromJson(run({ QStringLiteral("meter"), QStringLiteral("M-07"), QStringLiteral("--at"),
                                                         QStringLiteral("2026-11-12T12:00"), QStringLiteral("--json") }))
                                 .object();
    EXPECT_EQ(textsOf(file.value(QLatin1String("return_owed")).toArray(), "step"),
        (QStringList { QStringLiteral("controls-passed"), QStringLiteral("comparison-passed"), QStringLiteral("signed") }));
}

} // namespace mk::journeys
