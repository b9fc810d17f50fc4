// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/frame_parts.h"

#include "desktop/look/look_style.h"

#include <QEvent>
#include <QHBoxLayout>
#include <QHelpEvent>
#include <QPainter>
#include <QPushButton>
#include <QToolTip>
#include <QVBoxLayout>

#include <algorithm>

namespace mk::desktop {

ToneLabel::ToneLabel(TextSize size, Weight weight, Tone tone, QWidget* parent) : QLabel(parent), m_tone(tone)
{
    setFont(fontOf(size, weight));
    setTextFormat(Qt::PlainText);
    wear();
}

void ToneLabel::setTone(Tone tone)
{
    m_tone = tone;
    wear();
}

void ToneLabel::wear()
{
    const QColor colour = colourOf(tokensOf(palette()), m_tone);
    if (palette().color(QPalette::WindowText) == colour && palette().color(QPalette::Text) == colour)
        return;
    // On a surface Qt reads the text's colour from another role than on paper.
    QPalette mine = palette();
    mine.setColor(QPalette::WindowText, colour);
    mine.setColor(QPalette::Text, colour);
    setPalette(mine);
}

void ToneLabel::changeEvent(QEvent* event)
{
    QLabel::changeEvent(event);
    if (event->type() == QEvent::PaletteChange)
        wear();
}

bool ToneLabel::isCut() const
{
    return m_mayElide && fontMetrics().horizontalAdvance(text()) > contentsRect().width();
}

void ToneLabel::fitInto(int room, TextSize largest, TextSize smallest)
{
    QFont font = fontOf(largest, Weight::Semibold);
    const double least = fontOf(smallest).pointSizeF();
    while (QFontMetrics(font).horizontalAdvance(text()) > room && font.pointSizeF() > least)
        font.setPointSizeF(std::max(least, font.pointSizeF() - 0.5));
    setFont(font);
}

QSize ToneLabel::minimumSizeHint() const
{
    const QSize least = QLabel::minimumSizeHint();
    return m_mayElide ? QSize(u(4), least.height()) : least;
}

bool ToneLabel::event(QEvent* event)
{
    if (event->type() == QEvent::ToolTip && isCut()) {
        QToolTip::showText(static_cast<QHelpEvent*>(event)->globalPos(), text(), this);
        return true;
    }
    return QLabel::event(event);
}

void ToneLabel::paintEvent(QPaintEvent* event)
{
    if (!isCut())
        return QLabel::paintEvent(event);
    QPainter painter(this);
    painter.setPen(palette().color(foregroundRole()));
    painter.drawText(contentsRect(), int(alignment()), fontMetrics().elidedText(text(), Qt::ElideRight, contentsRect().width()));
}

ShapeMark::ShapeMark(int side, QWidget* parent) : QWidget(parent)
{
    setSide(side);
}

void ShapeMark::setSide(int side)
{
    setFixedSize(side, side);
}

void ShapeMark::setShape(std::optional<StateShape> shape, Tone tone)
{
    m_shape = shape;
    m_tone = tone;
    setVisible(shape.has_value());
    update();
}

void ShapeMark::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    if (m_shape)
        paintShape(painter, *m_shape, QRectF(rect()), colourOf(tokensOf(palette()), m_tone));
}

SideTitle::SideTitle(const QString& title, const QString& right, QWidget* parent)
    : QWidget(parent),
      m_title(new ToneLabel(TextSize::Small, Weight::Semibold, Tone::Ink, this)),
      m_right(new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this))
{
    setFixedHeight(u(4));
    auto* layout = new QHBoxLayout(this);
    layout->setContentsMargins(0, 0, 0, 1);
    layout->setSpacing(u(1));
    m_title->setMayElide();
    layout->addWidget(m_title, 1);
    layout->addWidget(m_right);
    setRight(right);
    setTitle(title);
}

void SideTitle::setTitle(const QString& title)
{
    m_title->setText(title);
}

void SideTitle::setRight(const QString& word)
{
    m_right->setText(word);
    m_right->setVisible(!word.isEmpty());
}

void SideTitle::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    painter.fillRect(0, height() - 1, width(), 1, tokensOf(palette()).line);
}

HeaderBar::HeaderBar(QWidget* parent)
    : QWidget(parent),
      m_scan(new QLineEdit(this)),
      m_past(new QLabel(this)),
      m_person(new QToolButton(this)),
      m_ward(new QToolButton(this)),
      m_moment(new QLabel(this))
{
    setFixedHeight(u(8));
    m_scan->setFixedSize(u(48), u(5) + 1);
    m_scan->setPlaceholderText(tr("Scan or type a meter"));
    m_scan->setAccessibleName(tr("Scan or type a meter"));
    m_scan->setFocusPolicy(Qt::StrongFocus);
    m_past->setFixedWidth(u(48));
    m_past->setFont(fontOf(TextSize::Body, Weight::Semibold));
    m_past->hide();
    auto* place = new QToolButton(this);
    place->setText(tr("Ward"));
    place->setCheckable(true);
    place->setChecked(true);
    place->setAutoExclusive(true);
    place->setFocusPolicy(Qt::NoFocus);
    place->setFixedHeight(u(8));
    m_person->setFont(fontOf(TextSize::Body, Weight::Semibold));
    m_ward->setFont(fontOf(TextSize::Small));
    m_moment->setFont(fontOf(TextSize::Small));
    m_moment->hide(); // until there is one
    for (QToolButton* button : { m_person, m_ward }) {
        button->setPopupMode(QToolButton::InstantPopup);
        button->setFocusPolicy(Qt::TabFocus);
        button->setProperty("rightAligned", true);
        button->setFixedHeight(u(2.6));
    }

    auto* who = new QHBoxLayout;
    who->addStretch();
    who->addWidget(m_person);
    auto* where = new QHBoxLayout;
    where->setSpacing(u(1));
    where->addStretch();
    where->addWidget(m_ward);
    where->addWidget(m_moment);
    auto* right = new QVBoxLayout;
    right->setSpacing(0);
    right->addStretch();
    right->addLayout(who);
    right->addLayout(where);
    right->addStretch();
    auto* layout = new QHBoxLayout(this);
    layout->setContentsMargins(u(4), 0, u(4), 0);
    layout->setSpacing(u(4));
    layout->addWidget(m_scan);
    layout->addWidget(m_past);
    layout->addWidget(place, 0, Qt::AlignTop);
    layout->addStretch();
    layout->addLayout(right);
}

void HeaderBar::setPerson(const QString& text)
{
    m_person->setText(text);
    m_person->setAccessibleName(tr("Who works here: %1").arg(text));
}

void HeaderBar::setWard(const QString& text)
{
    m_ward->setText(text);
    m_ward->setAccessibleName(tr("Ward shown: %1").arg(text));
}

void HeaderBar::setMoment(const QString& text)
{
    //: a separator and the date and time of the answer
    m_moment->setText(tr("·  %1").arg(text));
    m_moment->show();
}

void HeaderBar::setNotice(QWidget* notice)
{
    auto* row = qobject_cast<QHBoxLayout*>(layout());
    row->insertWidget(row->count() - 2, notice, 1); // before the room that pushes the person to the right
}

void HeaderBar::setPast(const QString& moment, Theme theme)
{
    m_scan->hide();
    m_past->setText(moment);
    m_past->show();
    setPalette(reversedPalette(theme));
}

void HeaderBar::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    painter.fillRect(rect(), palette().color(QPalette::Base));
    painter.fillRect(0, height() - 1, width(), 1, tokensOf(palette()).hairline);
}

AnswerBand::AnswerBand(QWidget* parent)
    : QWidget(parent),
      m_question(new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this)),
      m_mark(new ShapeMark(u(3.5), this)),
      m_answer(new ToneLabel(TextSize::Answer, Weight::Semibold, Tone::Ink, this)),
      m_tail(new ToneLabel(TextSize::Answer, Weight::Semibold, Tone::Ink, this)),
      m_texts(new QBoxLayout(QBoxLayout::LeftToRight)),
      m_actions(new QWidget(this)),
      m_actionLayout(new QHBoxLayout(m_actions))
{
    setFixedHeight(u(12));
    m_answer->setAccessibleName(tr("Answer"));
    auto* line = new QHBoxLayout;
    line->setSpacing(0);
    line->addWidget(m_mark);
    line->addSpacing(0);
    m_texts->setSpacing(u(1));
    m_texts->addWidget(m_answer);
    m_texts->addWidget(m_tail);
    m_texts->addStretch();
    line->addLayout(m_texts, 1);
    for (ToneLabel* text : { m_answer, m_tail })
        text->setMinimumWidth(1); // a longer answer never widens the window
    m_question->setMayElide();
    auto* left = new QVBoxLayout;
    left->setContentsMargins(0, u(2), 0, u(2));
    left->setSpacing(0);
    left->addWidget(m_question);
    left->addLayout(line, 1);
    m_actionLayout->setContentsMargins(0, u(2), 0, 0);
    m_actionLayout->setSpacing(u(1.5));
    auto* layout = new QHBoxLayout(this);
    layout->setContentsMargins(u(4), 0, u(4), 0);
    layout->addLayout(left, 1);
    layout->addWidget(m_actions, 0, Qt::AlignVCenter);
}

void AnswerBand::show(const BandText& text, const QList<QAction*>& actions)
{
    m_text = text;
    m_question->setText(text.question);
    m_question->setVisible(!text.large);
    m_mark->setShape(text.questionOnly ? std::nullopt : text.shape, text.shapeTone);
    m_answer->setTone(text.tone);
    m_answer->setVisible(!text.questionOnly);
    m_tail->setText(text.tail);
    m_tail->setTone(text.tailTone);
    m_tail->setVisible(!text.tail.isEmpty() && !text.questionOnly);
    setFixedHeight(text.questionOnly ? u(6) : u(12));
    setActions(text.large || text.questionOnly ? QList<QAction*>() : actions);
    fit();
}

void AnswerBand::setActions(const QList<QAction*>& actions)
{
    m_actions->setVisible(!actions.isEmpty());
    if (m_shown == actions)
        return;
    m_shown = actions;
    qDeleteAll(m_actions->findChildren<QPushButton*>(Qt::FindDirectChildrenOnly));
    for (QAction* action : actions) {
        auto* button = new QPushButton(m_actions);
        setButtonText(*button, action->text(), action->data().toString());
        setButtonKind(*button, action == actions.last() ? ButtonKind::Likely : ButtonKind::Plain);
        connect(button, &QPushButton::clicked, action, &QAction::trigger);
        m_actionLayout->addWidget(button);
    }
}

void AnswerBand::fit()
{
    const int room = width() - u(8) - (m_actions->isHidden() ? 0 : m_actions->sizeHint().width() + u(3)) - (m_text.shape ? u(8) : 0);
    QFont font = fontOf(m_text.large ? TextSize::Verdict : TextSize::Answer, Weight::Semibold);
    const QString whole = m_text.answer + (m_text.tail.isEmpty() ? QString() : QStringLiteral("  ") + m_text.tail);
    while (font.pointSizeF() > fontOf(TextSize::Heading).pointSizeF() && QFontMetrics(font).horizontalAdvance(whole) > room)
        font.setPointSizeF(font.pointSizeF() - 0.5);
    fitLines(font, whole, room);
    const int side = m_text.large ? qRound(QFontMetrics(font).ascent() * 0.86) : u(3.5);
    m_mark->setSide(side);
    m_answer->setIndent(m_text.shape ? u(m_text.large ? 2.8 : 2) : 0);
    m_answer->setText(m_text.answer);
}

/// What is too long for a line even in the smallest size stands on two.
void AnswerBand::fitLines(const QFont& font, const QString& whole, int room)
{
    const bool twoLines = QFontMetrics(font).horizontalAdvance(whole) > room;
    m_texts->setDirection(twoLines ? QBoxLayout::TopToBottom : QBoxLayout::LeftToRight);
    m_texts->setSpacing(twoLines ? 0 : u(1));
    layout()->itemAt(0)->layout()->setContentsMargins(0, twoLines ? u(1) : u(2), 0, twoLines ? 0 : u(2));
    for (ToneLabel* text : { m_answer, m_tail }) {
        text->setFont(font);
        text->setWordWrap(twoLines);
    }
}

void AnswerBand::resizeEvent(QResizeEvent* event)
{
    QWidget::resizeEvent(event);
    fit();
}

PastFrame::PastFrame(QWidget* around) : QWidget(around)
{
    setAttribute(Qt::WA_TransparentForMouseEvents);
    around->installEventFilter(this);
    setGeometry(around->rect());
}

void PastFrame::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    painter.setPen(QPen(tokensOf(palette()).ink, u(1)));
    painter.drawRect(QRectF(rect()).adjusted(u(0.5), u(0.5), -u(0.5), -u(0.5)));
}

bool PastFrame::eventFilter(QObject* watched, QEvent* event)
{
    if (event->type() == QEvent::Resize) {
        setGeometry(parentWidget()->rect());
        raise();
    }
    return QWidget::eventFilter(watched, event);
}

ServerStrip::ServerStrip(QWidget* parent)
    : QWidget(parent),
      m_mark(new ShapeMark(u(2.6), this)),
      m_what(new ToneLabel(TextSize::Body, Weight::Semibold, Tone::Ink, this)),
      m_todo(new ToneLabel(TextSize::Small, Weight::Regular, Tone::Ink, this))
{
    auto* texts = new QVBoxLayout;
    texts->setSpacing(0);
    texts->addStretch(1);
    for (ToneLabel* label : { m_what, m_todo }) {
        label->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Preferred); // a longer language never widens the window
        texts->addWidget(label);
    }
    texts->addStretch(1);
    auto* layout = new QHBoxLayout(this);
    layout->setContentsMargins(0, 0, 0, 1);
    layout->setSpacing(u(2));
    layout->addWidget(m_mark);
    layout->addLayout(texts, 1);
    hide();
}

void ServerStrip::say(StateShape shape, Tone tone, const QString& what, const QString& todo, QAction* action)
{
    m_mark->setShape(shape, tone);
    m_what->setText(what);
    m_todo->setText(todo);
    m_todo->setVisible(!todo.isEmpty());
    setAccessibleName(text());
    setToolTip(text());
    delete m_button;
    m_button = nullptr;
    if (action != nullptr) {
        auto* button = new QPushButton(this);
        setButtonText(*button, action->text(), action->data().toString());
        connect(button, &QPushButton::clicked, action, &QAction::trigger);
        button->setFocusPolicy(Qt::TabFocus);
        layout()->addWidget(button);
        m_button = button;
    }
    show();
}

void ServerStrip::sayLost(const QString& what, const QString& todo)
{
    say(StateShape::EmptySquare, Tone::Hold, what, todo, nullptr);
}

void ServerStrip::sayBack(const QString& what, const QString& todo, QAction* action)
{
    say(action != nullptr ? StateShape::HalfCircle : StateShape::Circle, action != nullptr ? Tone::Soon : Tone::Use, what, todo, action);
}

QString ServerStrip::text() const
{
    return m_todo->text().isEmpty() ? m_what->text() : m_what->text() + QChar(u' ') + m_todo->text();
}

KeyLine::KeyLine(QWidget* parent)
    : QWidget(parent),
      m_keys(new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this)),
      m_note(new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, this))
{
    setMinimumHeight(u(4));
    m_keys->setWordWrap(true); // the line grows before a key is cut
    m_note->setMayElide();
    m_keys->setTextFormat(Qt::RichText);
    m_keys->setAccessibleName(tr("Keys that work now"));
    auto* layout = new QHBoxLayout(this);
    layout->setContentsMargins(u(4), 1, u(4), 0);
    layout->setSpacing(u(2));
    layout->addWidget(m_keys, 1);
    layout->addWidget(m_note);
    QSizePolicy policy(QSizePolicy::Preferred, QSizePolicy::Minimum);
    policy.setHeightForWidth(true);
    setSizePolicy(policy);
}

void KeyLine::show(const QList<KeyHint>& keys, const QString& note)
{
    const QString ink = tokensOf(palette()).ink.name();
    const auto together = [](QString words) { return words.replace(QChar(u' '), QChar(QChar::Nbsp)).toHtmlEscaped(); };
    QString text;
    for (const KeyHint& hint : keys) // a key and what it does stay on one line
        text += QStringLiteral("<span style='font-weight:600; color:%1'>%2</span>&nbsp;%3&nbsp;&nbsp; ")
                    .arg(ink, together(hint.key), together(hint.does));
    m_keys->setText(text);
    m_note->setText(note);
}

void KeyLine::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    painter.fillRect(0, 0, width(), 1, tokensOf(palette()).hairline);
}

} // namespace mk::desktop
