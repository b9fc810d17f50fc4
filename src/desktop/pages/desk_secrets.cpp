// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/desk_secrets.h"

#include "desktop/parts/frame_parts.h"
#include "desktop/look/look_style.h"
#include "keys/queue_key.h"
#include "keys/secret_service.h"
#include "store/db/address.h"
#include "words/faults.h"

#include <QApplication>
#include <QCheckBox>
#include <QDialog>
#include <QHBoxLayout>
#include <QLineEdit>
#include <QPushButton>
#include <QVBoxLayout>

#include <chrono>
#include <future>
#include <memory>

namespace mk::desktop {

using base::Fault;
using base::FaultKind;
using base::Result;

namespace {

constexpr std::chrono::milliseconds kLook { 100 };

/// Runs on the registry's thread: asks on the window's, and waits.
template <typename T, typename Ask>
Result<T> waitFor(QObject* window, const std::atomic<bool>& closing, Ask ask)
{
    auto promise = std::make_shared<std::promise<Result<T>>>();
    auto answer = promise->get_future();
    QMetaObject::invokeMethod(
        window, [ask, promise] { ask([promise](Result<T> value) { promise->set_value(std::move(value)); }); }, Qt::QueuedConnection);
    while (answer.wait_for(kLook) != std::future_status::ready)
        if (closing)
            return base::fault(FaultKind::Denied, "the window was closed before the password was given");
    return answer.get();
}

} // namespace

DeskSecrets::DeskSecrets(QObject* parent) : QObject(parent)
{
    connect(qApp, &QCoreApplication::aboutToQuit, this, &DeskSecrets::close);
}

store::PasswordSource DeskSecrets::passwordSource()
{
    return [this](const store::Address& address) {
        return waitFor<std::string>(this, m_closing, [this, address](Answer answer) {
            keys::secretOf(keys::passwordName(address), [this, address, answer](std::optional<std::string> secret) {
                if (secret)
                    answer(std::move(*secret));
                else
                    askPerson(address, answer);
            });
        });
    };
}

std::function<Result<std::vector<store::OutboxKey>>()> DeskSecrets::queueKeys(const QString& configFolder)
{
    return [this, configFolder] {
        using Keys = std::vector<store::OutboxKey>;
        return waitFor<Keys>(
            this, m_closing, [configFolder](const std::function<void(Result<Keys>)>& answer) { answer(keys::queueKeys(configFolder)); });
    };
}

void DeskSecrets::askPerson(const store::Address& address, const Answer& answer)
{
    auto* dialog = new QDialog(QApplication::activeWindow());
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    dialog->setWindowTitle(tr("Password of the server"));
    auto* what = new ToneLabel(TextSize::Heading, Weight::Semibold, Tone::Ink, dialog);
    const QString place = words::said(address.said());
    what->setText(tr("The server asks for a password."));
    auto* where = new ToneLabel(TextSize::Body, Weight::Regular, Tone::Quiet, dialog);
    where->setWordWrap(true);
    where->setText(address.user.empty() ? place.at(0).toUpper() + place.mid(1)
                                        : tr("%1, as %2").arg(place.at(0).toUpper() + place.mid(1), QString::fromStdString(address.user)));
    auto* caption = new ToneLabel(TextSize::Small, Weight::Regular, Tone::Quiet, dialog);
    caption->setText(tr("Password of the database, not your PIN"));
    auto* edit = new QLineEdit(dialog);
    edit->setObjectName(QStringLiteral("passwordEdit"));
    edit->setEchoMode(QLineEdit::Password);
    edit->setFixedWidth(u(48));
    caption->setBuddy(edit);
    auto* keep = new QCheckBox(tr("Keep it in this machine's key store"), dialog);
    keep->setObjectName(QStringLiteral("keepBox"));
    auto* connectButton = new QPushButton(dialog);
    auto* later = new QPushButton(dialog);
    setButtonText(*connectButton, tr("Connect"), tr("Enter"));
    setButtonText(*later, tr("Not now"), tr("Esc"));
    setButtonKind(*connectButton, ButtonKind::Likely);
    connectButton->setDefault(true);
    auto* buttons = new QHBoxLayout;
    buttons->addWidget(connectButton);
    buttons->addWidget(later);
    buttons->addStretch(1);
    auto* layout = new QVBoxLayout(dialog);
    layout->setContentsMargins(u(4), u(4), u(4), u(4));
    layout->setSpacing(u(1));
    for (QWidget* part : std::initializer_list<QWidget*> { what, where, caption, edit, keep })
        layout->addWidget(part);
    layout->addSpacing(u(2));
    layout->addLayout(buttons);
    connect(connectButton, &QPushButton::clicked, dialog, &QDialog::accept);
    connect(later, &QPushButton::clicked, dialog, &QDialog::reject);
    connect(dialog, &QDialog::finished, this, [edit, keep, address, answer](int how) {
        std::string password = edit->text().toStdString();
        edit->setText(QString(edit->text().size(), QChar(u' ')));
        if (how != QDialog::Accepted || password.empty()) {
            answer(base::fault(FaultKind::Denied, "no password was given for %1", address.said()));
            return;
        }
        if (keep->isChecked())
            keys::keepSecret(keys::passwordName(address), password, [](bool) {}); // where there is none it is asked for again
        answer(std::move(password));
    });
    dialog->open();
    edit->setFocus();
}

} // namespace mk::desktop
