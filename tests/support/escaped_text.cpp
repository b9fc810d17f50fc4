// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/escaped_text.h"

#include "words/pseudo_language.h"

#include <QDir>
#include <QFile>
#include <QLocale>
#include <QRegularExpression>

#include <algorithm>
#include <functional>

namespace mk::support {

namespace {

const QRegularExpression& wordPattern()
{
    static const QRegularExpression pattern(QStringLiteral("[\\p{L}\\d][\\p{L}\\d_.:/\\\\-]*"));
    return pattern;
}

bool isSymbol(const QString& word)
{
    static const QSet<QString> symbols { QStringLiteral("mg/dL"), QStringLiteral("mmol/L"), QStringLiteral("SD"), QStringLiteral("CV"),
        QStringLiteral("SDI"), QStringLiteral("HI"), QStringLiteral("LO"), QStringLiteral("ERR"), QStringLiteral("EWMA"),
        QStringLiteral("CUSUM"), QStringLiteral("R-4s"), QStringLiteral("Meterkeep"), QStringLiteral("z"), QStringLiteral("n") };
    return symbols.contains(word);
}

/// The kind of an entry is a code: control.run
bool isKindOfAct(const QString& word)
{
    static const QRegularExpression kind(QStringLiteral("^[a-z_]+\\.[a-z_]+$"));
    return kind.match(word).hasMatch();
}

/// A day or a month, which the locale names and no translation.
bool isOfCalendar(const QString& word)
{
    static const QSet<QString> names = [] {
        QSet<QString> all;
        for (const auto format : { QLocale::ShortFormat, QLocale::LongFormat }) {
            for (int day = 1; day <= 7; ++day)
                all.insert(QLocale(QLocale::English).dayName(day, format));
            for (int month = 1; month <= 12; ++month)
                all.insert(QLocale(QLocale::English).monthName(month, format));
        }
        return all;
    }();
    return names.contains(word);
}

/// The cells of a CSV line; a quoted one may hold commas.
QStringList cellsOf(const QString& line)
{
    QStringList cells { QString() };
    bool quoted = false;
    for (const QChar c : line.trimmed()) {
        if (c == QLatin1Char('"'))
            quoted = !quoted;
        else if (c == QLatin1Char(',') && !quoted)
            cells.append(QString());
        else
            cells.back() += c;
    }
    return cells;
}

void takeWords(const QString& cell, QSet<QString>& into)
{
    auto match = wordPattern().globalMatch(cell);
    while (match.hasNext())
        into.insert(match.next().captured());
}

bool isPartOfWord(const QString& line, qsizetype at)
{
    return at >= 0 && at < line.size() && line[at].isLetterOrNumber();
}

/// Takes out what somebody typed, wherever it stands whole; the longest first, since one may hold another.
QString withoutTexts(QString line, const QSet<QString>& texts)
{
    QStringList longestFirst(texts.begin(), texts.end());
    std::ranges::sort(longestFirst, std::greater(), [](const QString& text) { return text.size(); });
    for (const QString& text : longestFirst)
        for (qsizetype at = line.indexOf(text); at >= 0; at = line.indexOf(text, at + 1))
            if (!isPartOfWord(line, at - 1) && !isPartOfWord(line, at + text.size()))
                line.replace(at, text.size(), QLatin1Char(' '));
    return line;
}

} // namespace

RecordData dataOfRecords(const QString& folder)
{
    static const QSet<QString> names { QStringLiteral("ward"), QStringLiteral("model"), QStringLiteral("meter"), QStringLiteral("serial"),
        QStringLiteral("operator"), QStringLiteral("badge"), QStringLiteral("lot"), QStringLiteral("vial"), QStringLiteral("strip_lot"),
        QStringLiteral("strip_vial"), QStringLiteral("control_lot"), QStringLiteral("control_vial"), QStringLiteral("set"),
        QStringLiteral("pair"), QStringLiteral("code") };
    static const QSet<QString> free { QStringLiteral("comment"), QStringLiteral("detail"), QStringLiteral("name"),
        QStringLiteral("reason") };
    RecordData data;
    for (const QString& name : QDir(folder).entryList({ QStringLiteral("*.csv") }, QDir::Files)) {
        QFile file(QDir(folder).filePath(name));
        if (!file.open(QIODevice::ReadOnly))
            continue;
        const QStringList lines = QString::fromUtf8(file.readAll()).split(QLatin1Char('\n'));
        const QStringList header = cellsOf(lines.front());
        for (qsizetype line = 1; line < lines.size(); ++line) {
            const QStringList cells = cellsOf(lines[line]);
            for (qsizetype at = 0; at < std::min(cells.size(), header.size()); ++at) {
                if (free.contains(header[at]) && !cells[at].isEmpty())
                    data.texts.insert(cells[at]);
                else if (names.contains(header[at]))
                    takeWords(cells[at], data.words);
            }
        }
    }
    return data;
}

QStringList escapedIn(const QString& shown, const RecordData& data)
{
    static const QRegularExpression digit(QStringLiteral("\\d"));
    QStringList escaped;
    auto match = wordPattern().globalMatch(withoutTexts(words::untranslated(shown), data.texts));
    while (match.hasNext()) {
        QString word = match.next().captured();
        while (word.endsWith(QLatin1Char('.')) || word.endsWith(QLatin1Char(':')))
            word.chop(1);
        if (word.contains(digit) || isSymbol(word) || isKindOfAct(word) || data.words.contains(word))
            continue;
        escaped.append(word);
    }
    return escaped;
}

QStringList plainIn(const QString& shown, const RecordData& data)
{
    static const QRegularExpression marks(QStringLiteral("[\u27e6\u27e7~]")), unaccented(QStringLiteral("[aceinouyszACEINOUYSZ]"));
    QString bare = shown;
    bare.replace(marks, QStringLiteral(" "));
    QStringList plain;
    for (const QString& word : escapedIn(bare, data))
        if (word.contains(unaccented) && !isOfCalendar(word))
            plain.append(word);
    return plain;
}

} // namespace mk::support
