// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/trial.h"

#include "model/answers.h"
#include "model/trial_journal.h"
#include "model/ward_hands.h"

#include "exchange/registry_csv.h"
#include "store/journal/act_codec.h"
#include "store/read/board.h"
#include "store/registrar/registrar.h"
#include "store/copies/verification.h"

#include <QFile>

#include <algorithm>

namespace mk::model {

using namespace registry;

namespace {

Zone berlin()
{
    return Zone::named("Europe/Berlin").value();
}

/// In memory where the machine has such a folder: the disk is not what is tested here.
QString roomFor(const char* name)
{
    const QString shared = QStringLiteral("/dev/shm");
    const QString place = QFile::exists(shared) ? shared : QDir::tempPath();
    return place + QStringLiteral("/") + QString::fromLatin1(name);
}

/// Never refused: stopping a meter, telling what happened, a control with known ids (design, "What it must never do"; MTR-05, RUN-09).
bool mayBeRefused(const Reference& reference, const Act& act, std::int64_t now)
{
    if (const auto* run = std::get_if<acts::ControlRun>(&act))
        return reference.tooManyAttempts(*run); // 4.6: the next step of the ladder comes first
    if (const auto* incident = std::get_if<acts::IncidentReported>(&act))
        return std::ranges::any_of(reference.facts(), [&](const Fact& fact) {
            return fileOf(fact.act) == "incidents.csv" && keyOf(fact.act) == keyOf(act);
        }) || reference.roleOf(incident->by.value) == Role::Inspector;
    if (const auto* word = std::get_if<acts::CorrectionConfirmed>(&act))
        return !reference.isOwed(*word, now);
    if (const auto* again = std::get_if<acts::RangeConfirmed>(&act))
        return !reference.isOwed(*again, now);
    if (const auto* move = std::get_if<acts::MeterMoved>(&act)) {
        const bool stops = move->toState == MeterState::OnHold || move->toState == MeterState::Withdrawn;
        return !stops || reference.stateAt(move->meter.value, now) != MeterState::InService
            || reference.roleOf(move->by.value) == Role::Inspector;
    }
    return true;
}

class Trial {
public:
    Trial(const Prepared& ground, std::uint64_t seed, Tally* tally)
        : m_reference(ground.reference),
          m_seed(seed),
          m_tally(tally),
          m_folder(roomFor("mk-trial")),
          m_wall(ground.now),
          m_start(ground.now)
    {
        const QString path = m_folder.filePath(QStringLiteral("ward.mkr"));
        if (!QFile::copy(QString::fromStdString(ground.path), path))
            fail("the ground could not be copied");
        auto session = store::Session::open(path.toStdString(), store::Session::Access::ReadWrite);
        if (!session) {
            fail(session.error().text);
            return;
        }
        m_session = std::move(session).value();
        auto registrar = store::Registrar::open(
            *m_session, [this] { return m_wall; }, [this] { return m_wall; });
        if (!registrar) {
            fail(registrar.error().text);
            return;
        }
        m_registrar = std::move(registrar).value();
        m_dice.seed(seed);
    }

    Finding run(const std::vector<int>& steps)
    {
        Finding finding;
        for (const int step : steps) {
            if (!m_wrong.empty())
                break;
            finding.steps.push_back(step);
            Hands hands(m_reference, m_seed, step < 0 ? ~step : step, m_lookbacks);
            m_wall += hands.pause();
            if (step >= 0)
                act(hands);
        }
        if (m_wrong.empty())
            finish();
        finding.text = m_wrong;
        finding.acts = m_told;
        if (m_tally != nullptr) {
            ++m_tally->sequences;
            for (const auto& kind : m_kinds)
                ++m_tally->sequencesWith[kind];
        }
        return finding;
    }

private:
    using Standing = std::map<std::string, std::string>; ///< of each meter
    struct Seen {
        std::int64_t head, at;
        Standing fitness;
    };

    void fail(const std::string& text)
    {
        if (m_wrong.empty())
            m_wrong = text;
    }

    std::optional<Fitness> fitness(const std::string& meter, std::int64_t at, std::int64_t known)
    {
        auto reader = store::Reader::open(*m_session, { known });
        if (!reader) {
            fail(reader.error().text);
            return std::nullopt;
        }
        return fitness(*reader, meter, at);
    }
    std::optional<Fitness> fitness(store::Reader& reader, const std::string& meter, std::int64_t at)
    {
        const auto row = store::boardRow(reader, base::MeterId(meter), m_reference.zone().at(at));
        if (!row) {
            fail(meter + ": " + row.error().text);
            return std::nullopt;
        }
        return row->fitness;
    }

    Standing standing()
    {
        Standing all;
        auto reader = store::Reader::open(*m_session);
        for (const auto& meter : m_reference.meters())
            if (const auto found = reader ? fitness(*reader, meter, m_wall) : std::nullopt)
                all[meter] = describe(*found);
        return all;
    }

    void compare(const std::string& meter, std::int64_t at, std::int64_t known, const Fitness& found, const char* how)
    {
        const Expected expected = m_reference.expect(meter, at, known);
        if (m_tally != nullptr)
            ++m_tally->questions, m_tally->usable += found.usable;
        const std::string wrong = disagreement(expected, found);
        if (!wrong.empty())
            fail(meter + " at " + base::toText(m_reference.zone().at(at)) + " " + how + ":" + wrong + "\n  registry:  " + describe(found)
                + "\n  reference: " + describe(expected));
    }

    void act(Hands& hands)
    {
        const std::vector<Act> acts = hands.acts(m_wall);
        const store::Author author { base::OperatorId(hands.author()), "model" };
        const auto before = store::headOf(*m_session);
        const bool looksTwice = m_dice() % 5 == 0;
        const auto stoodBefore = looksTwice ? standing() : Standing();
        std::vector<store::NewAct> sent;
        for (const auto& one : acts) {
            char id[40];
            std::snprintf(id, sizeof id, "00000000-0000-4000-8000-%012llx", static_cast<unsigned long long>(++m_ids));
            sent.push_back({ one, id });
            m_told.push_back(base::toText(m_reference.zone().at(m_wall)) + " " + hands.author() + " " + std::string(kindOf(one)) + " "
                + store::bodyOf(one, false).canonical());
            count(one, m_tally == nullptr ? nullptr : &m_tally->tried);
        }
        const std::string part = partOfSecond(m_reference, acts.front(), m_wall);
        if (m_tally != nullptr && !part.empty())
            ++m_tally->seconds[part].first;
        const auto outcomes = m_registrar->record(sent, author);
        const auto after = store::headOf(*m_session);
        if (!before || !after)
            return fail("the head cannot be read");
        if (!outcomes) {
            m_told.back() += "  -> refused: " + outcomes.error().text;
            if (m_tally != nullptr)
                m_tally->refusal.emplace(kindOf(acts.front()), outcomes.error().text);
            const bool own = outcomes.error().kind == base::FaultKind::Damaged || outcomes.error().kind == base::FaultKind::Io;
            if (own || std::ranges::none_of(acts, [&](const Act& one) { return mayBeRefused(m_reference, one, m_wall); }))
                fail("refused, which must never be: " + outcomes.error().text);
            const bool noted = std::holds_alternative<acts::MeterMoved>(acts.front()) && outcomes.error().kind == base::FaultKind::Refused
                && isNoteOfRefusal(*m_session, *before, *after, acts.front());
            if (!noted && (after->seq != before->seq || after->digest != before->digest))
                fail("a refused act changed the journal");
            if (looksTwice && standing() != stoodBefore)
                fail("a refused act changed what stands");
            return;
        }
        m_told.back() += "  -> entry " + std::to_string(outcomes->back().seq.value) + ", head " + std::to_string(after->seq.value);
        std::vector<std::pair<std::int64_t, Act>> accepted;
        for (std::size_t i = 0; i < acts.size(); ++i) {
            const auto stored = store::actOfEntry(*m_session, (*outcomes)[i].seq);
            if (!stored)
                return fail("entry " + std::to_string((*outcomes)[i].seq.value) + " cannot be read");
            accepted.emplace_back((*outcomes)[i].seq.value, asStored(acts[i], *stored));
            m_acknowledged.emplace_back((*outcomes)[i].seq.value, sent[i]);
            m_kinds.insert(std::string(kindOf(acts[i])));
            for (const auto& entry : (*outcomes)[i].consequences)
                if (entry.act == acts::LookbackOpened::kind)
                    m_lookbacks.push_back(entry.seq.value);
            count(acts[i], m_tally == nullptr ? nullptr : &m_tally->taken);
        }
        if (m_tally != nullptr)
            m_tally->accepted += static_cast<int>(acts.size());
        Reference::Followed itself;
        if (const std::string unread = followed(*m_session, before->seq.value, after->seq.value, *outcomes, itself); !unread.empty())
            return fail(unread);
        const std::string wrong = m_reference.accept(accepted, { m_wall, after->seq.value, hands.author() }, itself);
        if (!wrong.empty())
            fail(wrong);
        countWaiting(part, accepted.front().first);
        if (m_dice() % 10 == 0)
            deliverAgain(sent, author, *after);
        Seen seen { after->seq.value, m_wall, {} };
        auto reader = store::Reader::open(*m_session);
        // The meters that the acts name, and any other one; all of them now and then.
        const auto meters = m_reference.meters();
        const bool all = m_dice() % 4 == 0;
        const std::size_t other = m_dice() % meters.size();
        for (std::size_t i = 0; i < meters.size(); ++i) {
            const std::string& meter = meters[i];
            const bool named = std::ranges::any_of(acts, [&](const Act& one) { return subjectOf(one) == meter; });
            if (!all && !named && i != other && !m_reference.leavesRoom(meter))
                continue;
            if (const auto found = reader ? fitness(*reader, meter, m_wall) : std::nullopt) {
                seen.fitness[meter] = describe(*found);
                m_reference.settle(meter, found->state);
                compare(meter, m_wall, kNever, *found, "now");
            }
        }
        m_seen.push_back(std::move(seen));
    }

    void count(const Act& act, std::map<std::string, int>* into)
    {
        if (into != nullptr)
            ++(*into)[std::string(kindOf(act))];
        if (m_tally != nullptr && into == &m_tally->tried)
            ++m_tally->acts;
    }

    void countWaiting(const std::string& part, std::int64_t seq)
    {
        const Fact* fact = m_reference.entry(seq);
        if (m_tally == nullptr || part.empty() || fact == nullptr)
            return;
        ++m_tally->seconds[part].second;
        if (fact->waits)
            ++m_tally->waiting[std::string(kindOf(fact->act))];
    }

    void deliverAgain(const std::vector<store::NewAct>& sent, const store::Author& author, const store::Head& head)
    {
        const auto again = m_registrar->record(sent, author);
        const auto after = store::headOf(*m_session);
        if (!again || std::ranges::any_of(*again, [](const store::Outcome& outcome) { return !outcome.repeated; }))
            fail("a repeated delivery was not recognised" + (again ? std::string() : ": " + again.error().text));
        if (!after || after->seq != head.seq || after->digest != head.digest)
            fail("a repeated delivery wrote something");
        if (m_tally != nullptr)
            ++m_tally->repeatedDeliveries;
    }

    /// What is asked once a sequence is over.
    void finish()
    {
        const auto found = store::verify(*m_session, std::nullopt);
        if (!found)
            return fail(found.error().text);
        if (!found->holds()) {
            std::string differs = found->brokenBecause;
            for (const auto& table : found->differsIn)
                differs += " " + table;
            return fail("verify does not hold:" + differs);
        }
        for (const auto& [seq, sent] : m_acknowledged) {
            const auto entry = store::entryAt(*m_session, { seq });
            if (!entry || !*entry || (*entry)->id != sent.id || (*entry)->act != kindOf(sent.act)
                || (*entry)->body != bodyAsStored(*m_session, sent.act, { seq }))
                return fail("entry " + std::to_string(seq) + " is not what was acknowledged");
            if (const auto* run = std::get_if<acts::ControlRun>(&sent.act))
                for (const auto& part :
                    { "\"result\":\"" + toText(run->result) + "\"", "\"unit\":\"" + std::string(base::toText(run->unit)) + "\"",
                        "\"strip_vial\":\"" + run->stripVial.value + "\"", "\"operator\":\"" + run->by.value + "\"" })
                    if ((*entry)->body.find(part) == std::string::npos)
                        return fail("entry " + std::to_string(seq) + " was not stored as typed: no " + part);
        }
        for (const auto& seen : m_seen)
            for (const auto& [meter, stood] : seen.fitness)
                if (m_dice() % 3 != 0)
                    continue;
                else if (const auto then = fitness(meter, seen.at, seen.head); then && describe(*then) != stood)
                    return fail(meter + " as of entry " + std::to_string(seen.head) + " differs from what was seen then\n  then: " + stood
                        + "\n  now:  " + describe(*then));
        if (m_seen.empty())
            return;
        auto reader = store::Reader::open(*m_session);
        if (!reader)
            return fail(reader.error().text);
        for (const auto& meter : m_reference.meters()) {
            for (int i = 0; i < 4 && m_wrong.empty(); ++i) {
                const std::int64_t at = m_start + static_cast<std::int64_t>(m_dice() % static_cast<std::uint64_t>(m_wall - m_start + 1));
                if (meter.size() > 2 && !enrolledBy(meter, at))
                    continue;
                if (m_reference.overlaps(meter, at))
                    continue;
                if (const auto now = fitness(*reader, meter, at))
                    compare(meter, at, kNever, *now, "as known now");
                std::int64_t known = 0;
                for (const auto& seen : m_seen)
                    if (seen.at <= at)
                        known = seen.head;
                if (known == 0)
                    continue;
                const auto then = store::asKnownThen(*m_session, base::MeterId(meter), m_reference.zone().at(at));
                if (then && *then)
                    compare(meter, at, known, **then, ("as known then, entry " + std::to_string(known)).c_str());
            }
            checkStates(*reader, meter);
            checkUntil(*reader, meter);
        }
    }

    bool enrolledBy(const std::string& meter, std::int64_t at) const
    {
        for (const auto* fact : m_reference.all<acts::MeterEnrolled>())
            if (Reference::as<acts::MeterEnrolled>(*fact).meter.value == meter)
                return fact->told <= at;
        return false;
    }

    void checkStates(store::Reader& reader, const std::string& meter)
    {
        const auto spells = reader.states(base::MeterId(meter));
        if (!spells)
            return fail(spells.error().text);
        for (std::size_t i = 1; i < spells->size(); ++i) {
            const auto from = (*spells)[i - 1].state, to = (*spells)[i].state;
            if (!isTransition(from, to, Role::Coordinator, false) && !isTransition(from, to, Role::Coordinator, true))
                fail(meter + " went from " + std::string(word(from)) + " to " + std::string(word(to)) + ", which is none of T1 to T15");
        }
    }

    /// `until` is the moment at which usable turns false by itself.
    void checkUntil(store::Reader& reader, const std::string& meter)
    {
        const auto now = fitness(reader, meter, m_wall);
        if (!now || !now->usable)
            return;
        if (!now->until)
            return fail(meter + " is usable without end");
        const auto before = fitness(reader, meter, now->until->utcMs - 1), then = fitness(reader, meter, now->until->utcMs);
        if (!before || !then || !before->usable || then->usable)
            fail(meter + " is said to be usable until " + base::toText(*now->until) + "\n  before: " + (before ? describe(*before) : "")
                + "\n  then: " + (then ? describe(*then) : ""));
    }

    Reference m_reference;
    std::uint64_t m_seed;
    Tally* m_tally;
    QTemporaryDir m_folder;
    std::int64_t m_wall, m_start;
    std::unique_ptr<store::Session> m_session;
    std::unique_ptr<store::Registrar> m_registrar;
    std::string m_wrong;
    std::uint64_t m_ids = 0;
    std::mt19937_64 m_dice;
    std::vector<std::string> m_told;
    std::vector<std::pair<std::int64_t, store::NewAct>> m_acknowledged;
    std::vector<Seen> m_seen;
    std::vector<std::int64_t> m_lookbacks;
    std::set<std::string> m_kinds;
};

} // namespace

Prepared::Prepared(const Ground& ground)
    : folder(roomFor("mk-ground")),
      path(folder.filePath(QStringLiteral("ground.mkr")).toStdString()),
      reference(berlin())
{
    now = TextForm<base::Moment>::read(ground.day + "T05:00:30Z", { &reference.zone(), nullptr }).value().utcMs;
    const auto clock = [this] { return now; };
    auto session = store::Session::create(path);
    // The reference knows rules against the target; usual values have their published series and wards.
    const registry::PolicyPairs older { { "profile", "older" } };
    if (!session || !store::found(**session, "Europe/Berlin", older, { {}, "model" }, clock))
        qFatal("the ground cannot be founded");
    auto registrar = store::Registrar::open(**session, clock, clock);
    std::vector<FileRows> rows;
    for (const auto& [name, text] : files(ground))
        rows.push_back(exchange::readRegistryFile(name, text, reference.zone()));
    const auto report = (*registrar)->importFiles(std::move(rows), { {}, "model" });
    if (!report || report->anyRejected())
        qFatal("the ground cannot be taken over: %s", report ? "rows were rejected" : report.error().text.c_str());
    const auto head = store::headOf(**session)->seq.value;
    std::vector<std::pair<std::int64_t, Act>> acts;
    for (std::int64_t seq = 3; seq <= head; ++seq)
        acts.emplace_back(seq, store::actOfEntry(**session, { seq }).value());
    if (const std::string wrong = reference.accept(acts, { now, head, {}, true }); !wrong.empty())
        qFatal("the ground is none: %s", wrong.c_str());
    registrar->reset();
    session->reset();
}

Finding play(const Prepared& ground, std::uint64_t seed, const std::vector<int>& steps, Tally* tally)
{
    return Trial(ground, seed, tally).run(steps);
}

Finding shrink(const Prepared& ground, std::uint64_t seed, Finding found)
{
    for (bool fewer = true; fewer;) {
        fewer = false;
        for (std::size_t i = found.steps.size(); i-- > 0;) {
            auto steps = found.steps;
            if (steps[i] < 0)
                continue;
            steps[i] = ~steps[i];
            if (Finding again = play(ground, seed, steps, nullptr); !again.text.empty()) {
                found = std::move(again);
                i = std::min(i, found.steps.size());
                fewer = true;
            }
        }
    }
    return found;
}

} // namespace mk::model
