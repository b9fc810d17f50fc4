// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/patterns.h"

#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>

namespace mk::words {

using namespace registry;

namespace {

struct PatternTexts {
    Q_DECLARE_TR_FUNCTIONS(Patterns)
};

QString vialNamed(const QString& meter, const PatternFacts& f)
{
    const QString vial = text(f.vial);
    const int n = static_cast<int>(f.count);
    if (f.ended)
        return (n == 1 ? PatternTexts::tr("%1: 1 run names vial %2 after it was ended.")
                       : PatternTexts::tr("%1: %n runs name vial %2 after it was ended.", nullptr, n))
            .arg(meter, vial);
    return (n == 1 ? PatternTexts::tr("%1: 1 run names vial %2 before it was opened.")
                   : PatternTexts::tr("%1: %n runs name vial %2 before it was opened.", nullptr, n))
        .arg(meter, vial);
}

QString manyAttempts(const QString& meter, const PatternFacts& f)
{
    const QString attempts = QString::number(f.count);
    const int n = static_cast<int>(f.accepted);
    return (n == 1 ? PatternTexts::tr("%1: %2 attempts for 1 accepted set.")
                   : PatternTexts::tr("%1: %2 attempts for %n accepted sets.", nullptr, n))
        .arg(meter, attempts);
}

QString badVial(const Pattern& pattern)
{
    const PatternFacts& f = pattern.facts;
    return (f.ended ? PatternTexts::tr("Control vial %1: failed controls with it %2, on %3; with another vial they held.")
                    : PatternTexts::tr("Control vial %1: failed controls with it %2, on %3."))
        .arg(text(f.vial), QString::number(f.count), listed(pattern.about));
}

} // namespace

QString patternSaid(const Pattern& pattern)
{
    const PatternFacts& f = pattern.facts;
    const QString who = pattern.about.empty() ? QString() : text(pattern.about.front());
    const QString of = f.level ? level(*f.level) : QString(), count = QString::number(f.count);
    const int n = static_cast<int>(f.count);
    switch (pattern.code) {
    case PatternCode::SameValue:
        return PatternTexts::tr("%1, %2: %3 was recorded %4 times running, %5 to %6.")
            .arg(who, of, text(f.value), count, f.first ? longDay(*f.first) : QString(), f.last ? longDay(*f.last) : QString());
    case PatternCode::SmallSpread:
        return PatternTexts::tr("%1, %2, strips %3: the SD is less than a third of the SD of the other meters on the same lots.")
            .arg(who, of, text(f.lot));
    case PatternCode::OnlyAtMean: return PatternTexts::tr("%1, %2: all %3 values are the target mean itself.").arg(who, of, count);
    case PatternCode::NoFailure: return PatternTexts::tr("None of %1 sets was rejected, not even at the first attempt.").arg(count);
    case PatternCode::SameMinute:
        return PatternTexts::tr("%1 sets of different times were entered within the same minute, %2.")
            .arg(count, f.at ? full(*f.at) : QString());
    case PatternCode::VialNotOpen: return vialNamed(who, f);
    case PatternCode::BackDated: return PatternTexts::tr("%1: %n sets were entered well after their own time.", nullptr, n).arg(who);
    case PatternCode::AmendedToAccepted:
        return PatternTexts::tr("%1: a correction made set %2 accepted, which was rejected before.").arg(who, text(f.set));
    case PatternCode::VoidsByOne: return PatternTexts::tr("%1 runs of the month were annulled by the same person, %2.").arg(count, who);
    case PatternCode::RunAtRepair:
        return PatternTexts::tr("%1: set %2 of %3 was run while the meter stood as at repair.")
            .arg(who, text(f.set), f.at ? full(*f.at) : QString());
    case PatternCode::ManyAttempts: return manyAttempts(who, f);
    case PatternCode::BadControlVial: return badVial(pattern);
    case PatternCode::NoControlRun: return PatternTexts::tr("No control run this month by: %1.").arg(listed(pattern.about));
    }
    return {};
}

QString patternSaid(const FailurePattern& pattern)
{
    const QString count = QString::number(pattern.count), days = QString::number(kPatternDays), subject = text(pattern.subject);
    switch (pattern.kind) {
    case FailureSubject::Meter:
        return PatternTexts::tr("%1 first attempts did not hold in %2 days on meter %3. Look at the meter, its vials and its place "
                                "before the next one.")
            .arg(count, days, subject);
    case FailureSubject::StripVial:
        return PatternTexts::tr("%1 first attempts did not hold in %2 days with strip vial %3. Look at how it was stored and when it "
                                "was opened.")
            .arg(count, days, subject);
    case FailureSubject::ControlVial:
        return PatternTexts::tr("%1 first attempts did not hold in %2 days with control vial %3. Look at its opening, its mixing and "
                                "its storage.")
            .arg(count, days, subject);
    case FailureSubject::Operator:
        return PatternTexts::tr("%1 first attempts did not hold in %2 days in runs recorded by %3. A look at the technique together "
                                "may show what the insert leaves open.")
            .arg(count, days, subject);
    case FailureSubject::LatePass:
        return PatternTexts::tr("Set %1 was accepted at attempt %2. Look at what changed between the attempts.").arg(subject, count);
    }
    return {};
}

QString patternsNote()
{
    return PatternTexts::tr(
        "These patterns stand out in the record and need a human eye. They say nothing about a cause or about anybody's work.");
}

} // namespace mk::words
