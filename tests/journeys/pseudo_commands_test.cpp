// SPDX-License-Identifier: GPL-3.0-or-later
// What the command line prints for people, and what stands on paper, in the language that nobody speaks: what is not marked escaped
// translation.
#include "support/escaped_text.h"
#include "support/private_server.h"
#include "words/pseudo_language.h"

#include <QDir>
#include <QProcess>
#include <QRegularExpression>
#include <QSqlQuery>
#include <QTemporaryDir>
#include <QVariant>

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

/// The demo hospital, taken over once by the program itself.
class PseudoCommands : public ::testing::Test {
protected:
    static void SetUpTestSuite()
    {
        s_folder = std::make_unique<QTemporaryDir>();
        run({ QStringLiteral("init"), QStringLiteral("--zone"), QStringLiteral("Europe/Berlin") });
        run({ QStringLiteral("import"), QStringLiteral(MK_SOURCE_DIR "/demo-data") });
        s_data = support::dataOfRecords(QStringLiteral(MK_SOURCE_DIR "/demo-data"));
        s_data.words.insert(QStringLiteral("import")); // who recorded what no person did
    }
    static void TearDownTestSuite() { s_folder.reset(); }

    static QString run(const QStringList& words) { return runOn(QStringLiteral("demo.mkr"), words); }
    static QString runOn(const QString& registry, const QStringList& words)
    {
        QProcess program;
        QStringList arguments { QStringLiteral("--registry"), s_folder->filePath(registry), QStringLiteral("--language"),
            QStringLiteral("pseudo"), QStringLiteral("--operator"), QStringLiteral("rook"), QStringLiteral("--at"),
            QStringLiteral("2026-11-12T12:00") };
        program.start(QStringLiteral(MK_CLI), arguments + words);
        EXPECT_TRUE(program.waitForFinished(200'000));
        return QString::fromUtf8(program.readAllStandardOutput() + program.readAllStandardError());
    }

    static void expectNothingEscapes(const QStringList& words) { expectNothingEscapesOn(QStringLiteral("demo.mkr"), words); }
    static void expectNothingEscapesOn(const QString& registry, const QStringList& words)
    {
        QString shown = runOn(registry, words);
        shown.replace(s_folder->path(), QStringLiteral("/1")); // the name of a folder is data
        EXPECT_FALSE(shown.isEmpty()) << words.join(QLatin1Char(' ')).toStdString();
        expectNothingEscapesIn(shown, words.join(QLatin1Char(' ')));
    }
    static void expectNothingEscapesIn(const QString& shown, const QString& where)
    {
        for (const QString& line : shown.split(QLatin1Char('\n'))) {
            const QStringList escaped = support::escapedIn(line, s_data);
            EXPECT_TRUE(escaped.isEmpty()) << where.toStdString() << ": " << escaped.join(QLatin1Char(' ')).toStdString()
                                           << "\n  in: " << line.toStdString();
        }
    }

    static std::unique_ptr<QTemporaryDir> s_folder;
    static support::RecordData s_data;
};

std::unique_ptr<QTemporaryDir> PseudoCommands::s_folder;
support::RecordData PseudoCommands::s_data;

} // namespace

TEST_F(PseudoCommands, Board)
{
    expectNothingEscapes({ QStringLiteral("board") });
}

TEST_F(PseudoCommands, MeterFiles)
{
    for (const char* meter : { "M-05", "M-07", "M-11" })
        expectNothingEscapes({ QStringLiteral("meter"), QLatin1String(meter) });
}

TEST_F(PseudoCommands, Verify)
{
    expectNothingEscapes({ QStringLiteral("verify") });
}

TEST_F(PseudoCommands, Review)
{
    expectNothingEscapes({ QStringLiteral("review"), QStringLiteral("2026-10"), QStringLiteral("--ward"), QStringLiteral("W5") });
}

TEST_F(PseudoCommands, Operators)
{
    expectNothingEscapes({ QStringLiteral("operators") });
}

TEST_F(PseudoCommands, PreviewOfAPolicy)
{
    expectNothingEscapes({ QStringLiteral("policy"), QStringLiteral("preview"),
        QStringLiteral(MK_SOURCE_DIR "/db/policy/laboratory-grade.policy"), QStringLiteral("--months"), QStringLiteral("1") });
}

TEST_F(PseudoCommands, CopiesAndExports)
{
    expectNothingEscapes({ QStringLiteral("export"), QStringLiteral("--format"), QStringLiteral("all"), QStringLiteral("--out"),
        s_folder->filePath(QStringLiteral("handover")) });
    expectNothingEscapes({ QStringLiteral("backup"), s_folder->filePath(QStringLiteral("copy.mkr")) });
}

TEST_F(PseudoCommands, Traces)
{
    for (const QStringList& asked : { QStringList { QStringLiteral("lot"), QStringLiteral("S2611") },
             { QStringLiteral("vial"), QStringLiteral("S2607-01") }, { QStringLiteral("meter"), QStringLiteral("M-07") } })
        expectNothingEscapes(QStringList { QStringLiteral("trace") } + asked);
    expectNothingEscapes({ QStringLiteral("stock") });
}

TEST_F(PseudoCommands, HistoryOfACorrectedSet)
{
    expectNothingEscapes({ QStringLiteral("history"), QStringLiteral("M-09/2026-08-05") });
}

TEST_F(PseudoCommands, Limits)
{
    expectNothingEscapes({ QStringLiteral("limits"), QStringLiteral("propose"), QStringLiteral("--strip-lot"), QStringLiteral("S2607") });
}

/// Settings and their values are typed; where a default comes from is said.
TEST_F(PseudoCommands, PolicyShown)
{
    const QString shown = run({ QStringLiteral("policy"), QStringLiteral("show") });
    static const QRegularExpression setting(QStringLiteral("^([a-z0-9_]+ = .*)?$"));
    int said = 0;
    for (const QString& line : shown.split(QLatin1Char('\n'))) {
        if (setting.match(line).hasMatch())
            continue;
        const QStringList plain = support::plainIn(line, s_data);
        EXPECT_TRUE(plain.isEmpty()) << plain.join(QLatin1Char(' ')).toStdString() << "\n  in: " << line.toStdString();
        ++said;
    }
    EXPECT_GT(said, 60);
}

/// Somebody changed the file past the program: what does not hold, and what begins sentences about it.
TEST_F(PseudoCommands, VerifyOfABrokenChain)
{
    const QString broken = QStringLiteral("4.mkr");
    run({ QStringLiteral("backup"), s_folder->filePath(broken) });
    ASSERT_TRUE(QFile::setPermissions(s_folder->filePath(broken), QFile::ReadOwner | QFile::WriteOwner));
    support::pastTheProgram(s_folder->filePath(broken).toStdString(), [](QSqlQuery& query) {
        QStringList statements { QStringLiteral("UPDATE journal SET body = replace(body, '1', '2') WHERE seq = 20"),
            QStringLiteral("DELETE FROM strip_vial") };
        ASSERT_TRUE(query.exec(QStringLiteral("SELECT name FROM sqlite_master WHERE type = 'trigger'")));
        while (query.next())
            statements.prepend(QStringLiteral("DROP TRIGGER ") + query.value(0).toString());
        for (const QString& statement : statements)
            ASSERT_TRUE(query.exec(statement)) << statement.toStdString();
    });
    support::RecordData data = s_data; // what SQL calls tables and triggers
    for (const char* name : { "trigger", "journal_in_order", "journal_no_delete", "journal_no_update", "strip_vial", "operator" })
        data.words.insert(QLatin1String(name));
    for (const QStringList& words :
        { QStringList { QStringLiteral("verify") }, { QStringLiteral("backup"), s_folder->filePath(QStringLiteral("5.mkr")) } }) {
        QString shown = runOn(broken, words);
        shown.replace(s_folder->path(), QStringLiteral("/1"));
        const QStringList plain = support::plainIn(shown, data);
        EXPECT_TRUE(plain.isEmpty()) << plain.join(QLatin1Char(' ')).toStdString() << "\n  in: " << shown.toStdString();
    }
}

TEST_F(PseudoCommands, PolicyChecked)
{
    expectNothingEscapes(
        { QStringLiteral("policy"), QStringLiteral("check"), QStringLiteral(MK_SOURCE_DIR "/db/policy/laboratory-grade.policy") });
}

TEST_F(PseudoCommands, RefusalsOfTheTerminal)
{
    for (const QStringList& asked : { QStringList { QStringLiteral("trace"), QStringLiteral("meter"), QStringLiteral("M-99") },
             { QStringLiteral("history"), QStringLiteral("M-99") },
             { QStringLiteral("board"), QStringLiteral("--as-of"), QStringLiteral("0") },
             { QStringLiteral("review"), QStringLiteral("2026-10"), QStringLiteral("--out"), QStringLiteral("9.txt") },
             { QStringLiteral("export"), QStringLiteral("--format"), QStringLiteral("7"), QStringLiteral("--out"), QStringLiteral("9") } })
        expectNothingEscapes(asked);
}

/// On a copy, so that the demo stays as it is for the others.
TEST_F(PseudoCommands, RecordedActsAndCarriedRegistries)
{
    const QString copy = s_folder->filePath(QStringLiteral("from.mkr")), other = QStringLiteral("2.mkr"), third = QStringLiteral("3.mkr");
    run({ QStringLiteral("backup"), copy });
    expectNothingEscapesOn(other, { QStringLiteral("restore"), copy });
    expectNothingEscapesOn(other, { QStringLiteral("move"), s_folder->filePath(third), QStringLiteral("--keep") });
    expectNothingEscapesOn(third, { QStringLiteral("act"), QStringLiteral("ward"), QStringLiteral("--ward"), QStringLiteral("W9") });
}

TEST_F(PseudoCommands, ListOfSecrets)
{
    expectNothingEscapes({ QStringLiteral("secret"), QStringLiteral("list") });
}

/// What programs read knows no language.
TEST_F(PseudoCommands, JsonIsNotTranslated)
{
    for (const QStringList& asked : { QStringList { QStringLiteral("board") }, { QStringLiteral("meter"), QStringLiteral("M-07") },
             { QStringLiteral("review"), QStringLiteral("2026-10") } }) {
        const QString shown = run(asked + QStringList { QStringLiteral("--json") });
        EXPECT_GT(shown.size(), 1000);
        EXPECT_EQ(words::untranslated(shown), shown) << asked.join(QLatin1Char(' ')).toStdString();
    }
}

TEST_F(PseudoCommands, ReviewOnPaper)
{
    const QString paper = s_folder->filePath(QStringLiteral("review.pdf"));
    run({ QStringLiteral("review"), QStringLiteral("2026-10"), QStringLiteral("--ward"), QStringLiteral("W5"), QStringLiteral("--out"),
        paper });
    QProcess reader;
    reader.start(QStringLiteral("pdftotext"), { QStringLiteral("-raw"), paper, QStringLiteral("-") });
    ASSERT_TRUE(reader.waitForFinished(100'000));
    const QString text = QString::fromUtf8(reader.readAllStandardOutput());
    ASSERT_GT(text.size(), 1000);
    // A sentence may go over several lines: the page is one text.
    QString page = text;
    page.replace(QLatin1Char('\n'), QLatin1Char(' '));
    // A digest stands in groups of four, and a group may be letters alone.
    static const QRegularExpression digest(QStringLiteral("\\b[0-9a-f]{4}( [0-9a-f]{4}){7}\\b"));
    page.remove(digest);
    expectNothingEscapesIn(page, QStringLiteral("the review on paper"));
}

} // namespace mk::journeys
