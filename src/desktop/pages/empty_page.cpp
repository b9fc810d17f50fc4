// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/pages/empty_page.h"

#include "desktop/parts/frame_parts.h"

#include <QFrame>
#include <QVBoxLayout>

namespace mk::desktop {

EmptyPage::EmptyPage(QWidget* parent)
    : Page(parent),
      m_what(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this)),
      m_how(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this)),
      m_commands(new ToneLabel(TextSize::Body, Weight::Regular, Tone::Ink, this))
{
    auto* panel = new QFrame(this);
    panel->setFrameShape(QFrame::StyledPanel);
    panel->setBackgroundRole(QPalette::Base);
    panel->setAutoFillBackground(true);
    auto* texts = new QVBoxLayout(panel);
    texts->setContentsMargins(u(4), u(3), u(4), u(3));
    texts->setSpacing(u(2));
    for (ToneLabel* label : { m_what, m_how, m_commands }) {
        label->setWordWrap(true);
        label->setTextInteractionFlags(Qt::TextSelectableByMouse | Qt::TextSelectableByKeyboard);
        texts->addWidget(label);
    }
    m_commands->setFont(codeFont());
    auto* layout = new QVBoxLayout(this);
    layout->setContentsMargins(u(4), 0, u(4), u(4));
    layout->addWidget(panel);
    layout->addStretch(1);
    auto* retry = pageAction(this, tr("Look again"), tr("F5"), QKeySequence(Qt::Key_F5));
    connect(retry, &QAction::triggered, this, &EmptyPage::retried);
}

void EmptyPage::sayMissing(const QString& path)
{
    m_answer = tr("There is no registry here yet.");
    m_what->setText(
        tr("Here the ward's meters would stand, the ones that need you first, each with the answer whether it may be used now."));
    m_how->setText(tr("They come from one file, the registry. The coordinator founds it once and brings in the records that exist, with "
                      "these two commands, "
                      "or starts the program with the path of a registry that exists."));
    m_commands->setText(
        QStringLiteral("meterkeep-cli --registry \"%1\" init --zone Europe/Berlin\nmeterkeep-cli --registry \"%1\" import %2")
            .arg(path, tr("FOLDER")));
    emit changed();
}

void EmptyPage::sayProblem(const QString& text)
{
    m_answer = tr("The registry cannot be shown.");
    m_what->setText(text);
    m_how->setText(tr("Until it is mended, use no meter on the word of this program: keep to paper, and tell the coordinator."));
    m_commands->clear();
    emit changed();
}

void EmptyPage::sayAway(const QString& detail, bool tried)
{
    m_answer = tried ? tr("The server does not answer.") : tr("The server does not let this program in.");
    m_what->setText(tr(
        "Here the ward's meters would stand. They are kept on a server of the hospital, and this workstation does not get through to it."));
    m_how->setText(tried
            ? tr("It is tried again by itself, every few seconds; the ward appears here as soon as it answers. Until then use no "
                 "meter on the word of this program: follow the ward's downtime procedure, and record on the paper form.")
            : tr("Press F5 to try again. Until then use no meter on the word of this program: follow the ward's downtime procedure, "
                 "and record on the paper form."));
    m_commands->setText(tr("For whoever looks after the server: %1").arg(detail));
    emit changed();
}

BandText EmptyPage::band() const
{
    return { .question = tr("What do I do next?"), .answer = m_answer };
}

QList<KeyHint> EmptyPage::keys() const
{
    return { { tr("F5"), tr("look again") } };
}

} // namespace mk::desktop
