// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/page.h"

#include <QLabel>
#include <QLineEdit>
#include <QToolButton>

class QBoxLayout;
class QHBoxLayout;

/// The fixed parts of the window: its header, the band under it, the key line at its foot.
namespace mk::desktop {

/// A label that wears a token and a text size, and follows the theme.
class ToneLabel final : public QLabel {
    Q_OBJECT

public:
    explicit ToneLabel(TextSize size = TextSize::Body, Weight weight = Weight::Regular, Tone tone = Tone::Ink, QWidget* parent = nullptr);
    void setTone(Tone tone);
    /// Stays on one line and asks for no room: what is cut ends in dots, and the tool tip says it whole.
    void setMayElide() { m_mayElide = true; }
    bool mayElide() const { return m_mayElide; }
    /// In the largest size, from this one down to that, in which the text stands on one line of the room; beyond the smallest it wraps.
    void fitInto(int room, TextSize largest, TextSize smallest);
    QSize minimumSizeHint() const override;

protected:
    bool event(QEvent* event) override;
    void changeEvent(QEvent* event) override;
    void paintEvent(QPaintEvent* event) override;

private:
    void wear();
    bool isCut() const;
    Tone m_tone;
    bool m_mayElide = false;
};

/// A shape by itself, as high as a text size wants it.
class ShapeMark final : public QWidget {
    Q_OBJECT

public:
    explicit ShapeMark(int side, QWidget* parent = nullptr);
    void setShape(std::optional<StateShape> shape, Tone tone);
    void setSide(int side);

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    std::optional<StateShape> m_shape;
    Tone m_tone = Tone::Ink;
};

/// A small title over a line, with an optional word at its right end.
class SideTitle final : public QWidget {
    Q_OBJECT

public:
    explicit SideTitle(const QString& title, const QString& right = {}, QWidget* parent = nullptr);
    void setTitle(const QString& title);
    void setRight(const QString& word);

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    ToneLabel* m_title;
    ToneLabel* m_right;
};

class HeaderBar final : public QWidget {
    Q_OBJECT

public:
    explicit HeaderBar(QWidget* parent = nullptr);

    QLineEdit* scanField() const { return m_scan; }
    void setPerson(const QString& text);
    void setWard(const QString& text);
    void setMoment(const QString& text);
    /// Shows a past moment where the scan field stands, on reversed ground.
    void setPast(const QString& moment, Theme theme);

    /// Stands between the places and the person.
    void setNotice(QWidget* notice);

    QToolButton* personButton() const { return m_person; }
    QToolButton* wardButton() const { return m_ward; }

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    QLineEdit* m_scan;
    QLabel* m_past;
    QToolButton* m_person;
    QToolButton* m_ward;
    QLabel* m_moment;
};

class AnswerBand final : public QWidget {
    Q_OBJECT

public:
    explicit AnswerBand(QWidget* parent = nullptr);
    void show(const BandText& text, const QList<QAction*>& actions);

protected:
    void resizeEvent(QResizeEvent* event) override;

private:
    void fit();
    void fitLines(const QFont& font, const QString& whole, int room);
    void setActions(const QList<QAction*>& actions);

    BandText m_text;
    ToneLabel* m_question;
    ShapeMark* m_mark;
    ToneLabel* m_answer;
    ToneLabel* m_tail;
    QBoxLayout* m_texts; ///< the tail stands behind the answer, or under it where both do not fit on a line
    QWidget* m_actions;
    QHBoxLayout* m_actionLayout;
    QList<QAction*> m_shown;
};

/// A frame in ink around the window while a past moment is shown; it takes no clicks.
class PastFrame final : public QWidget {
    Q_OBJECT

public:
    explicit PastFrame(QWidget* around);

protected:
    void paintEvent(QPaintEvent* event) override;
    bool eventFilter(QObject* watched, QEvent* event) override;
};

/// Says in the header how it stands with the server, while there is something to say; nothing else moves for it.
class ServerStrip final : public QWidget {
    Q_OBJECT

public:
    explicit ServerStrip(QWidget* parent = nullptr);
    void sayLost(const QString& what, const QString& todo);
    /// action  empty: none
    void sayBack(const QString& what, const QString& todo, QAction* action);
    QString text() const;

private:
    void say(StateShape shape, Tone tone, const QString& what, const QString& todo, QAction* action);

    ShapeMark* m_mark;
    ToneLabel* m_what;
    ToneLabel* m_todo;
    QWidget* m_button = nullptr;
};

class KeyLine final : public QWidget {
    Q_OBJECT

public:
    explicit KeyLine(QWidget* parent = nullptr);
    void show(const QList<KeyHint>& keys, const QString& note);

protected:
    void paintEvent(QPaintEvent* event) override;

private:
    ToneLabel* m_keys;
    ToneLabel* m_note;
};

} // namespace mk::desktop
