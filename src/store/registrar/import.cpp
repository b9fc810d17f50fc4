// SPDX-License-Identifier: GPL-3.0-or-later
// Taking over records made elsewhere: all files are checked first, then appended in the order of their own times.
#include "store/journal/act_codec.h"
#include "store/journal/act_keys.h"
#include "store/registrar/registrar.h"
#include "store/registrar/registrar_batch.h"
#include "store/registrar/rights.h"

#include <algorithm>
#include <set>
#include <unordered_map>

namespace mk::store {

using base::Done;
using base::Fault;
using base::FaultKind;
using base::Result;
using base::Seq;
using namespace registry;

namespace {

/// A row on its way in, with the key by which its file calls it.
struct Candidate {
    std::size_t file; ///< place of its file in the order of the table
    FileRow row;
    std::string key;
    std::int64_t time = std::numeric_limits<std::int64_t>::min(); ///< its own, or that of the first act that names it
};

std::vector<std::string_view> fileOrder()
{
    std::vector<std::string_view> files;
    [&]<typename... A>(std::tuple<A...>*) { (files.push_back(A::file), ...); }(static_cast<FileActs*>(nullptr));
    return files;
}

/// What an act puts on record under an id, and what it names that must be on record before it; each as "sort of thing:id".
struct Names {
    std::string defines;
    std::vector<std::string> needs;
};

template <typename... F>
struct Overload : F... {
    using F::operator()...;
};

Names namesOf(const Act& act)
{
    const auto ward = [](const auto& id) { return "ward:" + id.value; };
    const auto model = [](const auto& id) { return "model:" + id.value; };
    const auto meter = [](const auto& id) { return "meter:" + id.value; };
    const auto stripLot = [](const std::string& id) { return "strip lot:" + id; };
    const auto controlLot = [](const std::string& id) { return "control lot:" + id; };
    const auto stripVial = [](const std::string& id) { return "strip vial:" + id; };
    const auto controlVial = [](const std::string& id) { return "control vial:" + id; };
    return std::visit(Overload {
                          [&](const acts::WardAdded& a) {
                              return Names { ward(a.ward), {} };
                          },
                          [&](const acts::ModelAdded& a) {
                              return Names { model(a.model), {} };
                          },
                          [&](const acts::MeterEnrolled& a) {
                              return Names { meter(a.meter), { model(a.model), ward(a.ward) } };
                          },
                          [&](const acts::StripLotReceived& a) {
                              return Names { stripLot(a.lot.value), { model(a.model) } };
                          },
                          [&](const acts::StripVialOpened& a) {
                              return Names { stripVial(a.vial.value), { stripLot(a.lot.value) } };
                          },
                          [&](const acts::ControlLotReceived& a) {
                              return Names { controlLot(a.lot.value), {} };
                          },
                          [&](const acts::ControlVialOpened& a) {
                              return Names { controlVial(a.vial.value), { controlLot(a.lot.value) } };
                          },
                          [&](const acts::RangeAssigned& a) {
                              return Names { {}, { stripLot(a.stripLot.value), controlLot(a.controlLot.value) } };
                          },
                          [&](const acts::ControlRun& a) {
                              return Names { {}, { meter(a.meter), stripVial(a.stripVial.value), controlVial(a.controlVial.value) } };
                          },
                          [&](const acts::ComparisonRecorded& a) {
                              return Names { {}, { meter(a.meter), stripVial(a.stripVial ? a.stripVial->value : std::string()) } };
                          },
                          [&](const acts::IncidentReported& a) {
                              return Names { {}, { meter(a.meter) } };
                          },
                          [&](const acts::ReturnStep& a) {
                              return Names { {}, { meter(a.meter) } };
                          },
                          [&](const acts::MeterMoved& a) {
                              return Names { {}, { meter(a.meter) } };
                          },
                          [&](const acts::VialEnded& a) {
                              return Names { {}, { stripVial(a.vial), controlVial(a.vial) } };
                          },
                          [&](const acts::LotEvent& a) {
                              return Names { {}, { stripLot(a.lot), controlLot(a.lot) } };
                          },
                          [](const auto&) { return Names(); },
                      },
        act);
}

/// Faults that concern the row; the others concern the registry or the disk and stop the import.
bool isAboutTheRow(const Fault& fault)
{
    using base::FaultKind;
    return fault.kind == FaultKind::BadInput || fault.kind == FaultKind::NotFound || fault.kind == FaultKind::Conflict
        || fault.kind == FaultKind::Refused;
}

/// About the number alone, whatever else becomes of the row.
std::optional<RunQuestion> unitQuestionOf(const Act& act)
{
    const auto ask = [](const Reading& result, base::GlucoseUnit unit, Level level) {
        const auto kind = unitQuestion(result, unit);
        return kind ? std::optional(RunQuestion { *kind, result, unit, level }) : std::nullopt;
    };
    if (const auto* run = std::get_if<acts::ControlRun>(&act))
        return ask(run->result, run->unit, run->level);
    if (const auto* pair = std::get_if<acts::ComparisonRecorded>(&act))
        return ask(pair->meterResult, pair->unit, {});
    return std::nullopt;
}

class Takeover {
public:
    Takeover(Session& session, std::vector<FileRows> files) : m_session(session), m_files(std::move(files))
    {
        const auto order = fileOrder();
        std::ranges::sort(m_files, {}, [&](const FileRows& file) { return std::ranges::find(order, file.file) - order.begin(); });
        for (auto& file : m_files) {
            FileReport report;
            report.file = file.file;
            report.rows = file.rows.size() + file.rejected.size();
            report.rejected = file.rejected;
            for (const auto& row : file.rejected)
                m_rejectedLines.emplace(m_reports.size(), row.line);
            report.ignoredColumns = file.ignoredColumns;
            for (const auto& row : file.rows) {
                for (const auto& question : row.questions)
                    report.questions.emplace_back(row.line, question);
                if (auto question = unitQuestionOf(row.act))
                    report.asked.push_back({ row.line, std::move(*question) });
            }
            m_reports.push_back(std::move(report));
        }
    }

    /// Sorts out what is known already; the rest waits in the order of its own times.
    Done sortOut()
    {
        for (std::size_t i = 0; i < m_files.size(); ++i) {
            std::unordered_map<std::string, std::pair<std::size_t, std::string>> seen; // key: line, content
            std::unordered_map<std::string, int> attempts;
            for (auto& row : m_files[i].rows) {
                Candidate candidate { i, std::move(row), {} };
                candidate.key = keyOf(candidate.row.act);
                if (const auto* run = std::get_if<acts::ControlRun>(&candidate.row.act))
                    candidate.key += '/' + std::to_string(++attempts[run->set.value + '\n' + std::string(word(run->level))]);
                const std::string content = bodyOf(candidate.row.act, false).canonical();
                const auto [twin, fresh] = seen.try_emplace(candidate.key, candidate.row.line, content);
                if (!fresh) {
                    if (twin->second.second == content)
                        ++m_reports[i].unchanged;
                    else
                        reject(i, candidate.row.line,
                            base::badInput(
                                "has the key of line %1 ('%2') with other content; keep one", twin->second.first, candidate.key));
                    continue;
                }
                const auto known = isKnown(candidate);
                if (!known)
                    return known.error();
                if (*known == Known::No)
                    m_waiting.push_back(std::move(candidate));
            }
        }
        order();
        return {};
    }

    /// Appends all waiting rows of files without a rejected one.
    /// returns  true when it held; false when a row was refused on the way: roll back and try again without its file
    Result<bool> append(ActBatch& batch)
    {
        // The first round looks at every row, so that each bad one is named; later rounds leave rejected files out.
        std::vector<bool> out;
        bool clean = true;
        for (auto& report : m_reports) {
            report.added = 0;
            out.push_back(!m_firstRound && !report.rejected.empty());
            clean = clean && (!m_firstRound || report.rejected.empty());
        }
        m_firstRound = false;
        for (const auto& candidate : m_waiting) {
            if (out[candidate.file])
                continue;
            const auto outcome = batch.add(candidate.row.act, {});
            if (!outcome) {
                if (!isAboutTheRow(outcome.error()))
                    return outcome.error();
                reject(candidate.file, candidate.row.line, outcome.error());
                clean = false;
                continue;
            }
            ++m_reports[candidate.file].added;
        }
        if (!clean)
            return false;
        if (const Done settled = batch.settle(); !settled)
            return settled.error();
        return true;
    }

    bool anythingToAdd() const
    {
        return (m_firstRound && !m_waiting.empty())
            || std::ranges::any_of(m_waiting, [this](const Candidate& candidate) { return m_reports[candidate.file].rejected.empty(); });
    }

    /// Lists the accepted results that look as if they belonged to another level: their ranges may have come with these files.
    Done askAboutLevels(Facts& facts)
    {
        for (const auto& candidate : m_waiting) {
            const auto* run = std::get_if<acts::ControlRun>(&candidate.row.act);
            if (run == nullptr || !m_reports[candidate.file].rejected.empty())
                continue;
            const auto ranges = rangesOf(facts, *run);
            if (!ranges)
                return ranges.error();
            for (auto& question : questionsOf(*run, *ranges))
                if (!question.isAboutUnit())
                    m_reports[candidate.file].asked.push_back({ candidate.row.line, std::move(question) });
        }
        return {};
    }

    ImportReport report(Seq head)
    {
        for (auto& file : m_reports) {
            if (!file.rejected.empty())
                file.added = 0;
            std::ranges::sort(file.rejected, {}, &RejectedRow::line);
            std::ranges::stable_sort(file.questions, {}, [](const auto& question) { return question.first; });
            std::ranges::stable_sort(file.asked, {}, &RowQuestion::line);
        }
        return { std::move(m_reports), head };
    }

private:
    enum class Known { No, Same, Other };

    Result<Known> isKnown(const Candidate& candidate)
    {
        const auto entry = entryOfKey(m_session, m_reports[candidate.file].file, candidate.key);
        if (!entry)
            return entry.error();
        if (!*entry)
            return Known::No;
        const auto stored = entryAt(m_session, **entry);
        if (!stored)
            return stored.error();
        const std::string body = *stored ? withoutKept((*stored)->body) : std::string();
        const bool same = *stored
            && (body == bodyOf(candidate.row.act, true).canonical() || body == bodyOf(candidate.row.act, false).canonical());
        if (same)
            ++m_reports[candidate.file].unchanged;
        else
            reject(candidate.file, candidate.row.line,
                base::fault(FaultKind::Conflict, "differs from entry %1; record a correction", (*entry)->value));
        return same ? Known::Same : Known::Other;
    }

    /// By own time, then table, then line; but a thing comes no later than the first act that names it, such as a run on a vial
    /// whose opening is written later: that act is then stored and judged as what it is, not refused for an unknown id.
    void order()
    {
        std::unordered_map<std::string, std::int64_t> neededBy;
        for (auto candidate = m_waiting.rbegin(); candidate != m_waiting.rend();
             ++candidate) { // tables last to first: uses before definitions
            const auto own = ownTimeOf(candidate->row.act);
            const Names names = namesOf(candidate->row.act);
            if (own)
                candidate->time = own->utcMs;
            if (const auto needed = neededBy.find(names.defines); needed != neededBy.end())
                candidate->time = std::min(candidate->time, needed->second);
            for (const auto& name : names.needs) {
                const auto [entry, fresh] = neededBy.try_emplace(name, candidate->time);
                if (!fresh)
                    entry->second = std::min(entry->second, candidate->time);
            }
        }
        std::ranges::stable_sort(m_waiting, {}, [](const Candidate& c) { return std::tuple(c.time, c.file, c.row.line); });
    }

    void reject(std::size_t file, std::size_t line, Fault fault)
    {
        if (m_rejectedLines.emplace(file, line).second) // a row's first fault says enough
            m_reports[file].rejected.push_back({ line, std::move(fault) });
    }

    Session& m_session;
    std::vector<FileRows> m_files;
    std::vector<FileReport> m_reports;
    std::vector<Candidate> m_waiting;
    std::set<std::pair<std::size_t, std::size_t>> m_rejectedLines; ///< by file
    bool m_firstRound = true;
};

} // namespace

Result<ImportReport> Registrar::importFiles(std::vector<FileRows> files, const Author& author)
{
    // Each round that meets a refused row leaves out at least one file more, so the rounds end.
    std::optional<Takeover> takeover;
    for (;;) {
        Transaction transaction(m_session);
        if (const Done begun = transaction.begin(); !begun)
            return begun.error();
        if (const Done fresh = refresh(); !fresh)
            return fresh.error();
        if (const Done may = mayTakeOverAs(m_working->reader, author, m_clock()); !may)
            return may.error();
        if (!takeover) {
            takeover.emplace(m_session, std::move(files));
            if (const Done sorted = takeover->sortOut(); !sorted)
                return sorted.error();
        }
        if (!takeover->anythingToAdd())
            return takeover->report(m_working->head.seq);
        if (m_working->head.moved)
            return movedAway(m_session, m_working->head);
        ActBatch batch(ground(), actingAs(author), ActBatch::Kind::Imported, m_clock(), m_ids);
        Done noticed = batch.noticeClock(0);
        auto held = noticed ? takeover->append(batch) : Result<bool>(noticed.error());
        if (held && *held)
            if (const Done asked = takeover->askAboutLevels(m_working->reader); !asked)
                held = asked.error();
        if (held && *held) {
            const Done committed = transaction.commit();
            if (committed)
                return takeover->report(m_working->head.seq);
            dropCaches();
            return committed.error();
        }
        dropCaches();
        if (!held)
            return held.error();
    }
}

} // namespace mk::store
