// SPDX-License-Identifier: GPL-3.0-or-later
// What the window shows, offers and asks, held against what the registry judges, counts and lists: one answer, however it is asked.
#include "desk_fixture.h"

#include "desktop/desk/registry_desk.h"
#include "desktop/pages/control_sheet.h"
#include "desktop/pages/verdict_page.h"
#include "desktop/parts/level_panel.h"
#include "registry/control/questions.h"
#include "registry/meter/climbs.h"
#include "store/read/read_policy_preview.h"

#include <algorithm>
#include <map>
#include <random>

namespace mk::desktop {
namespace {

using namespace registry::acts;
using registry::Level;
using registry::QuestionKind;

constexpr std::int64_t kMinuteMs = 60'000;

std::string vialOf(Level level, int number)
{
    return (level == Level::Low ? "CL-" : "CH-") + std::to_string(number);
}

/// A registry on which the same thing can be asked through the window and of the registry itself.
class TwoWays : public DeskFixture {
protected:
    /// A ground of its own, with spare vials.
    void lay(const std::string& name)
    {
        m_place = m_folder.filePath(QString::fromStdString(name)).toStdString();
        m_now = wall("2026-11-18T06:47:00");
        DeskFixture::SetUp();
        const base::Moment opened = wall("2026-11-02T05:10");
        std::vector<store::NewAct> acts;
        for (const Level level : { Level::Low, Level::High })
            acts.push_back({ ControlVialOpened { base::ControlVialId(vialOf(level, 2)),
                                 base::ControlLotId(level == Level::Low ? "CL" : "CH"), opened, base::WardId("W5") },
                {} });
        acts.push_back({ StripVialOpened { base::StripVialId("S1-02"), base::StripLotId("S1"), opened, base::WardId("W5") }, {} });
        record(std::move(acts), {});
    }
    std::string place() const override { return m_place; }

    void limitsForOneMeter(const char* meter, Level level, const char* low, const char* high, const char* mean)
    {
        RangeAssigned range;
        range.stripLot = base::StripLotId("S1");
        range.controlLot = base::ControlLotId(level == Level::Low ? "CL" : "CH");
        range.level = level;
        range.unit = base::GlucoseUnit::MgPerDl;
        range.low = decimal(low);
        range.high = decimal(high);
        range.mean = decimal(mean);
        range.sd = decimal("2.1");
        range.stage = registry::Stage::Established;
        range.from = wall("2026-11-17T12:00");
        range.meter = base::MeterId(meter);
        record({ { range, {} } }, {});
    }

    ControlRun aRun(const char* meter, const std::string& set, Level level, const std::string& result, int controlVial = 1,
        const char* stripVial = "S1-01") const
    {
        ControlRun run;
        run.set = base::SetId(set);
        run.at = m_now;
        run.meter = base::MeterId(meter);
        run.by = base::OperatorId("arlen");
        run.stripVial = base::StripVialId(stripVial);
        run.level = level;
        run.controlVial = base::ControlVialId(vialOf(level, controlVial));
        run.result = registry::parseReading(result).value();
        run.unit = base::GlucoseUnit::MgPerDl;
        return run;
    }
    /// As `run add` does. returns why it was refused; empty where it was taken
    std::string tryRecord(const std::vector<ControlRun>& runs)
    {
        auto session = store::Session::open(m_place, store::Session::Access::ReadWrite);
        auto registrar = store::Registrar::open(**session, clock());
        std::vector<store::NewAct> acts;
        for (const auto& run : runs)
            acts.push_back({ run, {} });
        const auto done = (*registrar)->record(acts, { base::OperatorId("arlen"), "test" });
        return done ? std::string() : done.error().text;
    }
    /// As the import command lists it for one row.
    std::vector<store::RowQuestion> importAsks(const ControlRun& run)
    {
        auto session = store::Session::open(m_place, store::Session::Access::ReadWrite);
        auto registrar = store::Registrar::open(**session, clock());
        registry::FileRows file;
        file.file = "control_runs.csv";
        file.rows.push_back({ 2, run, {} });
        const auto report = (*registrar)->importFiles({ file }, { {}, "test" });
        EXPECT_TRUE(report) << report.error().text;
        // A result that the model cannot show is refused by every way in; what is asked of its unit stands beside the refusal.
        return report ? report->files.front().asked : std::vector<store::RowQuestion>();
    }
    /// Does the control sheet ask before it saves that result?
    bool sheetAsks(RegistryDesk& desk, const SheetAnswer& answer, Level level, const std::string& typed) const
    {
        ControlSheet sheet(desk);
        sheet.setAnswer(answer);
        LevelPanel* panel = sheet.panel(level);
        panel->setResult(QString::fromStdString(typed));
        Q_EMIT panel->resultCommitted(level);
        return panel->isAsking();
    }
    void pass(std::int64_t minutes) { m_now = base::plusMs(m_now, minutes * kMinuteMs); }
    void SetUp() override { }

    std::string m_place;
};

class OneMetersLimits : public TwoWays { };

TEST_F(OneMetersLimits, AreThoseOfSheetVerdictAndPreview)
{
    lay("own.mkr");
    limitsForOneMeter("M-11", Level::Low, "39", "45", "42.0");
    DeskWorker worker(options().desk);
    const auto sheet = worker.sheet({ base::MeterId("M-11"), base::OperatorId("arlen"), {}, {} });
    ASSERT_TRUE(sheet) << sheet.error().text;
    const auto& shown = sheet->levels.front().known.range;
    ASSERT_TRUE(shown);
    EXPECT_EQ(shown->act.high.typed(), "45");

    const RecordAnswer answer = worker.record(base::MeterId("M-11"),
        { { aRun("M-11", "own", Level::Low, "47"), {} }, { aRun("M-11", "own", Level::High, "296"), {} } }, base::OperatorId("arlen"));
    ASSERT_TRUE(answer.outcome) << answer.outcome.error().text;
    const auto& judged = answer.runs.front().judged;
    EXPECT_EQ(judged.high->typed(), "45");
    EXPECT_EQ(judged.inRange, false);

    auto session = store::Session::open(m_place, store::Session::Access::ReadOnly);
    auto reader = store::Reader::open(**session);
    ASSERT_TRUE(reader);
    const registry::PreviewPeriod period { *base::parseDate("2026-11-16"), *base::parseDate("2026-11-18"), wall("2026-11-18T18:00") };
    const auto previews = store::previewOf(*reader, reader->policyAt(m_now), period, {});
    ASSERT_TRUE(previews) << previews.error().text;
    for (const auto& meter : *previews) {
        EXPECT_EQ(meter.otherVerdicts, 0U) << meter.meter.value;
        for (const auto& day : meter.days)
            EXPECT_FALSE(day.differs()) << meter.meter.value << " " << base::toText(day.day);
    }
}

class LadderInTheWindow : public TwoWays { };

TEST_F(LadderInTheWindow, GoesOnFromWhatFailedInAnEarlierSet)
{
    lay("ladder.mkr");
    ASSERT_EQ(tryRecord({ aRun("M-11", "by-hand", Level::Low, "78"), aRun("M-11", "by-hand", Level::High, "296") }), "");
    pass(5);
    DeskWorker worker(options().desk);
    const RecordAnswer answer = worker.record(base::MeterId("M-11"),
        { { aRun("M-11", "typed", Level::Low, "90"), {} }, { aRun("M-11", "typed", Level::High, "316"), {} } }, base::OperatorId("arlen"));
    ASSERT_TRUE(answer.outcome) << answer.outcome.error().text;
    VerdictPage page;
    page.setOutcome(answer, QStringLiteral("D. Arlen"));
    EXPECT_EQ(page.ladderStep(), 3);
    EXPECT_EQ(page.nextStep(), VerdictPage::Next::NewControlVial);
    EXPECT_EQ(answer.line->row.history.ladder->step, 3);
    EXPECT_NE(tryRecord({ aRun("M-11", "typed", Level::Low, "47") }), "") << "a third time on the same vials";

    // The sheet lays out the other vial, which the registry takes.
    const auto sheet = worker.sheet({ base::MeterId("M-11"), base::OperatorId("arlen"), {}, {} });
    ASSERT_TRUE(sheet);
    EXPECT_EQ(sheet->levels.front().vialId, "CL-2");
    EXPECT_EQ(tryRecord({ aRun("M-11", "typed", Level::Low, "47", 2) }), "");
}

TEST_F(LadderInTheWindow, OffersNothingOnAMeterThatIsWithdrawnAlready)
{
    lay("spent.mkr");
    ASSERT_EQ(tryRecord({ aRun("M-11", "s", Level::Low, "78") }), "");
    pass(1);
    ASSERT_EQ(tryRecord({ aRun("M-11", "s", Level::Low, "79") }), "");
    pass(1);
    ASSERT_EQ(tryRecord({ aRun("M-11", "s", Level::Low, "80", 2) }), "");
    pass(1);
    DeskWorker worker(options().desk);
    const RecordAnswer answer = worker.record(
        base::MeterId("M-11"), { { aRun("M-11", "s", Level::Low, "81", 2, "S1-02"), {} } }, base::OperatorId("arlen"));
    ASSERT_TRUE(answer.outcome) << answer.outcome.error().text;
    ASSERT_EQ(answer.line->row.fitness.state, registry::MeterState::Withdrawn);
    VerdictPage page;
    page.setOutcome(answer, QStringLiteral("D. Arlen"));
    EXPECT_EQ(page.nextStep(), VerdictPage::Next::LookAfter);
}

/// Twenty-five histories each, out of eight seeds: failures, repeats, changed vials, limits for one meter, swapped levels, other units,
/// late entries.
class GeneratedHistories : public TwoWays, public ::testing::WithParamInterface<int> {
protected:
    int pick(int n) { return static_cast<int>(m_random() % static_cast<unsigned>(n)); }
    std::string from(std::initializer_list<const char*> words) { return *(words.begin() + pick(static_cast<int>(words.size()))); }

    std::string result(Level level)
    {
        switch (pick(10)) {
        case 0:
        case 1: return level == Level::Low ? from({ "62", "70", "31" }) : from({ "349", "244", "338" }); // an ordinary failure
        case 2: return level == Level::Low ? from({ "291", "300" }) : from({ "47", "52" });              // the other vial's
        case 3: return from({ "47.5", "52.5", "296.5", "2.6", "9" });                                    // a point, another unit
        case 4: return from({ "HI", "LO", "ERR:4" });
        case 5: return level == Level::Low ? from({ "59", "37" }) : from({ "336", "254" }); // just beyond
        default: return level == Level::Low ? from({ "46", "47", "44", "49" }) : from({ "292", "296", "301", "287" });
        }
    }

    void giveOwn(const char* meter, Level level, const std::string& low, const std::string& high, const char* mean)
    {
        limitsForOneMeter(meter, level, low.c_str(), high.c_str(), mean);
        m_own[level] = { low, high };
    }

    /// What happened on the meter before; what the registry refuses did not happen.
    void live(const char* meter)
    {
        m_own.clear();
        if (pick(2) == 0) {
            const std::string low = from({ "39", "44" }); // in a statement of its own: compilers order arguments as they like
            giveOwn(meter, Level::Low, low, from({ "48", "50" }), "46.0");
        }
        if (pick(3) == 0)
            giveOwn(meter, Level::High, "285", from({ "300", "312" }), "295.0");
        const int sets = pick(4);
        for (int set = 0; set < sets; ++set) {
            const std::string id = std::string(meter) + "/h" + std::to_string(set);
            const bool late = pick(4) == 0;
            const int runs = 1 + pick(4);
            for (int i = 0; i < runs; ++i) {
                const Level level = i == 0 ? Level::Low : i == 1 ? Level::High : pick(2) == 0 ? Level::Low : Level::High;
                const std::string read = result(level);
                const int vial = 1 + (i > 1 ? pick(2) : 0);
                ControlRun run = aRun(meter, id, level, read, vial, pick(6) == 0 ? "S1-02" : "S1-01");
                if (pick(12) == 0)
                    run.unit = base::GlucoseUnit::MmolPerL;
                if (late) {
                    run.at = base::plusMs(m_now, -95 * kMinuteMs);
                    run.form = "F-7";
                }
                tryRecord({ run });
                pass(2);
            }
            pass(20 + 30 * pick(20));
        }
    }

    /// Sheet and verdict could be wrong alike: what was given to the meter alone is known here.
    void holdLimitsAgainstGiven(const SheetAnswer& sheet)
    {
        for (const auto& level : sheet.levels) {
            if (!level.known.range)
                continue;
            ++m_limitsSeen;
            const auto& range = level.known.range->act;
            const auto own = m_own.find(level.level);
            EXPECT_EQ(range.meter.has_value(), own != m_own.end()) << word(level.level);
            if (own == m_own.end())
                continue;
            ++m_ownSeen;
            EXPECT_EQ(range.low.typed(), own->second.low) << word(level.level);
            EXPECT_EQ(range.high.typed(), own->second.high) << word(level.level);
        }
    }

    void holdSheetAgainstVerdict(const char* meter, const SheetAnswer& sheet, const RecordAnswer& answer)
    {
        for (const auto& level : sheet.levels) {
            const auto run = std::ranges::find_if(answer.runs,
                [&](const registry::RunRecord& r) { return r.run.level == level.level && r.run.controlVial.value == level.vialId; });
            if (run == answer.runs.end() || !run->judged.valid)
                continue;
            EXPECT_EQ(level.known.range.has_value(), run->judged.low.has_value()) << meter;
            if (level.known.range && run->judged.low) {
                EXPECT_EQ(level.known.range->act.low, *run->judged.low) << meter;
                EXPECT_EQ(level.known.range->act.high, *run->judged.high) << meter;
            }
        }
    }

    void holdLadders(const char* meter, const RecordAnswer& answer)
    {
        VerdictPage page;
        page.setOutcome(answer, QStringLiteral("D. Arlen"));
        const auto& row = answer.line->row;
        const bool onWard = row.fitness.state == registry::MeterState::InService || row.fitness.state == registry::MeterState::OnHold;
        EXPECT_EQ(page.ladderStep(), onWard && row.history.ladder ? row.history.ladder->step : 0) << meter;
        auto session = store::Session::open(m_place, store::Session::Access::ReadOnly);
        auto reader = store::Reader::open(**session);
        const auto counted = registry::ladderAt(*reader, base::MeterId(meter), m_now);
        ASSERT_TRUE(counted) << counted.error().text;
        const auto& kept = row.history.ladder;
        EXPECT_EQ(kept ? kept->step : 0, counted->step) << meter;
        if (!kept)
            return;
        EXPECT_EQ(kept->level, counted->level) << meter;
        EXPECT_EQ(kept->shift, counted->shift) << meter;
        EXPECT_EQ(kept->spentVials, counted->spentVials) << meter;
        ASSERT_EQ(kept->attempts.size(), counted->attempts.size()) << meter;
        EXPECT_EQ(kept->attempts.back().run, counted->attempts.back().run) << meter;
        if (page.nextStep() != VerdictPage::Next::Repeat || !kept->level)
            return;
        const auto* failure = kept->newestFailure(*kept->level);
        ASSERT_NE(failure, nullptr);
        ControlRun again = aRun(meter, answer.runs.front().run.set.value, failure->level, "47");
        again.controlVial = failure->controlVial;
        again.stripVial = failure->stripVial;
        EXPECT_EQ(tryRecord({ again }), "") << "the window offers it";
    }

    void holdQuestions(const char* meter, RegistryDesk& desk, DeskWorker& worker)
    {
        for (const Level level : { Level::Low, Level::High }) {
            const auto sheet = worker.sheet({ base::MeterId(meter), base::OperatorId("arlen"), {}, {} });
            ASSERT_TRUE(sheet) << sheet.error().text;
            const std::string typed = result(level);
            const auto at = std::ranges::find(sheet->levels, level, &SheetLevel::level);
            pass(31);
            if (at->vialId.empty())
                continue; // a vial must be scanned first
            ControlRun run = aRun(meter, std::string(meter) + "/q" + std::string(word(level)), level, typed);
            run.controlVial = base::ControlVialId(at->vialId);
            run.stripVial = base::StripVialId(sheet->stripVialId);
            const bool atWindow = sheetAsks(desk, *sheet, level, typed);
            std::vector<const registry::RangeRecord*> beside;
            for (const auto& range : at->beside)
                beside.push_back(&range);
            std::vector<QuestionKind> bySheet, byImport;
            for (const auto& question : registry::questionsOf(run, at->known.range ? &*at->known.range : nullptr, beside))
                bySheet.push_back(question.kind);
            for (const auto& each : importAsks(run))
                byImport.push_back(each.question.kind);
            EXPECT_EQ(atWindow, !byImport.empty()) << meter << " " << word(level) << " " << typed;
            EXPECT_EQ(bySheet, byImport) << meter << " " << word(level) << " " << typed;
        }
    }

    struct Limits {
        std::string low, high;
    };
    std::mt19937 m_random;
    std::map<Level, Limits> m_own; ///< of this history's meter alone
    int m_limitsSeen = 0;
    int m_ownSeen = 0;
};

TEST_P(GeneratedHistories, AreOneAnswerThroughTheWindowAndOfTheRegistry)
{
    int judged = 0;
    for (int history = 0; history < 25; ++history) {
        SCOPED_TRACE(testing::Message() << "seed " << GetParam() << ", history " << history);
        m_random.seed(static_cast<unsigned>(GetParam() * 1000 + history));
        const char* meter = history % 2 == 0 ? "M-11" : "M-12";
        lay("h" + std::to_string(history) + ".mkr");
        live(meter);
        DeskWorker worker(options().desk);
        const auto sheet = worker.sheet({ base::MeterId(meter), base::OperatorId("arlen"), {}, {} });
        ASSERT_TRUE(sheet) << sheet.error().text;
        holdLimitsAgainstGiven(*sheet);
        std::vector<store::NewAct> acts;
        for (const auto& level : sheet->levels) {
            ControlRun run = aRun(meter, std::string(meter) + "/last", level.level, result(level.level));
            run.stripVial = base::StripVialId(sheet->stripVialId);
            run.controlVial = base::ControlVialId(level.vialId.empty() ? vialOf(level.level, 1) : level.vialId);
            acts.push_back({ run, {} });
        }
        const RecordAnswer answer = worker.record(base::MeterId(meter), acts, base::OperatorId("arlen"));
        if (answer.outcome) { // else a result that the model cannot show, or no vial is left that the ladder allows
            ++judged;
            holdSheetAgainstVerdict(meter, *sheet, answer);
            holdLadders(meter, answer);
        }
        RegistryDesk desk(options().desk);
        holdQuestions(meter, desk, worker);
    }
    EXPECT_GE(judged, 15);
    EXPECT_GE(m_ownSeen, 5);
    EXPECT_GE(m_limitsSeen - m_ownSeen, 5) << "the group's";
}
INSTANTIATE_TEST_SUITE_P(Seeds, GeneratedHistories, ::testing::Range(1, 9));

} // namespace
} // namespace mk::desktop
