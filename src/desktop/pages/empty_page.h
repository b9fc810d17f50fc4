// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "desktop/parts/page.h"

namespace mk::desktop {

class ToneLabel;

/// What stands here while there is no registry to show: what would be here, and how it gets here.
class EmptyPage final : public Page {
    Q_OBJECT

public:
    explicit EmptyPage(QWidget* parent = nullptr);
    /// There is no file at that path yet.
    void sayMissing(const QString& path);
    /// There is one, and it cannot be shown.
    void sayProblem(const QString& text);
    /// It lives on a server that does not answer.
    /// tried  it is tried again by itself
    /// detail  what the system said, for whoever looks after the server
    void sayAway(const QString& detail, bool tried);

    BandText band() const override;
    QList<KeyHint> keys() const override;

signals:
    void retried();

private:
    QString m_answer;
    ToneLabel* m_what;
    ToneLabel* m_how;
    ToneLabel* m_commands;
};

} // namespace mk::desktop
