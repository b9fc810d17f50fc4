// SPDX-License-Identifier: GPL-3.0-or-later
// The help of every command, what is said of wrong words, and the studies, in the language that nobody speaks.
#include "support/escaped_text.h"
#include "words/pseudo_language.h"

#include <QFile>
#include <QProcess>
#include <QRegularExpression>
#include <QTemporaryDir>

#include <gtest/gtest.h>

namespace mk::journeys {
namespace {

QString cliSays(const QString& language, const QStringList& words)
{
    QProcess program;
    program.start(QStringLiteral(MK_CLI), QStringList { QStringLiteral("--language"), language } + words);
    EXPECT_TRUE(program.waitForFinished(100'000));
    return QString::fromUtf8(program.readAllStandardOutput() + program.readAllStandardError());
}

/// What is typed as it is in every language: options, choices in braces, defaults behind an equals sign.
QString withoutTyped(QString line)
{
    static const QRegularExpression typed(QStringLiteral("\\{[^}]*\\}|=[^ ]+|(?<![\\w-])--?[a-z][a-z0-9-]*"));
    return line.remove(typed);
}

void expectAllTranslated(const QString& shown, const QString& where, const support::RecordData& data)
{
    EXPECT_FALSE(shown.isEmpty()) << where.toStdString();
    // A translated text may go over several lines.
    for (const QString& line : words::untranslated(shown).split(QLatin1Char('\n'))) {
        const QStringList escaped = support::escapedIn(withoutTyped(line), data);
        EXPECT_TRUE(escaped.isEmpty()) << where.toStdString() << ": " << escaped.join(QLatin1Char(' ')).toStdString()
                                       << "\n  in: " << line.toStdString();
    }
}

/// The same, and what fills the places of the sentences as well.
void expectNothingPlain(const QString& shown, const QString& where, const support::RecordData& data)
{
    expectAllTranslated(shown, where, data);
    for (const QString& line : shown.split(QLatin1Char('\n'))) {
        const QStringList plain = support::plainIn(withoutTyped(line), data);
        EXPECT_TRUE(plain.isEmpty()) << where.toStdString() << ": " << plain.join(QLatin1Char(' ')).toStdString()
                                     << "\n  in: " << line.toStdString();
    }
}

/// The commands that the English help of one lists.
QStringList commandsBelow(const QStringList& command)
{
    const QString help = cliSays(QStringLiteral("en"), command + QStringList { QStringLiteral("--help") });
    const auto from = help.indexOf(QStringLiteral("\nSubcommands:\n"));
    static const QRegularExpression name(QStringLiteral("\n  ([a-z][a-z0-9-]*)"));
    QStringList names;
    for (auto match = name.globalMatch(from < 0 ? QString() : help.mid(from)); match.hasNext();)
        names.append(match.next().captured(1));
    return names;
}

void expectHelpTranslated(const QStringList& command, int& seen)
{
    ++seen;
    const QStringList below = commandsBelow(command);
    support::RecordData data(QSet<QString>(below.begin(), below.end()));
    data.words.unite(QSet<QString>(command.begin(), command.end()));
    data.words.insert(QStringLiteral("meterkeep-cli"));
    for (const char* positional : { "paths", "meter", "month", "key", "file", "to", "copy", "address", "id", "entry", "FILE", "STRING" })
        data.words.insert(QLatin1String(positional));
    expectAllTranslated(cliSays(QStringLiteral("pseudo"), command + QStringList { QStringLiteral("--help") }),
        command.join(QLatin1Char(' ')) + QStringLiteral(" --help"), data);
    for (const QString& each : below)
        expectHelpTranslated(command + QStringList { each }, seen);
}

QString studyTable(const QTemporaryDir& folder, const char* name, const QByteArray& bytes)
{
    QFile file(folder.filePath(QLatin1String(name)));
    EXPECT_TRUE(file.open(QIODevice::WriteOnly));
    file.write(bytes);
    return file.fileName();
}

} // namespace

TEST(PseudoHelp, OfEveryCommand)
{
    int seen = 0;
    expectHelpTranslated({}, seen);
    EXPECT_GT(seen, 80);
}

/// The parser's own sentences are none of ours.
TEST(PseudoHelp, OfWrongWords)
{
    const char* const wrong[] = { "", "0x9", "board 0x9", "meter", "meter M-1 --from", "board --ward W5 --ward W5", "policy",
        "policy show --version 0", "policy preview 9 --months 61", "backup 9 --keep 0", "--as-of 0x9 board", "--as-of", "study",
        "study sigma", "study sigma --allowable 9x --bias 1 --cv 1", "study sigma --allowable --bias 1 --cv 1",
        "study sigma --allowable 9 --bias 1 --cv 1 --levels 99999999999", "study grid 9 --type 3", "study summary 9.csv --confidence nan",
        "run add --meter M-1", "act hold --meter M-1", "limits accept", "gs1" };
    for (const char* words : wrong) {
        const QString said = cliSays(QStringLiteral("pseudo"), QString::fromLatin1(words).split(QLatin1Char(' '), Qt::SkipEmptyParts));
        EXPECT_EQ(said.count(QLatin1Char('\n')), 1) << said.toStdString();
        expectNothingPlain(said, QLatin1String(words),
            support::RecordData(QSet<QString> {
                QStringLiteral("nan"), QStringLiteral("id"), QStringLiteral("meter"), QStringLiteral("FILE"), QStringLiteral("STRING") }));
    }
}

TEST(PseudoHelp, NoLanguageWhereJsonIsAskedFor)
{
    const QString said = cliSays(QStringLiteral("pseudo"), { QStringLiteral("--json"), QStringLiteral("study"), QStringLiteral("sigma") });
    EXPECT_EQ(words::untranslated(said), said);
}

TEST(PseudoStudies, Tables)
{
    const QTemporaryDir folder;
    const QString values = studyTable(folder, "values.csv", "value\n100\n101\n99\n102\n98\n103\n97\n100\n101\n111\n");
    const QString pairs = studyTable(folder, "pairs.csv",
        "reference,test,minutes\n60,62,1\n80,81,1\n100,104,1\n120,118,2\n150,155,3\n180,176,4\n220,231,5\n300,297,5\n350,362,5\n90,130,20\n");
    const QString groups = studyTable(folder, "groups.csv", "group,value\n1,5.1\n1,5.2\n2,5.6\n2,5.4\n3,5.0\n3,5.3\n");
    const QString precision = studyTable(
        folder, "precision.csv", "day,run,value\n1,1,5.1\n1,1,5.2\n1,2,5.0\n1,2,5.3\n2,1,5.6\n2,1,5.4\n2,2,5.2\n2,2,5.1\n");
    const QString levels = studyTable(
        folder, "levels.csv", "assigned,value\n40,41\n40,39\n100,101\n100,103\n200,190\n200,204\n400,380\n400,370\n");
    const QString lots = studyTable(folder, "lots.csv", "sample,current,candidate\n1,100,103\n2,200,206\n3,60,60\n4,90,120\n");
    const QString controls = studyTable(folder, "controls.csv", "set,level,z\n1,1,0.2\n1,2,2.4\n2,1,-3.2\n2,2,2.6\n3,1,0\n3,2,0.1\n");
    const QString none = folder.filePath(QStringLiteral("0.csv"));
    const QList<QStringList> studies { { QStringLiteral("summary"), values }, { QStringLiteral("robust"), values },
        { QStringLiteral("drift"), values, QStringLiteral("--target"), QStringLiteral("100"), QStringLiteral("--sd"), QStringLiteral("2") },
        { QStringLiteral("compare"), pairs, QStringLiteral("--unit"), QStringLiteral("mg/dL"), QStringLiteral("--weighted") },
        { QStringLiteral("grid"), pairs }, { QStringLiteral("anova"), groups }, { QStringLiteral("precision"), precision },
        { QStringLiteral("linearity"), levels, QStringLiteral("--allow-percent"), QStringLiteral("4") }, { QStringLiteral("lots"), lots },
        { QStringLiteral("lots"), lots, QStringLiteral("--allow-percent"), QStringLiteral("2") }, { QStringLiteral("rules"), controls },
        { QStringLiteral("rules"), none }, { QStringLiteral("summary"), pairs },
        { QStringLiteral("power"), QStringLiteral("--meters"), QStringLiteral("9") },
        { QStringLiteral("sigma"), QStringLiteral("--allowable"), QStringLiteral("15"), QStringLiteral("--bias"), QStringLiteral("2"),
            QStringLiteral("--cv"), QStringLiteral("3"), QStringLiteral("--meters"), QStringLiteral("9") } };
    // The names of columns are typed by whoever made the file; zones and criteria have codes.
    support::RecordData data(QSet<QString> { QStringLiteral("A"), QStringLiteral("B"), QStringLiteral("C"), QStringLiteral("D"),
        QStringLiteral("E"), QStringLiteral("minutes"), QStringLiteral("value"), QStringLiteral("main"), QStringLiteral("sample"),
        QStringLiteral("single") });
    for (const QStringList& study : studies) {
        QString shown = cliSays(QStringLiteral("pseudo"), QStringList { QStringLiteral("study") } + study);
        shown.replace(folder.path(), QStringLiteral("/1"));
        expectNothingPlain(shown, study.join(QLatin1Char(' ')), data);
    }
}

TEST(PseudoStudies, Gs1)
{
    expectNothingPlain(cliSays(QStringLiteral("pseudo"),
                           { QStringLiteral("gs1"), QStringLiteral("(01)12345678901231(17)270300(10)11127033121(21)12345") }),
        QStringLiteral("gs1"), {});
    for (const char* code : { "(01)1", "(99)", "9", "(17)271341" })
        expectNothingPlain(cliSays(QStringLiteral("pseudo"), { QStringLiteral("gs1"), QLatin1String(code) }), QLatin1String(code), {});
}

} // namespace mk::journeys
