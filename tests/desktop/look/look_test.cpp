// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/look/look.h"
#include "desktop/look/look_style.h"
#include "desktop/look/shapes.h"

#include <QLabel>

#include <gtest/gtest.h>

namespace mk::desktop {
namespace {

TEST(LookStyle, ShowsMarkupInALabelAsItIs)
{
    LookStyle style;
    QLabel label(QStringLiteral("<b>M-07</b><img src=\"file:///etc/passwd\">"));
    label.setStyle(&style);
    label.ensurePolished();
    EXPECT_EQ(label.textFormat(), Qt::PlainText);
    QLabel keys;
    keys.setTextFormat(Qt::RichText);
    keys.setStyle(&style);
    keys.ensurePolished();
    EXPECT_EQ(keys.textFormat(), Qt::RichText) << "said on purpose, with what is stored escaped";
}

/// source: WCAG 2.1, definition of contrast ratio: black on white is 21 to 1
TEST(Contrast, OfBlackOnWhiteIsTwentyOne)
{
    EXPECT_NEAR(contrastOf(Qt::black, Qt::white), 21.0, 1e-9);
    EXPECT_NEAR(contrastOf(Qt::white, Qt::black), 21.0, 1e-9);
    EXPECT_NEAR(contrastOf(Qt::white, Qt::white), 1.0, 1e-9);
}

class TextTokens : public ::testing::TestWithParam<Theme> { };

/// source: the look's own table promises at least 5.6 to 1 for each text token on paper, surface and picked
TEST_P(TextTokens, AreReadableOnEveryGround)
{
    const Tokens& t = tokensOf(GetParam());
    for (const QColor& ground : { t.paper, t.surface, t.picked })
        for (const QColor& text : { t.ink, t.quiet, t.action, t.use, t.soon, t.stop, t.hold })
            EXPECT_GE(contrastOf(text, ground), 5.6) << qPrintable(text.name()) << " on " << qPrintable(ground.name());
    EXPECT_GE(contrastOf(t.onAction, t.action), 5.6);
    EXPECT_GE(contrastOf(t.line, t.paper), 3.0); // borders of fields: WCAG 1.4.11 asks for 3
}

TEST_P(TextTokens, AreFoundFromThePaletteAgain)
{
    EXPECT_EQ(tokensOf(paletteOf(GetParam())).paper, tokensOf(GetParam()).paper);
}

INSTANTIATE_TEST_SUITE_P(BothThemes, TextTokens, ::testing::Values(Theme::Light, Theme::Dark));

TEST(Sizes, FollowTheFont)
{
    EXPECT_EQ(u(1), 7); // half of 14 pixels, 10.5 points at 96 dots per inch
    EXPECT_GE(fontOf(TextSize::Small).pointSizeF(), 9.0);
    EXPECT_DOUBLE_EQ(fontOf(TextSize::Verdict).pointSizeF(), 31.5);
}

TEST(StateShapes, DifferWithoutColour)
{
    const QRectF box(0, 0, 40, 40);
    // A point in the middle of the left half, one in the right half, the centre, a corner.
    const auto signature = [&](StateShape shape) {
        const QPainterPath path = shapePath(shape, box);
        std::string text;
        for (const QPointF point : { QPointF(10, 26), QPointF(30, 26), QPointF(20, 20), QPointF(2, 2) })
            text += path.contains(point) ? '1' : '0';
        return text;
    };
    EXPECT_EQ(signature(StateShape::Circle), "1110");
    EXPECT_EQ(signature(StateShape::HalfCircle).substr(0, 2), "10");
    EXPECT_EQ(signature(StateShape::BarSquare), "1101");
    EXPECT_EQ(signature(StateShape::EmptySquare), "0001");
}

} // namespace
} // namespace mk::desktop
