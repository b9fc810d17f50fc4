// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/pseudo_language.h"

#include <gtest/gtest.h>

namespace mk::words {
namespace {

QString pseudo(const char* source)
{
    return PseudoLanguage().translate("Test", source);
}

TEST(PseudoLanguage, KeepsPlacesTagsAndEntities)
{
    const QString said = pseudo("<b>%1</b> of %L2 &amp; %n sets");
    for (const char* kept : { "<b>%1</b>", "%L2", "&amp;", "%n" })
        EXPECT_TRUE(said.contains(QLatin1String(kept))) << kept << " in " << said.toStdString();
}

TEST(PseudoLanguage, IsLongerByAThirdAndBetweenBrackets)
{
    const QString said = pseudo("repeat the control");
    EXPECT_GE(said.size(), 18 + 18 / 3);
    EXPECT_EQ(untranslated(said), QString());
}

TEST(PseudoLanguage, WhatWasNotTranslatedRemains)
{
    EXPECT_EQ(
        untranslated(pseudo("meter %1").arg(QStringLiteral("M-07")) + QStringLiteral(" out of order")), QStringLiteral(" out of order"));
}

} // namespace
} // namespace mk::words
