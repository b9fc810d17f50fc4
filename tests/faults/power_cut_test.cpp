// SPDX-License-Identifier: GPL-3.0-or-later
// The power fails at any write, sync, truncation or deletion: nothing acknowledged is lost, nothing is half there, and the registrar goes
// on.
#include "fault_disk.h"
#include "fault_table.h"
#include "fault_ward.h"

#include "exchange/registry_csv.h"
#include "store/journal/journal.h"
#include "store/copies/verification.h"

#include <QDir>

#include <gtest/gtest.h>

namespace mk::faults {

namespace {

using registry::Level;
using store::Session;

const store::Author kRook { base::OperatorId("rook"), "test" };

std::string wordOf(const base::Result<store::Head>& head)
{
    return head ? std::to_string(head->seq.value) + " " + head->digest : head.error().text;
}

/// An image that a power cut left, and the two heads of which it must show one: that before the act under way, and that after it.
struct Cut {
    FaultDisk::Image image;
    std::string before, after;
    std::string during;
};

/// A registry on the disk, at which somebody works while the power may fail at every moment.
class Desk {
public:
    Desk(FaultDisk& disk, std::string path, unsigned seed, double share)
        : m_disk(disk),
          m_path(std::move(path)),
          m_random(seed),
          m_share(share)
    {
        m_disk.onChange([this] { perhapsCut(); });
    }
    ~Desk() { m_disk.onChange({}); }
    Desk(const Desk&) = delete;
    Desk& operator=(const Desk&) = delete;

    /// Does one thing; its cuts know the heads on both sides of it.
    void step(const std::string& what, const std::function<base::Done()>& act)
    {
        SCOPED_TRACE(what);
        const std::size_t first = m_cuts.size();
        m_during = what;
        m_working = true;
        if (const auto done = act(); !done)
            ADD_FAILURE() << done.error().text;
        m_working = false;
        const std::string after = m_session ? wordOf(store::headOf(*m_session)) : m_head;
        for (std::size_t i = first; i < m_cuts.size(); ++i) {
            m_cuts[i].before = m_head;
            m_cuts[i].after = after;
        }
        m_head = after;
    }
    void open(const std::string& head)
    {
        m_head = head;
        step("opening", [this] {
            auto session = Session::open(m_path, Session::Access::ReadWrite);
            if (!session)
                return base::Done(session.error());
            m_session = std::move(session).value();
            auto registrar = store::Registrar::open(*m_session, store::machineClock);
            if (!registrar)
                return base::Done(registrar.error());
            m_registrar = std::move(registrar).value();
            return base::Done();
        });
    }
    void close()
    {
        step("closing", [this] {
            m_registrar.reset();
            m_session.reset();
            return base::Done();
        });
    }
    void record(const std::string& what, const std::vector<store::NewAct>& acts, const store::Author& author)
    {
        step(what, [&] {
            const auto outcomes = m_registrar->record(acts, author);
            return outcomes ? base::Done() : base::Done(outcomes.error());
        });
    }
    void importFiles(const std::string& prefix, int sets)
    {
        step("import", [&] {
            std::vector<registry::FileRows> files { exchange::readRegistryFile(
                "control_runs.csv", runsFile(prefix, sets), *registry::Zone::named("Europe/Berlin")) };
            const auto report = m_registrar->importFiles(std::move(files), kRook);
            return report ? base::Done() : base::Done(report.error());
        });
    }
    void checkpoint()
    {
        step("checkpoint", [this] { return m_session->execute("PRAGMA wal_checkpoint(TRUNCATE)"); });
    }

    std::vector<Cut>& cuts() { return m_cuts; }

private:
    void perhapsCut()
    {
        if (m_working && std::uniform_real_distribution<>()(m_random) < m_share)
            m_cuts.push_back({ m_disk.cut(m_random), {}, {}, m_during });
    }

    FaultDisk& m_disk;
    std::string m_path;
    std::mt19937 m_random;
    double m_share;
    bool m_working = false;
    std::unique_ptr<Session> m_session;
    std::unique_ptr<store::Registrar> m_registrar;
    std::string m_head, m_during;
    std::vector<Cut> m_cuts;
};

store::NewAct rejectedRun(const std::string& set, int second)
{
    auto run = std::get<registry::acts::ControlRun>(setOf(set, "M-02", second, false).front().act);
    run.result = *base::Decimal::parse("90");
    return { registry::Act(run), set };
}

/// Controls, one that stops its meter, a correction, an annulment, an import, checkpoints, and work that was closed and opened again.
void workThrough(Desk& desk, int round)
{
    const std::string name = "r" + std::to_string(round);
    const int day = round * 86'400;
    const auto at = [&](int second) { return base::Moment { 1'583'020'800'000 + 1000LL * (day + second), 60 }; };
    for (int i = 0; i < 4; ++i)
        desk.record("control", setOf(name + "-" + std::to_string(i), "M-01", day + 3600 * i, true), kHale);
    desk.record("rejected control", { rejectedRun(name + "-x", day) }, kHale);
    const auto first = std::get<registry::acts::ControlRun>(setOf(name + "-1", "M-01", day, true).front().act);
    registry::acts::EntryCorrected correction { at(20'000), base::OperatorId("rook"), base::SetId(name + "-1"), Level::Low, "result",
        std::get<base::Decimal>(first.result).typed(), "43", "misread" };
    desk.record("correction", { { registry::Act(correction), {} } }, kRook);
    registry::acts::EntryAnnulled annulment { at(20'100), base::OperatorId("rook"), "control_runs.csv", name + "-2/low",
        "another meter's" };
    desk.record("annulment", { { registry::Act(annulment), {} } }, kRook);
    desk.importFiles(name + "-i", 3);
    desk.checkpoint();
    desk.record("control after a checkpoint", setOf(name + "-9", "M-01", day + 30'000, true), kHale);
}

struct CutTally {
    std::int64_t tries = 0, lost = 0, half = 0, stored = 0;
};

/// Opens what a cut left and looks whether it is one of the two states that it may be in; then goes on in it.
void judge(const Cut& cut, const std::string& folder, int number, CutTally& tally)
{
    SCOPED_TRACE("cut " + std::to_string(number) + " during " + cut.during);
    layOut(cut.image, folder);
    ++tally.tries;
    auto session = Session::open(folder + "/ward.mkr", Session::Access::ReadWrite);
    if (!session) {
        ++tally.lost;
        ADD_FAILURE() << session.error().text;
        return;
    }
    const std::string head = wordOf(store::headOf(**session));
    tally.lost += head == cut.before || head == cut.after ? 0 : 1;
    tally.stored += head != cut.before ? 1 : 0;
    EXPECT_TRUE(head == cut.before || head == cut.after) << head << " is neither " << cut.before << " nor " << cut.after;
    auto registrar = store::Registrar::open(**session, store::machineClock);
    ASSERT_TRUE(registrar) << registrar.error().text;
    const auto outcomes = (*registrar)->record(setOf("after", "M-02", 10'000'000, true), kHale);
    EXPECT_TRUE(outcomes) << outcomes.error().text;
    const auto found = store::verify(**session, std::nullopt);
    ASSERT_TRUE(found) << found.error().text;
    tally.half += found->holds() ? 0 : 1;
    EXPECT_TRUE(found->chainIntact) << found->brokenBecause << " at " << found->brokenAt.value_or(0);
    EXPECT_TRUE(found->indexMatches) << (found->differsIn.empty() ? "" : found->differsIn.front());
}

/// One round of work on a new registry. returns  what was cut out of it
std::vector<Cut> cutsOfARound(FaultDisk& disk, const FaultWard& ward, unsigned seed, double share)
{
    disk.forget();
    Desk desk(disk, ward.registry(), seed, share);
    desk.open(ward.head());
    workThrough(desk, 0);
    desk.close();
    desk.open(ward.head());
    desk.record("control after opening again", setOf("z", "M-01", 40'000, true), kHale);
    desk.close();
    return std::move(desk.cuts());
}

} // namespace

TEST(FaultDisk, StandsUnderTheDriverOfQt)
{
    const FaultWard ward;
    const FaultDisk disk(ward.folder());
    ASSERT_EQ(disk.calls(Call::Open), 0);
    auto session = Session::open(ward.registry(), Session::Access::ReadWrite);
    ASSERT_TRUE(session);
    auto registrar = store::Registrar::open(**session, store::machineClock);
    ASSERT_TRUE(registrar);
    ASSERT_TRUE((*registrar)->record(setOf("s", "M-01", 0, true), kHale));
    EXPECT_GE(disk.calls(Call::Open), 2) << "file and log";
    EXPECT_GT(disk.calls(Call::Read), 10);
    EXPECT_GT(disk.calls(Call::Write), 4);
    EXPECT_GE(disk.calls(Call::Sync), 1) << "each commit is synced";
}

// Without a sync before the answer the newest entries go: this disk would show it.
TEST(FaultDisk, LosesWhatWasNotSynced)
{
    const FaultWard ward;
    FaultDisk disk(ward.folder());
    auto session = Session::open(ward.registry(), Session::Access::ReadWrite);
    ASSERT_TRUE(session);
    ASSERT_TRUE((*session)->execute("PRAGMA synchronous=OFF"));
    auto registrar = store::Registrar::open(**session, store::machineClock);
    ASSERT_TRUE(registrar);
    const std::string before = ward.head();
    ASSERT_TRUE((*registrar)->record(setOf("s", "M-01", 0, true), kHale));
    const std::string after = wordOf(store::headOf(**session));
    std::mt19937 random(3); // NOLINT
    const QTemporaryDir folder;
    int lost = 0;
    for (int i = 0; i < 20; ++i) {
        layOut(disk.cut(random), folder.path().toStdString());
        auto image = Session::open(folder.filePath(QStringLiteral("ward.mkr")).toStdString(), Session::Access::ReadWrite);
        if (!image)
            continue;
        const std::string head = wordOf(store::headOf(**image));
        lost += head == before ? 1 : 0;
        EXPECT_TRUE(head == before || head == after) << head;
    }
    EXPECT_GT(lost, 3);
}

TEST(PowerCut, AtAnyMomentLosesNothingAcknowledgedAndLeavesNothingHalf)
{
    const int wanted = longTests() ? 3000 : 80;
    const QTemporaryDir images;
    CutTally tally;
    for (unsigned seed = 1; tally.tries < wanted; ++seed) {
        SCOPED_TRACE("seed " + std::to_string(seed));
        const FaultWard ward;
        FaultDisk disk(ward.folder());
        auto cuts = cutsOfARound(disk, ward, seed, longTests() ? 0.9 : 0.2);
        ASSERT_GT(cuts.size(), 20U);
        for (const Cut& cut : cuts) {
            judge(cut, images.path().toStdString(), static_cast<int>(tally.tries), tally);
            if (HasFatalFailure() || tally.tries >= wanted)
                break;
        }
        ASSERT_FALSE(HasFatalFailure());
    }
    EXPECT_GT(tally.stored, 0) << "no cut fell behind a commit that was not answered yet";
    addFaultRow("power cut during controls, corrections, annulments, imports and checkpoints (SQLite)", tally.tries, tally.lost, tally.half,
        "nothing to find: opening mends the log");
}

// What the first cut left is opened, and the power fails again while it is mended and work goes on.
TEST(PowerCut, WhileAnEarlierCutIsMendedLosesNothing)
{
    const int wanted = longTests() ? 1000 : 40;
    const QTemporaryDir first;
    const QTemporaryDir images;
    CutTally tally;
    for (unsigned seed = 1001; tally.tries < wanted; ++seed) {
        std::vector<Cut> cuts;
        {
            const FaultWard ward;
            FaultDisk disk(ward.folder());
            cuts = cutsOfARound(disk, ward, seed, 0.05);
        }
        FaultDisk disk(first.path().toStdString());
        for (const Cut& cut : cuts) {
            if (tally.tries >= wanted)
                break;
            layOut(cut.image, first.path().toStdString());
            disk.forget();
            Desk desk(disk, first.path().toStdString() + "/ward.mkr", seed, 0.3);
            desk.open(cut.before);
            desk.record("control", setOf("b", "M-02", 9'000'000, true), kHale);
            desk.checkpoint();
            desk.close();
            for (Cut& second : desk.cuts()) {
                if (second.during == "opening")
                    second.after = cut.after; // the act that the first cut met may be there or not
                judge(second, images.path().toStdString(), static_cast<int>(tally.tries), tally);
                ASSERT_FALSE(HasFatalFailure());
            }
        }
    }
    addFaultRow("power cut again while opening mends an earlier one (SQLite)", tally.tries, tally.lost, tally.half,
        "nothing to find: opening mends the log");
}

// Nothing is acknowledged before the founding is done; what is left then must not stand in the way without saying so.
TEST(PowerCut, WhileARegistryIsFoundedLeavesAWholeOneOrOneThatSaysItIsNone)
{
    const int rounds = longTests() ? 20 : 1;
    const QTemporaryDir images;
    int tries = 0;
    int whole = 0;
    int half = 0;
    for (int round = 0; round < rounds; ++round) {
        const QTemporaryDir place;
        std::mt19937 random(static_cast<unsigned>(77 + round));
        std::vector<FaultDisk::Image> cuts;
        {
            FaultDisk disk(place.path().toStdString());
            disk.onChange([&] {
                if (random() % 8 == 0)
                    cuts.push_back(disk.cut(random));
            });
            auto session = Session::create(place.filePath(QStringLiteral("ward.mkr")).toStdString());
            ASSERT_TRUE(session) << session.error().text;
            ASSERT_TRUE(store::found(**session, "Europe/Berlin", {}, kRook, store::machineClock));
        }
        for (const auto& image : cuts) {
            ++tries;
            layOut(image, images.path().toStdString());
            const std::string path = images.filePath(QStringLiteral("ward.mkr")).toStdString();
            auto session = Session::open(path, Session::Access::ReadWrite);
            auto registrar = session ? store::Registrar::open(**session, store::machineClock)
                                     : base::Result<std::unique_ptr<store::Registrar>>(session.error());
            if (registrar) {
                ++whole;
                expectVerified(path);
                continue;
            }
            const std::string& text = registrar.error().text;
            half += text.find("init") == std::string::npos ? 1 : 0;
            EXPECT_NE(text.find("init"), std::string::npos) << text;
            EXPECT_NE(text.find(path), std::string::npos) << text;
        }
    }
    EXPECT_GT(tries, 5);
    addFaultRow("power cut while a registry is founded (SQLite)", tries, 0, half, "opening: names the file and init");
    std::cout << "power cut while founding: " << tries << " tries, " << whole << " whole\n";
}

} // namespace mk::faults
