// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/pseudo_language.h"

#include <algorithm>
#include <array>
#include <utility>

namespace mk::words {

namespace {

constexpr qsizetype kWordLength = 9;
constexpr QChar kOpen(0x27e6), kClose(0x27e7);

QChar accented(QChar plain)
{
    static constexpr std::array<std::pair<char16_t, char16_t>, 20> kAccents { { { u'a', u'á' }, { u'c', u'ç' }, { u'e', u'é' },
        { u'i', u'í' }, { u'n', u'ñ' }, { u'o', u'ô' }, { u'u', u'ü' }, { u'y', u'ý' }, { u's', u'š' }, { u'z', u'ž' }, { u'A', u'Á' },
        { u'C', u'Ç' }, { u'E', u'É' }, { u'I', u'Í' }, { u'N', u'Ñ' }, { u'O', u'Ô' }, { u'U', u'Ü' }, { u'Y', u'Ý' }, { u'S', u'Š' },
        { u'Z', u'Ž' } } };
    const auto* const found = std::ranges::find(kAccents, plain.unicode(), [](const auto& each) { return each.first; });
    return found == kAccents.end() ? plain : QChar(found->second);
}

/// A place of a text ("%1", "%L2", "%n"), the year in a date's form ("yyyy"), a tag ("<b>") or an entity ("&amp;") that begins there: how
/// many letters stay as they are.
qsizetype keptAt(const QString& text, qsizetype at)
{
    const QLatin1String year("yyyy");
    if (QStringView(text).mid(at).startsWith(year))
        return year.size();
    if (text[at] == QLatin1Char('%')) {
        qsizetype end = at + 1;
        if (end < text.size() && text[end] == QLatin1Char('L'))
            ++end;
        if (end < text.size() && (text[end].isDigit() || text[end] == QLatin1Char('n'))) {
            ++end;
            while (end < text.size() && text[end].isDigit() && end < at + 4)
                ++end;
            return end - at;
        }
    }
    const bool tag = text[at] == QLatin1Char('<') && at + 1 < text.size() && (text[at + 1].isLetter() || text[at + 1] == QLatin1Char('/'));
    const bool entity = text[at] == QLatin1Char('&') && text.indexOf(QLatin1Char(';'), at) > at
        && !text.mid(at, text.indexOf(QLatin1Char(';'), at) - at).contains(QLatin1Char(' '));
    if (tag)
        if (const auto end = text.indexOf(QLatin1Char('>'), at); end > at)
            return end + 1 - at;
    return entity ? text.indexOf(QLatin1Char(';'), at) + 1 - at : 0;
}

} // namespace

QString PseudoLanguage::translate(const char*, const char* source, const char*, int) const
{
    const QString text = QString::fromUtf8(source);
    if (text.trimmed().isEmpty())
        return text;
    QString said(kOpen);
    qsizetype letters = 0;
    for (qsizetype at = 0; at < text.size();) {
        if (const auto kept = keptAt(text, at); kept > 0) {
            said += text.mid(at, kept);
            at += kept;
            continue;
        }
        said += accented(text[at]);
        letters += text[at].isLetter() ? 1 : 0;
        ++at;
    }
    for (qsizetype more = 0; more < (letters + 2) / 3; ++more) // in words, as a language has them
        said += QLatin1Char(more % kWordLength == kWordLength - 1 ? ' ' : '~');
    if (said.endsWith(QLatin1Char(' ')))
        said.back() = QLatin1Char('~');
    return said + kClose;
}

QString untranslated(const QString& shown)
{
    QString rest;
    int depth = 0;
    for (const QChar each : shown) {
        if (each == kOpen)
            ++depth;
        else if (each == kClose)
            depth = std::max(0, depth - 1);
        else if (depth == 0)
            rest += each;
    }
    return rest;
}

} // namespace mk::words
