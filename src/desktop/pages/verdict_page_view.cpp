// SPDX-License-Identifier: GPL-3.0-or-later
// How the verdict's page is laid out, and a step of the ladder on it; what else stands on it is in verdict_page.cpp.
#include "desktop/pages/verdict_page.h"

#include "desktop/parts/flow_layout.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/parts/ladder.h"
#include "desktop/look/look_style.h"
#include "desktop/parts/range_bar.h"
#include "desktop/parts/verdict_frame.h"
#include "words/reasons.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <QHBoxLayout>
#include <QKeyEvent>
#include <QPushButton>
#include <QVBoxLayout>

namespace mk::desktop {

using registry::Verdict;

namespace {

/// Room that longer words may take before anything lies over anything else; in u.
QSpacerItem* elastic(double height)
{
    return new QSpacerItem(0, u(height), QSizePolicy::Minimum, QSizePolicy::Maximum);
}

} // namespace

VerdictPage::VerdictPage(QWidget* parent)
    : Page(parent),
      m_frame(new VerdictFrame(this)),
      m_mark(new ShapeMark(u(6), this)),
      m_verdict(new ToneLabel(TextSize::Verdict, Weight::Semibold, Tone::Stop, this)),
      m_because(new ToneLabel(TextSize::Heading, Weight::Semibold, Tone::Ink, this)),
      m_more(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this)),
      m_bar(new RangeBar(this)),
      m_nextCaption(new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this)),
      m_next(new ToneLabel(TextSize::Answer, Weight::Semibold, Tone::Ink, this)),
      m_nextDetail(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this)),
      m_nextNote(new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this)),
      m_go(new QPushButton(this)),
      m_leave(new QPushButton(this)),
      m_withdraw(new QPushButton(this)),
      m_ladderBox(new QWidget(this)),
      m_ladder(new Ladder(this)),
      m_others(new QWidget(this)),
      m_earlier(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this)),
      m_othersTitle(new SideTitle(tr("Use one of these instead"), {}, this)),
      m_earlierTitle(new SideTitle(tr("Earlier results on this meter"), {}, this)),
      m_stored(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this))
{
    layOut();
    setButtonKind(*m_go, ButtonKind::Likely);
    setButtonKind(*m_withdraw, ButtonKind::Grave);
    m_go->setAutoDefault(true);
    m_go->installEventFilter(this);
    connect(m_leave, &QPushButton::clicked, this, &Page::finished);
    connect(m_go, &QPushButton::clicked, this, [this] {
        const Next next = nextStep();
        if (next == Next::Done || next == Next::LookAfter)
            emit finished();
        else if (next == Next::Withdraw)
            askWithdrawal();
        else
            emit repeatAsked();
    });
    auto* withdraw = pageAction(this, tr("Withdraw"), tr("F8"), QKeySequence(Qt::Key_F8));
    connect(withdraw, &QAction::triggered, this, [this] {
        if (!m_withdraw->isHidden())
            askWithdrawal();
    });
    connect(m_withdraw, &QPushButton::clicked, withdraw, &QAction::trigger);
}

/// An Enter that is held down from the last result does not pass over a verdict that nobody has read.
bool VerdictPage::eventFilter(QObject* watched, QEvent* event)
{
    const bool held = watched == m_go && event->type() == QEvent::KeyPress && static_cast<QKeyEvent*>(event)->isAutoRepeat();
    return held || Page::eventFilter(watched, event);
}

void VerdictPage::layOut()
{
    auto* grid = new QVBoxLayout(this);
    grid->setContentsMargins(u(4), 0, u(4), u(2));
    grid->setSpacing(0);
    auto* top = new QHBoxLayout;
    top->setSpacing(u(4));
    auto* main = new QVBoxLayout;
    main->setSpacing(0);
    auto* nextFrame = new QFrame(this);
    nextFrame->setFrameShape(QFrame::StyledPanel);
    nextFrame->setBackgroundRole(QPalette::Base);
    nextFrame->setAutoFillBackground(true);
    main->addWidget(m_frame);
    main->addItem(elastic(3));
    main->addWidget(nextFrame, 1);
    makeMain();
    auto* next = new QVBoxLayout(nextFrame);
    next->setContentsMargins(u(5), u(1), u(3), u(1));
    next->setSpacing(u(0.5));
    next->addItem(elastic(2));
    next->addWidget(m_nextCaption);
    next->addWidget(m_next);
    next->addWidget(m_nextDetail);
    next->addItem(elastic(2.5));
    auto* buttons = new FlowLayout(u(2));
    for (QPushButton* button : { m_go, m_leave, m_withdraw })
        buttons->addWidget(button);
    next->addLayout(buttons);
    next->addItem(elastic(1));
    next->addWidget(m_nextNote);
    next->addStretch(1);
    next->addItem(elastic(2));
    for (ToneLabel* label : { m_next, m_nextDetail, m_nextNote, m_because, m_more, m_verdict })
        label->setWordWrap(true);

    auto* ladder = new QVBoxLayout(m_ladderBox);
    ladder->setContentsMargins(0, 0, 0, 0);
    ladder->setSpacing(0);
    ladder->addWidget(new SideTitle(tr("Steps after a failed control"), {}, this));
    ladder->addSpacing(u(3));
    ladder->addWidget(m_ladder);
    ladder->addStretch(1);
    m_ladderBox->setFixedWidth(u(44));
    top->addLayout(main, 1);
    top->addWidget(m_ladderBox);
    grid->addLayout(top, 1);
    grid->addItem(elastic(3));
    makeFoot();
}

void VerdictPage::makeMain()
{
    auto* layout = new QHBoxLayout(m_frame);
    layout->setContentsMargins(u(5), u(2.5), u(5), u(2.5));
    auto* texts = new QVBoxLayout;
    texts->setSpacing(0);
    auto* line = new QHBoxLayout;
    line->setSpacing(u(3));
    line->addWidget(m_mark);
    line->addWidget(m_verdict, 1);
    texts->addLayout(line);
    texts->addWidget(m_because);
    texts->addWidget(m_more);
    texts->addStretch(1);
    layout->addLayout(texts, 1);
    layout->addWidget(m_bar, 0, Qt::AlignBottom);
    m_frame->setMinimumHeight(u(22));
}

void VerdictPage::makeFoot()
{
    auto* foot = new QHBoxLayout;
    foot->setSpacing(u(4));
    const auto column = [&](SideTitle* title, QWidget* body, int stretch, int width) {
        auto* box = new QWidget(this);
        auto* layout = new QVBoxLayout(box);
        layout->setContentsMargins(0, 0, 0, 0);
        layout->setSpacing(u(1.2));
        layout->addWidget(title);
        layout->addWidget(body);
        layout->addStretch(1);
        if (width > 0)
            box->setFixedWidth(width);
        foot->addWidget(box, stretch);
    };
    column(m_othersTitle, m_others, 1, 0);
    column(m_earlierTitle, m_earlier, 1, 0);
    column(new SideTitle(tr("What is stored"), {}, this), m_stored, 0, u(44));
    m_earlier->setWordWrap(true);
    m_stored->setWordWrap(true);
    auto* others = new QVBoxLayout(m_others);
    others->setContentsMargins(0, 0, 0, 0);
    others->setSpacing(0);
    auto* box = new QWidget(this);
    box->setLayout(foot);
    foot->setContentsMargins(0, 0, 0, 0);
    box->setMinimumHeight(u(15));
    qobject_cast<QVBoxLayout*>(layout())->addWidget(box);
}

void VerdictPage::fillLadderStep(Next next)
{
    const registry::Ladder& ladder = *m_answer->line->row.history.ladder;
    const QString meter = words::text(m_answer->meter.value);
    const QString level = ladder.level ? words::level(*ladder.level) : QString();
    const auto* attempt = ladder.level ? ladder.newestFailure(*ladder.level) : nullptr;
    const QString strips = attempt != nullptr ? words::text(attempt->stripVial.value) : QString();
    const QString control = attempt != nullptr ? words::text(attempt->controlVial.value) : QString();
    QString detail, go;
    switch (next) {
    case Next::NewControlVial:
        m_next->setText(tr("Open a new vial of the %1 control, then run it again.").arg(level));
        detail = tr("Write today's date on the vial and record its opening. The old vial, %1, is not used again.").arg(control);
        go = tr("Run the %1 control").arg(level);
        break;
    case Next::NewStripVial:
        m_next->setText(tr("Open a new strip vial, then run both levels."));
        detail = tr("Write today's date on the vial and record its opening. Set %1 aside for the coordinator.").arg(strips);
        go = tr("Run the control");
        break;
    case Next::Withdraw:
        m_next->setText(tr("Withdraw %1 and tell the coordinator.").arg(meter));
        detail = tr("Every step was tried. Label the meter and take it off the ward.");
        go = tr("Withdraw %1").arg(meter);
        break;
    default:
        m_next->setText(ladder.step == 1 ? tr("Check the technique, then repeat the %1 control with a new strip.").arg(level)
                                         : tr("Repeat the %1 control once, with a new strip.").arg(level));
        detail = tr("Use the same vials: strips %1, %2 control %3. Mix the control and wipe off the first drop.")
                     .arg(strips, level, control);
        go = tr("Repeat the %1 control").arg(level);
    }
    // A run that may not count is no attempt: what stood in its way is mended first.
    const auto* failed = failedRun();
    if (failed != nullptr && failed->judged.verdict == Verdict::Invalid && !failed->judged.invalidBecause.empty())
        detail = QStringLiteral("%1 %2").arg(words::atTheSheet(failed->judged.invalidBecause.front()), detail);
    m_nextDetail->setText(detail);
    setButtonText(*m_go, go, tr("Enter"));
}

} // namespace mk::desktop
