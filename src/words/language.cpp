// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/language.h"

#include "words/pseudo_language.h"

#include <QCoreApplication>
#include <QLocale>

#include <memory>

namespace mk::words {

base::Done speak(const QString& tag)
{
    const QString asked = tag.isEmpty() ? qEnvironmentVariable("MK_LANGUAGE") : tag;
    if (asked == QLatin1String("pseudo")) {
        QCoreApplication::installTranslator(new PseudoLanguage(QCoreApplication::instance()));
        return {};
    }
    const QLocale locale = asked.isEmpty() ? QLocale::system() : QLocale(asked);
    auto translation = std::make_unique<QTranslator>(QCoreApplication::instance());
    if (translation->load(locale, QStringLiteral("meterkeep"), QStringLiteral("_"), QStringLiteral(":/translations"))) {
        QCoreApplication::installTranslator(translation.release());
        return {};
    }
    const bool english = asked.isEmpty() || locale.language() == QLocale::English;
    return english ? base::Done() : base::Done(base::Fault { base::FaultKind::BadInput, {}, "no-translation", { asked.toStdString() } });
}

} // namespace mk::words
