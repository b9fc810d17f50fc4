// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing/study_plot.h"

#include <gtest/gtest.h>

#include <QDir>
#include <QFile>
#include <QImage>
#include <QTemporaryDir>

#include <cmath>
#include <limits>

namespace mk::report {
namespace {

PlotScene plotOf(std::size_t n)
{
    PlotPanel panel;
    panel.title = "Differences";
    panel.x.title = "Mean, mg/dL";
    panel.y.title = "Test minus reference, mg/dL";
    PlotPoints points { "pair", {}, {}, PlotShape::Ring };
    for (std::size_t i = 0; i < n; ++i) {
        points.x.push_back(static_cast<double>(i % 997));
        points.y.push_back(std::sin(static_cast<double>(i)));
    }
    panel.points.push_back(points);
    panel.limits.push_back({ 0.5, "upper limit", PlotStroke::Dashed });
    return { "Bias 2.5 mg/dL", "Limits are bias ± 1.96 SD.", { panel } };
}

QByteArray bytesOf(const PlotScene& scene, const char* name)
{
    const QTemporaryDir folder;
    const QString path = folder.filePath(QString::fromLatin1(name));
    const auto saved = savePlot(scene, path.toStdString());
    EXPECT_TRUE(saved) << saved.error().text;
    QFile file(path);
    EXPECT_TRUE(file.open(QIODevice::ReadOnly));
    return file.readAll();
}

/// Dark pixels in a part of the picture, given in fractions of it.
int inkIn(const QImage& image, double left, double top, double right, double bottom)
{
    int ink = 0;
    for (int y = static_cast<int>(top * image.height()); y < static_cast<int>(bottom * image.height()); ++y)
        for (int x = static_cast<int>(left * image.width()); x < static_cast<int>(right * image.width()); ++x)
            ink += qGray(image.pixel(x, y)) < 128;
    return ink;
}

TEST(StudyPlot, SavesAsPictureOrDrawing)
{
    EXPECT_TRUE(bytesOf(plotOf(5), "a.png").startsWith("\x89PNG"));
    EXPECT_TRUE(bytesOf(plotOf(5), "a.PDF").startsWith("%PDF"));
    const QByteArray svg = bytesOf(plotOf(5), "a.svg");
    for (const char* text : { "Bias 2.5 mg/dL", "Mean, mg/dL", "Test minus reference, mg/dL", "upper limit", "pair" })
        EXPECT_TRUE(svg.contains(text)) << text;
}

TEST(StudyPlot, RefusesOtherEndingsAndPlacesItCannotWrite)
{
    const auto other = savePlot(plotOf(1), "plot.bmp");
    ASSERT_FALSE(other);
    EXPECT_NE(other.error().text.find("plot.bmp"), std::string::npos);
    const auto nowhere = savePlot(plotOf(1), "/no/such/folder/plot.png");
    ASSERT_FALSE(nowhere);
    EXPECT_EQ(nowhere.error().kind, base::FaultKind::Io);
    const QTemporaryDir folder;
    ASSERT_TRUE(QDir(folder.path()).mkdir(QStringLiteral("taken.png")));
    EXPECT_FALSE(savePlot(plotOf(1), folder.filePath(QStringLiteral("taken.png")).toStdString()));
}

TEST(StudyPlot, DrawsItsPointsAndNeverWhatIsNotFinite)
{
    PlotScene scene = plotOf(0);
    scene.panels[0].limits.clear();
    scene.panels[0].y.lower = 0;
    scene.panels[0].y.upper = 1;
    const QImage empty = QImage::fromData(bytesOf(scene, "a.png"));
    const double inf = std::numeric_limits<double>::infinity();
    scene.panels[0].points[0].x = { inf, std::nan(""), 5 };
    scene.panels[0].points[0].y = { 0.5, 0.5, -inf };
    const QImage none = QImage::fromData(bytesOf(scene, "a.png"));
    EXPECT_EQ(inkIn(none, 0.2, 0.2, 0.8, 0.6), inkIn(empty, 0.2, 0.2, 0.8, 0.6));
    scene.panels[0].points[0].y[2] = 0.5;
    const QImage one = QImage::fromData(bytesOf(scene, "a.png"));
    EXPECT_GT(inkIn(one, 0.2, 0.2, 0.8, 0.6), inkIn(empty, 0.2, 0.2, 0.8, 0.6));
}

TEST(StudyPlot, AHundredThousandPointsMakeNoHugeDrawing)
{
    EXPECT_LT(bytesOf(plotOf(100'000), "a.svg").size(), 200 * bytesOf(plotOf(1'000), "a.svg").size());
    EXPECT_LT(bytesOf(plotOf(100'000), "a.pdf").size(), 10'000'000);
}

TEST(StudyPlot, SquarePanelsStandSideBySide)
{
    PlotScene scene = plotOf(5);
    scene.panels[0].sameScale = true;
    const QImage alone = QImage::fromData(bytesOf(scene, "a.png"));
    scene.panels.push_back(scene.panels[0]);
    const QImage two = QImage::fromData(bytesOf(scene, "a.png"));
    EXPECT_GT(two.width(), alone.width());
    EXPECT_LT(two.height(), alone.height());
    EXPECT_GT(inkIn(two, 0.55, 0.15, 0.98, 0.8), 0);
}

} // namespace
} // namespace mk::report
