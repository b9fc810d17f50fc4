// SPDX-License-Identifier: GPL-3.0-or-later
// The policy commands, run as a user runs them.
#include <gtest/gtest.h>

#include <QDateTime>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QProcess>
#include <QTemporaryDir>

#include <fstream>
#include <vector>

namespace mk::cli {
namespace {

struct PolicyRun {
    int status = -1;
    std::string out, err;
    QJsonObject json() const { return QJsonDocument::fromJson(QByteArray::fromStdString(out)).object(); }
};

class PolicyCommand : public ::testing::Test {
protected:
    PolicyRun run(const std::vector<std::string>& words)
    {
        QStringList arguments { QStringLiteral("--registry"), m_folder.filePath(QStringLiteral("w.mkr")) };
        for (const auto& word : words)
            arguments << QString::fromStdString(word);
        QProcess process;
        process.start(QStringLiteral(MK_CLI), arguments);
        EXPECT_TRUE(process.waitForFinished(30'000));
        return { process.exitCode(), process.readAllStandardOutput().toStdString(), process.readAllStandardError().toStdString() };
    }
    std::string file(const std::string& text)
    {
        std::string path = m_folder.filePath(QStringLiteral("ward.policy")).toStdString();
        std::ofstream(path, std::ios::binary) << text;
        return path;
    }
    void found()
    {
        ASSERT_EQ(run({ "init", "--zone", "Europe/Berlin" }).status, 0);
        ASSERT_EQ(run({ "--operator", "rook", "act", "operator", "--id", "rook", "--role", "coordinator" }).status, 0);
        ASSERT_EQ(run({ "--operator", "rook", "act", "operator", "--id", "arlen", "--role", "nurse" }).status, 0);
    }

    QTemporaryDir m_folder;
    const std::string m_nextYear = std::to_string(QDate::currentDate().year() + 1) + "-02-01";
};

} // namespace

TEST_F(PolicyCommand, CheckNamesEveryFaultWithItsLine)
{
    const auto good = run({ "policy", "check", file("grace_minutes = 10\n") });
    EXPECT_EQ(good.status, 0) << good.err;
    const auto bad = run({ "policy", "check", file("# ours\ngrace_minutes = soon\n\ngracious = 1\n"), "--json" });
    EXPECT_EQ(bad.status, 2);
    EXPECT_NE(bad.err.find("ward.policy line 2: the policy's 'grace_minutes' takes a whole number"), std::string::npos) << bad.err;
    const QJsonArray faults = bad.json()[QLatin1String("faults")].toArray();
    ASSERT_EQ(faults.size(), 2);
    EXPECT_EQ(faults[1].toObject()[QLatin1String("line")].toInt(), 4);
    EXPECT_FALSE(bad.json()[QLatin1String("sound")].toBool());
}

TEST_F(PolicyCommand, ShowTellsEverySettingWithItsSourceAndSinceWhen)
{
    found();
    const auto adopted = run({ "--operator", "rook", "policy", "adopt",
        file("profile = our ward\ngrace_minutes = 10\ndrift_method = own-usual\nrule_reference = usual\n"), "--from", m_nextYear,
        "--reason", "night shift", "--json" });
    ASSERT_EQ(adopted.status, 0) << adopted.err;
    EXPECT_EQ(adopted.json()[QLatin1String("version")].toInt(), 2);
    EXPECT_EQ(adopted.json()[QLatin1String("changes")].toArray().size(), 2);

    const auto now = run({ "policy", "show", "--json" }).json();
    EXPECT_EQ(now[QLatin1String("version")].toInt(), 1) << "the new one is not in force yet";
    EXPECT_EQ(now[QLatin1String("versions")].toArray().size(), 2);
    const auto second = run({ "policy", "show", "--version", "2", "--json" }).json();
    EXPECT_EQ(second[QLatin1String("by")].toString().toStdString(), "rook");
    EXPECT_EQ(second[QLatin1String("reason")].toString().toStdString(), "night shift");
    EXPECT_FALSE(second[QLatin1String("in_force")].toBool());
    int settings = 0;
    for (const QJsonValue& value : second[QLatin1String("settings")].toArray()) {
        const QJsonObject setting = value.toObject();
        ++settings;
        EXPECT_FALSE(setting[QLatin1String("source")].toString().isEmpty()) << setting[QLatin1String("setting")].toString().toStdString();
        const bool changed = setting[QLatin1String("setting")].toString() == QLatin1String("grace_minutes")
            || setting[QLatin1String("setting")].toString() == QLatin1String("profile");
        EXPECT_EQ(setting[QLatin1String("since_version")].toInt(), changed ? 2 : 1);
        EXPECT_EQ(setting[QLatin1String("is_default")].toBool(), !changed);
    }
    EXPECT_GT(settings, 50);
    EXPECT_EQ(run({ "policy", "show", "--version", "3" }).status, 2);

    // What show prints is a document again.
    const auto text = run({ "policy", "show", "--version", "2" });
    const auto checked = run({ "policy", "check", file(text.out) });
    EXPECT_EQ(checked.status, 0) << checked.err;
    EXPECT_NE(text.out.find("grace_minutes = 10"), std::string::npos);
    EXPECT_EQ(run({ "verify" }).status, 0);
}

TEST_F(PolicyCommand, AdoptAsksForACoordinatorAndADayToCome)
{
    found();
    const std::string document = file("grace_minutes = 10\n");
    EXPECT_EQ(run({ "policy", "adopt", document, "--from", m_nextYear }).status, 2) << "nobody named";
    const auto nurse = run({ "--operator", "arlen", "policy", "adopt", document, "--from", m_nextYear });
    EXPECT_EQ(nurse.status, 2);
    EXPECT_NE(nurse.err.find("coordinator"), std::string::npos) << nurse.err;
    const auto past = run({ "--operator", "rook", "policy", "adopt", document, "--from", "2020-01-01" });
    EXPECT_EQ(past.status, 2);
    EXPECT_NE(past.err.find("never holds for the past"), std::string::npos) << past.err;
    const auto unsound = run({ "--operator", "rook", "policy", "adopt", file("\nrules = 1-9s\n"), "--from", m_nextYear });
    EXPECT_EQ(unsound.status, 2);
    EXPECT_NE(unsound.err.find("line 2"), std::string::npos) << unsound.err;
    EXPECT_EQ(run({ "policy", "show", "--json" }).json()[QLatin1String("versions")].toArray().size(), 1);
}

TEST_F(PolicyCommand, PreviewSaysWhatWouldHaveBeenOtherwise)
{
    found();
    const auto preview = run({ "policy", "preview", file("clearance_hours = 8\n"), "--months", "1", "--json" });
    ASSERT_EQ(preview.status, 0) << preview.err;
    EXPECT_EQ(preview.json()[QLatin1String("meters")].toArray().size(), 0) << "no meter is on record";
    EXPECT_FALSE(preview.json()[QLatin1String("from")].toString().isEmpty());
    EXPECT_EQ(run({ "policy", "preview", file("clearance_hours = 8\n"), "--ward", "W9" }).status, 2);
    EXPECT_NE(run({ "policy", "preview", file("clearance_hours = 8\n") }).out.find("Nothing is recorded by a preview."), std::string::npos);
}

TEST_F(PolicyCommand, InitTakesAShippedProfile)
{
    ASSERT_EQ(run({ "init", "--zone", "Europe/Berlin", "--policy", MK_SOURCE_DIR "/db/policy/monthly-comparison.policy" }).status, 0);
    const auto shown = run({ "policy", "show" });
    EXPECT_NE(shown.out.find("profile = monthly comparison"), std::string::npos);
    EXPECT_NE(shown.out.find("comparison_interval = 1 m"), std::string::npos);
}

TEST_F(PolicyCommand, AMetersFileShowsRoundsCalibrationsAndProficiencySamples)
{
    ASSERT_EQ(run({ "init", "--zone", "Europe/Berlin" }).status, 0);
    const struct {
        const char *name, *text;
    } kFiles[] = { { "wards.csv", "ward,name\nW1,One\n" },
        { "models.csv",
            "model,unit,low,high,haematocrit_low,haematocrit_high,needs_code,shared_use,market_approval\nK1,mg/dL,20,600,20,65,no,yes,\n" },
        { "operators.csv", "operator,name,role,competent_from,competent_until\nrook,Rook,coordinator,,\n" },
        { "meters.csv", "meter,model,serial,ward,enrolled,state\nM1,K1,s1,W1,2026-05-01,\n" },
        { "comparisons.csv",
            "pair,meter,meter_at,lab_at,operator,strip_vial,sample,sample_type,meter_result,lab_result,unit,haematocrit,round\n"
            "P1,M1,2026-05-04T08:00,2026-05-04T08:05,rook,,,venous,104,100,mg/dL,,R1\nP2,M1,2026-05-04T08:10,2026-05-04T08:15,rook,,,venous,108,100,mg/dL,,R1\n"
            "P3,M1,2026-05-04T08:20,2026-05-04T09:15,rook,,,venous,150,100,mg/dL,,R1\n" } };
    std::vector<std::string> words { "import" };
    for (const auto& each : kFiles) {
        words.push_back(m_folder.filePath(QLatin1String(each.name)).toStdString());
        std::ofstream(words.back(), std::ios::binary) << each.text;
    }
    const auto imported = run(words);
    ASSERT_EQ(imported.status, 0) << imported.err;
    const auto verified = run({ "--operator", "rook", "--at", "2026-05-05T08:00", "act", "calibration", "--meter", "M1", "--material",
        "set 3", "--unit", "mg/dL", "--low-assigned", "50", "--low-result", "51", "--mid-assigned", "150", "--mid-result", "150",
        "--high-assigned", "400", "--high-result", "500" });
    const auto received = run({ "--operator", "rook", "--at", "2026-05-05T09:00", "act", "eqa-sample", "--scheme", "Ring", "--event",
        "2026-2", "--sample", "A", "--due", "2026-05-19T12:00", "--meter", "M1" });
    ASSERT_EQ(verified.status, 0) << verified.err;
    ASSERT_EQ(received.status, 0) << received.err;
    const QJsonObject meter = run({ "--at", "2026-05-06T00:00", "meter", "M1", "--json" }).json();
    EXPECT_EQ(meter[QLatin1String("comparisons")].toArray().size(), 3) << "the excluded pair is listed too";
    const QJsonObject round = meter[QLatin1String("comparison_rounds")].toArray()[0].toObject();
    EXPECT_EQ(round[QLatin1String("used")].toInt(), 2);
    EXPECT_EQ(round[QLatin1String("excluded")].toInt(), 1);
    EXPECT_DOUBLE_EQ(round[QLatin1String("mean_difference")].toDouble(), 6.0);
    EXPECT_EQ(round[QLatin1String("worst_pair")].toString().toStdString(), "P2");
    EXPECT_EQ(round[QLatin1String("tiers")].toArray()[0].toObject()[QLatin1String("needed")].toInt(), 2);
    EXPECT_FALSE(meter[QLatin1String("calibrations")].toArray()[0].toObject()[QLatin1String("passed")].toBool(true));
    EXPECT_EQ(meter[QLatin1String("eqa")].toArray()[0].toObject()[QLatin1String("band")].toString().toStdString(), "waiting");
    EXPECT_TRUE(meter[QLatin1String("meter_or_lot")].isNull()) << "nothing drifts";
    const QJsonObject later = run({ "--at", "2026-05-20T00:00", "meter", "M1", "--json" }).json();
    EXPECT_EQ(later[QLatin1String("eqa")].toArray()[0].toObject()[QLatin1String("score")].toInt(-1), 0)
        << "not returned: failed, score zero";
}

} // namespace mk::cli
