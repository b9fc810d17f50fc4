// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/m07_sample.h"

#include "report/paper/month_report.h"
#include "words/months.h"
#include "words/pseudo_language.h"

#include <QFile>
#include <QCoreApplication>
#include <QProcess>
#include <QRectF>
#include <QTemporaryDir>
#include <QXmlStreamReader>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::report {
namespace {

MonthReportInput aReport(int meters)
{
    const auto meterInput = sample::wardInput(meters);
    MonthReportInput input;
    input.policy = registry::defaultPolicy();
    input.zone = sample::zone();
    input.wardName = "Ward W5, Surgery";
    input.figures = registry::monthFigures(
        meterInput, { 2026, 10 }, base::WardId("W5"), input.policy, input.zone, sample::at(11, 13, 8, 0));
    const auto sets = sample::m07Sets();
    input.charts.push_back(
        controlChartScene({ base::MeterId("M-07"), sets, {}, {} }, input.zone, sample::at(10, 1, 0, 0), sample::at(10, 31, 23, 59)));
    input.entry = { 17304 };
    input.digest = "5be091c72f4ad80677e31b9c40aae852c31d66049f7e25b80d43fa1683c97e21";
    input.program = "Meterkeep";
    input.person = "J. Rook";
    input.printedAt = sample::at(11, 13, 8, 4);
    return input;
}

/// The PDF's text, lines as they stand; empty where the reader is not installed.
QString textOf(const QString& path)
{
    QProcess reader;
    reader.start(QStringLiteral("pdftotext"), { QStringLiteral("-layout"), path, QStringLiteral("-") });
    if (!reader.waitForFinished(30'000))
        return {};
    return QString::fromUtf8(reader.readAllStandardOutput());
}

class MonthReport : public testing::Test {
protected:
    QString write(const MonthReportInput& input)
    {
        const QString path = m_folder.filePath(QStringLiteral("review.pdf"));
        const auto done = writeMonthReport(input, path.toStdString());
        EXPECT_TRUE(done) << done.error().text;
        return path;
    }
    QString textOfReport(const MonthReportInput& input) { return textOf(write(input)); }
    QTemporaryDir m_folder;
};

TEST_F(MonthReport, IsAnArchivalPdf)
{
    QFile file(write(aReport(8)));
    ASSERT_TRUE(file.open(QIODevice::ReadOnly));
    const QByteArray bytes = file.readAll();
    EXPECT_TRUE(bytes.startsWith("%PDF-1.4"));
    EXPECT_TRUE(bytes.contains("pdfaid:part")) << "the PDF/A mark";
    EXPECT_EQ(bytes.count("/SMask"), bytes.count("/SMask /None")) << "no transparency";
    EXPECT_FALSE(bytes.contains("/Subtype /Image")) << "charts are drawn, not pictured";
}

// What a review must say: handbook 7.2 (last paragraph) and 8.6.
TEST_F(MonthReport, SaysWhatAnInspectorAsksFor)
{
    const QString text = textOfReport(aReport(8));
    ASSERT_FALSE(text.isEmpty()) << "the PDF has no text, or pdftotext (poppler-utils, which the test command installs) is missing";
    for (const char* needed : { "Monthly review, October 2026", "Ward W5, Surgery", "page 1 of", "to watch: ", "M-07", "controls in time",
             "entry 17 304", "5be0 91c7 2f4a", "rule set 2, policy 1", "by J. Rook", "All results in mg/dL", "Nothing is filtered out",
             "Fri 13 Nov 2026, 08:00 (+01:00)", "strip lot S2611", "1-3s", "HI", "Every rejected set", "Repeat: high 306 accepted.",
             "local policy come first", "late", "missed", "excused", "rejected sets" })
        EXPECT_TRUE(text.contains(QString::fromUtf8(needed))) << needed;
}

TEST_F(MonthReport, LongTablesGoOnWithTheirHeading)
{
    const QString text = textOfReport(aReport(40));
    ASSERT_FALSE(text.isEmpty()) << "the PDF has no text, or pdftotext (poppler-utils, which the test command installs) is missing";
    const QStringList pages = text.split(QLatin1Char('\f'), Qt::SkipEmptyParts);
    ASSERT_GT(pages.size(), 5);
    for (qsizetype i = 0; i < pages.size(); ++i)
        EXPECT_TRUE(pages[i].contains(QStringLiteral("page %1 of %2").arg(i + 1).arg(pages.size()))) << i;
    const auto headed = std::ranges::count_if(pages, [](const QString& page) { return page.contains(QStringLiteral("min to max")); });
    EXPECT_GE(headed, 4) << "160 rows take more than three pages";
    for (int meter = 1; meter <= 40; ++meter)
        EXPECT_EQ(text.count(QStringLiteral("M-%1 ").arg(meter, 2, 10, QLatin1Char('0'))) >= 6, true) << meter;
}

struct PlacedWord {
    QRectF box;
    QString text;
};

/// Every word of a page with the place where it stands, in points.
std::vector<std::vector<PlacedWord>> wordsOf(const QString& path)
{
    QProcess reader;
    reader.start(QStringLiteral("pdftotext"), { QStringLiteral("-bbox"), path, QStringLiteral("-") });
    std::vector<std::vector<PlacedWord>> pages;
    if (!reader.waitForFinished(30'000))
        return pages;
    QXmlStreamReader xml(reader.readAllStandardOutput());
    while (!xml.atEnd()) {
        if (xml.readNext() != QXmlStreamReader::StartElement)
            continue;
        if (xml.name() == QLatin1String("page"))
            pages.emplace_back();
        if (xml.name() != QLatin1String("word"))
            continue;
        const auto at = [&](const char* name) { return xml.attributes().value(QLatin1String(name)).toDouble(); };
        const QRectF box(QPointF(at("xMin"), at("yMin")), QPointF(at("xMax"), at("yMax")));
        pages.back().push_back({ box, xml.readElementText() });
    }
    return pages;
}

// In the language whose words are longer by a third, as the window's pages are looked at.
TEST_F(MonthReport, LongerWordsDoNotRunIntoEachOther)
{
    words::PseudoLanguage language;
    QCoreApplication::installTranslator(&language);
    const auto pages = wordsOf(write(aReport(8)));
    QCoreApplication::removeTranslator(&language);
    ASSERT_FALSE(pages.empty()) << "pdftotext (poppler-utils, which the test command installs) is missing";
    const double right = 553, bottom = 832; // points of A4, inside the margins
    for (const auto& page : pages)
        for (std::size_t i = 0; i < page.size(); ++i) {
            EXPECT_LE(page[i].box.right(), right) << page[i].text.toStdString();
            EXPECT_LE(page[i].box.bottom(), bottom) << page[i].text.toStdString();
            for (std::size_t j = i + 1; j < page.size(); ++j) {
                const QRectF both = page[i].box.intersected(page[j].box);
                EXPECT_FALSE(both.width() > 0.8 && both.height() > page[i].box.height() * 0.4)
                    << page[i].text.toStdString() << " and " << page[j].text.toStdString();
            }
        }
}

TEST_F(MonthReport, AnEmptyWardIsSaidToBeOne)
{
    MonthReportInput input = aReport(8);
    input.charts.clear();
    input.figures = registry::monthFigures({}, { 2026, 10 }, base::WardId("W9"), input.policy, input.zone, input.figures.cutOff);
    const QString text = textOfReport(input);
    ASSERT_FALSE(text.isEmpty()) << "the PDF has no text, or pdftotext (poppler-utils, which the test command installs) is missing";
    EXPECT_TRUE(text.contains(QStringLiteral("Ward W9 owed no controls in October 2026.")));
    EXPECT_TRUE(text.contains(QStringLiteral("There was none.")));
}

TEST_F(MonthReport, LeavesNothingBehindWhereItCannotWrite)
{
    const auto done = writeMonthReport(aReport(8), "/nowhere/review.pdf");
    ASSERT_FALSE(done);
    EXPECT_EQ(done.error().kind, base::FaultKind::Io);
    EXPECT_NE(done.error().text.find("/nowhere/review.pdf"), std::string::npos);
}

TEST(MonthWords, CompletenessIsNeverRoundedUp)
{
    registry::MonthFigures figures;
    figures.month = { 2026, 10 };
    figures.ward = base::WardId("W5");
    figures.totals.met = 9999;
    figures.totals.missed = 1;
    EXPECT_EQ(words::monthHeadline(figures), QStringLiteral("Ward W5 met 9999 of 10000 controls in time, 99.9 %."));
    figures.totals.missed = 0;
    EXPECT_EQ(words::monthHeadline(figures), QStringLiteral("Ward W5 met 9999 of 9999 controls in time, 100.0 %."));
}

// Decimals: handbook 10.4, values 0 (mg/dL) or 1 (mmol/L), means one more, SD two more.
TEST(MonthWords, NumbersHaveTheDecimalsOfTheirUnit)
{
    EXPECT_EQ(words::meanText(294.149, base::GlucoseUnit::MgPerDl), QStringLiteral("294.1"));
    EXPECT_EQ(words::sdText(8.9, base::GlucoseUnit::MgPerDl), QStringLiteral("8.90"));
    EXPECT_EQ(words::meanText(5.56, base::GlucoseUnit::MmolPerL), QStringLiteral("5.56"));
    EXPECT_EQ(words::sdText(0.1265, base::GlucoseUnit::MmolPerL), QStringLiteral("0.127"));
    EXPECT_EQ(words::signedText(-0.04, 1), QStringLiteral("0.0"));
    EXPECT_EQ(words::signedText(-1.26, 1), QStringLiteral("\u22121.3"));
    EXPECT_EQ(words::signedText(std::nullopt, 1), QStringLiteral("\u2013"));
}

TEST(MonthWords, DaysInARowAreSaidTogether)
{
    std::vector<base::Date> days;
    for (const unsigned day : { 3u, 4u, 9u, 10u, 11u, 21u })
        days.push_back({ std::chrono::year(2026) / std::chrono::month(10) / std::chrono::day(day) });
    EXPECT_EQ(words::daysInWords(days), QStringLiteral("3, 4, 9 to 11, 21"));
    EXPECT_EQ(words::daysInWords({}), QString());
}

} // namespace
} // namespace mk::report
