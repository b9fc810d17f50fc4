// SPDX-License-Identifier: GPL-3.0-or-later
#include "words/faults.h"

#include "words/numbers.h"
#include "words/terms.h"

#include <QCoreApplication>

namespace mk::words {

namespace {

/// All places at once, so that a typed "%2" in the first is not filled again.
QString filled(const QString& sentence, const std::vector<base::Arg>& args)
{
    QString whole;
    for (qsizetype at = 0; at < sentence.size(); ++at) {
        const auto place = sentence[at] == QLatin1Char('%') && at + 1 < sentence.size() ? sentence[at + 1].digitValue() : -1;
        if (place >= 1 && static_cast<std::size_t>(place) <= args.size()) {
            whole += said(args[static_cast<std::size_t>(place - 1)]);
            ++at;
        } else {
            whole += sentence[at];
        }
    }
    return whole;
}

} // namespace

QString said(const base::Arg& arg)
{
    switch (arg.kind) {
    case base::Arg::Kind::Term: return term(arg.text);
    case base::Arg::Kind::Moment: return momentSaid(arg.text);
    case base::Arg::Kind::Date: return dateSaid(arg.text);
    case base::Arg::Kind::Month: {
        const auto first = base::parseDate(arg.text + "-01");
        return first ? monthAndYear(*first) : QString::fromStdString(arg.text);
    }
    case base::Arg::Kind::Cause: return said(*arg.cause);
    case base::Arg::Kind::Text:
    case base::Arg::Kind::Code:
    case base::Arg::Kind::Number: break;
    }
    return QString::fromStdString(arg.text);
}

QString said(const base::Fault& fault)
{
    if (fault.code.empty())
        return QString::fromStdString(fault.text);
    const FaultSentence* found = nullptr;
    for (const auto sentences : { deskSentences(), programSentences() })
        for (const auto& each : sentences)
            if (each.code == fault.code)
                found = &each;
    return filled(QCoreApplication::translate("Fault", found != nullptr ? found->sentence : fault.code.data()), fault.args);
}

QString sentence(const base::Fault& fault)
{
    return sentence(said(fault).toStdString());
}

} // namespace mk::words
