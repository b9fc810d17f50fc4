// SPDX-License-Identifier: GPL-3.0-or-later
#include "desktop/parts/standing.h"

#include "words/numbers.h"
#include "words/reasons.h"
#include "words/terms.h"

#include <QCoreApplication>
#include <QStringList>

#include <algorithm>

namespace mk::desktop {

using registry::Finding;
using registry::MeterState;
using registry::Reason;
using registry::ReasonCode;
using registry::rowOf;
using registry::Verdict;

namespace {

struct StandingTexts {
    Q_DECLARE_TR_FUNCTIONS(Standing)
};

enum Rank { kStop, kHold, kSoon, kUse, kGone };

/// The ward has something to do on a meter that may be used.
bool needsHands(const Reason& reason)
{
    return reason.code == ReasonCode::Drift || rowOf(reason.code).finding == Finding::Due;
}

void wearState(Standing& standing, MeterState state)
{
    standing.state = words::stateAnswer(state);
    const auto wear = [&](StateShape shape, Tone tone, Rank rank) {
        standing.shape = shape;
        standing.tone = tone;
        standing.rank = rank;
    };
    switch (state) {
    case MeterState::InService:
    case MeterState::OnHold: return wear(StateShape::BarSquare, Tone::Stop, kStop);
    case MeterState::Retired: return wear(StateShape::Dash, Tone::Quiet, kGone);
    default: return wear(StateShape::EmptySquare, Tone::Hold, kHold);
    }
}

/// The one reason that the row speaks of: what happened goes before the state that followed from it, and both before what is merely due.
const Reason* mainReason(const registry::Fitness& fitness)
{
    const Reason* state = nullptr;
    const Reason* due = nullptr;
    for (const auto& reason : fitness.reasons)
        switch (rowOf(reason.code).finding) {
        case Finding::Pending: break;
        case Finding::State: state = &reason; break;
        case Finding::Due: due = due != nullptr ? due : &reason; break;
        case Finding::Owed:
            if (state != nullptr && fitness.state != MeterState::OnHold)
                break; // nobody owes a control on a meter that is out of the ward's hands
            return &reason;
        case Finding::Happened: return &reason;
        }
    return state != nullptr ? state : due;
}

QString driftSince(const Reason& reason)
{
    const auto* drift = std::get_if<registry::Drifting>(&reason.facts);
    return drift != nullptr && drift->began ? words::shortDay(*drift->began) : QString();
}

QString whyUnusable(const BoardLine& line)
{
    const Reason* reason = mainReason(line.row.fitness);
    if (reason == nullptr)
        return {};
    if (const auto* failed = std::get_if<registry::FailedControl>(&reason->facts); failed != nullptr && !failed->levels.empty())
        //: %1 a whole sentence: The high control read 362 mg/dL, above 335.
        return StandingTexts::tr("%1 Repeat with a new strip.").arg(words::failedSaid(failed->levels.front()));
    if (reason->code == ReasonCode::ControlOverdue)
        return StandingTexts::tr("The control is overdue. Run both levels before the next use.");
    if (std::holds_alternative<registry::OutOfService>(reason->facts))
        return words::whatToDo(*reason); // the row says the state beside it
    if (const QString since = driftSince(*reason); !since.isEmpty())
        return StandingTexts::tr("It drifts since %1, an estimate. The coordinator decides what follows.").arg(since);
    return words::reasonSaid(*reason);
}

/// What is kept here may be a failed control or a fall: the promise of before does not outlive it.
Standing notJudged(const BoardLine& line)
{
    Standing standing;
    standing.rank = kStop;
    standing.needsHands = false;
    standing.state = StandingTexts::tr("Do not use");
    standing.sentence = StandingTexts::tr("Do not use %1").arg(words::text(line.row.history.meter.act.meter.value));
    standing.why = StandingTexts::tr("What was typed here is not judged yet. Leave it until the server is back.");
    return standing;
}

/// It might have been used, once; what was known then has run out, and nobody can be asked.
Standing notKnown(const BoardLine& line, base::Moment at, const registry::Zone& zone)
{
    const QString meter = words::text(line.row.history.meter.act.meter.value);
    const auto& until = line.row.fitness.until;
    Standing standing;
    standing.shape = StateShape::EmptySquare;
    standing.tone = Tone::Hold;
    standing.rank = kHold;
    standing.order = until ? -until->utcMs : 0;
    standing.needsHands = true;
    standing.state = StandingTexts::tr("Not known");
    standing.sentence = StandingTexts::tr("Not known: do not use %1").arg(meter);
    if (until) {
        standing.when = StandingTexts::tr("since %1").arg(words::beside(*until, at, zone));
        standing.why = StandingTexts::tr("What is known of it ends at %1. Leave it until the server is back.")
                           .arg(words::beside(*until, at, zone));
    }
    return standing;
}

QString whyUsable(const BoardLine& line, base::Moment at, const registry::Zone& zone, bool& hands)
{
    const Reason* reason = nullptr;
    for (const auto& candidate : line.row.fitness.reasons)
        if (needsHands(candidate) && (reason == nullptr || reason->code == ReasonCode::ComparisonDue))
            reason = &candidate;
    hands = reason != nullptr;
    if (reason == nullptr)
        return line.row.history.newestAccepted ? setInWords(*line.row.history.newestAccepted, at, zone) : QString();
    if (reason->code == ReasonCode::ControlDue && line.row.fitness.until)
        return StandingTexts::tr("The next control is due at %1.").arg(words::beside(*line.row.fitness.until, at, zone));
    if (const QString since = driftSince(*reason); !since.isEmpty())
        return StandingTexts::tr("It drifts since %1, an estimate. Tell the coordinator.").arg(since);
    return words::reasonSaid(*reason);
}

} // namespace

StateShape shapeOf(Verdict verdict)
{
    switch (verdict) {
    case Verdict::Rejected:
    case Verdict::Invalid: return StateShape::BarSquare;
    case Verdict::Warned:
    case Verdict::Partial: return StateShape::HalfCircle;
    case Verdict::Accepted: return StateShape::Circle;
    }
    return StateShape::BarSquare;
}

Tone toneOf(Verdict verdict)
{
    switch (shapeOf(verdict)) {
    case StateShape::Circle: return Tone::Use;
    case StateShape::HalfCircle: return Tone::Soon;
    default: return Tone::Stop;
    }
}

QString setInWords(const registry::SetRecord& set, base::Moment now, const registry::Zone& zone)
{
    QStringList results;
    QStringList warned;
    for (std::size_t i = 0; i < set.runs.size(); ++i) {
        const auto& run = set.runs[i];
        const bool repeated = std::any_of(set.runs.begin() + static_cast<std::ptrdiff_t>(i) + 1, set.runs.end(),
            [&](const registry::RunRecord& later) { return later.run.level == run.run.level; });
        if (repeated)
            continue;
        results << words::level(run.run.level) + QChar(u' ') + words::reading(run.run.result);
        if (run.judged.verdict == Verdict::Warned)
            for (const auto& rule : run.judged.rules)
                warned << words::level(run.run.level) + QStringLiteral(", ") + words::text(rule);
    }
    QString list = results.join(QStringLiteral(", "));
    if (!list.isEmpty())
        list[0] = list[0].toUpper();
    const bool today = zone.dateOf(set.judged.lastAt) == zone.dateOf(now);
    //: %1 results: Low 46, high 291
    QString text = today ? StandingTexts::tr("%1, accepted %2 today").arg(list, words::time(set.judged.lastAt, zone))
                         : StandingTexts::tr("%1, accepted %2").arg(list, words::dayAndTime(set.judged.lastAt, zone));
    if (!warned.isEmpty())
        //: %1 a finished phrase, %2 which level by which rule
        text = StandingTexts::tr("%1, warned: %2").arg(text, warned.join(QStringLiteral("; ")));
    return text;
}

Standing standingOf(const BoardLine& line, base::Moment at, const registry::Zone& zone)
{
    const registry::Fitness& fitness = line.row.fitness;
    const QString meter = words::text(line.row.history.meter.act.meter.value);
    Standing standing;
    standing.usable = fitness.usable;
    if (!fitness.usable) {
        wearState(standing, fitness.state);
        standing.needsHands = standing.rank == kStop;
        standing.order = line.since ? -line.since->utcMs : 0;
        if (line.since)
            standing.when = StandingTexts::tr("since %1").arg(words::beside(*line.since, at, zone));
        standing.why = whyUnusable(line);
        standing.sentence = standing.rank == kStop ? StandingTexts::tr("Do not use %1").arg(meter)
                                                   //: meter, then its state: M-07: withdrawn
                                                   : StandingTexts::tr("%1: %2").arg(meter, standing.state.toLower());
        return standing;
    }
    if (line.waits)
        return notJudged(line);
    if (line.asOf && (!fitness.until || *fitness.until <= at))
        return notKnown(line, at, zone);
    bool due = false;
    standing.why = whyUsable(line, at, zone, due);
    standing.shape = due ? StateShape::HalfCircle : StateShape::Circle;
    standing.tone = due ? Tone::Soon : Tone::Use;
    standing.rank = due ? kSoon : kUse;
    standing.state = StandingTexts::tr("May be used");
    standing.order = fitness.until ? fitness.until->utcMs : 0;
    standing.sentence = StandingTexts::tr("%1 may be used").arg(meter);
    if (fitness.until) {
        standing.when = StandingTexts::tr("until %1").arg(words::beside(*fitness.until, at, zone));
        standing.sentence = StandingTexts::tr("%1 may be used until %2").arg(meter, words::beside(*fitness.until, at, zone));
    }
    if (line.asOf)
        standing.sentence = StandingTexts::tr("As of %1, %2").arg(words::beside(*line.asOf, at, zone), standing.sentence);
    return standing;
}

} // namespace mk::desktop
