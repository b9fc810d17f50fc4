// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <QFont>
#include <QRectF>
#include <QString>

#include <functional>
#include <vector>

class QPainter;

namespace mk::report {

/// One column of a table on paper. width in pixels of 1/96 inch, more where a single word needs it; 0: what is left over.
/// above    a heading over this and the columns before it that have none of their own; stands over the last one
struct PaperColumn {
    QString heading;
    double width = 0;
    bool right = false;
    QString above = {};
    bool strong = false;
};

/// A document on A4, filled from the top: what does not fit goes to the next page, a table with its heading again.
/// Black on white, lengths in pixels of 1/96 inch. Nothing is painted before `write`.
class Paper {
public:
    /// Stands at the top of every page, beside "page x of y".
    struct Margins {
        QString topLeft, topCentre;
        QString footLeft, footRight; ///< each may hold two lines
    };
    explicit Paper(Margins margins);

    QFont body() const;
    QFont small() const;
    QFont strong() const;
    QFont headline() const;
    QFont code() const;

    double width() const;
    double leftOnPage() const;
    /// Begins a new page unless so much is left on this one.
    void need(double height);
    void space(double height) { m_y += height; }
    void rule(double weight = 1);

    /// Wraps at the width of the page.
    void text(const QString& text, const QFont& font);
    /// Texts side by side: [0] above [1], as wide as they need.
    void figures(const std::vector<std::pair<QString, QString>>& figures);
    void table(const std::vector<PaperColumn>& columns, const std::vector<std::vector<QString>>& rows);
    /// Something that paints itself into a rectangle of the page's width.
    void picture(double height, std::function<void(QPainter&, const QRectF&)> paint);
    /// Two blocks side by side; the left one boxed. Each line has its own font.
    using Lines = std::vector<std::pair<QString, QFont>>;
    void blocks(const Lines& boxed, const Lines& beside);

    int pages() const { return static_cast<int>(m_pages.size()); }

    struct About {
        QString title, author;
    };
    /// PDF/A-1b; the file is whole or not there at all. errors Io
    base::Done write(const QString& path, const About& about) const;

private:
    using Stroke = std::function<void(QPainter&)>;
    void add(Stroke stroke) { m_pages.back().push_back(std::move(stroke)); }
    void addText(const QRectF& rect, int flags, const QString& text, const QFont& font);
    void addLine(double y, double weight, bool light = false);
    void newPage();
    struct Grid {
        std::vector<double> edges;
        QFont head;
    };
    Grid gridOf(const std::vector<PaperColumn>& columns, const std::vector<std::vector<QString>>& rows) const;
    double tableHead(const std::vector<PaperColumn>& columns, const Grid& grid, bool draw);
    void drawHead(const std::vector<PaperColumn>& columns, const Grid& grid, double above, double below);
    double rowHeight(const std::vector<PaperColumn>& columns, const std::vector<double>& edges, const std::vector<QString>& row) const;
    void paintMargins(QPainter& painter, int page) const;

    Margins m_margins;
    std::vector<std::vector<Stroke>> m_pages;
    double m_y = 0;
};

} // namespace mk::report
