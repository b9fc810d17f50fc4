// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/history.h"

#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>

namespace mk::words {

using namespace registry;

namespace {

struct HistoryTexts {
    Q_DECLARE_TR_FUNCTIONS(History)
};

QString runLine(const acts::ControlRun& run)
{
    QString line = HistoryTexts::tr("%1 %2 %3 on %4 at %5 by %6, strips %7, control %8")
                       .arg(level(run.level), text(toText(run.result)), unit(run.unit), text(run.meter.value), text(base::toText(run.at)),
                           text(run.by.value), text(run.stripVial.value), text(run.controlVial.value));
    if (run.form)
        line = HistoryTexts::tr("%1, paper form %2").arg(line, text(*run.form));
    return run.lateReason ? HistoryTexts::tr("%1, entered late: %2").arg(line, text(*run.lateReason)) : line;
}

QString correctionLine(const acts::EntryCorrected& correction)
{
    const QString line = HistoryTexts::tr("%1: %2 corrected from '%3' to '%4' by %5: %6")
                             .arg(level(correction.level), text(correction.column), text(correction.oldText), text(correction.newText),
                                 text(correction.by.value), text(correction.reason));
    return correction.confirmedBy ? HistoryTexts::tr("%1; confirmed by %2").arg(line, text(correction.confirmedBy->value)) : line;
}

QString judgedLine(const acts::SetJudged& judged)
{
    const QString set = text(judged.set.value), now = verdictInList(judged.verdict);
    return judged.oldVerdict ? HistoryTexts::tr("set %1 judged %2, before %3").arg(set, now, verdictInList(*judged.oldVerdict))
                             : HistoryTexts::tr("set %1 judged %2").arg(set, now);
}

/// The fields of any act that people make, as they would stand in a file.
struct FieldTeller {
    std::string fields {};

    template <typename T>
    void operator()(std::string_view name, const T& value, acts::Field)
    {
        fields += (fields.empty() ? "" : ", ") + std::string(name) + " " + TextForm<T>::write(value);
    }
    template <typename T>
    void operator()(std::string_view name, const std::optional<T>& value, acts::Field field)
    {
        if (value)
            (*this)(name, *value, field);
    }
};

QString fieldsLine(const Act& act)
{
    FieldTeller teller;
    std::visit(
        [&]<typename A>(const A& a) {
            if constexpr (Described<A>)
                A::describe(teller, a);
        },
        act);
    return text(teller.fields);
}

QString lineOf(const Act& act)
{
    if (const auto* run = std::get_if<acts::ControlRun>(&act))
        return runLine(*run);
    if (const auto* correction = std::get_if<acts::EntryCorrected>(&act))
        return correctionLine(*correction);
    if (const auto* confirmed = std::get_if<acts::CorrectionConfirmed>(&act))
        return HistoryTexts::tr("the correction of entry %1 confirmed by %2")
            .arg(QString::number(confirmed->entry.value), text(confirmed->by.value));
    if (const auto* annulled = std::get_if<acts::EntryAnnulled>(&act))
        return HistoryTexts::tr("annulled by %1: %2").arg(text(annulled->by.value), text(annulled->reason));
    const auto* judged = std::get_if<acts::SetJudged>(&act);
    return judged != nullptr ? judgedLine(*judged) : fieldsLine(act);
}

} // namespace

QString historyLine(const Act& act, std::optional<base::Moment> keptSince)
{
    const QString line = lineOf(act);
    return keptSince ? HistoryTexts::tr("%1; delivered late, kept at the workstation since %2").arg(line, full(*keptSince)) : line;
}

} // namespace mk::words
