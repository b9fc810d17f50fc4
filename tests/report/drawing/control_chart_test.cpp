// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/m07_sample.h"

#include "words/numbers.h"
#include "report/scenes/chart_axis.h"
#include "report/drawing/control_chart.h"

#include <QFile>
#include <QSignalSpy>
#include <QTemporaryDir>
#include <QTest>

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::report {
namespace {

ControlChartScene m07Scene(base::Moment to = sample::at(11, 12, 23, 0))
{
    static const auto sets = sample::m07Sets();
    static const auto incidents = sample::m07Incidents();
    static const auto states = sample::m07States();
    return controlChartScene({ base::MeterId("M-07"), sets, incidents, states }, sample::zone(), sample::at(10, 1, 0, 0), to);
}

const ScenePoint& pointOn(const LevelPanel& panel, unsigned month, unsigned day, std::size_t which = 0)
{
    for (const auto& point : panel.points)
        if (dayOfWallSeconds(point.x) == sample::zone().dateOf(sample::at(month, day, 12, 0)) && which-- == 0)
            return point;
    ADD_FAILURE() << "no run on " << day << "." << month;
    return panel.points.front();
}

// The story and its expected findings: the project's own pictures (M-07), computed there by handbook 6.2.
TEST(ControlChartScene, SaysTheFindingAndWhatHappened)
{
    const auto scene = m07Scene();
    EXPECT_EQ(scene.title, "M-07 drifts upward since 27 October");
    ASSERT_EQ(scene.panels.size(), 2u);
    EXPECT_EQ(scene.panels[0].title, "High control, mg/dL");
    EXPECT_EQ(scene.panels[1].title, "Low control, mg/dL");
    EXPECT_EQ(scene.sets.size(), 44u);
    std::vector<std::string> words;
    for (const auto& event : scene.events)
        words.push_back(event.word);
    EXPECT_EQ(words, (std::vector<std::string> { "fall", "strip lot S2611", "drift begins, estimate", "drift found", "withdrawn" }));
}

TEST(ControlChartScene, EachRunHasTheShapeOfItsVerdict)
{
    const auto scene = m07Scene();
    const auto& high = scene.panels[0];
    const auto& low = scene.panels[1];
    EXPECT_EQ(pointOn(high, 10, 2).shape, RunShape::Circle);
    EXPECT_TRUE(pointOn(high, 10, 2).label.empty());
    const auto& hi = pointOn(high, 10, 7);
    EXPECT_EQ(hi.place, RunPlace::UpperFrame);
    EXPECT_TRUE(hi.rejected);
    EXPECT_EQ(hi.label, "HI");
    EXPECT_FALSE(hi.value);
    EXPECT_EQ(pointOn(low, 10, 12).shape, RunShape::Ring);
    EXPECT_EQ(pointOn(low, 10, 12).label, "1-2s");
    EXPECT_EQ(pointOn(high, 10, 29).shape, RunShape::SquareWithBar);
    EXPECT_EQ(pointOn(high, 10, 29).label, "1-3s");
    EXPECT_EQ(pointOn(high, 11, 1).shape, RunShape::Cross);
    EXPECT_EQ(pointOn(high, 11, 1).label, "invalid: vial past its date");
}

TEST(ControlChartScene, ARepeatStandsOnItsFirst)
{
    const auto scene = m07Scene();
    const auto& high = scene.panels[0];
    const auto& repeat = pointOn(high, 10, 29, 1);
    ASSERT_TRUE(repeat.stemTo);
    EXPECT_EQ(high.points[*repeat.stemTo].value, 338);
    EXPECT_EQ(repeat.x, high.points[*repeat.stemTo].x);
    EXPECT_EQ(repeat.value, 306);
}

TEST(ControlChartScene, TargetsStepWhereTheLotChanges)
{
    const auto scene = m07Scene();
    for (const auto& panel : scene.panels) {
        ASSERT_EQ(panel.targets.size(), 2u);
        EXPECT_EQ(panel.targets[0].from, scene.from);
        EXPECT_EQ(panel.targets[0].to, panel.targets[1].from);
        EXPECT_EQ(panel.targets[1].to, scene.to);
    }
    EXPECT_EQ(scene.panels[0].targets[0].mean, 290.3);
    EXPECT_EQ(scene.panels[0].targets[1].meanText, "294.1");
    const auto lot = std::ranges::find(scene.events, std::string("strip lot S2611"), &EventMark::word);
    EXPECT_EQ(lot->x, scene.panels[0].targets[1].from);
}

TEST(ControlChartScene, OnlyPointsThatARuleCountedAreJoined)
{
    const auto scene = m07Scene();
    const auto& high = scene.panels[0].ruleLines;
    const auto fourOne = std::ranges::find(high, std::string("4-1s"), &RuleLine::rule);
    ASSERT_NE(fourOne, high.end());
    EXPECT_EQ(dayOfWallSeconds(scene.panels[0].points[fourOne->completedBy].x), sample::zone().dateOf(sample::at(11, 11, 6, 0)));
    EXPECT_EQ(fourOne->points.size(), 5u) << "8 to 12 November; completed on the 11th";
    EXPECT_FALSE(fourOne->mark) << "the set was warned for it";
    const auto& low = scene.panels[1].ruleLines;
    const auto ten = std::ranges::find(low, std::string("10x"), &RuleLine::rule);
    ASSERT_NE(ten, low.end());
    EXPECT_EQ(dayOfWallSeconds(scene.panels[1].points[ten->completedBy].x), sample::zone().dateOf(sample::at(11, 11, 6, 0)));
    const auto october = m07Scene(sample::at(10, 31, 23, 0));
    EXPECT_TRUE(october.panels[0].ruleLines.empty());
    EXPECT_EQ(october.title, "M-07: 2 sets rejected, the last on 29 October");
}

TEST(ControlChartScene, TheUsualValueHasItsWordAtTheEdgeAlsoBesideTheMean)
{
    auto scene = m07Scene();
    LevelPanel& panel = scene.panels[0];
    const double mean = *panel.targets.back().mean;
    for (const double usual : { mean, mean + 0.2, mean - 0.2, mean + 20, panel.upper + 5 }) {
        panel.usual = { { panel.points.back().x, usual, {}, false } };
        const auto layout = layOut(scene, paperTheme(14), QSizeF(800, 300));
        const auto word = std::ranges::find(layout.texts, TextRole::EdgeUsual, &PlacedText::role);
        ASSERT_NE(word, layout.texts.end()) << usual;
        EXPECT_LE(word->rect.right(), 800);
        for (const auto& other : layout.texts)
            EXPECT_TRUE(&other == &*word || !other.rect.intersects(word->rect)) << usual << ": " << other.text.toStdString();
    }
}

TEST(ControlChartScene, WithoutRunsThereIsStillAnAnswer)
{
    const auto scene = controlChartScene(
        { base::MeterId("M-1"), {}, {}, {} }, sample::zone(), sample::at(10, 1, 0, 0), sample::at(10, 31, 0, 0));
    EXPECT_EQ(scene.title, "M-1: no controls in this period");
    EXPECT_TRUE(scene.panels.empty());
    EXPECT_TRUE(layOut(scene, paperTheme(14), QSizeF(800, 300)).panels.empty());
}

TEST(ChartAxis, DaysStayDaysAcrossTheClockChange)
{
    const double before = wallSeconds(sample::at(10, 24, 6, 0), sample::zone());
    const double after = wallSeconds(sample::at(10, 25, 6, 0), sample::zone());
    EXPECT_EQ(after - before, 86'400) << "25 hours apart, one day on the wall";
    const auto ticks = dayTicks(
        wallSeconds(sample::at(10, 1, 0, 0), sample::zone()), wallSeconds(sample::at(11, 13, 0, 0), sample::zone()), 7);
    ASSERT_EQ(ticks.size(), 6u);
    EXPECT_EQ(words::shortDay(dayOfWallSeconds(ticks.front())), QStringLiteral("5 Oct"));
    EXPECT_EQ(words::shortDay(dayOfWallSeconds(ticks.back())), QStringLiteral("9 Nov"));
}

TEST(ChartAxis, TicksAreRoundAndFew)
{
    EXPECT_EQ(roundTicks(252, 342, 5), (std::vector<double> { 260, 280, 300, 320, 340 }));
    EXPECT_EQ(roundTicks(36, 59, 5), (std::vector<double> { 40, 45, 50, 55 }));
    EXPECT_EQ(roundTicks(4.1, 6.9, 5), (std::vector<double> { 4.5, 5, 5.5, 6, 6.5 }));
    EXPECT_TRUE(roundTicks(1, 1, 5).empty());
}

TEST(ChartLayout, NoTextStandsOnAnotherOrLeavesTheChart)
{
    for (const QSizeF size : { QSizeF(1224, 378), QSizeF(640, 360), QSizeF(900, 320), QSizeF(560, 300) }) {
        const auto layout = layOut(m07Scene(), paperTheme(14), size);
        EXPECT_GT(layout.texts.size(), 12u);
        for (std::size_t i = 0; i < layout.texts.size(); ++i) {
            EXPECT_TRUE(QRectF(QPointF(-0.5, -0.5), size + QSizeF(1, 1)).contains(layout.texts[i].rect))
                << layout.texts[i].text.toStdString() << " at " << size.width();
            for (std::size_t j = i + 1; j < layout.texts.size(); ++j)
                EXPECT_FALSE(layout.texts[i].rect.intersects(layout.texts[j].rect))
                    << layout.texts[i].text.toStdString() << " and " << layout.texts[j].text.toStdString() << " at " << size.width();
        }
    }
}

TEST(ChartLayout, NoWordHidesARun)
{
    const auto scene = m07Scene();
    const auto layout = layOut(scene, paperTheme(14), QSizeF(1224, 378));
    for (const auto& text : layout.texts)
        for (const auto& panel : layout.panels)
            for (const auto& point : panel.points)
                EXPECT_FALSE(text.rect.contains(point)) << text.text.toStdString();
}

class ControlChartWidget : public testing::Test {
protected:
    ControlChartWidget()
    {
        m_chart.resize(1224, 378);
        m_chart.setScene(m07Scene(), paperTheme(14));
        m_chart.show();
    }
    ControlChart m_chart;
};

TEST_F(ControlChartWidget, ArrowsStepThroughTheSets)
{
    QSignalSpy selected(&m_chart, &ControlChart::setSelected);
    QTest::keyClick(&m_chart, Qt::Key_Left);
    EXPECT_EQ(m_chart.selectedSet(), 43u);
    QTest::keyClick(&m_chart, Qt::Key_Left);
    EXPECT_EQ(m_chart.selectedSet(), 42u);
    QTest::keyClick(&m_chart, Qt::Key_Home);
    QTest::keyClick(&m_chart, Qt::Key_Left);
    EXPECT_EQ(m_chart.selectedSet(), 0u);
    QTest::keyClick(&m_chart, Qt::Key_Right);
    EXPECT_EQ(m_chart.selectedSet(), 1u);
    EXPECT_EQ(selected.size(), 4) << "standing still is no selection";
    QSignalSpy activated(&m_chart, &ControlChart::setActivated);
    QTest::keyClick(&m_chart, Qt::Key_Return);
    EXPECT_EQ(activated.size(), 1);
}

TEST_F(ControlChartWidget, SpeaksItsFindingAndTheSelectedSet)
{
    EXPECT_EQ(m_chart.accessibleName(), QStringLiteral("M-07 drifts upward since 27 October"));
    EXPECT_TRUE(m_chart.accessibleDescription().contains(QStringLiteral("44 sets")));
    m_chart.selectSet(28);
    EXPECT_TRUE(m_chart.accessibleDescription().startsWith(QStringLiteral("Thu 29 Oct 2026")))
        << m_chart.accessibleDescription().toStdString();
}

TEST_F(ControlChartWidget, SavesAsPictureOrDrawing)
{
    const QTemporaryDir folder;
    for (const auto& [name, start] : { std::pair("a.png", "\x89PNG"), std::pair("a.svg", "<?xml"), std::pair("a.pdf", "%PDF") }) {
        const QString path = folder.filePath(QString::fromLatin1(name));
        ASSERT_TRUE(m_chart.save(path)) << name;
        QFile file(path);
        ASSERT_TRUE(file.open(QIODevice::ReadOnly));
        EXPECT_TRUE(file.readAll().startsWith(start)) << name;
    }
    EXPECT_FALSE(m_chart.save(folder.filePath(QStringLiteral("a.bmp"))));
    EXPECT_FALSE(m_chart.save(folder.filePath(QStringLiteral("none/a.png"))));
}

} // namespace
} // namespace mk::report
