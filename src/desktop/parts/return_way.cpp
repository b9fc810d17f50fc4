// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/return_way.h"

#include "desktop/parts/frame_parts.h"
#include "desktop/parts/step_mark.h"
#include "words/numbers.h"
#include "words/return_steps.h"

#include <QGridLayout>

#include <algorithm>

namespace mk::desktop {

ReturnWay::ReturnWay(QWidget* parent) : QScrollArea(parent)
{
    setFrameShape(QFrame::NoFrame);
    setWidgetResizable(true);
    setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    setFocusPolicy(Qt::TabFocus); // the arrows scroll it where it is longer than its room
    setAccessibleName(tr("Owed before it may be used"));
}

void ReturnWay::setSteps(const std::vector<registry::AskedForReturn>& steps, const People& people, const registry::Zone& zone)
{
    auto* list = new QWidget(this);
    auto* grid = new QGridLayout(list);
    grid->setContentsMargins(0, u(1.5), u(1), 0);
    grid->setHorizontalSpacing(u(2));
    grid->setVerticalSpacing(0);
    grid->setColumnStretch(1, 1);
    setWidget(list); // the one before goes with what was on it
    const auto now = std::ranges::find_if(steps, [](const auto& step) { return !step.metAt; });
    for (auto step = steps.begin(); step != steps.end(); ++step) {
        const auto person = std::ranges::find(people, step->metBy.value, &std::pair<std::string, std::string>::first);
        const QString name = words::text(person == people.end() ? step->metBy.value : person->second);
        addStep(*step, step == now, static_cast<std::size_t>(step - steps.begin()) + 1, words::beneath(*step, name, zone));
    }
    grid->setRowStretch(grid->rowCount(), 1);
}

void ReturnWay::addStep(const registry::AskedForReturn& step, bool now, std::size_t number, const QString& beneath)
{
    auto* grid = qobject_cast<QGridLayout*>(widget()->layout());
    const int row = static_cast<int>(number) * 2;
    const StepProgress progress = step.metAt ? StepProgress::Done : now ? StepProgress::Now : StepProgress::Later;
    auto* title = new ToneLabel(TextSize::Body, progress == StepProgress::Later ? Weight::Regular : Weight::Semibold, Tone::Ink, widget());
    title->setObjectName(QStringLiteral("step"));
    title->setText(words::said(step.step));
    title->setAccessibleName((step.metAt ? tr("Done: %1. %2")
            : now                        ? tr("Owed now: %1. %2")
                                         : tr("Owed: %1. %2"))
                                 .arg(title->text(), beneath));
    auto* under = new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, widget());
    under->setObjectName(QStringLiteral("beneath"));
    under->setText(beneath);
    under->setContentsMargins(0, 0, 0, u(1.6));
    for (ToneLabel* label : { title, under })
        label->setWordWrap(true);
    grid->addWidget(new StepMark(progress, QString::number(number), widget()), row, 0, 2, 1, Qt::AlignTop);
    grid->addWidget(title, row, 1);
    grid->addWidget(under, row + 1, 1, Qt::AlignTop);
}

} // namespace mk::desktop
