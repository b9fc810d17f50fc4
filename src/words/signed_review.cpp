// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/signed_review.h"

#include "words/numbers.h"

#include <QCoreApplication>

namespace mk::words {

using namespace registry;

namespace {

struct SignedTexts {
    Q_DECLARE_TR_FUNCTIONS(SignedReview)
};

QString signedLine(const SignedReview& review, const Zone& zone)
{
    const auto& act = review.signature.act;
    //: %1 who, %2 when, %3 what the signature means, as it was typed, %4 the number of an entry
    const QString said = review.asSigned ? SignedTexts::tr("Signed by %1 on %2: %3, entries up to %4 (as signed).")
                                         : SignedTexts::tr("Signed by %1 on %2: %3, entries up to %4 (data changed since review).");
    return said.arg(text(review.name), full(review.signedAt, zone), text(act.meaning.value_or("")),
        QString::number(act.cutOff ? act.cutOff->value : 0));
}

} // namespace

QStringList signatureLines(const SignedReview& review, const Zone& zone)
{
    const QString indent = QStringLiteral("  ");
    QStringList lines { signedLine(review, zone) };
    if (!review.figuresConfirmed)
        lines << indent + SignedTexts::tr("The figures as of that entry, counted again by this program, are not those that were signed.");
    for (const auto& entry : review.later)
        //: %1 its number, %2 when, %3 the kind of act, %4 what it is about
        lines << indent
                + SignedTexts::tr("later entry %1, %2: %3 %4")
                      .arg(QString::number(entry.seq.value), full(entry.recordedAt, zone), text(entry.act), text(entry.subject));
    if (review.supersededBy)
        lines << indent + SignedTexts::tr("Superseded by entry %1.").arg(review.supersededBy->value);
    return lines;
}

} // namespace mk::words
