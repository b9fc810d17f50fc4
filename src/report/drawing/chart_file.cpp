// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/chart_file.h"

#include <qcustomplot.h>

#include <QBuffer>
#include <QFileInfo>
#include <QPdfWriter>
#include <QPicture>
#include <QSaveFile>
#include <QSvgGenerator>

namespace mk::report {

namespace {

QByteArray svgBytes(QSize size, const QString& title, const QString& description, const ChartPainter& paint)
{
    QByteArray bytes;
    QBuffer buffer(&bytes);
    buffer.open(QIODevice::WriteOnly);
    QSvgGenerator generator;
    generator.setOutputDevice(&buffer);
    generator.setSize(size);
    generator.setViewBox(QRect(QPoint(), size));
    generator.setTitle(title);
    generator.setDescription(description);
    QPainter painter(&generator);
    paint(painter, QRectF(QPointF(), QSizeF(size)));
    painter.end();
    return bytes;
}

QByteArray pdfBytes(QSize size, const QString& title, const ChartPainter& paint)
{
    QByteArray bytes;
    QBuffer buffer(&bytes);
    buffer.open(QIODevice::WriteOnly);
    QPdfWriter writer(&buffer);
    writer.setPdfVersion(QPagedPaintDevice::PdfVersion_A1b);
    writer.setTitle(title);
    writer.setResolution(96);
    writer.setPageMargins(QMarginsF());
    writer.setPageSize(QPageSize(QSizeF(size) * 72.0 / 96.0, QPageSize::Point));
    QPainter painter(&writer);
    paint(painter, QRectF(QPointF(), QSizeF(size)));
    painter.end();
    return bytes;
}

QByteArray imageBytes(QSize size, const ChartPainter& paint)
{
    QImage image(size * 2, QImage::Format_RGB32);
    image.setDevicePixelRatio(2);
    image.fill(Qt::white);
    {
        QPainter painter(&image);
        painter.setRenderHint(QPainter::Antialiasing);
        paint(painter, QRectF(QPointF(), QSizeF(size)));
    }
    QByteArray bytes;
    QBuffer buffer(&bytes);
    buffer.open(QIODevice::WriteOnly);
    image.save(&buffer, "PNG");
    return bytes;
}

base::Done writeWhole(const QString& path, const QByteArray& bytes)
{
    // Renaming a whole file over a device would replace the device.
    if (const QFileInfo there(path); there.exists() && !there.isFile())
        return base::fault(base::FaultKind::Io, "%1 is no file that can be replaced; choose another name", path.toStdString());
    QSaveFile file(path);
    if (bytes.isEmpty() || !file.open(QIODevice::WriteOnly) || file.write(bytes) != bytes.size() || !file.commit())
        return base::fault(base::FaultKind::Io, "%1 could not be written: %2; choose a folder that exists and that you may write to",
            path.toStdString(), file.errorString().toStdString());
    return {};
}

} // namespace

base::Done saveChart(const QString& path, QSize size, const QString& title, const QString& description, const ChartPainter& paint)
{
    const QString ending = path.section(QLatin1Char('.'), -1).toLower();
    if (ending == QStringLiteral("png"))
        return writeWhole(path, imageBytes(size, paint));
    if (ending == QStringLiteral("svg"))
        return writeWhole(path, svgBytes(size, title, description, paint));
    if (ending == QStringLiteral("pdf"))
        return writeWhole(path, pdfBytes(size, title, paint));
    return base::badInput("A chart is saved as .png, .svg or .pdf; '%1' ends in none of them.", path.toStdString());
}

void paintVectors(QCustomPlot& plot, QPainter& painter, const QRectF& into)
{
    const QSize size = into.size().toSize();
    QPicture picture;
    {
        QCPPainter vector(&picture);
        vector.setMode(QCPPainter::pmVectorized);
        vector.setMode(QCPPainter::pmNoCaching);
        plot.toPainter(&vector, size.width(), size.height());
    }
    painter.save();
    painter.translate(into.topLeft());
    painter.drawPicture(0, 0, picture);
    painter.restore();
}

} // namespace mk::report
