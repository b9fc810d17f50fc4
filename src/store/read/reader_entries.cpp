// SPDX-License-Identifier: GPL-3.0-or-later
// Entries of the journal by their number or by what they are about, and ids that are listed.
#include "store/db/rows.h"
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

/// The first column of the rows that a statement gives.
Result<std::vector<std::string>> textsFrom(Session& session, const char* sql, const QVariantList& values)
{
    std::vector<std::string> texts;
    const Done read = eachRow(session, sql, values, [&](const Statement& row) {
        texts.push_back(row.text(0));
        return Done();
    });
    if (!read)
        return read.error();
    return texts;
}

Result<std::optional<base::MeterId>> firstMeter(Session& session, const char* sql, const QVariantList& values)
{
    const auto found = textsFrom(session, sql, values);
    if (!found)
        return found.error();
    return found->empty() ? std::nullopt : std::optional(base::MeterId(found->front()));
}

} // namespace

Result<std::optional<KnownEntry>> Reader::entry(Seq seq)
{
    const auto stored = entryAt(*m_session, seq);
    if (!stored)
        return stored.error();
    if (!*stored || seq > m_asOf)
        return std::optional<KnownEntry>();
    const auto body = Json::parse((*stored)->body);
    auto act = body ? actFrom((*stored)->act, *body) : Result<Act>(body.error());
    if (!act)
        return act.error();
    KnownEntry known { seq, m_zone.at((*stored)->at), (*stored)->person, isImported(*body), std::move(act).value() };
    const Done read = eachRow(*m_session, "SELECT by_seq FROM annulled WHERE seq = ? AND by_seq <= ?",
        { bound(seq.value), bound(m_asOf.value) }, [&](const Statement& row) {
            known.annulledBy = Seq { row.number(0) };
            return Done();
        });
    if (!read)
        return read.error();
    return std::optional(std::move(known));
}

Result<std::optional<Seq>> Reader::entryOfKey(const std::string& file, const std::string& key)
{
    return store::entryOfKey(*m_session, file, key);
}

Result<std::optional<base::MeterId>> Reader::meterOfSet(const base::SetId& id)
{
    return firstMeter(*m_session, "SELECT meter FROM control_run WHERE set_id = ? LIMIT 1", { bound(id.value) });
}

Result<std::optional<Moment>> Reader::newestJudged()
{
    std::optional<Moment> newest;
    const Done read = eachRow(*m_session, "SELECT max(last_at) FROM set_verdict", {}, [&](const Statement& row) {
        if (const auto at = row.numberOr(0))
            newest = m_zone.at(*at);
        return Done();
    });
    if (!read)
        return read.error();
    return newest;
}

Result<std::vector<CorrectionRecord>> Reader::corrections(const base::SetId& set)
{
    std::vector<CorrectionRecord> found;
    const Done read = eachRow(*m_session,
        "SELECT c.from_seq, c.level, c.column_name, CASE WHEN c.confirmed_by IS NULL THEN 0 ELSE 1 END, (SELECT count(*) FROM set_verdict v WHERE v.set_id = c.set_id"
        " AND v.because = c.from_seq AND v.old_verdict <> v.verdict) FROM correction c WHERE c.set_id = ? AND c.from_seq <= ? ORDER BY c.from_seq",
        { bound(set.value), bound(m_asOf.value) }, [&](const Statement& row) {
            CorrectionRecord record { { row.number(0) }, {}, row.text(2), row.number(3) != 0, row.number(4) != 0 };
            const Done word = wordFrom(row.text(1), record.level);
            found.push_back(std::move(record));
            return word;
        });
    if (!read)
        return read.error();
    return found;
}

Result<std::optional<base::MeterId>> Reader::meterWithSerial(const base::ModelId& model, const std::string& serial)
{
    return firstMeter(
        *m_session, "SELECT meter FROM meter WHERE model = ? AND serial = ? AND to_seq IS NULL", { bound(model.value), bound(serial) });
}

Result<std::vector<std::string>> Reader::lotIds()
{
    const QVariant n = bound(m_asOf.value);
    return textsFrom(*m_session,
        "SELECT lot FROM (SELECT lot, 0 AS sort FROM strip_lot WHERE from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " UNION SELECT lot, 1 FROM control_lot WHERE from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)) AS every_lot ORDER BY sort, lot",
        { n, n, n, n });
}

Result<std::vector<std::string>> Reader::vialIdsOfLot(const std::string& lot)
{
    const QVariant n = bound(m_asOf.value);
    return textsFrom(*m_session,
        "SELECT vial FROM strip_vial WHERE lot = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " UNION SELECT vial FROM control_vial WHERE lot = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY vial",
        { bound(lot), n, n, bound(lot), n, n });
}

Result<std::vector<std::string>> Reader::vialIdsOfWard(const base::WardId& ward)
{
    const QVariant n = bound(m_asOf.value);
    return textsFrom(*m_session,
        "SELECT vial FROM strip_vial WHERE ward = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " UNION SELECT vial FROM control_vial WHERE ward = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY vial",
        { bound(ward.value), n, n, bound(ward.value), n, n });
}

Result<std::vector<base::MeterId>> Reader::metersOnVial(const std::string& vial)
{
    const QVariant id = bound(vial), n = bound(m_asOf.value);
    const auto found = textsFrom(*m_session,
        "SELECT meter FROM control_run WHERE strip_vial = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " UNION SELECT meter FROM control_run WHERE control_vial = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?)"
        " UNION SELECT meter FROM comparison WHERE strip_vial = ? AND from_seq <= ? AND (to_seq IS NULL OR to_seq > ?) ORDER BY 1",
        { id, n, n, id, n, n, id, n, n });
    if (!found)
        return found.error();
    return std::vector<base::MeterId>(found->begin(), found->end());
}

} // namespace mk::store
