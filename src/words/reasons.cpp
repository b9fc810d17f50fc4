// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/reasons.h"

#include "words/numbers.h"
#include "words/reason_sentences.h"
#include "words/states.h"
#include "words/steps.h"
#include "words/terms.h"

#include <QCoreApplication>
#include <QStringList>

#include <algorithm>
#include <cmath>

namespace mk::words {

using namespace registry;

namespace {

struct ReasonTexts {
    Q_DECLARE_TR_FUNCTIONS(Reasons)
};

QString spoken(const char* sentence)
{
    return sentence == nullptr ? QString() : ReasonTexts::tr(sentence);
}

QString stateSince(const OutOfService& out)
{
    return QCoreApplication::translate("States", sentencesOf(out.state).since).arg(full(out.since));
}

QString waysBack(const OutOfService& out)
{
    if (out.state == MeterState::OnHold && out.endsByItself)
        return ReasonTexts::tr("An accepted control set ends the hold.");
    return QCoreApplication::translate("States", sentencesOf(out.state).wayBack);
}

QString clearanceLost(const Revocation& why)
{
    const QString id = text(why.id);
    const bool rejected = why.stands == LotEventKind::Rejected;
    switch (why.what) {
    case Revocation::Of::StripLot:
        return rejected ? ReasonTexts::tr("The last accepted control set was run with strip lot %1, which is rejected.").arg(id)
                        : ReasonTexts::tr("The last accepted control set was run with strip lot %1, which is quarantined.").arg(id);
    case Revocation::Of::ControlLot:
        return rejected ? ReasonTexts::tr("The last accepted control set was run with control lot %1, which is rejected.").arg(id)
                        : ReasonTexts::tr("The last accepted control set was run with control lot %1, which is quarantined.").arg(id);
    case Revocation::Of::Vial: break;
    }
    return ReasonTexts::tr("The last accepted control set was run with vial %1, which notice %2 names.").arg(id, text(why.notice));
}

/// "since when", or by which rule it is overdue where the policy came into force only later.
QString overdueSaid(ReasonCode code, const Overdue& overdue)
{
    const QString due = full(overdue.due);
    const QString rule = overdue.policySince ? full(*overdue.policySince) : QString();
    const auto either = [&](const QString& since, const QString& byRule) {
        return overdue.policySince ? byRule.arg(rule, due) : since.arg(due);
    };
    switch (code) {
    case ReasonCode::ComparisonOverdue:
        return either(ReasonTexts::tr("The laboratory comparison is overdue since %1."),
            ReasonTexts::tr("The laboratory comparison is overdue: by the policy in force since %1 it was due at %2."));
    case ReasonCode::CalibrationOverdue:
        return either(ReasonTexts::tr("The calibration verification is overdue since %1."),
            ReasonTexts::tr("The calibration verification is overdue: by the policy in force since %1 it was due at %2."));
    case ReasonCode::CleaningOverdue:
        return either(ReasonTexts::tr("Cleaning is overdue since %1."),
            ReasonTexts::tr("Cleaning is overdue: by the policy in force since %1 it was due at %2."));
    default:
        return either(ReasonTexts::tr("The control is overdue since %1."),
            ReasonTexts::tr("The control is overdue: by the policy in force since %1 it was due at %2."));
    }
}

QString dueSaid(ReasonCode code, const DueAt& at)
{
    const QString due = full(at.due);
    switch (code) {
    case ReasonCode::ComparisonDue: return ReasonTexts::tr("The laboratory comparison is due by %1.").arg(due);
    case ReasonCode::CalibrationDue: return ReasonTexts::tr("The calibration verification is due by %1.").arg(due);
    case ReasonCode::CleaningDue: return ReasonTexts::tr("Cleaning is due by %1.").arg(due);
    default: return ReasonTexts::tr("The next control is due at %1.").arg(due);
    }
}

QString comparisonSaid(const FailedComparison& failed)
{
    const QString meter = text(toText(failed.meter)), laboratory = text(toText(failed.laboratory)), allowed = text(failed.allowed);
    QStringList shares;
    for (const auto& tier : failed.shares)
        shares << ReasonTexts::tr("%1 of %2 pairs lie inside %3, at least %4 must")
                      .arg(QString::number(tier.within), QString::number(tier.of), text(tier.tier), QString::number(tier.needed));
    const QString share = shares.join(QStringLiteral("; "));
    if (share.isEmpty())
        return allowed.isEmpty()
            ? ReasonTexts::tr("The laboratory comparison failed: the meter read %1 where the laboratory found %2.").arg(meter, laboratory)
            : ReasonTexts::tr("The laboratory comparison failed: the meter read %1 where the laboratory found %2 (allowed %3).")
                  .arg(meter, laboratory, allowed);
    //: %1 how many pairs lie inside: 4 of 5 pairs lie inside 15 %, at least 5 must
    return allowed.isEmpty()
        ? ReasonTexts::tr("The laboratory comparison failed: %1; the meter read %2 where the laboratory found %3.")
              .arg(share, meter, laboratory)
        : ReasonTexts::tr("The laboratory comparison failed: %1; the meter read %2 where the laboratory found %3 (allowed %4).")
              .arg(share, meter, laboratory, allowed);
}

QString sampleSaid(ReasonCode code, const SampleOwed& owed)
{
    const QString scheme = text(owed.scheme), event = text(owed.event), sample = text(owed.sample), due = full(owed.due);
    if (code == ReasonCode::EqaDue)
        return ReasonTexts::tr("A proficiency sample waits: %1 %2, sample %3, to be returned by %4.").arg(scheme, event, sample, due);
    return owed.returnedLate
        ? ReasonTexts::tr("A proficiency sample was returned late by %1: %2 %3, sample %4.").arg(due, scheme, event, sample)
        : ReasonTexts::tr("A proficiency sample was not returned by %1: %2 %3, sample %4.").arg(due, scheme, event, sample);
}

QString driftSaid(const Drifting& drift)
{
    const QString rules = listed(drift.rules);
    const QString began = drift.began ? longDay(*drift.began) : QString();
    if (!drift.bias)
        return drift.began ? ReasonTexts::tr("It drifts since %1, an estimate (%2).").arg(began, rules)
                           : ReasonTexts::tr("It drifts (%1).").arg(rules);
    const QString of = level(drift.bias->level), percent = withSign(drift.bias->percent, 1);
    const bool up = drift.bias->bias > 0;
    if (!drift.began)
        return up ? ReasonTexts::tr("It drifts upward: the %1 control reads %2 % from its mean (%3).").arg(of, percent, rules)
                  : ReasonTexts::tr("It drifts downward: the %1 control reads %2 % from its mean (%3).").arg(of, percent, rules);
    return up ? ReasonTexts::tr("It drifts upward since %1, an estimate: the %2 control reads %3 % from its mean (%4).")
                    .arg(began, of, percent, rules)
              : ReasonTexts::tr("It drifts downward since %1, an estimate: the %2 control reads %3 % from its mean (%4).")
                    .arg(began, of, percent, rules);
}

QString afterDrift(const Drifting& drift, bool blocks)
{
    if (drift.beyondHalfLimit)
        return blocks ? ReasonTexts::tr("That is more than half of what a comparison allows: withdraw it and tell the coordinator.")
                      : ReasonTexts::tr("That is more than half of what a comparison allows: tell the coordinator.");
    return blocks ? ReasonTexts::tr("Withdraw it and tell the coordinator.") : ReasonTexts::tr("Tell the coordinator.");
}

QString wholePercent(double percent)
{
    return QString::number(std::max(1, static_cast<int>(std::lround(std::abs(percent)))));
}

QString movedSaid(const registry::MovedFromUsual& moved)
{
    const QString since = moved.began ? longDay(*moved.began) : QString();
    if (moved.stopped) {
        const QString n = QString::number(moved.newest), of = level(moved.level);
        const QString percent = withDecimals(std::abs(moved.percent), 1), allowed = withDecimals(moved.allowed, 0);
        if (moved.learning)
            return (moved.up
                    ? ReasonTexts::tr("The mean of its last %1 %2 controls is %3 % above the other meters (%4 % allowed), since about %5.")
                    : ReasonTexts::tr("The mean of its last %1 %2 controls is %3 % below the other meters (%4 % allowed), since about %5."))
                .arg(n, of, percent, allowed, since);
        return (moved.up
                ? ReasonTexts::tr("The mean of its last %1 %2 controls is %3 % above its usual value (%4 % allowed), since about %5.")
                : ReasonTexts::tr("The mean of its last %1 %2 controls is %3 % below its usual value (%4 % allowed), since about %5."))
            .arg(n, of, percent, allowed, since);
    }
    const QString percent = wholePercent(moved.percent);
    if (moved.learning) {
        const int n = static_cast<int>(moved.controls);
        return (moved.up ? ReasonTexts::tr("Reads about %1 % above the other meters since it came (%n controls).", nullptr, n)
                         : ReasonTexts::tr("Reads about %1 % below the other meters since it came (%n controls).", nullptr, n))
            .arg(percent);
    }
    return (moved.up ? ReasonTexts::tr("Reads about %1 % higher than it used to, since about %2.")
                     : ReasonTexts::tr("Reads about %1 % lower than it used to, since about %2."))
        .arg(percent, since);
}

QString apartSaid(const registry::StandingApart& apart)
{
    const QString percent = wholePercent(apart.percent), others = QString::number(apart.others);
    const QString controls = QString::number(apart.controls), by = longDay(apart.compareBy);
    if (apart.others == 0)
        return (apart.percent > 0
                ? ReasonTexts::tr("Stands %1 % above the group, steadily over %2 controls: compare it with the laboratory by %3.")
                : ReasonTexts::tr("Stands %1 % below the group, steadily over %2 controls: compare it with the laboratory by %3."))
            .arg(percent, controls, by);
    return (apart.percent > 0
            ? ReasonTexts::tr("Stands %1 % above the other %2 meters, steadily over %3 controls: compare it with the laboratory by %4.")
            : ReasonTexts::tr("Stands %1 % below the other %2 meters, steadily over %3 controls: compare it with the laboratory by %4."))
        .arg(percent, others, controls, by);
}

QString lotMovedSaid(const registry::LotMoved& moved)
{
    const QString lot = text(moved.stripLot.value), control = text(moved.controlLot.value);
    if (!moved.percent)
        return ReasonTexts::tr("The meters on strip lot %1 moved together, by more than half of what a comparison allows.").arg(lot);
    const QString percent = wholePercent(*moved.percent), since = moved.since ? longDay(*moved.since) : QString();
    return (*moved.percent > 0
            ? ReasonTexts::tr(
                "All meters on strip lot %1 with control %2 read about %3 % higher since %4: open a new control vial, then look at the strips.")
            : ReasonTexts::tr(
                "All meters on strip lot %1 with control %2 read about %3 % lower since %4: open a new control vial, then look at the strips."))
        .arg(lot, control, percent, since);
}

QString joinedSentences(QStringList sentences)
{
    sentences.removeAll(QString());
    return sentences.join(QLatin1Char(' '));
}

/// What happened, by the facts that came with the code.
struct Happened {
    const Reason& reason;

    QString operator()(std::monostate) const { return spoken(sentencesOf(reason.code).happened); }
    QString operator()(const OutOfService& out) const { return stateSince(out); }
    QString operator()(NotYetInService) const { return ReasonTexts::tr("It was not yet in service then."); }
    QString operator()(const FailedControl& failed) const
    {
        QStringList levels;
        for (const auto& each : failed.levels)
            levels << failedSaid(each);
        return levels.isEmpty() ? spoken(sentencesOf(reason.code).happened) : levels.join(QLatin1Char(' '));
    }
    QString operator()(const LevelsToRun&) const { return spoken(sentencesOf(reason.code).happened); }
    QString operator()(const MissingLevels& missing) const
    {
        return ReasonTexts::tr("The last control set is not complete: %1 has no result that counts.").arg(levels(missing.missing));
    }
    QString operator()(const IssuedUncontrolled&) const { return ReasonTexts::tr("It was issued from reserve and not controlled since."); }
    QString operator()(const MovedUncontrolled& moved) const
    {
        return ReasonTexts::tr("It came from ward %1 and was not controlled on ward %2 since.")
            .arg(text(moved.from.value), text(moved.to.value));
    }
    QString operator()(const ClearanceLost& lost) const { return clearanceLost(lost.why); }
    QString operator()(const Overdue& overdue) const { return overdueSaid(reason.code, overdue); }
    QString operator()(const DueAt& at) const { return dueSaid(reason.code, at); }
    QString operator()(const VialRanOut& vial) const
    {
        return ReasonTexts::tr("Strip vial %1 was good to %2.").arg(text(vial.vial), longDay(vial.lastDay));
    }
    QString operator()(const FailedComparison& failed) const { return comparisonSaid(failed); }
    QString operator()(const SampleOwed& owed) const { return sampleSaid(reason.code, owed); }
    QString operator()(const Drifting& drift) const { return joinedSentences({ driftSaid(drift), lotEffectSaid(drift.effect) }); }
    QString operator()(const registry::LotEffect& effect) const { return lotEffectSaid(effect); }
    QString operator()(const registry::MovedFromUsual& moved) const { return movedSaid(moved); }
    QString operator()(const registry::StandingApart& apart) const { return apartSaid(apart); }
    QString operator()(const registry::LotMoved& moved) const { return lotMovedSaid(moved); }
    QString operator()(const NewOnMeter& owed) const
    {
        const QString vial = text(owed.material.vial);
        return owed.material.lot.empty()
            ? ReasonTexts::tr("It was not controlled on strip vial %1, and nothing else is open for it.").arg(vial)
            : ReasonTexts::tr("It was not controlled on strip lot %1 (vial %2), and nothing else is open for it.")
                  .arg(text(owed.material.lot), vial);
    }
    QString operator()(const WaitingLookback& waiting) const
    {
        return ReasonTexts::tr("Results from %1 to %2 wait for the coordinator's look-back.").arg(full(waiting.from), full(waiting.to));
    }
};

/// What is to be done, likewise.
struct ToDo {
    const Reason& reason;

    template <typename Facts>
    QString operator()(const Facts&) const
    {
        return spoken(sentencesOf(reason.code).toDo);
    }
    QString operator()(const OutOfService& out) const { return waysBack(out); }
    QString operator()(NotYetInService) const { return {}; }
    QString operator()(const FailedControl& failed) const
    {
        //: %1 a step: Open a new control vial and run the level again
        return failed.ladder ? ReasonTexts::tr("Do not use it. %1.").arg(ladderStepSaid(*failed.ladder))
                             : spoken(sentencesOf(ReasonCode::ControlRejected).toDo);
    }
    QString operator()(const LevelsToRun& run) const
    {
        return reason.code == ReasonCode::RunInvalid
            ? ReasonTexts::tr("Mend what stands beside this, then run %1 again.").arg(levels(run.levels))
            : beforeFirstUse(run.levels);
    }
    QString operator()(const MissingLevels& missing) const { return ReasonTexts::tr("Run %1.").arg(levels(missing.toRun)); }
    QString operator()(const IssuedUncontrolled& issued) const { return beforeFirstUse(issued.toRun); }
    QString operator()(const MovedUncontrolled& moved) const { return beforeFirstUse(moved.toRun); }
    QString operator()(const ClearanceLost& lost) const { return ReasonTexts::tr("Run %1 with other materials.").arg(levels(lost.toRun)); }
    QString operator()(const Overdue& overdue) const
    {
        return overdue.toRun.empty() ? spoken(sentencesOf(reason.code).toDo)
                                     : ReasonTexts::tr("Run %1 before the next use.").arg(levels(overdue.toRun));
    }
    QString operator()(const NewOnMeter& owed) const { return ReasonTexts::tr("Run %1 before the next use.").arg(levels(owed.toRun)); }
    QString operator()(const Drifting& drift) const { return afterDrift(drift, reason.blocks); }
    QString operator()(const registry::MovedFromUsual&) const
    {
        return reason.blocks ? ReasonTexts::tr("Put it aside, tell the coordinator.")
                             : ReasonTexts::tr("The coordinator knows; you may use it.");
    }
    QString operator()(const registry::LotMoved&) const
    {
        return reason.blocks ? ReasonTexts::tr("Put it aside until the coordinator has closed it.") : QString();
    }

    static QString beforeFirstUse(const std::vector<Level>& toRun)
    {
        return ReasonTexts::tr("Run %1 before the first use.").arg(levels(toRun));
    }
};

} // namespace

QString failedSaid(const FailedLevel& failed)
{
    const QString of = level(failed.level), rules = listed(failed.rules);
    const bool number = std::holds_alternative<base::Decimal>(failed.result);
    const QString read = number ? QStringLiteral("%1 %2").arg(text(toText(failed.result)), unit(failed.unit)) : text(toText(failed.result));
    if (failed.above)
        return rules.isEmpty()
            ? ReasonTexts::tr("The %1 control read %2, above %3.").arg(of, read, text(failed.above->typed()))
            : ReasonTexts::tr("The %1 control read %2, above %3 (%4).").arg(of, read, text(failed.above->typed()), rules);
    if (failed.below)
        return rules.isEmpty()
            ? ReasonTexts::tr("The %1 control read %2, below %3.").arg(of, read, text(failed.below->typed()))
            : ReasonTexts::tr("The %1 control read %2, below %3 (%4).").arg(of, read, text(failed.below->typed()), rules);
    return rules.isEmpty() ? ReasonTexts::tr("The %1 control read %2.").arg(of, read)
                           : ReasonTexts::tr("The %1 control read %2 (%3).").arg(of, read, rules);
}

QString lotEffectSaid(const registry::LotEffect& effect)
{
    using stats::DeviationFinding;
    const QString lot = text(effect.stripLot.value);
    const int n = static_cast<int>(effect.others);
    switch (effect.finding) {
    case DeviationFinding::Meter:
        return (n == 1 ? ReasonTexts::tr("The one other meter on strip lot %1 stands at the target: it is this meter.")
                       : ReasonTexts::tr("The %n other meters on strip lot %1 stand at the target: it is this meter.", nullptr, n))
            .arg(lot);
    case DeviationFinding::Lot:
        return (n == 1 ? ReasonTexts::tr("The one other meter on strip lot %1 deviates the same way: look at the strip lot and the "
                                         "control vials before the meter.")
                       : ReasonTexts::tr("The %n other meters on strip lot %1 deviate the same way: look at the strip lot and the "
                                         "control vials before the meter.",
                           nullptr, n))
            .arg(lot);
    case DeviationFinding::Both:
        return (n == 1 ? ReasonTexts::tr("The one other meter on strip lot %1 deviates too, and this meter stands apart from it: look "
                                         "at the lot and at the meter.")
                       : ReasonTexts::tr("The %n other meters on strip lot %1 deviate too, and this meter stands apart from them: "
                                         "look at the lot and at the meter.",
                           nullptr, n))
            .arg(lot);
    case DeviationFinding::Undecided:
        return ReasonTexts::tr("Too few other meters or results on strip lot %1 tell whether it is the meter or the lot.").arg(lot);
    case DeviationFinding::None: break;
    }
    return {};
}

QString atTheSheet(ReasonCode cause)
{
    const ReasonSentences& row = sentencesOf(cause);
    return spoken(row.sheet != nullptr ? row.sheet : row.happened);
}

QString atTheSheet(std::string_view code)
{
    const auto known = reasonOf(code);
    return known ? atTheSheet(*known) : text(code);
}

QString onTheChart(ReasonCode cause)
{
    return spoken(sentencesOf(cause).chart);
}

QString whatHappened(const Reason& reason)
{
    return std::visit(Happened { reason }, reason.facts);
}

QString whatToDo(const Reason& reason)
{
    return std::visit(ToDo { reason }, reason.facts);
}

QString reasonSaid(const Reason& reason)
{
    return joinedSentences({ whatHappened(reason), whatToDo(reason) });
}

} // namespace mk::words
