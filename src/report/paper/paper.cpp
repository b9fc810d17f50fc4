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
#include <numeric>

namespace mk::report {

namespace {

constexpr double kPageWidth = 793.7; // A4 at 96 a inch
constexpr double kPageHeight = 1122.5;
constexpr double kSide = 57;
constexpr double kTop = 84;
constexpr double kBottom = 1052;
constexpr double kGap = 6; // between columns
constexpr double kFigureGap = 10;
constexpr int kHeadSize = 11, kLeastHeadSize = 8;
constexpr double kFootHeight = 43;
constexpr double kFootShare = 0.6; ///< of the left note

double heightOf(const QString& text, const QFont& font, double width)
{
    const QRectF bounds = QFontMetricsF(font).boundingRect(QRectF(0, 0, width, 10'000), Qt::TextWordWrap, text);
    return std::ceil(std::max(bounds.height(), QFontMetricsF(font).height()));
}

double widestWord(const QString& text, const QFont& font)
{
    double widest = 0;
    for (const QString& word : text.split(QLatin1Char(' '), Qt::SkipEmptyParts))
        widest = std::max(widest, QFontMetricsF(font).horizontalAdvance(word));
    return std::ceil(widest);
}

/// least  of each column, in the order of the columns
std::vector<double> sharedOut(const std::vector<PaperColumn>& columns, const std::vector<double>& least, double room)
{
    std::vector<double> widths;
    double over = -room;
    double flexible = 0;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        widths.push_back(std::max(columns[i].width, least[i]));
        over += widths.back();
        flexible += columns[i].width == 0 ? 1 : 0;
    }
    for (std::size_t i = 0; over < 0 && i < columns.size(); ++i)
        if (columns[i].width == 0) {
            const double share = -over / flexible;
            widths[i] += share;
            over += share;
            flexible -= 1;
        }
    while (over > 0) {
        std::size_t widest = columns.size();
        for (std::size_t i = 0; i < columns.size(); ++i)
            if (widths[i] > least[i] && (widest == columns.size() || widths[i] > widths[widest]))
                widest = i;
        if (widest == columns.size())
            break;
        const double given = std::min({ 1.0, over, widths[widest] - least[widest] });
        widths[widest] -= given;
        over -= given;
    }
    return widths;
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
    double total = 0;
    std::vector<double> widths;
    for (const auto& [number, word] : figures) {
        widths.push_back(std::max(QFontMetricsF(large).horizontalAdvance(number), QFontMetricsF(under).horizontalAdvance(word)) + 2);
        total += widths.back();
    }
    const auto gaps = static_cast<double>(figures.size()) - 1;
    if (total + gaps * kFigureGap > width()) // too long for one line: all as wide as each other, the words wrap
        for (double& each : widths)
            each = (width() - gaps * kFigureGap) / (gaps + 1);
    total = std::accumulate(widths.begin(), widths.end(), 0.0);
    const double gap = figures.size() < 2 ? 0 : std::min(44.0, (width() - total) / gaps);
    double low = 0;
    for (std::size_t i = 0; i < figures.size(); ++i)
        low = std::max(low, heightOf(figures[i].second, under, widths[i]));
    need(tall + low + 22);
    addLine(m_y, 0.8);
    double x = kSide;
    for (std::size_t i = 0; i < figures.size(); ++i) {
        addText(QRectF(x, m_y + 8, widths[i], tall), Qt::TextSingleLine, figures[i].first, large);
        addText(QRectF(x, m_y + 6 + tall, widths[i], low), Qt::TextWordWrap, figures[i].second, under);
        x += widths[i] + gap;
    }
    m_y += tall + low + 18;
    addLine(m_y, 0.8);
    m_y += 1;
}

/// A column is never narrower than its longest word; the ones with room to spare pay for it, the widest first. Where the longest words do
/// not fit beside each other, the headings are set smaller.
Paper::Grid Paper::gridOf(const std::vector<PaperColumn>& columns, const std::vector<std::vector<QString>>& rows) const
{
    Grid grid { { kSide }, paperFont(kHeadSize, true) };
    std::vector<double> least;
    for (int size = kHeadSize; size >= kLeastHeadSize; --size) {
        grid.head = paperFont(size, true);
        least.clear();
        for (std::size_t i = 0; i < columns.size(); ++i) {
            double word = widestWord(columns[i].heading, grid.head);
            for (const auto& row : rows)
                word = std::max(word, widestWord(row[i], paperFont(11, columns[i].strong)));
            least.push_back(word + kGap);
        }
        if (std::accumulate(least.begin(), least.end(), 0.0) <= width())
            break;
    }
    for (const double each : sharedOut(columns, least, width()))
        grid.edges.push_back(grid.edges.back() + each);
    return grid;
}

/// Draws the heading rows, or only says how high they are. A heading of several words takes a line for each where it must.
double Paper::tableHead(const std::vector<PaperColumn>& columns, const Grid& grid, bool draw)
{
    const auto& [edges, font] = grid;
    double above = 0;
    double below = 0;
    double from = edges.front();
    for (std::size_t i = 0; i < columns.size(); ++i) {
        below = std::max(below, heightOf(columns[i].heading, font, edges[i + 1] - edges[i] - kGap));
        if (columns[i].above.isEmpty())
            continue;
        above = std::max(above, heightOf(columns[i].above, font, edges[i + 1] - kGap - from));
        from = edges[i + 1];
    }
    const double height = above + below + 3;
    if (draw)
        drawHead(columns, grid, above, below);
    return height;
}

void Paper::drawHead(const std::vector<PaperColumn>& columns, const Grid& grid, double above, double below)
{
    const auto& [edges, font] = grid;
    double from = edges.front();
    for (std::size_t i = 0; i < columns.size(); ++i) {
        addText(QRectF(edges[i], m_y + above, edges[i + 1] - edges[i] - kGap, below),
            sideOf(columns[i]) | Qt::AlignBottom | Qt::TextWordWrap, columns[i].heading, font);
        if (columns[i].above.isEmpty())
            continue;
        addText(QRectF(from, m_y, edges[i + 1] - kGap - from, above), Qt::AlignRight | Qt::AlignBottom | Qt::TextWordWrap, columns[i].above,
            font);
        from = edges[i + 1];
    }
    const double height = above + below + 3;
    addLine(m_y + height - 1, 0.9);
    m_y += height;
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
    const Grid grid = gridOf(columns, rows);
    const auto& edges = grid.edges;
    const double first = rows.empty() ? 0 : rowHeight(columns, edges, rows.front());
    need(tableHead(columns, grid, false) + first);
    tableHead(columns, grid, true);
    for (const auto& row : rows) {
        const double height = rowHeight(columns, edges, row);
        if (leftOnPage() < height) {
            newPage();
            tableHead(columns, grid, true);
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
    const double half = std::floor(width() * kFootShare);
    const QRectF left(kSide, kBottom + 11, half - kFigureGap, kFootHeight);
    const QRectF right(kSide + half, left.top(), width() - half, kFootHeight);
    int size = 10;
    const auto tall = [&](const QRectF& box, const QString& text) { return heightOf(text, paperFont(size), box.width()) > kFootHeight; };
    while (size > 7 && (tall(left, m_margins.footLeft) || tall(right, m_margins.footRight))) // no nearer to the edge of the sheet
        --size;
    painter.setFont(paperFont(size));
    painter.drawText(left, Qt::AlignLeft | Qt::AlignTop | Qt::TextWordWrap, m_margins.footLeft);
    painter.drawText(right, Qt::AlignRight | Qt::AlignTop | Qt::TextWordWrap, m_margins.footRight);
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
