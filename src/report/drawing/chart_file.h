// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <QRectF>
#include <QSize>
#include <QString>

#include <functional>

class QCustomPlot;
class QPainter;

/// Charts as files and as parts of a page.
namespace mk::report {

/// Paints a chart of the given size, in pixels of 1/96 inch, at the painter's origin.
using ChartPainter = std::function<void(QPainter&, const QRectF&)>;

/// Saves a chart; the ending says how: .png (two image pixels a pixel), .svg or .pdf (one page of that size, PDF/A-1b).
/// A file that stood there is replaced only when the new one is whole.
/// title, description   for the file's own fields, where the format has them
/// errors               BadInput for another ending, Io
base::Done saveChart(const QString& path, QSize size, const QString& title, const QString& description, const ChartPainter& paint);

/// Paints a plot that was filled for the size of `into`, as lines and text.
void paintVectors(QCustomPlot& plot, QPainter& painter, const QRectF& into);

} // namespace mk::report
