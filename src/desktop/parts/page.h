// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/look/look.h"
#include "desktop/look/shapes.h"

#include <QAction>
#include <QList>
#include <QWidget>

#include <optional>

namespace mk::desktop {

/// The question that a screen answers, and the answer that stands at its top.
struct BandText {
    QString question {};
    QString answer {};
    QString tail {}; ///< set behind the answer in tailTone
    Tone tone = Tone::Ink, tailTone = Tone::Ink;
    std::optional<StateShape> shape = std::nullopt;
    Tone shapeTone = Tone::Ink;
    bool large = false;        ///< speaks in verdict size, without the question
    bool questionOnly = false; ///< the answer stands in a panel of the page
};

/// A key that works now, and what it does.
struct KeyHint {
    QString key, does;
};

/// What the window shows between its band and its key line.
class Page : public QWidget {
    Q_OBJECT

public:
    using QWidget::QWidget;

    virtual BandText band() const = 0;
    /// At most two, the likely one last; their keys work while the page is shown.
    virtual QList<QAction*> bandActions() const { return {}; }
    virtual QList<KeyHint> keys() const = 0;
    /// The right end of the key line.
    virtual QString note() const { return {}; }
    /// Where the keyboard goes when the page appears; null: to the scan field.
    virtual QWidget* firstFocus() const { return nullptr; }
    /// Escape. True where the page did something about it itself.
    virtual bool goBack() { return false; }

signals:
    /// Band, keys or note read differently now.
    void changed();
    /// The page is done; back to the ward.
    void finished();
};

/// An action whose button shows its key, and that works on its page by that key.
QAction* pageAction(Page* page, const QString& label, const QString& keyText, const QKeySequence& key);

} // namespace mk::desktop
