// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/board.h"

#include "words/numbers.h"
#include "words/reasons.h"
#include "words/states.h"
#include "words/steps.h"

#include <QCoreApplication>

namespace mk::words {

using namespace registry;

namespace {

struct BoardTexts {
    Q_DECLARE_TR_FUNCTIONS(Board)
};

} // namespace

QString boardAnswer(const Fitness& fitness)
{
    if (fitness.usable)
        return BoardTexts::tr("May be used");
    return QCoreApplication::translate("States", sentencesOf(fitness.state).onBoard);
}

QStringList boardColumns()
{
    return { BoardTexts::tr("meter"), BoardTexts::tr("ward"), BoardTexts::tr("may I use it?"), BoardTexts::tr("until"),
        BoardTexts::tr("why") };
}

QString boardSummary(base::Moment at, std::size_t usable, std::size_t meters, const Zone& zone)
{
    const QString when = full(at, zone);
    if (meters == 0)
        return BoardTexts::tr("Board at %1. No meter is on record. Import the ward's records, or enrol a meter.").arg(when);
    return BoardTexts::tr("Board at %1. %2 of %3 meters may be used.").arg(when, QString::number(usable), QString::number(meters));
}

QString acceptedAt(base::Moment at, const Zone& zone)
{
    return BoardTexts::tr("Accepted %1.").arg(full(at, zone));
}

QString meterAnswer(const std::string& meter, const Fitness& fitness, const Zone& zone)
{
    const QString answer = boardAnswer(fitness);
    //: meter, its answer, until when: M-07: May be used until Wed 18 Nov 2026, 06:52.
    return fitness.until ? BoardTexts::tr("%1: %2 until %3.").arg(text(meter), answer, full(*fitness.until, zone))
                         : BoardTexts::tr("%1: %2.").arg(text(meter), answer);
}

QString reasonLine(const Reason& reason)
{
    const QString id = text(code(reason.code)), said = reasonSaid(reason);
    //: %1 the code of a reason, %2 its sentence
    return reason.blocks ? BoardTexts::tr("%1: %2").arg(id, said) : BoardTexts::tr("%1 (does not stop it): %2").arg(id, said);
}

QString stepLine(const NextStep& step, const Zone& zone)
{
    return step.by ? BoardTexts::tr("next: %1, by %2").arg(stepSaid(step), full(*step.by, zone))
                   : BoardTexts::tr("next: %1").arg(stepSaid(step));
}

} // namespace mk::words
