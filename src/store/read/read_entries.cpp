// SPDX-License-Identifier: GPL-3.0-or-later
// Entries of the journal by their number or by what they are about, and ids that are listed.
#include "store/db/rows.h"
#include "store/index/rows/catalogue_rows.h"
#include "store/index/rows/control_rows.h"
#include "store/index/rows/index_rows.h"
#include "store/index/rows/lot_rows.h"
#include "store/journal/act_codec.h"
#include "store/journal/act_keys.h"
#include "store/journal/journal.h"
#include "store/read/reader.h"

namespace mk::store {

using namespace registry;
using base::Done;
using base::Moment;
using base::Result;
using base::Seq;

namespace {

/// What a statement's rows hold in one column.
Result<std::vector<std::string>> textsFrom(Session& session, std::string_view column, const Sql& sql, const Values& values)
{
    std::vector<std::string> texts;
    const Done read = eachRow(session, sql, values, [&](const Statement& row) {
        texts.push_back(row.text(column));
        return Done();
    });
    if (!read)
        return read.error();
    return texts;
}

Result<std::optional<base::MeterId>> firstMeter(Session& session, const Sql& sql, const Values& values)
{
    const auto found = textsFrom(session, "meter", sql, values);
    if (!found)
        return found.error();
    return found->empty() ? std::nullopt : std::optional(base::MeterId(found->front()));
}

} // namespace

Result<std::optional<KnownEntry>> Reader::entry(Seq seq)
{
    static const Sql annulment({ AnnulledRow::table }, "SELECT by_seq AS seq FROM annulled WHERE seq = :seq AND by_seq <= :known");
    const auto stored = entryAt(*m_session, seq);
    if (!stored)
        return stored.error();
    if (!*stored || seq > m_asOf)
        return std::optional<KnownEntry>();
    auto act = actFromBody((*stored)->act, (*stored)->body);
    if (!act)
        return act.error();
    KnownEntry known { seq, m_zone.at((*stored)->at), (*stored)->person, saysImported((*stored)->body), std::move(act).value() };
    const auto annulledBy = seqFrom(*m_session, annulment, asKnown({ { "seq", bound(seq.value) } }));
    if (!annulledBy)
        return annulledBy.error();
    known.annulledBy = *annulledBy;
    return std::optional(std::move(known));
}

Result<std::optional<Seq>> Reader::entryOfKey(const std::string& file, const std::string& key)
{
    return store::entryOfKey(*m_session, file, key);
}

Result<std::optional<base::MeterId>> Reader::meterOfSet(const base::SetId& id)
{
    static const Sql sql({ ControlRunRow::table }, "SELECT meter FROM control_run WHERE set_id = :set_id AND from_seq <= :known LIMIT 1");
    return firstMeter(*m_session, sql, asKnown({ { "set_id", bound(id.value) } }));
}

Result<std::optional<Moment>> Reader::newestJudged()
{
    static const Sql sql({ SetVerdictRow::table }, "SELECT max(last_at) AS newest FROM set_verdict WHERE from_seq <= :known");
    std::optional<Moment> newest;
    const Done read = eachRow(*m_session, sql, asKnown(), [&](const Statement& row) {
        if (const auto at = row.numberOr("newest"))
            newest = m_zone.at(*at);
        return Done();
    });
    if (!read)
        return read.error();
    return newest;
}

Result<std::vector<CorrectionRecord>> Reader::corrections(const base::SetId& set)
{
    static const Sql sql({ CorrectionRow::table },
        "SELECT from_seq, CASE WHEN confirmed_by IS NULL OR confirmed_seq > :known THEN 0 ELSE 1 END AS confirmed"
        " FROM correction WHERE set_id = :set_id AND from_seq <= :known ORDER BY from_seq");
    std::vector<CorrectionRecord> found;
    const Done read = eachRow(*m_session, sql, asKnown({ { "set_id", bound(set.value) } }), [&](const Statement& row) {
        found.push_back({ { row.number("from_seq") }, row.number("confirmed") != 0 });
        return Done();
    });
    if (!read)
        return read.error();
    return found;
}

Result<std::optional<base::MeterId>> Reader::meterWithSerial(const base::ModelId& model, const std::string& serial)
{
    static const Sql sql({ MeterRow::table }, "SELECT meter FROM meter WHERE model = :model AND serial = :serial AND " + known());
    return firstMeter(*m_session, sql, asKnown({ { "model", bound(model.value) }, { "serial", bound(serial) } }));
}

Result<std::vector<std::string>> Reader::lotIds()
{
    static const Sql sql({ StripLotRow::table, ControlLotRow::table },
        "SELECT lot FROM (SELECT lot, 0 AS sort FROM strip_lot WHERE " + known() + " UNION SELECT lot, 1 FROM control_lot WHERE " + known()
            + ") AS every_lot ORDER BY sort, lot");
    return textsFrom(*m_session, "lot", sql, asKnown());
}

Result<std::vector<std::string>> Reader::vialIdsOfLot(const std::string& lot)
{
    static const Sql sql({ StripVialRow::table, ControlVialRow::table },
        "SELECT vial FROM strip_vial WHERE lot = :lot AND " + known() + " UNION SELECT vial FROM control_vial WHERE lot = :lot AND "
            + known() + " ORDER BY vial");
    return textsFrom(*m_session, "vial", sql, asKnown({ { "lot", bound(lot) } }));
}

Result<std::vector<std::string>> Reader::vialIdsOfWard(const base::WardId& ward)
{
    static const Sql sql({ StripVialRow::table, ControlVialRow::table },
        "SELECT vial FROM strip_vial WHERE ward = :ward AND " + known() + " UNION SELECT vial FROM control_vial WHERE ward = :ward AND "
            + known() + " ORDER BY vial");
    return textsFrom(*m_session, "vial", sql, asKnown({ { "ward", bound(ward.value) } }));
}

Result<std::vector<base::MeterId>> Reader::metersOnVial(const std::string& vial)
{
    static const Sql sql({ ControlRunRow::table, ComparisonRow::table },
        "SELECT meter FROM control_run WHERE strip_vial = :vial AND " + known()
            + " UNION SELECT meter FROM control_run WHERE control_vial = :vial AND " + known()
            + " UNION SELECT meter FROM comparison WHERE strip_vial = :vial AND " + known() + " ORDER BY meter");
    const auto found = textsFrom(*m_session, "meter", sql, asKnown({ { "vial", bound(vial) } }));
    if (!found)
        return found.error();
    return std::vector<base::MeterId>(found->begin(), found->end());
}

} // namespace mk::store
