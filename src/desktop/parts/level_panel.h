// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/desk/desk_values.h"
#include "desktop/look/look.h"
#include "desktop/look/shapes.h"

#include <QElapsedTimer>
#include <QFrame>

#include <memory>

namespace Ui {
class LevelPanelForm;
}

namespace mk::desktop {

/// One level of the control sheet: its vial, its range, its result, and what is said about them.
class LevelPanel final : public QFrame {
    Q_OBJECT

public:
    LevelPanel(registry::Level level, QWidget* parent);
    ~LevelPanel() override;

    registry::Level level() const { return m_level; }
    QString result() const;
    QString vial() const;
    bool isAsking() const;
    bool isLocked() const { return m_locked; }

    /// The vial as the board knew it; nothing to judge by.
    void setUnjudged(const SheetLevel& level, base::GlucoseUnit unit);
    void setContext(const SheetLevel& level, const QString& stripLot, base::GlucoseUnit unit, base::Moment at, const registry::Zone& zone);
    void setResult(const QString& text);
    /// A result of this set that is saved already: shown, and not to be typed again.
    void lock(const QString& result, const QString& message, const QString& detail);
    /// A result that is saved by now: it stays as it is said, and is not to be typed again.
    void keep(const QString& detail);
    void unlock();
    void say(std::optional<StateShape> shape, Tone tone, const QString& message, const QString& detail);
    void sayHowToType();
    /// Asks, with the likely answer first; Enter is dead for half a second so that a typed Enter answers nothing.
    void ask(const QString& message, const QString& first, const QString& second);
    void stopAsking();
    void focusResult();
    void focusVial();

signals:
    void resultCommitted(mk::registry::Level level);
    void resultTouched(mk::registry::Level level);
    /// The keyboard went elsewhere from a result that is whole.
    void resultLeft(mk::registry::Level level);
    /// A scanner was aimed at the result; what it left there is taken away.
    void resultScanned(mk::registry::Level level);
    void vialEntered(mk::registry::Level level);
    void answered(mk::registry::Level level, bool first);

private:
    void sayContext(const SheetLevel& level, const QString& stripLot, base::GlucoseUnit unit, base::Moment at, const registry::Zone& zone);
    void answer(bool first);
    void onEnter();
    void stopTyping();

    registry::Level m_level;
    std::unique_ptr<Ui::LevelPanelForm> m_form;
    bool m_locked = false;
    bool m_awake = true;         ///< false while Enter is dead
    QElapsedTimer m_sinceOddKey; ///< one that no result has
};

} // namespace mk::desktop
