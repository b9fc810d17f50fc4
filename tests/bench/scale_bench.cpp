// SPDX-License-Identifier: GPL-3.0-or-later
// What grows with a registry: the same tasks on a small and a large one (tests/bench/scale/run makes them), in turn.
//   scale_bench SMALL LARGE [pairs, 9]     files or addresses; sets are recorded in both, failing ones last: take fresh registries each
//   time
#include "bench_ward.h"

#include "store/read/board.h"
#include "store/journal/journal.h"
#include "registry/meter/climbs.h"
#include "store/read/failure_patterns.h"

#include <QCoreApplication>

#include <cstdio>

namespace mk::bench {

namespace {

constexpr std::int64_t kScaleDayMs = 86'400'000;

template <typename T>
T orGiveUp(base::Result<T> result)
{
    if (!result)
        giveUp(result.error().text);
    return std::move(result).value();
}

class Place {
public:
    explicit Place(const std::string& address)
        : m_session(orGiveUp(store::Session::open(address, store::Session::Access::ReadWrite))),
          m_registrar(orGiveUp(store::Registrar::open(*m_session, store::machineClock))),
          m_meters(reader().meters().value())
    {
    }

    std::int64_t entries() { return orGiveUp(store::headOf(*m_session)).seq.value; }
    void start() { static_cast<void>(reader()); }
    void boardOfAll() { static_cast<void>(orGiveUp(store::board(freshReader(), {}, m_now))); }
    void page()
    {
        auto& reader = freshReader();
        const auto& meter = nextMeter();
        static_cast<void>(orGiveUp(store::boardRow(reader, meter, m_now)));
        static_cast<void>(orGiveUp(reader.sets(meter, base::plusMs(m_now, -30 * kScaleDayMs), m_now)));
        static_cast<void>(orGiveUp(store::patternsOf(reader, meter, m_now)));
        static_cast<void>(orGiveUp(registry::climbsOf(reader, meter, base::plusMs(m_now, -30 * kScaleDayMs), m_now)));
    }
    /// A set like the newest one of the next meter. high  its high result
    void record(const char* high)
    {
        auto& reader = freshReader();
        const auto newest = orGiveUp(reader.newestSets(nextMeter(), m_now, 1));
        std::vector<store::NewAct> acts;
        const base::Moment now = reader.zone().at(store::machineClock());
        for (const auto& run : newest.front().runs) {
            registry::acts::ControlRun next = run.run;
            next.set = base::SetId(run.run.meter.value + "/" + base::toText(now) + "/" + std::to_string(++m_sets));
            next.at = now;
            if (next.level == registry::Level::High)
                next.result = *base::Decimal::parse(high);
            acts.push_back({ registry::Act(next), {} });
        }
        for (auto& act : acts)
            std::get<registry::acts::ControlRun>(act.act).set = std::get<registry::acts::ControlRun>(acts.front().act).set;
        const auto by = newest.front().runs.front().run.by;
        m_recorded = seconds([&] { static_cast<void>(orGiveUp(m_registrar->record(acts, { by, "bench" }))); });
    }
    double recorded() const { return m_recorded; }

    template <typename F>
    static double seconds(F&& task)
    {
        const auto start = std::chrono::steady_clock::now();
        task();
        return bench::seconds(std::chrono::steady_clock::now() - start);
    }

private:
    store::Reader reader() { return orGiveUp(store::Reader::open(*m_session)); }
    store::Reader& freshReader()
    {
        m_kept.emplace(reader());
        m_now = m_kept->zone().at(store::machineClock());
        return *m_kept;
    }
    const base::MeterId& nextMeter() { return m_meters[static_cast<std::size_t>(m_meter++ * 7) % m_meters.size()].act.meter; }

    std::unique_ptr<store::Session> m_session;
    std::unique_ptr<store::Registrar> m_registrar;
    std::vector<registry::MeterRecord> m_meters;
    std::optional<store::Reader> m_kept;
    base::Moment m_now;
    /// The same for both places, another one each time: a meter that failed before is another task.
    int m_meter = static_cast<int>(store::machineClock() / 10'000 % 100'000);
    int m_sets = 0;
    double m_recorded = 0;
};

void report(const std::string& smallAt, const std::string& largeAt, int pairs)
{
    Place small(smallAt), large(largeAt);
    std::printf("%lld and %lld entries; milliseconds, medians of %d pairs after one warm-up\n", static_cast<long long>(small.entries()),
        static_cast<long long>(large.entries()), pairs);
    struct Task {
        const char* what;
        int times; ///< in a pair
        double (*run)(Place&);
    };
    const Task tasks[] = {
        { "the board of all meters", 1, [](Place& place) { return Place::seconds([&] { place.boardOfAll(); }); } },
        { "a meter's page, 30 days", 20, [](Place& place) { return Place::seconds([&] { place.page(); }); } },
        { "a set that holds, recorded", 20,
            [](Place& place) {
                place.record("305");
                return place.recorded();
            } },
        { "a set that fails, recorded", 5,
            [](Place& place) {
                place.record("390");
                return place.recorded();
            } },
    };
    for (const auto& task : tasks) {
        std::vector<double> all[2], ratios;
        for (int pair = -1; pair < pairs; ++pair) {
            std::vector<double> own[2];
            for (int i = 0; i < task.times; ++i) {
                own[0].push_back(task.run(small));
                own[1].push_back(task.run(large));
            }
            if (pair < 0)
                continue;
            for (int side = 0; side < 2; ++side)
                all[side].push_back(quantile(own[side], 0.5));
            ratios.push_back(all[1].back() / all[0].back());
        }
        std::printf("%-28s small %9.2f (least %.2f)   large %9.2f (least %.2f)   ratio %.2f (from %.2f to %.2f), of the least %.2f\n",
            task.what, 1e3 * quantile(all[0], 0.5), 1e3 * quantile(all[0], 0), 1e3 * quantile(all[1], 0.5), 1e3 * quantile(all[1], 0),
            quantile(ratios, 0.5), quantile(ratios, 0), quantile(ratios, 1), quantile(all[1], 0) / quantile(all[0], 0));
        std::fflush(stdout);
    }
}

} // namespace

} // namespace mk::bench

int main(int argc, char** argv)
{
    const QCoreApplication application(argc, argv);
    const QStringList words = QCoreApplication::arguments();
    if (words.size() < 3)
        mk::bench::giveUp("scale_bench SMALL LARGE [pairs]");
    mk::bench::report(words[1].toStdString(), words[2].toStdString(), words.value(3, QStringLiteral("9")).toInt());
    return 0;
}
