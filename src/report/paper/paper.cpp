// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/paper/paper.h"

#include "report/drawing/chart_theme.h"
#include "words/charts.h"

#include <QFontMetricsF>
#include <QPainter>
#include <QPdfWriter>
#include <QSaveFile>

#include <algorithm>
#include <cmath>

namespace mk::report {

namespace {

constexpr double kPageWidth = 793.7; // A4 at 96 a inch
constexpr double kPageHeight = 1122.5;
constexpr double kSide = 57;
constexpr double kTop = 84;
constexpr double kBottom = 1052;
constexpr double kGap = 6; // between columns

double heightOf(const QString& text, const QFont& font, double width)
{
    const QRectF bounds = QFontMetricsF(font).boundingRect(QRectF(0, 0, width, 10'000), Qt::TextWordWrap, text);
    return std::ceil(std::max(bounds.height(), QFontMetricsF(font).height()));
}

int sideOf(const PaperColumn& column)
{
    return column.right ? Qt::AlignRight : Qt::AlignLeft;
}

QFont paperFont(int pixelSize, bool semibold = false)
{
    QFont font = bodyFont(pixelSize);
    if (semibold)
        font.setWeight(QFont::DemiBold);
    return font;
}

} // namespace

Paper::Paper(Margins margins) : m_margins(std::move(margins))
{
    newPage();
}

QFont Paper::body() const
{
    return paperFont(12);
}
QFont Paper::small() const
{
    return paperFont(11);
}
QFont Paper::strong() const
{
    return paperFont(12, true);
}
QFont Paper::headline() const
{
    return paperFont(20, true);
}
QFont Paper::code() const
{
    QFont font(QStringLiteral("DejaVu Sans Mono"));
    font.setPixelSize(10);
    font.setHintingPreference(QFont::PreferNoHinting);
    return font;
}

double Paper::width() const
{
    return kPageWidth - 2 * kSide;
}

double Paper::leftOnPage() const
{
    return kBottom - m_y;
}

void Paper::newPage()
{
    m_pages.emplace_back();
    m_y = kTop;
}

void Paper::need(double height)
{
    if (m_y > kTop && leftOnPage() < height)
        newPage();
}

void Paper::addText(const QRectF& rect, int flags, const QString& text, const QFont& font)
{
    add([rect, flags, text, font](QPainter& painter) {
        painter.setFont(font);
        painter.drawText(rect, flags, text);
    });
}

void Paper::addLine(double y, double weight, bool light)
{
    add([y, weight, light](QPainter& painter) {
        painter.setPen(QPen(light ? QColor(0xB4, 0xB4, 0xB4) : QColor(Qt::black), weight));
        painter.drawLine(QPointF(kSide, y), QPointF(kPageWidth - kSide, y));
        painter.setPen(Qt::black);
    });
}

void Paper::rule(double weight)
{
    need(weight);
    addLine(m_y, weight);
    m_y += weight;
}

void Paper::text(const QString& text, const QFont& font)
{
    const double height = heightOf(text, font, width());
    need(height);
    addText(QRectF(kSide, m_y, width(), height), Qt::TextWordWrap, text, font);
    m_y += height;
}

void Paper::figures(const std::vector<std::pair<QString, QString>>& figures)
{
    const QFont large = headline();
    const QFont under = body();
    const double tall = QFontMetricsF(large).height();
    const double low = QFontMetricsF(under).height();
    need(tall + low + 22);
    addLine(m_y, 0.8);
    double total = 0;
    std::vector<double> widths;
    for (const auto& [number, word] : figures) {
        widths.push_back(std::max(QFontMetricsF(large).horizontalAdvance(number), QFontMetricsF(under).horizontalAdvance(word)) + 2);
        total += widths.back();
    }
    const double gap = figures.size() < 2 ? 0 : std::min(44.0, (width() - total) / static_cast<double>(figures.size() - 1));
    double x = kSide;
    for (std::size_t i = 0; i < figures.size(); ++i) {
        addText(QRectF(x, m_y + 8, widths[i], tall), Qt::TextSingleLine, figures[i].first, large);
        addText(QRectF(x, m_y + 6 + tall, widths[i], low), Qt::TextSingleLine, figures[i].second, under);
        x += widths[i] + gap;
    }
    m_y += tall + low + 18;
    addLine(m_y, 0.8);
    m_y += 1;
}

std::vector<double> Paper::edgesOf(const std::vector<PaperColumn>& columns) const
{
    double fixed = 0;
    std::size_t flexible = 0;
    for (const auto& column : columns) {
        fixed += column.width;
        flexible += column.width == 0 ? 1u : 0u;
    }
    const double share = flexible == 0 ? 0 : (width() - fixed) / static_cast<double>(flexible);
    std::vector<double> edges { kSide };
    for (const auto& column : columns)
        edges.push_back(edges.back() + (column.width == 0 ? share : column.width));
    return edges;
}

/// Draws the heading rows, or only says how high they are.
double Paper::tableHead(const std::vector<PaperColumn>& columns, const std::vector<double>& edges, bool draw)
{
    const QFont font = paperFont(11, true);
    const double line = QFontMetricsF(font).height() + 2;
    const bool twoRows = std::ranges::any_of(columns, [](const PaperColumn& c) { return !c.above.isEmpty(); });
    const double height = line * (twoRows ? 2 : 1) + 3;
    if (!draw)
        return height;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const QRectF cell(edges[i], m_y + (twoRows ? line : 0), edges[i + 1] - edges[i] - kGap, line);
        addText(cell, sideOf(columns[i]) | Qt::AlignVCenter | Qt::TextDontClip, columns[i].heading, font);
        if (!columns[i].above.isEmpty())
            addText(QRectF(edges[0], m_y, edges[i + 1] - kGap - edges[0], line), Qt::AlignRight | Qt::AlignVCenter | Qt::TextDontClip,
                columns[i].above, font);
    }
    addLine(m_y + height - 1, 0.9);
    m_y += height;
    return height;
}

double Paper::rowHeight(const std::vector<PaperColumn>& columns, const std::vector<double>& edges, const std::vector<QString>& row) const
{
    double height = 0;
    for (std::size_t i = 0; i < columns.size(); ++i)
        height = std::max(height, heightOf(row[i], paperFont(11, columns[i].strong), edges[i + 1] - edges[i] - kGap));
    return height + 3;
}

void Paper::table(const std::vector<PaperColumn>& columns, const std::vector<std::vector<QString>>& rows)
{
    const std::vector<double> edges = edgesOf(columns);
    const double first = rows.empty() ? 0 : rowHeight(columns, edges, rows.front());
    need(tableHead(columns, edges, false) + first);
    tableHead(columns, edges, true);
    for (const auto& row : rows) {
        const double height = rowHeight(columns, edges, row);
        if (leftOnPage() < height) {
            newPage();
            tableHead(columns, edges, true);
        }
        for (std::size_t i = 0; i < columns.size(); ++i) {
            const QRectF cell(edges[i], m_y + 1.5, edges[i + 1] - edges[i] - kGap, height - 3);
            addText(
                cell, sideOf(columns[i]) | Qt::AlignTop | Qt::TextWordWrap | Qt::TextDontClip, row[i], paperFont(11, columns[i].strong));
        }
        m_y += height;
        addLine(m_y, 0.5, true);
    }
    m_y += 1;
}

void Paper::picture(double height, std::function<void(QPainter&, const QRectF&)> paint)
{
    need(height);
    const QRectF into(kSide, m_y, std::floor(width()), height);
    add([into, paint = std::move(paint)](QPainter& painter) { paint(painter, into); });
    m_y += height;
}

void Paper::blocks(const Lines& boxed, const Lines& beside)
{
    const double half = width() * 0.48;
    const auto heightOfAll = [&](const Lines& lines, double wide) {
        double height = 0;
        for (const auto& [line, font] : lines)
            height += heightOf(line, font, wide) + 2;
        return height;
    };
    const double height = std::max(heightOfAll(boxed, half - 24) + 20, heightOfAll(beside, width() - half - 24) + 4);
    need(height);
    const QRectF box(kSide + 0.5, m_y, half, height);
    add([box](QPainter& painter) {
        painter.setPen(QPen(Qt::black, 0.8));
        painter.setBrush(Qt::NoBrush);
        painter.drawRect(box);
    });
    const auto put = [&](const Lines& lines, double x, double y, double wide) {
        for (const auto& [line, font] : lines) {
            const double tall = heightOf(line, font, wide);
            addText(QRectF(x, y, wide, tall), Qt::TextWordWrap, line, font);
            y += tall + 2;
        }
    };
    put(boxed, box.left() + 12, m_y + 9, half - 24);
    put(beside, box.right() + 24, m_y, width() - half - 24);
    m_y += height;
}

void Paper::paintMargins(QPainter& painter, int page) const
{
    const QRectF top(kSide, 40, width(), 18);
    painter.setPen(Qt::black);
    painter.setFont(strong());
    painter.drawText(top, Qt::AlignLeft | Qt::AlignVCenter, m_margins.topLeft);
    painter.setFont(body());
    painter.drawText(top, Qt::AlignHCenter | Qt::AlignVCenter, m_margins.topCentre);
    painter.drawText(top, Qt::AlignRight | Qt::AlignVCenter, words::pageOf(page, pages()));
    painter.setPen(QPen(Qt::black, 0.8));
    painter.drawLine(QPointF(kSide, 63), QPointF(kPageWidth - kSide, 63));
    painter.drawLine(QPointF(kSide, kBottom + 8), QPointF(kPageWidth - kSide, kBottom + 8));
    painter.setPen(Qt::black);
    painter.setFont(paperFont(10));
    const QRectF foot(kSide, kBottom + 12, width(), 32);
    painter.drawText(foot, Qt::AlignLeft | Qt::AlignTop, m_margins.footLeft);
    painter.drawText(foot, Qt::AlignRight | Qt::AlignTop, m_margins.footRight);
}

base::Done Paper::write(const QString& path, const About& about) const
{
    const auto fault = [&](const base::Arg& why) {
        return base::fault(base::FaultKind::Io, "%1 could not be written: %2", path.toStdString(), why);
    };
    QSaveFile file(path);
    if (!file.open(QIODevice::WriteOnly))
        return fault(file.errorString().toStdString());
    {
        QPdfWriter writer(&file);
        writer.setPdfVersion(QPagedPaintDevice::PdfVersion_A1b);
        writer.setResolution(96);
        writer.setPageSize(QPageSize(QPageSize::A4));
        writer.setPageMargins(QMarginsF());
        writer.setTitle(about.title);
        writer.setCreator(about.author);
        QPainter painter(&writer);
        if (!painter.isActive())
            return fault(base::fault(base::FaultKind::Io, "no page could be begun"));
        for (std::size_t i = 0; i < m_pages.size(); ++i) {
            if (i > 0 && !writer.newPage())
                return fault(file.errorString().toStdString());
            paintMargins(painter, static_cast<int>(i) + 1);
            for (const auto& stroke : m_pages[i])
                stroke(painter);
        }
        if (!painter.end())
            return fault(file.errorString().toStdString());
    }
    if (!file.commit())
        return fault(file.errorString().toStdString());
    return {};
}

} // namespace mk::report
