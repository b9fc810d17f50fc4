// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QDialog> // first: moc cannot read <compare> before the library's own configuration

#include "desktop/desk/desk_values.h"
#include "store/access/secret.h"

#include <optional>

class QFormLayout;
class QLabel;
class QLineEdit;
class QPushButton;

namespace mk::desktop {

/// Asks for id and secret, and for a new secret where the present one was given out by somebody else. Knows no store.
class SignInDialog final : public QDialog {
    Q_OBJECT

public:
    explicit SignInDialog(QWidget* parent = nullptr);

    void begin(const std::optional<base::OperatorId>& person);
    void sayProblem(const QString& text);
    /// The secret was right and is to be replaced before anything else.
    void askNew();

    base::OperatorId person() const;
    /// What was typed; the fields are emptied where it is taken for the last time.
    store::Secret present();
    store::Secret next();

    QLineEdit* idField() const { return m_id; }
    QLineEdit* secretField() const { return m_secret; }
    QLineEdit* newField() const { return m_new; }
    QLineEdit* againField() const { return m_again; }
    QString problem() const;

signals:
    void offered();
    void replaced();

private:
    void onAccepted();
    void setWaiting(bool waiting);

    QLineEdit* m_id;
    QLineEdit* m_secret;
    QLineEdit* m_new;
    QLineEdit* m_again;
    QLabel* m_problem;
    QFormLayout* m_form;
    QPushButton* m_signIn;
    bool m_asksNew = false;
};

} // namespace mk::desktop
