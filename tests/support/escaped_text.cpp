// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/escaped_text.h"

#include "words/pseudo_language.h"

#include <QDir>
#include <QFile>
#include <QRegularExpression>

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

} // namespace

QSet<QString> wordsOfRecords(const QString& folder)
{
    static const QSet<QString> free { QStringLiteral("ward"), QStringLiteral("name"), QStringLiteral("model"), QStringLiteral("meter"),
        QStringLiteral("serial"), QStringLiteral("operator"), QStringLiteral("badge"), QStringLiteral("lot"), QStringLiteral("vial"),
        QStringLiteral("strip_lot"), QStringLiteral("strip_vial"), QStringLiteral("control_lot"), QStringLiteral("control_vial"),
        QStringLiteral("set"), QStringLiteral("comment"), QStringLiteral("detail"), QStringLiteral("pair"), QStringLiteral("code") };
    QSet<QString> words;
    for (const QString& name : QDir(folder).entryList({ QStringLiteral("*.csv") }, QDir::Files)) {
        QFile file(QDir(folder).filePath(name));
        if (!file.open(QIODevice::ReadOnly))
            continue;
        const QStringList lines = QString::fromUtf8(file.readAll()).split(QLatin1Char('\n'));
        const QStringList header = lines.front().trimmed().split(QLatin1Char(','));
        for (qsizetype line = 1; line < lines.size(); ++line) {
            const QStringList cells = lines[line].trimmed().split(QLatin1Char(','));
            for (qsizetype at = 0; at < std::min(cells.size(), header.size()); ++at) {
                if (!free.contains(header[at]))
                    continue;
                auto match = wordPattern().globalMatch(cells[at]);
                while (match.hasNext())
                    words.insert(match.next().captured());
            }
        }
    }
    return words;
}

QStringList escapedIn(const QString& shown, const QSet<QString>& data)
{
    static const QRegularExpression digit(QStringLiteral("\\d"));
    QStringList escaped;
    auto match = wordPattern().globalMatch(words::untranslated(shown));
    while (match.hasNext()) {
        QString word = match.next().captured();
        while (word.endsWith(QLatin1Char('.')) || word.endsWith(QLatin1Char(':')))
            word.chop(1);
        if (word.size() < 2 || word.contains(digit) || isSymbol(word) || data.contains(word))
            continue;
        escaped.append(word);
    }
    return escaped;
}

} // namespace mk::support
