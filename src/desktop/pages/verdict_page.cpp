// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/verdict_page.h"

#include "desktop/parts/frame_parts.h"
#include "desktop/parts/ladder.h"
#include "desktop/look/look_style.h"
#include "desktop/parts/range_bar.h"
#include "desktop/parts/standing.h"
#include "desktop/parts/verdict_frame.h"
#include "words/faults.h"
#include "words/numbers.h"
#include "words/reasons.h"
#include "words/return_steps.h"
#include "words/steps.h"
#include "words/terms.h"
#include "registry/meter/meter_life.h"

#include <QHBoxLayout>
#include <QPushButton>
#include <QVBoxLayout>

#include <algorithm>

namespace mk::desktop {

using registry::Verdict;

namespace {

constexpr int kMostOthers = 5;
/// In u, at the width that every screen has.
constexpr double kVerdictRoom = 108, kVerdictRoomBesideBar = 61, kNextRoom = 117;

/// The newest attempt of each level, oldest first.
std::vector<const registry::RunRecord*> speakingRuns(const std::vector<registry::RunRecord>& runs)
{
    std::vector<const registry::RunRecord*> speaking;
    for (auto run = runs.begin(); run != runs.end(); ++run)
        if (std::none_of(run + 1, runs.end(), [&](const auto& later) { return later.run.level == run->run.level; }))
            speaking.push_back(&*run);
    return speaking;
}

QString withUnit(const registry::RunRecord& run)
{
    const QString reading = words::reading(run.run.result);
    return std::holds_alternative<base::Decimal>(run.run.result) ? VerdictPage::tr("%1 %2").arg(reading, words::unit(run.run.unit))
                                                                 : reading;
}

QString runInWords(const registry::RunRecord& run)
{
    const QString level = words::level(run.run.level);
    const QString reading = withUnit(run);
    const auto& judged = run.judged;
    if (!judged.valid && !judged.invalidBecause.empty())
        return VerdictPage::tr("The %1 control read %2 and cannot count.").arg(level, reading);
    if (judged.verdict == Verdict::Partial)
        return VerdictPage::tr("The %1 control gave no result: %2.").arg(level, reading);
    const auto* number = std::get_if<base::Decimal>(&run.run.result);
    if (number != nullptr && judged.inRange == false && judged.low && judged.high)
        return *number > *judged.high
            ? VerdictPage::tr("The %1 control read %2, above %3.").arg(level, reading, words::text(judged.high->typed()))
            : VerdictPage::tr("The %1 control read %2, below %3.").arg(level, reading, words::text(judged.low->typed()));
    if (number == nullptr)
        return VerdictPage::tr("The %1 control read %2, which is no number.").arg(level, reading);
    QStringList rules;
    for (const auto& rule : judged.rules)
        rules << words::text(rule);
    if (judged.verdict == Verdict::Rejected)
        return VerdictPage::tr("The %1 control read %2, in range, but rule %3 rejects it.")
            .arg(level, reading, rules.join(QStringLiteral(", ")));
    if (judged.verdict == Verdict::Warned)
        return VerdictPage::tr("The %1 control read %2, in range, with a warning: %3.")
            .arg(level, reading, rules.join(QStringLiteral(", ")));
    return VerdictPage::tr("The %1 control read %2, in range.").arg(level, reading);
}

} // namespace

void VerdictPage::setOutcome(const RecordAnswer& answer, const QString& author)
{
    m_answer = answer;
    m_author = author;
    if (m_answer->kept) {
        fillKept();
        emit changed();
        return;
    }
    fillVerdict();
    fillNext();
    m_next->fitInto(u(kNextRoom), TextSize::Answer, TextSize::Heading);
    fillOthers();
    fillStored();
    emit changed();
}

/// Typed while the server was away: there is no verdict, and none is made up.
void VerdictPage::fillKept()
{
    const QString meter = words::text(m_answer->meter.value);
    const QString at = words::time(*m_answer->kept, m_answer->board.zone);
    m_verdict->setText(tr("Do not use %1").arg(meter));
    m_verdict->setTone(Tone::Stop);
    m_verdict->setFont(fontOf(TextSize::Verdict, Weight::Semibold));
    m_mark->setShape(StateShape::BarSquare, Tone::Stop);
    m_frame->setTone(Tone::Stop);
    m_because->setText(tr("Kept on this workstation at %1. It is not judged yet and clears nothing.").arg(at));
    m_more->setText(tr("Do not use %1 until the server is back, or follow the ward's downtime procedure.").arg(meter));
    m_bar->hide();
    m_ladderBox->hide();
    m_leave->hide();
    m_withdraw->hide();
    m_nextCaption->setText(tr("Next"));
    m_next->setText(tr("Put %1 aside, where nobody takes it by mistake.").arg(meter));
    m_next->fitInto(u(kNextRoom), TextSize::Answer, TextSize::Heading);
    m_nextDetail->setText(tr(
        "When the server is back, this is delivered by itself, with the times you typed and marked as delivered late. The verdict then stands on the board."));
    m_nextNote->setText(m_answer->mayHaveArrived
            ? tr("The line broke while it was on its way. If it arrived after all, it still stands there only once.")
            : QString());
    setButtonText(*m_go, tr("Back to the ward"), tr("Enter"));
    fillOthers();
    m_othersTitle->setTitle(m_answer->board.asOf ? tr("Known as usable at %1").arg(words::time(*m_answer->board.asOf, m_answer->board.zone))
                                                 : tr("Known as usable"));
    m_earlierTitle->setTitle(tr("Earlier results on %1").arg(meter));
    m_earlier->setText(tr("They are looked at when this is judged. You do nothing now."));
    m_stored->setText(tr("Nothing on the server yet. Here, encrypted: what %1 typed, since %2.").arg(m_author, at));
}

const registry::RunRecord* VerdictPage::failedRun() const
{
    const auto speaking = speakingRuns(m_answer->runs);
    const auto rank = [](const registry::RunRecord* run) {
        return run->judged.verdict == Verdict::Rejected ? 0
            : run->judged.verdict == Verdict::Invalid   ? 1
            : run->judged.verdict == Verdict::Partial   ? 2
                                                        : 3;
    };
    const auto worst = std::ranges::min_element(speaking, {}, rank);
    return worst == speaking.end() || rank(*worst) == 3 ? nullptr : *worst;
}

bool VerdictPage::mayWithdraw() const
{
    return m_answer->line && registry::mayMove(m_answer->line->row.fitness.state, registry::MeterState::Withdrawn, registry::Role::Nurse);
}

int VerdictPage::ladderStep() const
{
    if (!m_answer || m_answer->kept || !m_answer->line || m_answer->runs.empty() || !m_answer->line->row.history.ladder)
        return 0;
    const auto state = m_answer->line->row.fitness.state;
    const bool onWard = state == registry::MeterState::InService || state == registry::MeterState::OnHold;
    return onWard ? m_answer->line->row.history.ladder->step : 0; // elsewhere the coordinator decides what follows
}

registry::ReasonCode VerdictPage::withdrawalReason() const
{
    if (ladderStep() == 0 && m_answer && m_answer->line)
        for (const auto& reason : m_answer->line->row.fitness.reasons)
            if (reason.blocks && registry::rowOf(reason.code).advice == registry::Advice::Withdraw)
                return reason.code;
    return registry::ReasonCode::ControlRejected;
}

void VerdictPage::askWithdrawal()
{
    emit withdrawAsked(words::text(m_answer->meter.value), withdrawalReason());
}

VerdictPage::Next VerdictPage::nextStep() const
{
    if (m_answer && m_answer->kept)
        return Next::Done;
    const Next rest = m_answer && m_answer->line && !m_answer->line->row.fitness.usable ? Next::LookAfter : Next::Done;
    if (!m_answer || !m_answer->line || m_answer->runs.empty())
        return rest;
    switch (ladderStep()) {
    case 0: break;
    case 1:
    case 2: return Next::Repeat;
    case 3: return Next::NewControlVial;
    case 4: return Next::NewStripVial;
    default: return mayWithdraw() ? Next::Withdraw : rest;
    }
    const auto& fitness = m_answer->line->row.fitness;
    const auto* failed = failedRun();
    if (failed != nullptr)
        return failed->judged.verdict == Verdict::Invalid && fitness.state != registry::MeterState::Withdrawn ? Next::Complete : rest;
    const bool partial = std::ranges::any_of(
        fitness.reasons, [](const auto& reason) { return reason.code == registry::ReasonCode::SetPartial; });
    return partial ? Next::Complete : rest;
}

void VerdictPage::fillVerdict()
{
    const bool known = m_answer->line.has_value();
    const Standing standing = known ? standingOf(*m_answer->line, m_answer->board.at, m_answer->board.zone) : Standing {};
    const QString meter = words::text(m_answer->meter.value);
    m_verdict->setText(known ? standing.sentence : tr("Do not use %1").arg(meter));
    m_verdict->setTone(standing.tone);
    m_mark->setShape(standing.shape, standing.tone);
    m_frame->setTone(standing.tone);
    const auto* failed = failedRun();
    QStringList rest;
    for (const auto* run : speakingRuns(m_answer->runs))
        if (run != failed)
            rest << runInWords(*run);
    if (m_answer->runs.empty()) {
        m_because->setText(standing.why);
        m_more->setText(tr("The report is saved."));
    } else if (failed != nullptr) {
        m_because->setText(runInWords(*failed));
        rest << (m_answer->runs.size() == 1 ? tr("The result is saved.") : tr("All results are saved."));
        m_more->setText(rest.join(QChar(u' ')));
    } else {
        m_because->setText(rest.join(QChar(u' ')));
        // Usable and yet something stands, such as a drift: say it here, where the colour shows it.
        const bool note = standing.usable && m_answer->line && !m_answer->line->row.fitness.reasons.empty();
        m_more->setText(!standing.usable ? standing.why
                : note                   ? tr("All results are saved. Mind this: %1").arg(standing.why)
                                         : tr("All results are saved."));
    }
    m_bar->hide();
    if (failed != nullptr)
        m_bar->setRun(failed->run.result, failed->judged);
    m_verdict->fitInto(u(m_bar->isHidden() ? kVerdictRoom : kVerdictRoomBesideBar), TextSize::Verdict, TextSize::Answer);
}

void VerdictPage::fillNext()
{
    const Next next = nextStep();
    const QString meter = words::text(m_answer->meter.value);
    const auto* failed = failedRun();
    const bool ladder = next == Next::Repeat || next == Next::NewControlVial || next == Next::NewStripVial || next == Next::Withdraw;
    const int step = std::max(ladderStep(), 1);
    m_ladderBox->setVisible(ladder);
    m_ladder->setStep(step);
    m_nextCaption->setText(ladder ? tr("Next, step %1 of 5").arg(step) : tr("Next"));
    m_leave->setVisible(next != Next::Done && next != Next::LookAfter);
    const auto* fitness = m_answer->line ? &m_answer->line->row.fitness : nullptr;
    const bool advised = fitness != nullptr && next == Next::LookAfter && fitness->advice == registry::Advice::Withdraw;
    m_withdraw->setVisible(((ladder && next != Next::Withdraw) || advised) && mayWithdraw());
    setButtonText(*m_leave, tr("Leave %1 on hold").arg(meter), tr("Esc"));
    setButtonText(*m_withdraw, tr("Withdraw %1").arg(meter), tr("F8"));
    m_nextNote->setText(ladder ? tr("If you leave it, the step waits on the ward board. Withdrawing tells the coordinator; only the "
                                    "coordinator returns it to service.")
                               : QString());
    m_nextDetail->clear();
    QString go = tr("Back to the ward");
    switch (next) {
    case Next::Done:
        m_next->setText(tr("Nothing more to do on %1.").arg(meter));
        m_nextDetail->setText(tr("A result that does not fit the patient is checked by local policy, also when the control is in order."));
        break;
    case Next::LookAfter:
        m_next->setText(tr("Put %1 aside, where nobody takes it by mistake.").arg(meter));
        if (m_answer->line && !m_answer->line->row.fitness.next.empty())
            m_nextDetail->setText(tr("Then: %1.").arg(words::stepSaid(m_answer->line->row.fitness.next.front())));
        m_nextNote->setText(mk::words::owedInLine(m_answer->owed));
        break;
    case Next::Complete:
        m_next->setText(failed != nullptr ? tr("Mend what stands in the way, then run the control again.")
                                          : tr("Run the level that is still missing."));
        if (failed != nullptr && !failed->judged.invalidBecause.empty())
            m_nextDetail->setText(words::atTheSheet(failed->judged.invalidBecause.front()));
        go = tr("Run the control");
        setButtonText(*m_leave, tr("Leave %1 as it is").arg(meter), tr("Esc"));
        break;
    case Next::Repeat:
    case Next::NewControlVial:
    case Next::NewStripVial:
    case Next::Withdraw: return fillLadderStep(next);
    }
    setButtonText(*m_go, go, tr("Enter"));
}

void VerdictPage::fillOthers()
{
    qDeleteAll(m_others->findChildren<QWidget*>(QString(), Qt::FindDirectChildrenOnly));
    auto* row = new QHBoxLayout;
    auto* holder = new QWidget(m_others);
    holder->setLayout(row);
    row->setContentsMargins(0, 0, 0, 0);
    row->setSpacing(u(1.2));
    int shown = 0;
    for (const auto& line : m_answer->board.lines) {
        const auto& meter = line.row.history.meter.act.meter;
        if (!line.row.fitness.usable || meter == m_answer->meter || shown == kMostOthers)
            continue;
        const Standing standing = standingOf(line, m_answer->board.at, m_answer->board.zone);
        auto* mark = new ShapeMark(u(1.9), holder);
        mark->setShape(standing.shape, standing.tone);
        auto* name = new ToneLabel(TextSize::Body, Weight::Semibold, Tone::Ink, holder);
        name->setText(words::text(meter.value));
        name->setAccessibleName(standing.sentence);
        if (shown++ > 0)
            row->addSpacing(u(2));
        row->addWidget(mark);
        row->addWidget(name);
    }
    row->addStretch();
    auto* else_ = new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, m_others);
    else_->setWordWrap(true);
    else_->setText(
        shown > 0 ? tr("or send a sample to the laboratory") : tr("No other meter here may be used. Send samples to the laboratory."));
    m_others->layout()->addWidget(holder);
    m_others->layout()->addWidget(else_);
    holder->setVisible(shown > 0);
    const bool usable = m_answer->line && m_answer->line->row.fitness.usable;
    if (usable)
        else_->setText(shown > 0 ? QString() : tr("No other meter here may be used."));
    m_othersTitle->setTitle(usable ? tr("Also usable on this ward") : tr("Use one of these instead"));
}

void VerdictPage::fillStored()
{
    const auto& accepted = m_answer->line ? m_answer->line->row.history.newestAccepted : std::optional<registry::SetRecord>();
    const bool usable = m_answer->line && m_answer->line->row.fitness.usable;
    m_earlierTitle->setTitle(tr("Earlier results on %1").arg(words::text(m_answer->meter.value)));
    const bool failedBefore = std::ranges::any_of(m_answer->runs, [](const auto& run) { return run.judged.verdict == Verdict::Rejected; });
    if (usable && failedBefore)
        m_earlier->setText(tr("A control failed before this one held. The coordinator decides whether earlier results are looked back at; "
                              "you do nothing now."));
    else if (usable)
        m_earlier->setText(tr("They stand. No result is in doubt because of this control."));
    else if (accepted)
        m_earlier->setText(
            tr("If the meter proves wrong, results since %1 are looked back at. The coordinator decides; you do nothing now.")
                .arg(words::dayAndTime(accepted->judged.lastAt, m_answer->board.zone)));
    else
        m_earlier->setText(tr("No accepted control was on record before. The coordinator decides about a look-back."));
    if (!m_answer->outcome) {
        m_stored->setText(mk::words::said(m_answer->outcome.error()));
        return;
    }
    std::int64_t first = 0;
    std::int64_t last = 0;
    for (const auto& outcome : *m_answer->outcome) {
        first = first == 0 ? outcome.seq.value : std::min(first, outcome.seq.value);
        last = std::max(last, outcome.seq.value);
        for (const auto& entry : outcome.consequences)
            last = std::max(last, entry.seq.value);
    }
    QStringList told;
    for (const auto& outcome : *m_answer->outcome)
        for (const auto& line : outcome.told)
            if (!told.contains(words::text(line)))
                told << words::text(line);
    const QString when = words::time(m_answer->board.at, m_answer->board.zone);
    m_stored->setText((told.isEmpty() ? QString() : told.join(QChar(u' ')) + QChar(u' '))
        + (first == last ? tr("Entry %1, at %2, by %3.").arg(words::entryNumber({ first }), when, m_author)
                         : tr("Entries %1 to %2, at %3, by %4: what you typed and what followed.")
                               .arg(words::entryNumber({ first }), words::entryNumber({ last }), when, m_author)));
}

BandText VerdictPage::band() const
{
    return { .question = tr("What do I do next?"), .answer = m_verdict->text(), .questionOnly = true };
}

QList<KeyHint> VerdictPage::keys() const
{
    QList<KeyHint> keys { { tr("Enter"),
        m_go->accessibleName().isEmpty() ? tr("back to the ward")
                                         : m_go->accessibleName().at(0).toLower() + m_go->accessibleName().mid(1) } };
    keys << KeyHint { tr("Esc"), tr("back to the ward") };
    if (!m_withdraw->isHidden())
        keys << KeyHint { tr("F8"), tr("withdraw") };
    return keys << KeyHint { tr("F6"), tr("to the scan field") };
}

QString VerdictPage::note() const
{
    if (m_answer && m_answer->kept)
        return tr("Waits on this workstation");
    return m_answer ? tr("All %1 entries stored").arg(words::entryNumber(m_answer->board.head)) : QString();
}

QWidget* VerdictPage::firstFocus() const
{
    return m_go;
}

} // namespace mk::desktop
