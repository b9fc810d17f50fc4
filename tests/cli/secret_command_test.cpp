// SPDX-License-Identifier: GPL-3.0-or-later
// Signing in at the command line, as a person or a script does it.
#include <gtest/gtest.h>

#include <QDateTime>
#include <QFile>
#include <QJsonArray>
#include <QJsonDocument>
#include <QJsonObject>
#include <QProcess>
#include <QTemporaryDir>

#include <fstream>
#include <sys/stat.h>
#include <vector>

namespace mk::cli {
namespace {

struct SecretRun {
    int status = -1;
    std::string out, err;
    QJsonObject json() const { return QJsonDocument::fromJson(QByteArray::fromStdString(out)).object(); }
};

class SecretCommand : public ::testing::Test {
protected:
    /// typed  what comes on standard input
    SecretRun run(const std::vector<std::string>& words, const std::string& typed = {})
    {
        QStringList arguments { QStringLiteral("--registry"), m_folder.filePath(QStringLiteral("w.mkr")) };
        for (const auto& word : words)
            arguments << QString::fromStdString(word);
        if (!typed.empty())
            arguments << QStringLiteral("--secret-stdin");
        QProcess process;
        process.start(
            QStringLiteral("setsid"), QStringList { QStringLiteral("-w"), QStringLiteral(MK_CLI) } + arguments); // no terminal to ask at
        process.write(QByteArray::fromStdString(typed));
        process.closeWriteChannel();
        EXPECT_TRUE(process.waitForFinished(30'000));
        return { process.exitCode(), process.readAllStandardOutput().toStdString(), process.readAllStandardError().toStdString() };
    }
    void found()
    {
        ASSERT_EQ(run({ "init", "--zone", "Europe/Berlin" }).status, 0);
        ASSERT_EQ(run({ "--operator", "rook", "act", "ward", "--ward", "W5" }).status, 0);
        for (const auto& [id, role] : { std::pair("rook", "coordinator"), std::pair("arlen", "nurse"), std::pair("vane", "inspector") })
            ASSERT_EQ(run({ "--operator", "rook", "act", "operator", "--id", id, "--role", role }).status, 0);
    }
    void setUp()
    {
        found();
        const auto set = run({ "--operator", "rook", "secret", "set", "--json" }, kRook + "\n");
        ASSERT_EQ(set.status, 0) << set.err;
        m_code = set.json()[QLatin1String("recovery_code")].toString().toStdString();
        ASSERT_EQ(m_code.size(), 39u);
    }
    void give(const std::string& person, const std::string& secret)
    {
        const auto given = run({ "--operator", "rook", "secret", "set", "--for", person }, kRook + "\n905173\n");
        ASSERT_EQ(given.status, 0) << given.err;
        const auto own = run({ "--operator", person, "secret", "set" }, "905173\n" + secret + "\n");
        ASSERT_EQ(own.status, 0) << own.err;
    }
    /// Entries of a kind, from the journal as it is exported.
    std::vector<QJsonObject> entriesOf(const char* kind)
    {
        QTemporaryDir out;
        EXPECT_EQ(run({ "export", "--format", "ndjson", "--out", out.filePath(QStringLiteral("x")).toStdString() }).status, 0);
        QFile file(out.filePath(QStringLiteral("x/journal.ndjson")));
        EXPECT_TRUE(file.open(QIODevice::ReadOnly));
        std::vector<QJsonObject> found;
        for (const auto& line : file.readAll().split('\n'))
            if (const auto entry = QJsonDocument::fromJson(line).object(); entry[QLatin1String("act")].toString() == QLatin1String(kind))
                found.push_back(entry);
        return found;
    }
    std::string file(const std::string& text, mode_t rights)
    {
        std::string path = m_folder.filePath(QStringLiteral("secret")).toStdString();
        std::ofstream(path, std::ios::binary) << text;
        EXPECT_EQ(::chmod(path.c_str(), rights), 0);
        return path;
    }

    const std::string kRook = "kettle on the sill";
    QTemporaryDir m_folder;
    std::string m_code;
};

} // namespace

TEST_F(SecretCommand, TheFirstSecretSetsSignInUpAndPrintsTheCodeOnce)
{
    found();
    EXPECT_EQ(run({ "--operator", "arlen", "secret", "set" }, "480517\n").status, 2) << "a nurse does not";
    EXPECT_EQ(run({ "--operator", "rook", "secret", "set" }, "111111\n").status, 2);
    EXPECT_EQ(run({ "--operator", "rook", "act", "ward", "--ward", "W6" }).status, 0) << "nothing is set up yet";
    const auto set = run({ "--operator", "rook", "secret", "set" }, kRook + "\n");
    ASSERT_EQ(set.status, 0) << set.err;
    EXPECT_NE(set.out.find("Recovery code: "), std::string::npos);
    EXPECT_EQ(set.out.find(kRook), std::string::npos);
    const auto again = run({ "--operator", "rook", "secret", "set" }, kRook + "\nlamp by the window\n");
    EXPECT_EQ(again.status, 0) << again.err;
    EXPECT_EQ(again.out.find("Recovery code"), std::string::npos);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check" }, "lamp by the window\n").status, 0);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check" }, kRook + "\n").status, 2);
    EXPECT_EQ(run({ "verify" }).status, 0);
}

TEST_F(SecretCommand, EveryCommandThatWritesAsksForTheSecret)
{
    setUp();
    give("arlen", "480517");
    const std::string folder = m_folder.filePath(QStringLiteral("csv")).toStdString();
    ASSERT_EQ(::mkdir(folder.c_str(), 0700), 0);
    std::ofstream(folder + "/wards.csv") << "ward,name\nW7,Seven\n";
    const std::string policy = m_folder.filePath(QStringLiteral("p.policy")).toStdString();
    std::ofstream(policy) << "grace_minutes = 10\n";
    const std::string nextYear = std::to_string(QDate::currentDate().year() + 1) + "-02-01";
    const std::vector<std::vector<std::string>> writers { { "import", folder }, { "act", "ward", "--ward", "W8" },
        { "act", "sign-in", "--ward", "W5" }, { "policy", "adopt", policy, "--from", nextYear },
        { "review", "2026-01", "--sign", "reviewed" }, { "run", "add", "--meter", "M", "--strip-vial", "V", "--run", "low:L=60" },
        { "secret", "unlock", "--for", "arlen", "--reason", "x" }, { "secret", "list" }, { "secret", "set", "--for", "vane" } };
    const auto before = run({ "verify", "--json" }).json()[QLatin1String("entries")].toInt();
    for (const auto& words : writers) {
        std::vector<std::string> named { "--operator", "rook" };
        named.insert(named.end(), words.begin(), words.end());
        const auto unasked = run(named);
        EXPECT_EQ(unasked.status, 2) << words[0] << " " << words[1];
        EXPECT_NE(unasked.err.find("--secret-file"), std::string::npos) << unasked.err;
        EXPECT_EQ(run(words).status, 2) << words[0] << ": nobody named";
    }
    EXPECT_EQ(run({ "verify", "--json" }).json()[QLatin1String("entries")].toInt(), before) << "nothing was written";
    EXPECT_EQ(run({ "--operator", "rook", "import", folder }, kRook + "\n").status, 0);
    EXPECT_EQ(run({ "--operator", "rook", "act", "ward", "--ward", "W8" }, kRook + "\n").status, 0);
    EXPECT_EQ(run({ "--operator", "arlen", "import", folder }, "480517\n").status, 2) << "a coordinator's";
    EXPECT_EQ(run({ "--operator", "arlen", "act", "ward", "--ward", "W9" }, "480517\n").status, 2);
    EXPECT_EQ(run({ "--operator", "arlen", "secret", "list" }, "480517\n").status, 2);
    EXPECT_EQ(run({ "--operator", "arlen", "act", "sign-in", "--ward", "W5" }, "480517\n").status, 0);
    EXPECT_EQ(run({ "board" }).status, 0) << "looking at the board asks nobody";
    EXPECT_EQ(run({ "verify" }).status, 0);
}

TEST_F(SecretCommand, SigningAMonthTakesIdAndSecretAtThatMoment)
{
    setUp();
    EXPECT_EQ(run({ "--operator", "rook", "review", "2026-01", "--sign", "reviewed" }, "kettle on the shelf\n").status, 2);
    EXPECT_TRUE(entriesOf("review.signed").empty());
    const auto done = run({ "--operator", "rook", "review", "2026-01", "--sign", "reviewed" }, kRook + "\n");
    EXPECT_EQ(done.status, 0) << done.err;
    EXPECT_NE(done.err.find("One try with your id failed"), std::string::npos) << "told of the failed try: " << done.err;
    EXPECT_EQ(entriesOf("review.signed").size(), 1u);
}

TEST_F(SecretCommand, WhatAnInspectorIsShownGoesOnRecord)
{
    setUp();
    EXPECT_EQ(run({ "--operator", "vane", "board" }).status, 2) << "no secret, no view under that id";
    give("vane", "330719");
    EXPECT_EQ(run({ "--operator", "vane", "board" }, "111111\n").status, 2);
    const auto board = run({ "--operator", "vane", "board", "--ward", "W5" }, "330719\n");
    EXPECT_EQ(board.status, 0) << board.err;
    EXPECT_EQ(run({ "--operator", "vane", "operators" }, "330719\n").status, 0);
    EXPECT_EQ(run({ "--operator", "vane", "verify" }, "330719\n").status, 0);
    EXPECT_EQ(run({ "--operator", "vane", "export", "--format", "csv", "--out", m_folder.filePath(QStringLiteral("out")).toStdString() },
                  "330719\n")
                  .status,
        0);
    const auto shown = entriesOf("records.shown");
    ASSERT_EQ(shown.size(), 4u);
    EXPECT_EQ(shown[0][QLatin1String("operator")].toString(), QStringLiteral("registry"));
    const auto what = [&](std::size_t i) {
        const auto body = shown[i][QLatin1String("body")];
        return (body.isObject() ? body.toObject() : QJsonDocument::fromJson(body.toString().toUtf8()).object())[QLatin1String("what")]
            .toString()
            .toStdString();
    };
    EXPECT_EQ(what(0), "board --ward W5");
    EXPECT_EQ(what(1), "operators");
    EXPECT_TRUE(what(3).starts_with("export --format csv")) << what(3);
    EXPECT_EQ(run({ "--operator", "vane", "act", "sign-in", "--ward", "W5" }, "330719\n").status, 0);
    EXPECT_EQ(run({ "--operator", "vane", "act", "ward", "--ward", "W9" }, "330719\n").status, 2);
    EXPECT_EQ(run({ "--operator", "arlen", "board" }).status, 0) << "a nurse looks as before";
}

TEST_F(SecretCommand, FailedTriesLockAndACoordinatorSeesAndUnlocks)
{
    setUp();
    give("arlen", "480517");
    std::string first, last;
    for (int i = 0; i < 5; ++i)
        (i == 0 ? first : last) = run({ "--operator", "arlen", "secret", "check" }, "000000\n").err;
    EXPECT_EQ(first, last);
    EXPECT_EQ(run({ "--operator", "arlen", "secret", "check" }, "480517\n").err, first) << "the right one, too late, in the same words";
    EXPECT_EQ(run({ "--operator", "nobody", "secret", "check" }, "480517\n").err, first);
    const auto list = run({ "--operator", "rook", "secret", "list", "--json" }, kRook + "\n");
    ASSERT_EQ(list.status, 0) << list.err;
    bool locked = false;
    for (const QJsonValue& each : list.json()[QLatin1String("operators")].toArray())
        locked = locked
            || (each.toObject()[QLatin1String("operator")].toString() == QLatin1String("arlen")
                && !each.toObject()[QLatin1String("locked_until")].isNull());
    EXPECT_TRUE(locked) << list.out;
    EXPECT_EQ(list.json()[QLatin1String("unknown_ids_last_day")].toInt(), 1);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "unlock", "--for", "arlen", "--reason", "stood beside" }, kRook + "\n").status, 0);
    EXPECT_EQ(run({ "--operator", "arlen", "secret", "check" }, "480517\n").status, 0);
}

TEST_F(SecretCommand, RecoveryNeedsTheCodeAWitnessAndAReason)
{
    setUp();
    EXPECT_EQ(run({ "--operator", "rook", "secret", "recover", "--reason", "forgotten" }, m_code + "\nlamp by the window\n").status, 2);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "recover", "--witness", "M. Hale", "--reason", "forgotten" },
                  "0000-0000\nlamp by the window\n")
                  .status,
        2);
    const auto done = run({ "--operator", "rook", "secret", "recover", "--witness", "M. Hale", "--reason", "forgotten", "--json" },
        m_code + "\nlamp by the window\n");
    ASSERT_EQ(done.status, 0) << done.err;
    EXPECT_NE(done.json()[QLatin1String("recovery_code")].toString().toStdString(), m_code);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check" }, "lamp by the window\n").status, 0);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check" }, kRook + "\n").status, 2);
    EXPECT_EQ(entriesOf("secret.recovered").size(), 1u);
    EXPECT_EQ(run({ "verify" }).status, 0);
}

TEST_F(SecretCommand, TakesASecretFileOnlyWhereNobodyElseCanReadIt)
{
    setUp();
    const auto open = run({ "--operator", "rook", "secret", "check", "--secret-file", file(kRook + "\n", 0644) });
    EXPECT_EQ(open.status, 2);
    EXPECT_NE(open.err.find("can be read by others"), std::string::npos) << open.err;
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check", "--secret-file", file(kRook + "\n", 0640) }).status, 2);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check", "--secret-file", file(kRook + "\n", 0600) }).status, 0);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check", "--secret-file", m_folder.path().toStdString() }).status, 2);
    EXPECT_EQ(run({ "--operator", "rook", "secret", "check", "--secret-file", "/dev/null" }).status, 2);
    const auto asArgument = run({ "--operator", "rook", "secret", "check", "--secret", kRook });
    EXPECT_EQ(asArgument.status, 2) << "there is no such option";
}

} // namespace mk::cli
