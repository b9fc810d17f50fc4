// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/month_events.h"

#include "words/causes.h"
#include "words/history.h"
#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>

namespace mk::words {

using namespace registry;

namespace {

struct MonthEventTexts {
    Q_DECLARE_TR_FUNCTIONS(MonthEvents)
};

template <typename Id>
QString idsSaid(const std::vector<Id>& ids)
{
    std::vector<std::string> words;
    for (const auto& id : ids)
        words.push_back(id.value);
    return listed(words);
}

/// What was held or withdrawn, why, and who ended it.
QString stopSaid(const ToldStop& told, const Zone& zone)
{
    const auto& [seq, stop, endedAt, endedBy] = told.stop;
    const QString meter = text(stop.meter.value), from = full(stop.at, zone), by = text(told.stoppedBy), why = causeSaid(stop.cause);
    if (!endedAt)
        return (stop.withdrawn ? MonthEventTexts::tr("%1 withdrawn since %2, by %3; it stands. %4")
                               : MonthEventTexts::tr("%1 on hold since %2, by %3; it stands. %4"))
            .arg(meter, from, by, why);
    if (told.signature)
        return (stop.withdrawn ? MonthEventTexts::tr("%1 withdrawn from %2 to %3, by %4; signed back by %5. %6")
                               : MonthEventTexts::tr("%1 on hold from %2 to %3, by %4; signed back by %5. %6"))
            .arg(meter, from, full(*endedAt, zone), by, text(told.signature->act.by.value), why);
    return (stop.withdrawn ? MonthEventTexts::tr("%1 withdrawn from %2 to %3, by %4; ended by %5. %6")
                           : MonthEventTexts::tr("%1 on hold from %2 to %3, by %4; ended by %5. %6"))
        .arg(meter, from, full(*endedAt, zone), by, text(told.endedBy), why);
}

QString comparedInMonth(const MonthComparison& told, const Zone& zone)
{
    const QString meter = text(told.meter.value), at = full(told.at, zone);
    const QString pairs = QString::number(told.pairs.size());
    const QString which = told.round ? text(*told.round) : idsSaid(told.pairs);
    switch (told.standing) {
    case ComparisonStanding::Passed:
        return (
            told.round ? MonthEventTexts::tr("%1: round %2 passed, %3; pairs: %4.") : MonthEventTexts::tr("%1: comparison %2 passed, %3."))
            .arg(meter, which, at, pairs);
    case ComparisonStanding::Failed:
        return (
            told.round ? MonthEventTexts::tr("%1: round %2 failed, %3; pairs: %4.") : MonthEventTexts::tr("%1: comparison %2 failed, %3."))
            .arg(meter, which, at, pairs);
    case ComparisonStanding::Excluded: return MonthEventTexts::tr("%1: comparison %2 could not be judged, %3.").arg(meter, which, at);
    case ComparisonStanding::Overdue: return MonthEventTexts::tr("%1: a comparison was overdue, since %2.").arg(meter, at);
    }
    return {};
}

QString lookbackStands(const MonthLookback& told, const Zone& zone)
{
    const LookbackRecord& record = told.record;
    const QString by = told.closedBy ? text(told.closedBy->value) : QString();
    if (record.closedAt && told.open)
        return MonthEventTexts::tr("Open at the end of the month; decided %1 by %2.").arg(full(*record.closedAt, zone), by);
    if (record.closedAt)
        return MonthEventTexts::tr("Decided %1 by %2: %3").arg(full(*record.closedAt, zone), by, text(record.decision.value_or("")));
    return told.assigned ? MonthEventTexts::tr("Open; %1 decides by %2.").arg(text(told.assigned->decides), longDay(told.assigned->until))
                         : MonthEventTexts::tr("Open.");
}

QString lookbackSaid(const MonthLookback& told, const Zone& zone)
{
    const auto& act = told.record.lookback;
    return MonthEventTexts::tr("%1, results from %2 to %3, opened %4. %5 %6")
        .arg(text(act.meter.value), full(act.from, zone), full(act.to, zone), full(act.at, zone), causeSaid(act.cause),
            lookbackStands(told, zone));
}

QString nonconformityStands(const MonthNonconformity& told, const Zone& zone)
{
    const Nonconformity& item = told.item;
    if (item.state == NcState::Closed && item.closedAt)
        return MonthEventTexts::tr("Closed %1 by %2.")
            .arg(full(*item.closedAt, zone), item.closedBy ? text(item.closedBy->value) : QString());
    const QString state = term(stateInWords(item.state));
    if (!item.due)
        return MonthEventTexts::tr("It stands at: %1.").arg(state);
    return (told.overdue ? MonthEventTexts::tr("It stands at: %1; overdue since %2.") : MonthEventTexts::tr("It stands at: %1; due %2."))
        .arg(state, longDay(*item.due));
}

QString nonconformitySaid(const MonthNonconformity& told, const Zone& zone)
{
    const auto& opened = told.item.opened;
    return MonthEventTexts::tr("Entry %1, %2, opened %3 by %4: %5 %6")
        .arg(entryNumber(told.item.entry), text(opened.subject), full(opened.at, zone), text(opened.by.value), sentence(opened.description),
            nonconformityStands(told, zone));
}

QString noticeSaid(const MonthNotice& told, const Zone& zone)
{
    const auto& notice = told.notice.notice;
    if (told.open)
        return MonthEventTexts::tr("Notice %1 of %2: %3 It is open; items done: %4.")
            .arg(text(notice.notice), full(notice.at, zone), sentence(notice.text), QString::number(told.notice.items.size()));
    return MonthEventTexts::tr("Notice %1 of %2: %3 Closed %4.")
        .arg(text(notice.notice), full(notice.at, zone), sentence(notice.text), full(*told.notice.closed, zone));
}

QString timesUsed(std::size_t times)
{
    const int n = static_cast<int>(times);
    return n == 1 ? MonthEventTexts::tr("once") : MonthEventTexts::tr("%n times", nullptr, n);
}

QString vialSaid(const MonthVial& told)
{
    const QString vial = text(told.vial), meters = idsSaid(told.meters), times = timesUsed(told.evidence.size());
    if (told.lot.empty())
        return MonthEventTexts::tr("Vial %1 is not on record; it was used %2, on %3.").arg(vial, times, meters);
    if (!told.lastDay)
        return MonthEventTexts::tr("Vial %1 of lot %4: no record says until when it is good; it was used %2, on %3.")
            .arg(vial, times, meters, text(told.lot));
    return MonthEventTexts::tr("Vial %1 of lot %4, good to %5: it was used %2 after that, on %3.")
        .arg(vial, times, meters, text(told.lot), longDay(*told.lastDay));
}

QString competencySaid(const MonthCompetency& told)
{
    const auto& person = told.person.act;
    const QString id = text(person.id.value);
    QString who = person.name ? MonthEventTexts::tr("%1 (%2)").arg(text(*person.name), id) : id;
    if (!told.models.empty())
        who = MonthEventTexts::tr("%1, on %2").arg(who, idsSaid(told.models));
    if (told.state == CompetencyState::Suspended)
        return MonthEventTexts::tr("%1: suspended.").arg(who);
    const QString until = told.until ? longDay(*told.until) : QString();
    return (told.state == CompetencyState::Due ? MonthEventTexts::tr("%1: ends %2.") : MonthEventTexts::tr("%1: ended %2."))
        .arg(who, until);
}

QString cleaningSaid(const MonthCleaning& told)
{
    const QString meter = text(told.meter.value), logged = QString::number(told.logged);
    if (told.overdue.empty())
        return (told.missing ? MonthEventTexts::tr("%1: cleanings logged %2; missing at the end of the month.")
                             : MonthEventTexts::tr("%1: cleanings logged %2."))
            .arg(meter, logged);
    return (told.missing ? MonthEventTexts::tr("%1: cleanings logged %2, owed and not logged %3; missing at the end of the month.")
                         : MonthEventTexts::tr("%1: cleanings logged %2, owed and not logged in time %3."))
        .arg(meter, logged, QString::number(told.overdue.size()));
}

QString bandSaid(const EqaJudged& judged)
{
    const QString z = judged.z ? score(*judged.z, 2) : QString();
    switch (judged.band) {
    case EqaBand::Waiting: return MonthEventTexts::tr("It waits to be returned.");
    case EqaBand::Missing: return MonthEventTexts::tr("It was not returned: failed.");
    case EqaBand::Late: return MonthEventTexts::tr("It was returned late: failed.");
    case EqaBand::Returned: return MonthEventTexts::tr("It was returned and is not scored.");
    case EqaBand::Satisfactory: return MonthEventTexts::tr("Scored %1: satisfactory.").arg(z);
    case EqaBand::Questionable: return MonthEventTexts::tr("Scored %1: questionable.").arg(z);
    case EqaBand::Action: return z.isEmpty() ? MonthEventTexts::tr("Scored: failed.") : MonthEventTexts::tr("Scored %1: failed.").arg(z);
    }
    return {};
}

QString proficiencySaid(const MonthProficiency& told, const Zone& zone)
{
    const auto& received = told.sample.received.act;
    return MonthEventTexts::tr("%1: %2, %3, sample %4, received %5, due %6. %7")
        .arg(text(received.meter.value), text(received.scheme), text(received.event), text(received.sample),
            longDay(zone.dateOf(received.at)), longDay(zone.dateOf(received.due)), bandSaid(told.judged));
}

/// A run says what it showed; of anything else its kind and what it is about.
QString annulledSaid(const MonthAnnulled& told, const Zone& zone)
{
    const Act& act = told.entry.act;
    const bool run = std::holds_alternative<acts::ControlRun>(act);
    const QString what = run ? historyLine(act, std::nullopt) : MonthEventTexts::tr("%1 %2").arg(text(kindOf(act)), text(subjectOf(act)));
    const auto& annulment = told.annulment.act;
    return (told.unconfirmed ? MonthEventTexts::tr("Entry %1, struck through %2 by %3, confirmed by nobody: %4. It said: %5")
                             : MonthEventTexts::tr("Entry %1, struck through %2 by %3: %4. It said: %5"))
        .arg(entryNumber(told.entry.seq), full(annulment.at, zone), text(annulment.by.value), text(annulment.reason), what);
}

QString correctedSaid(const MonthCorrected& told, const Zone& zone)
{
    const auto& act = told.correction.act;
    return (told.confirmed || act.confirmedBy ? MonthEventTexts::tr("%1, set %2, %3: %4.")
                                              : MonthEventTexts::tr("%1, set %2, %3: %4; confirmed by nobody."))
        .arg(told.meter ? text(told.meter->value) : QString(), text(act.set.value), full(act.at, zone), historyLine(act, std::nullopt));
}

QString lotSaid(const Record<acts::LotEvent>& told, const Zone& zone)
{
    const acts::LotEvent& act = told.act;
    QStringList sentences {
        MonthEventTexts::tr("%1: %2, %3 by %4.").arg(text(act.lot), lotEvent(act.what), full(act.at, zone), text(act.by.value))
    };
    if (act.releasedElsewhere)
        sentences << releasedElsewhere(*act.releasedElsewhere);
    if (act.inDoubt == YesNo::Yes)
        sentences << MonthEventTexts::tr("Results on it are in doubt.");
    if (act.detail)
        sentences << text(*act.detail);
    return sentences.join(QChar(u' '));
}

template <typename T, typename F>
MonthSection section(const QString& head, const T& all, F&& said)
{
    MonthSection made { head, {} };
    for (const auto& each : all)
        made.lines << said(each);
    return made;
}

} // namespace

std::vector<MonthSection> monthSections(const MonthEvents& events, std::span<const ToldStop> stops, const Zone& zone)
{
    const auto timed = [&](auto said) { return [said, &zone](const auto& each) { return said(each, zone); }; };
    return { section(MonthEventTexts::tr("Withdrawn, held, returned"), stops, timed(stopSaid)),
        section(MonthEventTexts::tr("Laboratory comparisons"), events.comparisons, timed(comparedInMonth)),
        section(MonthEventTexts::tr("Look-backs"), events.lookbacks, timed(lookbackSaid)),
        section(MonthEventTexts::tr("Nonconformities"), events.nonconformities, timed(nonconformitySaid)),
        section(MonthEventTexts::tr("Makers' notices"), events.notices, timed(noticeSaid)),
        section(MonthEventTexts::tr("Lots released, quarantined or rejected"), events.lots, timed(lotSaid)),
        section(MonthEventTexts::tr("Vials used past their date, or without one"), events.vials, vialSaid),
        section(MonthEventTexts::tr("Competency ended or ending"), events.competency, competencySaid),
        section(MonthEventTexts::tr("Cleaning"), events.cleaning, cleaningSaid),
        section(MonthEventTexts::tr("Proficiency samples"), events.proficiency, timed(proficiencySaid)),
        section(MonthEventTexts::tr("Annulled entries"), events.annulled, timed(annulledSaid)),
        section(MonthEventTexts::tr("Corrected entries"), events.corrected, timed(correctedSaid)) };
}

QString countedHead(const MonthSection& section)
{
    return section.lines.isEmpty() ? MonthEventTexts::tr("%1: none").arg(section.head)
                                   : MonthEventTexts::tr("%1 (%2)").arg(section.head, QString::number(section.lines.size()));
}

} // namespace mk::words
