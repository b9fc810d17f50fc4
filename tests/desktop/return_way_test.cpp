// SPDX-License-Identifier: GPL-3.0-or-later
// What a stopped meter still owes, and a month that nobody signed: said in the real window, on the real file.
#include "desk_fixture.h"

#include "desktop/pages/meter_page.h"
#include "desktop/pages/ward_page.h"
#include "desktop/parts/return_way.h"
#include "desktop/parts/step_mark.h"
#include "words/policy.h"
#include "words/return_steps.h"

#include <QApplication>
#include <QLabel>
#include <QLineEdit>
#include <QTest>

namespace mk::desktop {
namespace {

using namespace registry::acts;
using registry::Level;
using registry::OwedForReturn;
using registry::ReturnBy;
using registry::ReturnOwed;

class ReturnWayTest : public DeskFixture {
protected:
    void SetUp() override
    {
        DeskFixture::SetUp();
        record({ { OperatorEnrolled { base::OperatorId("rook"), "J. Rook", registry::Role::Coordinator, {}, {} }, {} } }, {});
    }
    void open(const WindowOptions& with)
    {
        m_window = std::make_unique<MainWindow>(with);
        m_window->resize(1280, 720);
        m_window->QWidget::show();
        m_window->activateWindow();
        ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->wardPage()->answer().has_value() && m_window->isActiveWindow(); }));
    }
    void openStopped(const char* meter)
    {
        open(options());
        m_window->openMeter(QString::fromLatin1(meter));
        ASSERT_TRUE(QTest::qWaitFor([&] { return m_window->meterPage()->wayBack()->isVisible(); }));
    }
    /// It is recorded as it happens: the clock goes there.
    base::Moment happensAt(const char* time) { return m_now = wall((std::string("2026-11-18T") + time).c_str()); }
    void fall(const char* meter)
    {
        IncidentReported incident;
        incident.at = happensAt("06:47");
        incident.noticedAt = incident.at;
        incident.meter = base::MeterId(meter);
        incident.by = base::OperatorId("arlen");
        incident.what = registry::IncidentKind::Dropped;
        record({ { incident, {} } });
    }
    void withdraw(const char* meter)
    {
        MeterMoved moved;
        moved.at = happensAt("06:48");
        moved.meter = base::MeterId(meter);
        moved.by = base::OperatorId("arlen");
        moved.toState = registry::MeterState::Withdrawn;
        moved.reason = registry::code(registry::ReasonCode::Dropped);
        record({ { moved, {} } });
    }
    void control(const char* meter, const char* set, const char* at, const char* low, const char* high)
    {
        std::vector<store::NewAct> acts;
        for (const auto& [level, vial, result] : { std::tuple(Level::Low, "CL-1", low), std::tuple(Level::High, "CH-1", high) }) {
            ControlRun run;
            run.set = base::SetId(set);
            run.at = happensAt(at);
            run.meter = base::MeterId(meter);
            run.by = base::OperatorId("arlen");
            run.stripVial = base::StripVialId("S1-01");
            run.level = level;
            run.controlVial = base::ControlVialId(vial);
            run.result = decimal(result);
            run.unit = base::GlucoseUnit::MgPerDl;
            acts.push_back({ run, {} });
        }
        record(std::move(acts));
    }
    void inspect(const char* meter)
    {
        record({ { ReturnStep { happensAt("06:50"), base::MeterId(meter), base::OperatorId("arlen"), registry::ReturnStepKind::Inspected,
                       "no crack, the display is whole" },
            {} } });
    }
    QStringList labels(const char* name) const
    {
        QStringList texts;
        for (const QLabel* label : m_window->meterPage()->wayBack()->findChildren<QLabel*>(QString::fromLatin1(name)))
            texts << label->text();
        return texts;
    }
    std::vector<StepProgress> progress() const
    {
        std::vector<StepProgress> marks;
        for (const StepMark* mark : m_window->meterPage()->wayBack()->findChildren<StepMark*>())
            marks.push_back(mark->progress());
        return marks;
    }
    static QStringList said(std::initializer_list<OwedForReturn> steps)
    {
        QStringList texts;
        for (const auto& step : steps)
            texts << words::said(step);
        return texts;
    }
    base::Seq head() const { return m_window->wardPage()->answer()->head; }

    std::unique_ptr<MainWindow> m_window;
};

TEST_F(ReturnWayTest, WithdrawnAfterAFall)
{
    fall("M-11");
    withdraw("M-11");
    openStopped("M-11");
    EXPECT_EQ(labels("step"),
        said({ { ReturnOwed::Inspected }, { ReturnOwed::ControlsPassed, ReturnBy::Anyone, 2 },
            { ReturnOwed::LookbackDecided, ReturnBy::Coordinator }, { ReturnOwed::Signed, ReturnBy::Coordinator } }));
    EXPECT_EQ(progress(), (std::vector { StepProgress::Now, StepProgress::Later, StepProgress::Later, StepProgress::Later }));
    EXPECT_EQ(labels("beneath").back(), words::said(ReturnBy::Coordinator)) << "who may do it";
}

TEST_F(ReturnWayTest, HeldForAFailedControl)
{
    control("M-11", "M-11/b", "06:55", "47", "362");
    openStopped("M-11");
    EXPECT_EQ(labels("step"), said({ { ReturnOwed::ControlsPassed, ReturnBy::Anyone, 1 } }));
    EXPECT_EQ(progress(), std::vector { StepProgress::Now });
}

TEST_F(ReturnWayTest, AllDoneButTheSignature)
{
    fall("M-11");
    inspect("M-11");
    control("M-11", "M-11/b", "06:55", "47", "296");
    openStopped("M-11");
    EXPECT_EQ(labels("step"),
        said({ { ReturnOwed::Inspected }, { ReturnOwed::ControlsPassed, ReturnBy::Anyone, 1 },
            { ReturnOwed::Signed, ReturnBy::CompetentNurseOrCoordinator } }));
    EXPECT_EQ(progress(), (std::vector { StepProgress::Done, StepProgress::Done, StepProgress::Now }));
    for (const auto& [step, at] : { std::pair(0, "06:50"), std::pair(1, "06:55") }) {
        EXPECT_TRUE(labels("beneath")[step].contains(QLatin1String(at))) << "when";
        EXPECT_TRUE(labels("beneath")[step].contains(QLatin1String("D. Arlen"))) << "by whom";
    }
}

TEST_F(ReturnWayTest, AMeterInServiceOwesNothing)
{
    fall("M-11");
    openStopped("M-11");
    m_window->openMeter(QStringLiteral("M-12"));
    EXPECT_FALSE(m_window->meterPage()->wayBack()->isVisible()) << "what M-11 owes is not said of M-12";
    QTest::qWait(100);
    EXPECT_FALSE(m_window->meterPage()->wayBack()->isVisible());
}

// A scan ends in Enter, and a hand in a glove presses twice: on a page that only shows, neither writes anything.
TEST_F(ReturnWayTest, ScansAndDoubleEnterWriteNothing)
{
    fall("M-11");
    openStopped("M-11");
    const base::Seq before = head();
    for (QWidget* focus :
        { static_cast<QWidget*>(m_window->meterPage()->wayBack()), static_cast<QWidget*>(m_window->meterPage()->sets()) }) {
        m_window->openMeter(QStringLiteral("M-11"));
        focus->setFocus();
        for (int twice = 0; twice < 2; ++twice)
            QTest::keyClick(QApplication::focusWidget(), Qt::Key_Return);
        EXPECT_EQ(m_window->page(), m_window->meterPage());
        for (const QChar letter : QStringLiteral("M-12"))
            QTest::keyClick(QApplication::focusWidget(), letter.toLatin1());
        QTest::keyClick(QApplication::focusWidget(), Qt::Key_Return);
        EXPECT_EQ(m_window->page(), m_window->wardPage()) << "the scan is answered on the ward";
        EXPECT_EQ(m_window->wardPage()->pickedMeter(), QStringLiteral("M-12"));
    }
    m_window->setWard(base::WardId("W5"));
    QTest::qWait(100);
    EXPECT_EQ(head(), before);
}

TEST_F(ReturnWayTest, ALateMonthIsToldToTheCoordinatorOnly)
{
    m_now = wall("2026-12-12T08:00");
    WindowOptions coordinator = options();
    coordinator.person = base::OperatorId("rook");
    open(coordinator);
    const auto* line = m_window->wardPage()->findChild<QLabel*>(QStringLiteral("monthsLate"));
    ASSERT_EQ(m_window->wardPage()->answer()->monthsLate.size(), 1u);
    EXPECT_TRUE(line->isVisible());
    EXPECT_EQ(line->text(), words::monthToSign(m_window->wardPage()->answer()->monthsLate.front()));
    m_window->setPerson(base::OperatorId("arlen"));
    EXPECT_FALSE(line->isVisible());
}

TEST_F(ReturnWayTest, AMonthThatOnlyWaitsIsNotCalledLate)
{
    m_now = wall("2026-12-10T08:00");
    WindowOptions coordinator = options();
    coordinator.person = base::OperatorId("rook");
    open(coordinator);
    EXPECT_TRUE(m_window->wardPage()->answer()->monthsLate.empty());
    EXPECT_FALSE(m_window->wardPage()->findChild<QLabel*>(QStringLiteral("monthsLate"))->isVisible());
}

} // namespace
} // namespace mk::desktop
