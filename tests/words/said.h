// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "words/pseudo_language.h"

#include <QCoreApplication>
#include <QRegularExpression>

#include <gtest/gtest.h>

namespace mk::words::test {

/// No place of the sentence was left open, and none is filled twice.
inline void expectWhole(const QString& said)
{
    static const QRegularExpression kPlace(QStringLiteral("%[0-9nL]"));
    EXPECT_FALSE(said.contains(kPlace)) << said.toStdString();
    EXPECT_FALSE(said.contains(QStringLiteral("  "))) << said.toStdString();
}

/// While it lives every translated text wears brackets.
class Pseudo {
public:
    Pseudo() { QCoreApplication::installTranslator(&m_language); }
    ~Pseudo() { QCoreApplication::removeTranslator(&m_language); }
    Pseudo(const Pseudo&) = delete;
    Pseudo& operator=(const Pseudo&) = delete;

private:
    PseudoLanguage m_language;
};

/// Nothing but blanks and points stands outside the brackets.
inline void expectTranslated(const QString& said)
{
    EXPECT_FALSE(said.isEmpty());
    EXPECT_EQ(untranslated(said).trimmed(), QString()) << said.toStdString();
}

} // namespace mk::words::test
