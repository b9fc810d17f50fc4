// SPDX-License-Identifier: GPL-3.0-or-later
#include "store/copies/verification.h"

#include "store/journal/act_codec.h"
#include "store/journal/chain_check.h"
#include "store/access/credentials.h"
#include "store/db/engine.h"
#include "store/index/index.h"
#include "store/journal/journal.h"
#include "store/db/rows.h"

#include <map>

namespace mk::store {

using base::Done;
using base::Result;
namespace acts = registry::acts;

namespace {

bool sameRows(Statement& stored, Statement& rebuilt, int columns)
{
    for (;;) {
        const bool left = stored.next();
        const bool right = rebuilt.next();
        if (left != right)
            return false;
        if (!left)
            return true;
        for (int i = 0; i < columns; ++i) {
            const QVariant one = stored.value(i), other = rebuilt.value(i);
            if (one.isNull() != other.isNull() || (!one.isNull() && one != other)) // engines give an absent value different types
                return false;
        }
    }
}

/// Does a table hold in both sessions the same rows? A table that cannot be read differs.
bool sameTable(Session& stored, Session& rebuilt, const IndexTable& table)
{
    auto left = stored.streamed(*table.selectAll);
    auto right = rebuilt.streamed(*table.selectAll);
    if (!left || !right || !left->run({}) || !right->run({}))
        return false;
    const int columns = left->columns();
    const bool same = columns == right->columns() && sameRows(*left, *right, columns);
    const Done a = left->finished();
    const Done b = right->finished();
    return same && a && b;
}

class Verifier {
public:
    Verifier(Session& session, Session& scratch, const std::optional<std::string>& printedHead)
        : m_session(session),
          m_scratch(scratch),
          m_printedHead(printedHead),
          m_prev(noDigest())
    {
        if (printedHead)
            m_result.headKnown = false;
    }

    Result<Verification> run()
    {
        if (const Done begun = m_scratch.begin(); !begun)
            return begun.error();
        const Done read = eachRow(
            m_session, kSelectEntries, {}, [this](const Statement& row) { return take(entryFrom(row)); }, Rows::Streamed);
        if (!read)
            return read.error();
        if (const Done committed = m_scratch.commit(); !committed)
            return committed.error();
        m_result.head = m_prev;
        compareSchema();
        for (const auto& table : indexTables())
            if (!sameTable(m_session, m_scratch, table))
                differs(table.name);
        const auto credentials = checkCredentials(m_session);
        if (!credentials)
            differs("credential");
        else
            for (const auto& person : credentials->strange)
                differs(base::badInput("credential of %1", person));
        if (credentials)
            m_result.passwordsMissing = credentials->leftBehind;
        return m_result;
    }

private:
    Done take(const Entry& entry)
    {
        ++m_result.entries;
        if (m_result.chainIntact)
            checkLink(entry);
        m_prev = entry.digest;
        if (m_printedHead && entry.digest == *m_printedHead && m_result.chainIntact)
            m_result.headKnown = true;
        rebuild(entry);
        return {};
    }

    void checkLink(const Entry& entry)
    {
        const auto how = m_chain.breakAt(entry);
        if (!how)
            return;
        m_result.chainIntact = false;
        // A row that is gone is the first that does not hold, not the one behind the gap.
        m_result.brokenAt = entry.seq.value != m_result.entries ? m_result.entries : entry.seq.value;
        m_result.brokenHow = how;
        m_result.brokenBecause = fault(*how).text;
    }

    void rebuild(const Entry& entry)
    {
        auto act = actFromBody(entry.act, entry.body);
        const auto mendingOf = [this](base::Seq seq) { return mending(seq); };
        if (!act || !applyToIndex(m_scratch, entry.seq, entry.at, saysImported(entry.body), *act, mendingOf))
            differs(base::badInput("journal entry %1 cannot be applied", entry.seq.value));
        else if (std::holds_alternative<acts::EntryCorrected>(*act) || std::holds_alternative<acts::EntryAnnulled>(*act))
            m_mendings.emplace(entry.seq, std::move(*act));
    }

    /// What is rebuilt has no journal of its own, and the one that is being read cannot be asked meanwhile.
    Result<registry::Act> mending(base::Seq seq) const
    {
        const auto found = m_mendings.find(seq);
        if (found == m_mendings.end())
            return base::fault(base::FaultKind::NotFound, "the journal has no entry %1", seq.value);
        return found->second;
    }

    void compareSchema()
    {
        const auto check = m_session.engine().checkSchema(m_session, m_scratch);
        if (!check) {
            differs(base::asTerm("schema"));
            return;
        }
        for (const auto& part : check->differs)
            differs(part);
        m_result.unverified = check->unverified;
    }

    void differs(const base::Arg& what)
    {
        m_result.indexMatches = false;
        m_result.differsIn.push_back(what.text);
        m_result.differences.push_back(what);
    }

    Session& m_session;
    Session& m_scratch;
    std::optional<std::string> m_printedHead;
    std::string m_prev;
    ChainCheck m_chain;
    std::map<base::Seq, registry::Act> m_mendings; ///< corrections and annulments: few
    Verification m_result;
};

} // namespace

Result<Verification> verify(Session& session, const std::optional<std::string>& printedHead)
{
    auto scratch = Session::scratch();
    if (!scratch)
        return scratch.error();
    // One unchanging view, while others go on writing.
    if (const Done begun = session.beginRead(); !begun)
        return begun.error();
    auto result = Verifier(session, **scratch, printedHead).run();
    session.rollBack();
    return result;
}

} // namespace mk::store
