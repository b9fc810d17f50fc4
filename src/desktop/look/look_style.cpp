// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/look/look_style.h"

#include "desktop/look/look.h"

#include <QAbstractItemView>
#include <QLineEdit>
#include <QLabel>
#include <QPainter>
#include <QPushButton>
#include <QStyleFactory>
#include <QStyleOption>
#include <QToolButton>
#include <QStyleOptionSlider>

namespace mk::desktop {

namespace {

constexpr const char* kKindProperty = "buttonKind";
constexpr QChar kKeyMark = u'\t';

ButtonKind kindOf(const QWidget* widget)
{
    return widget == nullptr ? ButtonKind::Plain : static_cast<ButtonKind>(widget->property(kKindProperty).toInt());
}

struct ButtonTexts {
    QString label, key;
};

ButtonTexts textsOf(const QString& text)
{
    const auto mark = text.indexOf(kKeyMark);
    return mark < 0 ? ButtonTexts { text, {} } : ButtonTexts { text.left(mark), text.mid(mark + 1) };
}

QFont semibold(QFont font)
{
    font.setWeight(QFont::DemiBold);
    return font;
}

void paintFocusRing(QPainter& painter, const QRectF& box, const QColor& colour)
{
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setBrush(Qt::NoBrush);
    painter.setPen(QPen(colour, 2));
    painter.drawRoundedRect(box, u(0.5), u(0.5));
}

void paintButtonBevel(const QStyleOptionButton& option, QPainter& painter, const QWidget* widget)
{
    const Tokens& t = tokensOf(option.palette);
    const bool enabled = option.state.testFlag(QStyle::State_Enabled);
    const bool focused = option.state.testFlag(QStyle::State_HasFocus);
    const bool pressed = option.state.testFlag(QStyle::State_Sunken);
    const ButtonKind kind = kindOf(widget);
    // With the ring around it the button draws in, so that edges stay aligned and nothing moves.
    const double inset = focused ? 3.5 : 0.5;
    const QRectF box = QRectF(option.rect).adjusted(inset, inset, -inset, -inset);
    QColor fill = kind == ButtonKind::Likely && enabled ? t.action : t.surface;
    if (pressed)
        fill = kind == ButtonKind::Likely ? t.action.darker(115) : t.picked;
    painter.save();
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setBrush(enabled ? QBrush(fill) : QBrush(Qt::NoBrush));
    painter.setPen(QPen(kind == ButtonKind::Likely && enabled ? fill : t.line, 1, enabled ? Qt::SolidLine : Qt::DashLine));
    painter.drawRoundedRect(box, u(0.5), u(0.5));
    if (focused)
        paintFocusRing(painter, QRectF(option.rect).adjusted(1, 1, -1, -1), t.action);
    painter.restore();
}

void paintButtonLabel(const QStyleOptionButton& option, QPainter& painter, const QWidget* widget)
{
    const Tokens& t = tokensOf(option.palette);
    const ButtonTexts texts = textsOf(option.text);
    const bool enabled = option.state.testFlag(QStyle::State_Enabled);
    const ButtonKind kind = kindOf(widget);
    QColor colour = kind == ButtonKind::Likely ? t.onAction : kind == ButtonKind::Grave ? t.stop : t.action;
    if (!enabled)
        colour = t.quiet;
    const QFont font = widget != nullptr ? widget->font() : painter.font();
    const QFontMetrics bold(semibold(font));
    const QFontMetrics plain(font);
    const int gap = texts.key.isEmpty() ? 0 : u(1.75);
    const int width = bold.horizontalAdvance(texts.label) + gap + plain.horizontalAdvance(texts.key);
    QRect box = option.rect;
    box.setLeft(box.left() + (box.width() - width) / 2);
    painter.save();
    painter.setPen(colour);
    painter.setFont(semibold(font));
    painter.drawText(box, Qt::AlignLeft | Qt::AlignVCenter | Qt::TextShowMnemonic, texts.label);
    if (!texts.key.isEmpty()) {
        painter.setFont(font);
        box.setLeft(box.left() + bold.horizontalAdvance(texts.label) + gap);
        painter.drawText(box, Qt::AlignLeft | Qt::AlignVCenter, texts.key);
    }
    painter.restore();
}

void paintPlace(const QStyleOptionToolButton& option, QPainter& painter, const QWidget* widget)
{
    const Tokens& t = tokensOf(option.palette);
    const bool current = option.state.testFlag(QStyle::State_On);
    painter.save();
    const QFont font = widget != nullptr ? widget->font() : painter.font();
    painter.setFont(current ? semibold(font) : font);
    painter.setPen(option.palette.color(QPalette::WindowText));
    const auto* button = qobject_cast<const QToolButton*>(widget);
    const bool right = button != nullptr && button->property("rightAligned").toBool();
    painter.drawText(
        option.rect.adjusted(right ? 0 : 1, 0, 0, 0), int(right ? Qt::AlignRight : Qt::AlignHCenter) | int(Qt::AlignVCenter), option.text);
    if (current)
        painter.fillRect(QRect(option.rect.left(), option.rect.bottom() - 2, option.rect.width(), 3), t.action);
    if (option.state.testFlag(QStyle::State_HasFocus))
        paintFocusRing(painter, QRectF(option.rect).adjusted(1, 1, -1, -1), option.palette.color(QPalette::Link));
    painter.restore();
}

void paintHeader(const QStyleOptionHeader& option, QPainter& painter, QStyle::ControlElement element, const QWidget* widget)
{
    const Tokens& t = tokensOf(option.palette);
    if (element == QStyle::CE_HeaderLabel) {
        const bool first = option.position == QStyleOptionHeader::Beginning || option.position == QStyleOptionHeader::OnlyOneSection;
        const bool last = option.position == QStyleOptionHeader::End || option.position == QStyleOptionHeader::OnlyOneSection;
        const double margin = widget != nullptr ? widget->property("firstMargin").toDouble() : 0;
        const double gap = widget != nullptr ? widget->property("columnGap").toDouble() : kColumnGap;
        const QRect box = option.rect.adjusted(first ? u(margin) : 0, 0, last ? (margin > 0 ? -u(1) : 0) : -u(gap), 0);
        painter.save();
        painter.setPen(painter.font().weight() >= QFont::DemiBold ? t.ink : t.quiet);
        painter.drawText(box, static_cast<int>(option.textAlignment) | int(Qt::TextWordWrap), option.text);
        painter.restore();
        return;
    }
    painter.fillRect(option.rect, option.palette.color(QPalette::Base));
    painter.fillRect(QRect(option.rect.left(), option.rect.bottom(), option.rect.width(), 1), t.line);
}

void paintField(const QStyleOption& option, QPainter& painter)
{
    const Tokens& t = tokensOf(option.palette);
    const bool focused = option.state.testFlag(QStyle::State_HasFocus);
    painter.save();
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setBrush(option.palette.brush(QPalette::Base));
    painter.setPen(
        QPen(focused ? t.action : t.line, focused ? 2 : 1, option.state.testFlag(QStyle::State_Enabled) ? Qt::SolidLine : Qt::DashLine));
    const double inset = focused ? 1.0 : 0.5;
    painter.drawRoundedRect(QRectF(option.rect).adjusted(inset, inset, -inset, -inset), u(0.5), u(0.5));
    painter.restore();
}

void paintCombo(const QStyleOptionComboBox& option, QPainter& painter)
{
    QStyleOption field = option;
    paintField(field, painter);
    const Tokens& t = tokensOf(option.palette);
    painter.save();
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setPen(QPen(t.quiet, 1.5));
    const QPointF centre(option.rect.right() - u(2), option.rect.center().y() + 1.0);
    const double arm = u(0.6);
    painter.drawPolyline(QPolygonF({ centre + QPointF(-arm, -arm / 2), centre + QPointF(0, arm / 2), centre + QPointF(arm, -arm / 2) }));
    painter.restore();
}

} // namespace

void setButtonKind(QPushButton& button, ButtonKind kind)
{
    button.setProperty(kKindProperty, static_cast<int>(kind));
    button.update();
}

void setButtonText(QPushButton& button, const QString& label, const QString& key)
{
    button.setText(key.isEmpty() ? label : label + kKeyMark + key);
    button.setAccessibleName(label);
}

LookStyle::LookStyle() : QProxyStyle(QStyleFactory::create(QStringLiteral("Fusion"))) { }

void LookStyle::polish(QWidget* widget)
{
    QProxyStyle::polish(widget);
    auto* label = qobject_cast<QLabel*>(widget);
    if (label != nullptr && label->textFormat() == Qt::AutoText
        && !label->inherits("QTipLabel")) // a tool tip's text is made where it is shown
        label->setTextFormat(Qt::PlainText);
}

void LookStyle::drawControl(ControlElement element, const QStyleOption* option, QPainter* painter, const QWidget* widget) const
{
    if (const auto* button = qstyleoption_cast<const QStyleOptionButton*>(option)) {
        if (element == CE_PushButtonBevel)
            return paintButtonBevel(*button, *painter, widget);
        if (element == CE_PushButtonLabel)
            return paintButtonLabel(*button, *painter, widget);
        if (element == CE_PushButton) {
            paintButtonBevel(*button, *painter, widget);
            return paintButtonLabel(*button, *painter, widget);
        }
    }
    if (const auto* combo = qstyleoption_cast<const QStyleOptionComboBox*>(option); combo != nullptr && element == CE_ComboBoxLabel) {
        painter->save();
        painter->setPen(option->palette.color(QPalette::Text));
        painter->drawText(option->rect.adjusted(u(1.7), 0, -u(4), 0), int(Qt::AlignLeft) | int(Qt::AlignVCenter), combo->currentText);
        painter->restore();
        return;
    }
    if (const auto* header = qstyleoption_cast<const QStyleOptionHeader*>(option);
        header != nullptr && (element == CE_Header || element == CE_HeaderSection || element == CE_HeaderEmptyArea)) {
        paintHeader(*header, *painter, CE_HeaderSection, widget);
        if (element == CE_Header)
            paintHeader(*header, *painter, CE_HeaderLabel, widget);
        return;
    }
    QProxyStyle::drawControl(element, option, painter, widget);
}

void LookStyle::drawPrimitive(PrimitiveElement element, const QStyleOption* option, QPainter* painter, const QWidget* widget) const
{
    if (element == PE_PanelLineEdit) {
        if (const auto* frame = qstyleoption_cast<const QStyleOptionFrame*>(option); frame != nullptr && frame->lineWidth > 0)
            paintField(*option, *painter);
        return;
    }
    if (element == PE_FrameLineEdit || element == PE_PanelItemViewRow)
        return;
    if (element == PE_FrameFocusRect && qobject_cast<const QAbstractItemView*>(widget) != nullptr)
        return; // the picked row says it
    if (element == PE_Frame && qobject_cast<const QAbstractItemView*>(widget) == nullptr && widget != nullptr) {
        painter->save();
        if (widget->inherits("QTextEdit") || widget->inherits("QPlainTextEdit")) {
            paintField(*option, *painter);
        } else {
            painter->setPen(tokensOf(option->palette).hairline);
            painter->drawRect(option->rect.adjusted(0, 0, -1, -1));
        }
        painter->restore();
        return;
    }
    QProxyStyle::drawPrimitive(element, option, painter, widget);
}

void LookStyle::drawComplexControl(
    ComplexControl control, const QStyleOptionComplex* option, QPainter* painter, const QWidget* widget) const
{
    if (const auto* tool = qstyleoption_cast<const QStyleOptionToolButton*>(option); tool != nullptr && control == CC_ToolButton)
        return paintPlace(*tool, *painter, widget);
    if (const auto* combo = qstyleoption_cast<const QStyleOptionComboBox*>(option); combo != nullptr && control == CC_ComboBox)
        return paintCombo(*combo, *painter);
    if (const auto* slider = qstyleoption_cast<const QStyleOptionSlider*>(option); slider != nullptr && control == CC_ScrollBar) {
        const QRect handle = proxy()->subControlRect(CC_ScrollBar, option, SC_ScrollBarSlider, widget);
        painter->fillRect(option->rect, option->palette.color(QPalette::Base));
        painter->fillRect(handle.adjusted(2, 0, -2, 0), tokensOf(option->palette).line);
        return;
    }
    QProxyStyle::drawComplexControl(control, option, painter, widget);
}

QSize LookStyle::sizeFromContents(ContentsType type, const QStyleOption* option, const QSize& size, const QWidget* widget) const
{
    const auto* button = qstyleoption_cast<const QStyleOptionButton*>(option);
    if (type == CT_PushButton && button != nullptr && widget != nullptr) {
        const ButtonTexts texts = textsOf(button->text);
        const int label = QFontMetrics(semibold(widget->font())).horizontalAdvance(texts.label);
        const int key = texts.key.isEmpty() ? 0 : u(1.75) + QFontMetrics(widget->font()).horizontalAdvance(texts.key);
        return { label + key + u(5), u(5.5) };
    }
    if (const auto* header = qstyleoption_cast<const QStyleOptionHeader*>(option); header != nullptr && type == CT_HeaderSection) {
        if (header->orientation == Qt::Vertical)
            return {}; // hidden everywhere; the cells alone say how high a row is
        const double first = header->section == 0 && widget != nullptr ? widget->property("firstMargin").toDouble() : 0;
        return { header->fontMetrics.horizontalAdvance(header->text) + u(first) + u(kColumnGap) + 2, size.height() };
    }
    if (type == CT_LineEdit || type == CT_ComboBox) {
        QSize wanted = QProxyStyle::sizeFromContents(type, option, size, widget);
        wanted.setHeight(std::max(wanted.height(), u(5)));
        return wanted;
    }
    if (type == CT_ToolButton) {
        const auto* tool = qstyleoption_cast<const QStyleOptionToolButton*>(option);
        if (tool != nullptr && widget != nullptr)
            return { QFontMetrics(semibold(widget->font())).horizontalAdvance(tool->text) + 2, size.height() };
    }
    return QProxyStyle::sizeFromContents(type, option, size, widget);
}

int LookStyle::pixelMetric(PixelMetric metric, const QStyleOption* option, const QWidget* widget) const
{
    switch (metric) {
    case PM_DefaultFrameWidth:
        return qobject_cast<const QLineEdit*>(widget) != nullptr ? 2 : QProxyStyle::pixelMetric(metric, option, widget);
    case PM_ButtonShiftHorizontal:
    case PM_ButtonShiftVertical: return 0;
    case PM_ScrollBarExtent: return u(1.5);
    default: return QProxyStyle::pixelMetric(metric, option, widget);
    }
}

int LookStyle::styleHint(StyleHint hint, const QStyleOption* option, const QWidget* widget, QStyleHintReturn* data) const
{
    switch (hint) {
    case SH_ToolButton_PopupDelay: return 0;
    case SH_ItemView_ActivateItemOnSingleClick: return 0;
    case SH_EtchDisabledText:
    case SH_DitherDisabledText: return 0;
    case SH_Widget_Animation_Duration: return 0;
    case SH_UnderlineShortcut: return 0;
    default: return QProxyStyle::styleHint(hint, option, widget, data);
    }
}

QRect LookStyle::subElementRect(SubElement element, const QStyleOption* option, const QWidget* widget) const
{
    QRect rect = QProxyStyle::subElementRect(element, option, widget);
    if (element == SE_LineEditContents)
        rect.adjust(u(1), 0, -u(1), 0);
    return rect;
}

} // namespace mk::desktop
