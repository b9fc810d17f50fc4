// SPDX-License-Identifier: GPL-3.0-or-later
// The month in plain text.
#include "cli/output.h"
#include "cli/review_command.h"
#include "words/month_events.h"
#include "words/months.h"
#include "words/numbers.h"
#include "words/patterns.h"
#include "words/policy.h"
#include "words/signed_review.h"
#include "words/terms.h"

#include <QCoreApplication>

namespace mk::cli {

using namespace registry;

namespace {

struct MonthTableTexts {
    Q_DECLARE_TR_FUNCTIONS(Review)
};

QStringList figureColumns()
{
    return { MonthTableTexts::tr("Meter"), MonthTableTexts::tr("Level"), MonthTableTexts::tr("Strip lot"),
        MonthTableTexts::tr("Control lot"), MonthTableTexts::tr("n"), MonthTableTexts::tr("Mean"), MonthTableTexts::tr("SD"),
        MonthTableTexts::tr("CV %"), MonthTableTexts::tr("Bias %"), MonthTableTexts::tr("SDI"), MonthTableTexts::tr("In time"),
        MonthTableTexts::tr("Rules, errors") };
}

/// The first line of a meter has its name, its share in time and its rules; those below only their level.
QStringList figureRow(const LevelFigures& f, const QString& meter, const QString& inTime, const QString& rules)
{
    return { meter, words::level(f.level), words::text(f.stripLot.value), words::text(f.controlLot.value), QString::number(f.n),
        words::meanText(f.mean, f.unit), words::sdText(f.sd, f.unit), words::plainText(f.cvPercent, 1), words::signedText(f.biasPercent, 1),
        words::signedText(f.sdi, 1), inTime, rules };
}

std::string figuresTable(const MonthFigures& figures, const Policy& policy)
{
    std::vector<QStringList> rows { figureColumns() };
    for (const auto& meter : figures.meters) {
        const QString name = words::text(meter.meter.value);
        const QString inTime = MonthTableTexts::tr("%1 of %2")
                                   .arg(QString::number(meter.met), QString::number(meter.required() - meter.open));
        if (meter.levels.empty())
            rows.push_back({ name, MonthTableTexts::tr("no control"), {}, {}, {}, {}, {}, {}, {}, {}, inTime, {} });
        for (std::size_t i = 0; i < meter.levels.size(); ++i)
            rows.push_back(i == 0 ? figureRow(meter.levels[i], name, inTime, words::rulesInWords(meter, policy))
                                  : figureRow(meter.levels[i], {}, {}, {}));
    }
    std::vector<std::vector<std::string>> table;
    for (const auto& row : rows) {
        table.emplace_back();
        for (const auto& cell : row)
            table.back().push_back(cell.toStdString());
    }
    return alignedTable(table);
}

QString countsSaid(const MonthTotals& totals)
{
    return MonthTableTexts::tr("Late %1, missed %2, excused %3 (%4 afterwards), recorded late %5, unproven %6, rejected sets %7.")
        .arg(QString::number(totals.late), QString::number(totals.missed), QString::number(totals.excused),
            QString::number(totals.excusedAfterwards), QString::number(totals.recordedLate), QString::number(totals.unproven),
            QString::number(totals.rejectedSets));
}

/// What happened, patterns, signatures, what is due and how long it is kept; an empty line before each kind.
std::string extrasInWords(const ReviewExtras& extras, const Zone& zone)
{
    QStringList lines;
    for (const auto& section : words::monthSections(extras.events, extras.stops, zone)) {
        lines << QString() << words::countedHead(section);
        for (const auto& line : section.lines)
            lines << QStringLiteral("  ") + line;
    }
    if (!extras.patterns.empty())
        lines << QString() << words::patternsNote();
    for (const auto& pattern : extras.patterns)
        lines << QStringLiteral("  ") + words::patternSaid(pattern);
    if (!extras.signatures.empty())
        lines << QString();
    for (const auto& each : extras.signatures)
        lines << words::signatureLines(each, zone);
    if (const QString due = extras.signature ? words::monthToSign(*extras.signature) : QString(); !due.isEmpty())
        lines << QString() << due;
    if (extras.keptUntil)
        lines << QString() << words::monthKeptUntil(*extras.keptUntil);
    return lines.isEmpty() ? std::string() : lines.join(QLatin1Char('\n')).toStdString() + "\n";
}

} // namespace

std::string reviewText(const MonthFigures& figures, const Policy& policy, const ReviewExtras& extras, const Zone& zone)
{
    QStringList head { words::monthHeadline(figures) + QLatin1Char(' ') + words::metersToWatchInWords(figures, policy),
        countsSaid(figures.totals) };
    if (const QString notCleared = words::notClearedInWords(figures.totals.notCleared); !notCleared.isEmpty())
        head << notCleared;
    return head.join(QLatin1Char('\n')).toStdString() + "\n\n" + figuresTable(figures, policy) + extrasInWords(extras, zone);
}

} // namespace mk::cli
