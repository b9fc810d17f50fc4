// SPDX-License-Identifier: GPL-3.0-or-later
// What a person waits for may not take longer because the registry grew. SQLite counts the steps of each statement, and how many rows it
// read one after another without an index: numbers, so that no clock decides. The same statements run on a server.
#include "store/store_desk.h"

#include "registry/meter/climbs.h"
#include "store/journal/journal.h"
#include "store/read/failure_patterns.h"
#include "store/read/read_quality.h"
#include "store/read/ward_duties.h"

#include <sqlite3.h>

#include <gtest/gtest.h>

#include <algorithm>
#include <map>

namespace mk::store {
namespace {

using namespace registry;
using sample::StoreDesk;

struct Cost {
    std::int64_t steps = 0;
    std::int64_t unaided = 0; ///< rows read one after another without an index
};

/// Counts on every connection that is opened while it lives.
class StatementCosts {
public:
    StatementCosts()
    {
        s_costs.clear();
        sqlite3_auto_extension(reinterpret_cast<void (*)()>(&StatementCosts::watch));
    }
    ~StatementCosts() { sqlite3_cancel_auto_extension(reinterpret_cast<void (*)()>(&StatementCosts::watch)); }
    StatementCosts(const StatementCosts&) = delete;
    StatementCosts& operator=(const StatementCosts&) = delete;

    static std::map<std::string, Cost> of(const std::function<void()>& what)
    {
        s_costs.clear();
        what();
        return s_costs;
    }

private:
    static int watch(sqlite3* database, const char**, const void*)
    {
        return sqlite3_trace_v2(database, SQLITE_TRACE_PROFILE, &StatementCosts::count, nullptr);
    }
    static int count(unsigned, void*, void* statement, void*)
    {
        auto* const done = static_cast<sqlite3_stmt*>(statement);
        Cost& cost = s_costs[sqlite3_sql(done)];
        cost.steps += sqlite3_stmt_status(done, SQLITE_STMTSTATUS_VM_STEP, 1);
        cost.unaided += sqlite3_stmt_status(done, SQLITE_STMTSTATUS_FULLSCAN_STEP, 1);
        return 0;
    }
    static inline std::map<std::string, Cost> s_costs;
};

constexpr int kMeters = 4;

/// What the policy asks of vials that come into use.
enum class Vials { AsUsual, EveryMeterAndBeside };

/// A ward of four meters, `days` days of two-level sets and a comparison a month of each behind it, taken over; then a few of the last
/// days.
class GrownDesk {
public:
    explicit GrownDesk(int days, Vials asked = Vials::AsUsual)
    {
        std::vector<Act> acts;
        if (asked == Vials::EveryMeterAndBeside)
            openTheirVials(acts);
        for (int i = 2; i <= kMeters; ++i)
            acts.push_back(acts::MeterEnrolled {
                base::MeterId("M" + std::to_string(i)), base::ModelId("K1"), {}, base::WardId("W1"), m_desk.at("2026-05-01T05:00"), {} });
        // Vials of their own on the last day: what was done with a vial is read whole.
        acts.push_back(
            acts::StripVialOpened { base::StripVialId("V2"), base::StripLotId("S1"), m_desk.at("2026-05-01T05:00"), base::WardId("W1") });
        m_desk.goTo("2027-05-02T05:00");
        for (int day = 0; day < days; ++day)
            for (int meter = 1; meter <= kMeters; ++meter) {
                addSet(acts, day - days, meter, !m_early.first.empty() && day < 2);
                if (day % 30 == 0)
                    addPair(acts, day - days, meter);
            }
        const auto report = m_desk.importFiles(acts);
        for (const auto& file : report.files)
            EXPECT_TRUE(file.rejected.empty()) << file.file << ": " << base::plainly(file.rejected.front().fault);
    }

    StoreDesk& desk() { return m_desk; }

private:
    /// As in the laboratory's policy. V3 and L2 are run on the first two days only, V4 and L3 never; all stand open ever since.
    void openTheirVials(std::vector<Act>& acts)
    {
        m_early = { "V3", "L2" };
        m_desk.record(
            sample::adoption(m_desk.at("2026-05-01T05:00"), { { "new_strip_vial", "every-meter" }, { "new_control_vial", "beside" } }));
        const base::Moment opened = m_desk.at("2026-06-01T05:00");
        for (const char* vial : { "V3", "V4" })
            acts.push_back(acts::StripVialOpened { base::StripVialId(vial), base::StripLotId("S1"), opened, base::WardId("W1") });
        for (const char* vial : { "L2", "L3" })
            acts.push_back(acts::ControlVialOpened { base::ControlVialId(vial), base::ControlLotId("CL"), opened, base::WardId("W1") });
    }
    base::Moment timeOf(int day, int meter, int minute) const
    {
        return base::plusMs(m_desk.at("2027-05-01T06:00"), (day * std::int64_t { 1440 } + meter * 10 + minute) * 60'000);
    }
    /// early  on the vials of the first days; the low level on the older vial too, one after the other
    void addSet(std::vector<Act>& acts, int day, int meter, bool early) const
    {
        for (const Level level : { Level::Low, Level::High }) {
            const bool low = level == Level::Low;
            auto run = m_desk.aRun("M" + std::to_string(meter) + "/" + std::to_string(day), "2026-06-01T06:00", level,
                low ? std::to_string(59 + (day & 1) * 2) : std::to_string(297 + (day & 1) * 6));
            run.meter = base::MeterId("M" + std::to_string(meter));
            run.at = timeOf(day, meter, low ? 0 : 2);
            if (early)
                run.stripVial = base::StripVialId(m_early.first);
            acts.push_back(run);
        }
        if (early)
            addLowBeside(acts, day, meter);
    }
    void addPair(std::vector<Act>& acts, int day, int meter) const
    {
        acts::ComparisonRecorded pair;
        pair.pair = base::PairId("P" + std::to_string(meter) + std::to_string(day));
        pair.meter = base::MeterId("M" + std::to_string(meter));
        pair.meterAt = timeOf(day, meter, 100);
        pair.labAt = timeOf(day, meter, 103);
        pair.by = base::OperatorId("N1");
        pair.meterResult = parseReading("121").value();
        pair.labResult = parseReading("120").value();
        pair.unit = base::GlucoseUnit::MgPerDl;
        acts.push_back(pair);
    }

    /// A set of the low level alone on the newer control vial, five minutes after the whole one.
    void addLowBeside(std::vector<Act>& acts, int day, int meter) const
    {
        auto run = m_desk.aRun("M" + std::to_string(meter) + "/" + std::to_string(day) + "-beside", "2026-06-01T06:00", Level::Low, "60");
        run.meter = base::MeterId("M" + std::to_string(meter));
        run.at = timeOf(day, meter, 5);
        run.stripVial = base::StripVialId(m_early.first);
        run.controlVial = base::ControlVialId(m_early.second);
        acts.push_back(run);
    }

    StoreDesk m_desk;
    std::pair<std::string, std::string> m_early; ///< the strip vial and the control vial of the first days
};

/// Asked once for a run of entries about lots, vials and ranges: the newest time of all meters, from the narrowest index that has it.
constexpr const char* kNewestOfAll = "SELECT max(last_at) AS newest FROM set_verdict";
/// Grows with one meter's own sets, and with nothing else: by an index.
constexpr const char* kSetsOfOneMeter = "SELECT set_id, at FROM control_run WHERE meter = ";

/// The statements whose cost grew, or that read many rows without an index, with what they took in the small registry and in the grown one.
std::string grownStatements(const std::map<std::string, Cost>& small, const std::map<std::string, Cost>& large)
{
    std::string said;
    for (const auto& [sql, cost] : large) {
        const auto before = small.find(sql);
        const Cost was = before == small.end() ? Cost {} : before->second;
        if (sql.starts_with(kNewestOfAll) || (sql.starts_with(kSetsOfOneMeter) && cost.unaided == 0))
            continue;
        if (cost.steps > was.steps * 13 / 10 + 100 || cost.unaided > was.unaided + 10)
            said += std::to_string(was.steps) + " -> " + std::to_string(cost.steps) + " steps, " + std::to_string(was.unaided) + " -> "
                + std::to_string(cost.unaided) + " rows without an index: " + sql + "\n";
    }
    return said;
}

} // namespace

TEST(CostAgainstSize, WhatPeopleWaitForCostsTheSameInTenTimesTheEntries)
{
    if (support::onServer())
        GTEST_SKIP() << "counted by SQLite";
    const StatementCosts costs;
    GrownDesk small(30);
    GrownDesk grown(300);
    const auto runOn = [](StoreDesk& desk, const char* set, Level level, const char* result) {
        auto run = desk.aRun(set, "2027-05-02T05:00", level, result);
        run.stripVial = base::StripVialId("V2");
        run.at = desk.now();
        desk.record(run);
    };
    const base::MeterId meter("M1");
    const std::pair<const char*, std::function<void(StoreDesk&)>> tasks[] = {
        { "the board",
            [](StoreDesk& desk) {
                auto reader = desk.reader();
                EXPECT_EQ(board(reader, {}, desk.now())->size(), std::size_t { kMeters });
            } },
        { "a meter's page of a month",
            [&](StoreDesk& desk) {
                auto reader = desk.reader();
                EXPECT_TRUE(boardRow(reader, meter, desk.now()));
                EXPECT_GE(reader.sets(meter, base::plusMs(desk.now(), -28 * std::int64_t { 86'400'000 }), desk.now())->size(), 27U);
                EXPECT_TRUE(patternsOf(reader, meter, desk.now()));
                EXPECT_TRUE(ladderAt(reader, meter, desk.now()));
                EXPECT_TRUE(asKnownThen(desk.session(), meter, desk.now()));
            } },
        { "a set that holds",
            [&](StoreDesk& desk) {
                runOn(desk, "holds", Level::Low, "60");
                runOn(desk, "holds", Level::High, "300");
            } },
        { "a set that fails",
            [&](StoreDesk& desk) {
                desk.goTo("2027-05-02T05:20");
                runOn(desk, "fails", Level::Low, "90");
            } },
        { "a vial that is empty",
            [](StoreDesk& desk) {
                desk.goTo("2027-05-02T05:25");
                desk.record(acts::VialEnded { desk.now(), "V2", base::OperatorId("N1"), VialEndKind::Empty });
            } },
        { "an error code",
            [&](StoreDesk& desk) {
                desk.goTo("2027-05-02T05:30");
                runOn(desk, "error", Level::Low, "ERR:E3");
            } },
        { "the page of a meter that failed",
            [&](StoreDesk& desk) {
                auto reader = desk.reader();
                EXPECT_FALSE(boardRow(reader, meter, desk.now())->fitness.usable);
                EXPECT_TRUE(patternsOf(reader, meter, desk.now()));
            } },
        { "which meters a vial was used on",
            [&](StoreDesk& desk) {
                auto reader = desk.reader();
                EXPECT_EQ(reader.metersOnVial("V2")->size(), 1U);
                EXPECT_EQ(reader.metersThatUsed("V2")->size(), 1U);
            } },
        { "how the others drifted",
            [&](StoreDesk& desk) {
                auto reader = desk.reader();
                auto set = reader.newestCountedSet(meter, desk.now());
                ASSERT_TRUE(set && *set);
                EXPECT_TRUE(driftCompany(reader, **set, desk.now()));
            } },
        { "what was known at a moment",
            [&](StoreDesk& desk) { EXPECT_GT(lastEntryBefore(desk.session(), desk.at("2026-12-01T06:00").utcMs)->value, 0); } },
    };
    for (const auto& [what, task] : tasks) {
        const auto few = StatementCosts::of([&] { task(small.desk()); });
        const auto many = StatementCosts::of([&] { task(grown.desk()); });
        EXPECT_FALSE(many.empty()) << what << ": nothing was counted";
        EXPECT_EQ(grownStatements(few, many), "") << what;
    }
    EXPECT_GT(grown.desk().head().value, 3 * kMeters * 300);
}

TEST(CostAgainstSize, WhatNewVialsAskForCostsTheSameInTenTimesTheEntries)
{
    if (support::onServer())
        GTEST_SKIP() << "counted by SQLite";
    const StatementCosts costs;
    GrownDesk small(30, Vials::EveryMeterAndBeside);
    GrownDesk grown(300, Vials::EveryMeterAndBeside);
    const std::pair<const char*, std::function<void(StoreDesk&)>> tasks[] = {
        { "the board",
            [](StoreDesk& desk) {
                auto reader = desk.reader();
                EXPECT_EQ(board(reader, {}, desk.now())->size(), std::size_t { kMeters });
            } },
        { "what the vials owe",
            [](StoreDesk& desk) {
                auto reader = desk.reader();
                const auto debts = vialDebts(reader, base::WardId("W1"), desk.now());
                ASSERT_TRUE(debts);
                std::string owing;
                for (const auto& debt : *debts)
                    owing += debt.vial == "V2" ? "" : debt.vial + " ";
                EXPECT_EQ(owing, "V4 L3 ") << "V3 and L2 have had theirs";
            } },
        { "what waits on the ward",
            [](StoreDesk& desk) {
                auto reader = desk.reader();
                const auto rows = board(reader, {}, desk.now());
                EXPECT_TRUE(rows && wardDuties(reader, *rows, desk.now()));
            } },
    };
    for (const auto& [what, task] : tasks) {
        const auto few = StatementCosts::of([&] { task(small.desk()); });
        const auto many = StatementCosts::of([&] { task(grown.desk()); });
        EXPECT_FALSE(many.empty()) << what << ": nothing was counted";
        EXPECT_EQ(grownStatements(few, many), "") << what;
    }
}

} // namespace mk::store
