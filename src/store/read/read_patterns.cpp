// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/read/read_patterns.h"

#include "store/db/rows.h"
#include "store/index/rows/control_rows.h"
#include "store/index/rows/index_rows.h"
#include "store/journal/entry_act.h"
#include "store/journal/journal.h"
#include "registry/month/signed_month.h"

namespace mk::store {

using namespace registry;
using base::Done;
using base::Result;

namespace {

Done readVials(Reader& reader, const MonthReading& reading, PatternInput& input)
{
    for (const auto& meter : reading.meters)
        for (const auto& set : meter.sets)
            for (const auto& run : set.runs) {
                if (!input.vials.contains(run.run.stripVial.value)) {
                    const auto strip = reader.stripVial(run.run.stripVial);
                    if (!strip)
                        return strip.error();
                    if (*strip != nullptr)
                        input.vials[run.run.stripVial.value] = { (*strip)->vial.opened,
                            (*strip)->ended ? std::optional((*strip)->ended->act.at) : std::nullopt };
                }
                if (!input.vials.contains(run.run.controlVial.value)) {
                    const auto control = reader.controlVial(run.run.controlVial);
                    if (!control)
                        return control.error();
                    if (*control != nullptr)
                        input.vials[run.run.controlVial.value] = { (*control)->vial.opened,
                            (*control)->ended ? std::optional((*control)->ended->act.at) : std::nullopt };
                }
            }
    return {};
}

Done readVoided(Reader& reader, const MonthFigures& figures, PatternInput& input)
{
    static const Sql sql({ AnnulledRow::table, Entry::table },
        "SELECT a.seq, a.by_seq FROM annulled a JOIN journal j ON j.seq = a.seq WHERE j.act = 'control.run' AND a.by_seq <= :known");
    std::vector<std::pair<base::Seq, base::Seq>> annulled;
    const Done read = eachRow(reader.session(), sql, reader.asKnown(), [&](const Statement& row) {
        annulled.push_back({ { row.number("seq") }, { row.number("by_seq") } });
        return Done();
    });
    if (!read)
        return read;
    acts::ReviewSigned month;
    month.month = toText(figures.month);
    month.ward = figures.ward;
    for (const auto& [seq, by] : annulled) {
        const auto act = actOfEntry(reader.session(), seq);
        auto annulment = actOfEntry(reader.session(), by);
        if (const auto* confirmed = annulment ? std::get_if<acts::CorrectionConfirmed>(&*annulment) : nullptr; confirmed != nullptr)
            annulment = actOfEntry(reader.session(), base::Seq(confirmed->entry)); // it waited for a second person
        if (!act || !annulment)
            return act ? annulment.error() : act.error();
        const auto* run = std::get_if<acts::ControlRun>(&*act);
        const auto* voided = std::get_if<acts::EntryAnnulled>(&*annulment);
        if (run == nullptr || voided == nullptr)
            continue;
        const auto ward = reader.wardAt(run->meter, run->at);
        if (!ward)
            return ward.error();
        if (concerns(month, run->at, *ward, reader.zone()))
            input.voided.push_back({ by, voided->by, run->meter });
    }
    return {};
}

} // namespace

Result<std::vector<Pattern>> readPatterns(Reader& reader, const MonthReading& reading)
{
    PatternInput input { reading.meters, reading.figures, reader.zone() };
    auto people = reader.people();
    if (!people)
        return people.error();
    input.people = std::move(people).value();
    static const Select<CorrectionRow> all("WHERE from_seq <= :known");
    const auto corrections = readRows(reader.session(), all, reader.asKnown(), reader.zone());
    if (!corrections)
        return corrections.error();
    for (const auto& correction : *corrections) {
        input.corrections.push_back(correction.from);
        if (correction.confirmed.seq) // what waited changed the verdict then
            input.corrections.push_back(*correction.confirmed.seq);
    }
    if (const Done vials = readVials(reader, reading, input); !vials)
        return vials.error();
    if (const Done voided = readVoided(reader, reading.figures, input); !voided)
        return voided.error();
    return patternsOf(input);
}

} // namespace mk::store
