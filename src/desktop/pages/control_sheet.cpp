// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/control_sheet.h"

#include "ui_control_sheet.h"

#include "desktop/parts/cell_view.h"
#include "desktop/parts/typed_reading.h"
#include "desktop/parts/frame_parts.h"
#include "desktop/parts/level_panel.h"
#include "desktop/look/look_style.h"
#include "desktop/desk/registry_desk.h"
#include "desktop/parts/standing.h"
#include "words/numbers.h"
#include "words/reasons.h"
#include "words/terms.h"
#include "registry/control/control_set.h"
#include "words/questions.h"

#include <QApplication>

#include <algorithm>
#include <ranges>
#include <utility>

namespace mk::desktop {

using registry::Level;
using registry::Reading;
using registry::acts::ControlRun;

ControlSheet::ControlSheet(RegistryDesk& desk, QWidget* parent)
    : Page(parent),
      m_desk(desk),
      m_form(std::make_unique<Ui::ControlSheetForm>())
{
    m_form->setupUi(this);
    layOut();
    connect(m_form->stripEdit, &QLineEdit::editingFinished, this, [this] {
        if (m_form->stripEdit->isModified())
            askContext(std::nullopt);
    });
    connect(m_form->leaveButton, &QPushButton::clicked, this, &ControlSheet::leave);
    connect(m_form->saveButton, &QPushButton::clicked, this, &ControlSheet::save);
    connect(m_form->errorButton, &QPushButton::clicked, this, [this] { emit incidentAsked(words::text(m_meter.value)); });
    auto* error = pageAction(this, tr("Report a fall or fault"), tr("F3"), QKeySequence(Qt::Key_F3));
    connect(error, &QAction::triggered, m_form->errorButton, &QPushButton::click);
}

ControlSheet::~ControlSheet() = default;

void ControlSheet::begin(const base::MeterId& meter, const base::OperatorId& person)
{
    clear();
    m_meter = meter;
    m_person = person;
    m_desk.askSheet({ meter, person, std::nullopt, {} });
    emit changed();
}

void ControlSheet::beginRepeat(const RecordAnswer& failed, const base::OperatorId& person)
{
    const auto runs = failed.runs;
    begin(failed.meter, person);
    m_saved = runs;
    if (runs.empty())
        return;
    m_set = runs.front().run.set;
    m_attempt = 1 + std::ranges::max(runs | std::views::transform([](const registry::RunRecord& run) { return run.judged.attempt; }));
}

void ControlSheet::clear()
{
    m_answer.reset();
    m_set = {};
    m_attempt = 1;
    m_saved.clear();
    m_moved.clear();
    m_vialAwaited = false;
    m_saving = false;
    for (const auto& entry : m_entries)
        delete entry.panel;
    m_entries.clear();
    m_form->stripEdit->setText({}); // clear() would count as typing
    m_form->codeEdit->setText({});
    m_form->problemLabel->clear();
    refreshButtons();
}

void ControlSheet::setAnswer(const SheetAnswer& answer)
{
    m_answer = answer;
    const bool first = m_entries.empty();
    if (first)
        makePanels();
    if (m_set.empty())
        m_set = newSetId(m_meter, m_desk.now(answer.zone), answer.zone);
    fillStrip();
    fillSide();
    const auto unit = unitOfModel();
    const QString lot = answer.stripVial ? words::text(answer.stripVial->vial.lot.value) : QString();
    for (auto& entry : m_entries) {
        if (const SheetLevel* context = contextOf(entry.level))
            answer.unjudged ? entry.panel->setUnjudged(*context, unit)
                            : entry.panel->setContext(*context, lot, unit, answer.at, answer.zone);
        if (first)
            entry.unit = unit;
        if (entry.judged)
            judge(entry);
    }
    if (first) {
        for (const auto& saved : m_saved) {
            Entry* entry = entryOf(saved.run.level);
            const bool newest = std::ranges::count_if(m_saved, [&](const auto& other) {
                return other.run.level == saved.run.level && other.run.at > saved.run.at;
            }) == 0;
            const bool holds = registry::isAccepted(saved.judged.verdict);
            if (entry != nullptr && newest && holds)
                entry->panel->lock(words::reading(saved.run.result), tr("In range"),
                    tr("Saved %1; it stands.").arg(words::time(saved.run.at, answer.zone)));
        }
        if (isVisible())
            if (QWidget* focus = firstFocus())
                focus->setFocus();
    }
    refreshButtons();
    emit changed();
    if (std::exchange(m_vialAwaited, false))
        goOn();
}

void ControlSheet::makePanels()
{
    for (const auto& level : m_answer->levels) {
        auto* panel = new LevelPanel(level.level, this);
        panel->sayHowToType();
        m_form->levelRow->addWidget(panel, 1);
        m_entries.push_back({ .level = level.level, .panel = panel, .at = {}, .question = {}, .answer = {} });
        connect(panel, &LevelPanel::resultCommitted, this, &ControlSheet::onCommitted);
        connect(panel, &LevelPanel::resultTouched, this, &ControlSheet::onTouched);
        connect(panel, &LevelPanel::resultLeft, this, &ControlSheet::onLeft);
        connect(panel, &LevelPanel::resultScanned, this, &ControlSheet::onScanned);
        connect(panel, &LevelPanel::answered, this, &ControlSheet::onAnswered);
        connect(panel, &LevelPanel::vialEntered, this, [this](Level changedLevel) {
            if (Entry* entry = entryOf(changedLevel))
                m_vialAwaited = std::exchange(entry->needsVial, false) || m_vialAwaited;
            askContext(changedLevel);
        });
        panel->show();
    }
    QWidget* before = m_form->codeEdit;
    for (const auto& entry : m_entries) {
        setTabOrder(before, entry.panel);
        before = entry.panel;
    }
    setTabOrder(before, m_form->saveButton);
    setTabOrder(m_form->saveButton, m_form->errorButton);
    setTabOrder(m_form->errorButton, m_form->leaveButton);
}

void ControlSheet::askContext(std::optional<Level>)
{
    if (!m_answer)
        return;
    m_form->stripEdit->setModified(false);
    SheetQuestion question { m_meter, m_person, std::nullopt, {} };
    if (const std::string strip = m_form->stripEdit->text().trimmed().toStdString(); !strip.empty())
        question.stripVial = base::StripVialId(strip);
    for (const auto& entry : m_entries)
        question.controlVials.emplace_back(entry.level, base::ControlVialId(entry.panel->vial().toStdString()));
    m_desk.askSheet(question);
}

ControlSheet::Entry* ControlSheet::entryOf(Level level)
{
    const auto found = std::ranges::find(m_entries, level, &Entry::level);
    return found == m_entries.end() ? nullptr : &*found;
}

LevelPanel* ControlSheet::panel(Level level) const
{
    const auto found = std::ranges::find(m_entries, level, &Entry::level);
    return found == m_entries.end() ? nullptr : found->panel;
}

const SheetLevel* ControlSheet::contextOf(Level level) const
{
    const auto found = std::ranges::find(m_answer->levels, level, &SheetLevel::level);
    return found == m_answer->levels.end() ? nullptr : &*found;
}

base::GlucoseUnit ControlSheet::unitOfModel() const
{
    const bool known = m_answer && m_answer->meter.row.history.model;
    return known ? m_answer->meter.row.history.model->act.unit : base::GlucoseUnit::MgPerDl;
}

std::optional<ControlRun> ControlSheet::runOf(const Entry& entry) const
{
    if (entry.panel->isLocked())
        return std::nullopt;
    auto reading = readTyped(entry.panel->result());
    if (!reading)
        return std::nullopt;
    ControlRun run;
    run.set = m_set;
    run.at = entry.at ? *entry.at : m_desk.now(m_answer->zone); // none where no key wrote it
    run.meter = m_meter;
    run.by = m_person;
    run.stripVial = base::StripVialId(m_form->stripEdit->text().trimmed().toStdString());
    run.level = entry.level;
    run.controlVial = base::ControlVialId(entry.panel->vial().toStdString());
    run.result = std::move(reading).value();
    run.unit = entry.unit;
    if (!entry.question.empty()) {
        run.question = entry.question;
        run.answer = entry.answer;
    }
    if (const QString code = m_form->codeEdit->text().trimmed(); !code.isEmpty())
        run.codeShown = code.toStdString();
    return run;
}

void ControlSheet::onTouched(Level level)
{
    Entry* entry = entryOf(level);
    if (entry == nullptr)
        return;
    entry->at.reset();
    if (m_answer && !entry->panel->result().isEmpty())
        entry->at = m_desk.now(m_answer->zone);
    entry->committed = entry->judged = entry->levelAsked = entry->unitAsked = false;
    entry->question.clear();
    entry->answer.clear();
    entry->asking.reset();
    entry->needsVial = false;
    if (m_answer)
        entry->unit = unitOfModel();
    entry->panel->stopAsking();
    entry->panel->sayHowToType();
    refreshButtons();
    emit changed();
}

/// Moved on to something else on the sheet. Whoever is called away, or signed off, has not moved on.
void ControlSheet::onLeft(Level level)
{
    Entry* entry = entryOf(level);
    const QWidget* focus = QApplication::focusWidget();
    if (entry != nullptr && focus != nullptr && isAncestorOf(focus) && readTyped(entry->panel->result()))
        entry->committed = true;
}

void ControlSheet::onScanned(Level level)
{
    onTouched(level);
    if (Entry* entry = entryOf(level))
        entry->panel->say(StateShape::HalfCircle, Tone::Soon, tr("A scan is no result."), tr("Type what the meter shows."));
}

void ControlSheet::onCommitted(Level level)
{
    Entry* entry = entryOf(level);
    if (entry == nullptr || !m_answer || m_saving)
        return;
    const auto reading = readTyped(entry->panel->result());
    if (!reading) {
        entry->panel->say(
            StateShape::HalfCircle, Tone::Soon, tr("This is not a result yet."), tr("Type the number, or HI, LO, or the error code."));
        return;
    }
    if (!entry->at)
        entry->at = m_desk.now(m_answer->zone);
    entry->committed = true;
    if (askIfDoubtful(*entry)) {
        refreshButtons();
        emit changed();
        return;
    }
    judge(*entry);
    goOn();
}

/// The registry says what is to be asked; each question once.
bool ControlSheet::askIfDoubtful(Entry& entry)
{
    const auto run = runOf(entry);
    const SheetLevel* context = contextOf(entry.level);
    if (!run || context == nullptr)
        return false;
    const registry::RangeRecord* own = context->known.range ? &*context->known.range : nullptr;
    std::vector<const registry::RangeRecord*> beside;
    for (const auto& range : context->beside)
        beside.push_back(&range);
    for (auto& question : registry::questionsOf(*run, own, beside)) {
        if (question.isAboutUnit() ? entry.unitAsked : entry.levelAsked)
            continue;
        entry.panel->ask(mk::words::asked(question), mk::words::asGiven(question), mk::words::asOther(question));
        entry.asking = std::move(question);
        return true;
    }
    return false;
}

void ControlSheet::onAnswered(Level level, bool first)
{
    Entry* entry = entryOf(level);
    if (entry == nullptr || !entry->asking)
        return;
    const registry::RunQuestion question = *std::exchange(entry->asking, std::nullopt);
    const auto add = [](std::string& text, const char* between, const std::string& more) {
        text += (text.empty() ? std::string() : between) + more;
    };
    add(entry->question, " ", registry::questionKept(question));
    add(entry->answer, "; ", registry::answerKept(question, first));
    if (question.isAboutUnit()) {
        entry->unitAsked = true;
        if (!first)
            entry->unit = entry->unit == base::GlucoseUnit::MgPerDl ? base::GlucoseUnit::MmolPerL : base::GlucoseUnit::MgPerDl;
        return onCommitted(level);
    }
    entry->levelAsked = true;
    if (first || !question.other)
        onCommitted(level);
    else
        takeAsOtherLevel(*entry, question.other->level);
}

void ControlSheet::takeAsOtherLevel(Entry& entry, Level otherLevel)
{
    Entry* other = entryOf(otherLevel);
    const auto run = runOf(entry);
    if (other == nullptr || !run)
        return;
    const QString value = entry.panel->result();
    const Entry typed = entry;
    if (readTyped(other->panel->result()) || other->panel->isLocked()) {
        // That level has its result already: this one is kept beside it as a further attempt, and never thrown away.
        ControlRun moved = *run;
        moved.level = other->level;
        moved.controlVial = base::ControlVialId(other->panel->vial().toStdString());
        m_moved.push_back(std::move(moved));
        entry.panel->setResult({});
        onTouched(entry.level);
        entry.panel->say(StateShape::HalfCircle, Tone::Soon,
            tr("%1 is kept as a further %2 result.").arg(value, words::level(other->level)),
            tr("Now test the %1 control.").arg(words::level(entry.level)));
        entry.panel->focusResult();
    } else {
        entry.panel->setResult({});
        onTouched(entry.level);
        other->panel->setResult(value);
        other->at = run->at;
        other->unit = run->unit;
        other->question = typed.question;
        other->answer = typed.answer;
        other->unitAsked = typed.unitAsked;
        other->committed = other->levelAsked = true;
        other->needsVial = true; // which vial it really was is on its label
        judge(*other);
        other->panel->focusVial();
    }
    refreshButtons();
    emit changed();
}

void ControlSheet::judge(Entry& entry)
{
    const auto run = runOf(entry);
    const SheetLevel* context = contextOf(entry.level);
    if (!run || context == nullptr)
        return;
    const registry::RunToJudge input { {}, &*run, context->known.context() };
    const registry::acts::JudgedRun judged = registry::judgeRun(input, m_attempt, m_answer->zone);
    entry.judged = true;
    if (entry.needsVial)
        return entry.panel->say(StateShape::HalfCircle, Tone::Soon, tr("Scan the %1 vial.").arg(words::level(entry.level)),
            tr("The result came from it; its label says which one it was."));
    if (m_answer->unjudged)
        return entry.panel->say(StateShape::EmptySquare, Tone::Hold, tr("Not judged while the server is away."),
            tr("Compare it with the range on the vial's label yourself."));
    if (!judged.valid)
        return entry.panel->say(
            StateShape::BarSquare, Tone::Stop, tr("This run cannot count."), words::atTheSheet(judged.invalidBecause.front()));
    const auto* number = std::get_if<base::Decimal>(&run->result);
    if (std::holds_alternative<registry::ErrorCode>(run->result))
        return entry.panel->say(
            StateShape::HalfCircle, Tone::Soon, tr("An error code is no result."), tr("It is stored. Repeat with a new strip."));
    if (number == nullptr)
        return entry.panel->say(
            StateShape::BarSquare, Tone::Stop, tr("Out of range"), tr("HI and LO are no numbers and are never accepted for a control."));
    const QString score = judged.z && judged.mean
        ? tr("z-score %1 against the target %2").arg(words::score(*judged.z, 1), words::text(judged.mean->typed()))
        : tr("No target is established yet: the range alone speaks.");
    if (judged.inRange.value_or(false))
        return entry.panel->say(StateShape::Circle, Tone::Use, tr("In range"), score);
    const bool above = judged.high && *number > *judged.high;
    entry.panel->say(StateShape::BarSquare, Tone::Stop,
        above ? tr("Out of range: above %1").arg(words::text(judged.high->typed()))
              : tr("Out of range: below %1").arg(words::text(judged.low->typed())),
        score);
}

void ControlSheet::goOn()
{
    refreshButtons();
    emit changed();
    for (const auto& entry : m_entries) {
        if (!entry.panel->isLocked() && !entry.judged) {
            entry.panel->focusResult();
            return;
        }
    }
    if (isComplete())
        save();
}

bool ControlSheet::isAsking() const
{
    return std::ranges::any_of(m_entries, [](const Entry& entry) { return entry.panel->isAsking(); });
}

bool ControlSheet::isComplete() const
{
    return m_answer && !isAsking() && !m_entries.empty() && std::ranges::all_of(m_entries, [](const Entry& entry) {
        return entry.panel->isLocked() || (readTyped(entry.panel->result()) && !entry.needsVial);
    });
}

} // namespace mk::desktop
