// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/questions.h"

#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>

namespace mk::words {

namespace {

using registry::Level;
using registry::QuestionKind;
using registry::RunQuestion;

struct QuestionTexts {
    Q_DECLARE_TR_FUNCTIONS(RunQuestion)
};

QString itShows(bool mgPerDl)
{
    return mgPerDl ? QuestionTexts::tr("It shows mg/dL") : QuestionTexts::tr("It shows mmol/L");
}

Level otherLevel(const RunQuestion& question)
{
    return question.other ? question.other->level : question.level;
}

} // namespace

QString asked(const RunQuestion& question)
{
    const QString value = text(registry::toText(question.result));
    if (question.isAboutUnit() || !question.other)
        return QuestionTexts::tr("%1 is unlikely in %2. Look at the display.").arg(value, unit(question.unit));
    return QuestionTexts::tr("%1 lies in the %2 range, %3 to %4.")
        .arg(value, words::level(question.other->level), text(question.other->low.typed()), text(question.other->high.typed()));
}

QString asGiven(const RunQuestion& question)
{
    if (question.isAboutUnit())
        return itShows(question.unit == base::GlucoseUnit::MgPerDl);
    return QuestionTexts::tr("It was the %1 one").arg(words::level(question.level));
}

QString asOther(const RunQuestion& question)
{
    if (question.isAboutUnit())
        return itShows(question.unit != base::GlucoseUnit::MgPerDl);
    return QuestionTexts::tr("It was the %1 one").arg(words::level(otherLevel(question)));
}

QString listed(const RunQuestion& question)
{
    const QString value = text(registry::toText(question.result));
    const bool mgPerDl = question.unit == base::GlucoseUnit::MgPerDl;
    switch (question.kind) {
    case QuestionKind::OtherUnit:
        return mgPerDl ? QuestionTexts::tr("is %1 mg/dL really mg/dL? It is below 10").arg(value)
                       : QuestionTexts::tr("is %1 mmol/L really mmol/L? It is above 40").arg(value);
    case QuestionKind::Decimal:
        return mgPerDl ? QuestionTexts::tr("is %1 mg/dL right? mg/dL usually has no decimals").arg(value)
                       : QuestionTexts::tr("is %1 mmol/L right? mmol/L usually has a decimal").arg(value);
    case QuestionKind::OtherLevel: break;
    }
    return QuestionTexts::tr("was it the %1 control? %2 lies in that level's range and far outside the %3 one's")
        .arg(words::level(otherLevel(question)), value, words::level(question.level));
}

} // namespace mk::words
