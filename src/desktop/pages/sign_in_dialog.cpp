// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/sign_in_dialog.h"

#include "desktop/look/look.h"

#include <QDialogButtonBox>
#include <QFormLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QVBoxLayout>

namespace mk::desktop {

namespace {

QLineEdit* hiddenField(QWidget* parent, const QString& name)
{
    auto* field = new QLineEdit(parent);
    field->setEchoMode(QLineEdit::Password);
    field->setMaxLength(200);
    field->setAccessibleName(name);
    // Neither remembered by an input method nor offered as a word.
    field->setInputMethodHints(Qt::ImhHiddenText | Qt::ImhSensitiveData | Qt::ImhNoPredictiveText | Qt::ImhNoAutoUppercase);
    return field;
}

/// Our own copies are wiped; what Qt's field kept of single keys is not ours to wipe.
store::Secret taken(QLineEdit* field, bool keep)
{
    QString typed = field->text();
    if (!keep)
        field->clear();
    QByteArray bytes = typed.toUtf8();
    typed.fill(QChar(u'\0'));
    return store::Secret::taken(bytes.data(), static_cast<std::size_t>(bytes.size()));
}

} // namespace

SignInDialog::SignInDialog(QWidget* parent)
    : QDialog(parent),
      m_id(new QLineEdit(this)),
      m_secret(hiddenField(this, tr("Password or PIN"))),
      m_new(hiddenField(this, tr("New password or PIN"))),
      m_again(hiddenField(this, tr("New one, once more"))),
      m_problem(new QLabel(this)),
      m_form(new QFormLayout),
      m_signIn(nullptr)
{
    setWindowTitle(tr("Sign in"));
    setModal(true);
    m_id->setAccessibleName(tr("Your id"));
    m_problem->setWordWrap(true);
    m_problem->setFont(fontOf(TextSize::Body, Weight::Semibold));
    m_problem->setMinimumWidth(u(60));
    m_form->addRow(tr("Your id"), m_id);
    m_form->addRow(tr("Password or PIN"), m_secret);
    m_form->addRow(tr("New password or PIN"), m_new);
    m_form->addRow(tr("New one, once more"), m_again);
    auto* buttons = new QDialogButtonBox(this);
    m_signIn = buttons->addButton(tr("Sign in"), QDialogButtonBox::AcceptRole);
    m_signIn->setDefault(true);
    buttons->addButton(tr("Look only"), QDialogButtonBox::RejectRole);
    auto* layout = new QVBoxLayout(this);
    layout->addLayout(m_form);
    layout->addWidget(m_problem);
    layout->addWidget(buttons);
    connect(buttons, &QDialogButtonBox::accepted, this, &SignInDialog::onAccepted);
    connect(buttons, &QDialogButtonBox::rejected, this, &SignInDialog::reject);
    connect(this, &QDialog::finished, this, [this] {
        for (QLineEdit* field : { m_secret, m_new, m_again })
            field->clear();
    });
}

void SignInDialog::begin(const std::optional<base::OperatorId>& person)
{
    m_asksNew = false;
    for (QLineEdit* field : { m_secret, m_new, m_again })
        field->clear();
    m_form->setRowVisible(m_new, false);
    m_form->setRowVisible(m_again, false);
    m_id->setEnabled(true);
    m_secret->setEnabled(true);
    m_id->setText(person ? QString::fromStdString(person->value) : QString());
    m_problem->clear();
    setWaiting(false);
    open();
    (m_id->text().isEmpty() ? m_id : m_secret)->setFocus(Qt::OtherFocusReason);
}

void SignInDialog::sayProblem(const QString& text)
{
    setWaiting(false);
    m_problem->setText(text);
    m_problem->setAccessibleName(text);
    if (m_asksNew) {
        m_new->setFocus(Qt::OtherFocusReason);
    } else {
        m_secret->clear();
        m_secret->setFocus(Qt::OtherFocusReason);
    }
}

void SignInDialog::askNew()
{
    m_asksNew = true;
    m_id->setEnabled(false);
    m_secret->setEnabled(false);
    m_form->setRowVisible(m_new, true);
    m_form->setRowVisible(m_again, true);
    setWaiting(false);
    m_problem->setText(tr("This secret was given to you by somebody else. Choose your own now: a PIN of 6 digits or more, or a password."));
    m_new->setFocus(Qt::OtherFocusReason);
}

base::OperatorId SignInDialog::person() const
{
    return base::OperatorId(m_id->text().trimmed().toStdString());
}

store::Secret SignInDialog::present()
{
    return taken(m_secret, true); // it is asked for again where a new one follows, and goes with the dialog
}

store::Secret SignInDialog::next()
{
    m_again->clear();
    return taken(m_new, false);
}

QString SignInDialog::problem() const
{
    return m_problem->text();
}

void SignInDialog::onAccepted()
{
    if (m_id->text().trimmed().isEmpty() || m_secret->text().isEmpty()) {
        sayProblem(tr("Give your id and your password or PIN."));
        return;
    }
    if (m_asksNew && (m_new->text().isEmpty() || m_new->text() != m_again->text())) {
        m_again->clear();
        sayProblem(tr("The two new ones are not the same. Type both again."));
        return;
    }
    setWaiting(true);
    if (m_asksNew)
        emit replaced();
    else
        emit offered();
}

void SignInDialog::setWaiting(bool waiting)
{
    m_signIn->setEnabled(!waiting);
}

} // namespace mk::desktop
