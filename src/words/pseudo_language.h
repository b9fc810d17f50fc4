// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QTranslator>

namespace mk::words {

/// A language that nobody speaks: every text longer by a third, accented, and between ⟦ and ⟧, its places kept. What a page shows without
/// these brackets was not translated, and what it cuts off has no room for a longer language.
class PseudoLanguage final : public QTranslator {
    Q_OBJECT
public:
    using QTranslator::QTranslator;
    bool isEmpty() const override { return false; }
    QString translate(const char* context, const char* source, const char* disambiguation = nullptr, int n = -1) const override;
};

/// What remains of a shown text when all that was translated is taken out: what stands between the brackets, with all within them.
QString untranslated(const QString& shown);

} // namespace mk::words
