// SPDX-License-Identifier: GPL-3.0-or-later
// What it costs to record one more set of meters that drift, with two years in the registry and with two months, in turn on the same disk.
//   set_cost_bench [meters, 2000] [pairs, 15] [folder, the one it is started in]
#include "bench_ward.h"

#include "exchange/registry_csv.h"

#include <QCoreApplication>

#include <algorithm>
#include <cstdio>

namespace mk::bench {

namespace {

constexpr int kSets = 40;        ///< of each registry in a pair
constexpr int kPercentAYear = 3; ///< up or down
constexpr int kDaysAtOnce = 365; ///< of one file

class DriftingRegistry {
public:
    DriftingRegistry(const std::string& path, int meters, int days)
        : m_ward { meters, days, kPercentAYear },
          m_session(foundWard(path, m_ward))
    {
        for (int day = 0; day < days; day += kDaysAtOnce)
            takeOverAll(*m_session,
                { exchange::readRegistryFile(
                    "control_runs.csv", m_ward.runsText(day, std::min(days, day + kDaysAtOnce)), registry::Zone::utc()) });
        auto registrar = store::Registrar::open(*m_session, store::machineClock);
        if (!registrar)
            giveUp(registrar.error().text);
        m_registrar = std::move(registrar).value();
    }

    /// Microseconds.
    double recordOne()
    {
        const auto acts = m_ward.set(m_next % m_ward.meters, m_ward.days + m_next / m_ward.meters);
        ++m_next;
        const auto start = std::chrono::steady_clock::now();
        const auto outcomes = m_registrar->record(acts, { base::OperatorId("hale"), "bench" });
        const double taken = 1e6 * seconds(std::chrono::steady_clock::now() - start);
        if (!outcomes)
            giveUp(outcomes.error().text);
        return taken;
    }
    int sets() const { return m_ward.meters * m_ward.days; }

private:
    BenchWard m_ward;
    std::unique_ptr<store::Session> m_session;
    std::unique_ptr<store::Registrar> m_registrar;
    int m_next = 0;
};

void report(const std::string& folder, int meters, int pairs)
{
    DriftingRegistry young(folder + "/young.mkr", meters, 60), old(folder + "/old.mkr", meters, 730);
    std::printf("%d meters, %d and %d sets on record\n", meters, young.sets(), old.sets());
    std::vector<double> youngs, olds, ratios;
    for (int pair = -1; pair < pairs; ++pair) {
        std::vector<double> a, b;
        for (int i = 0; i < kSets; ++i) {
            a.push_back(old.recordOne());
            b.push_back(young.recordOne());
        }
        if (pair < 0)
            continue;
        olds.insert(olds.end(), a.begin(), a.end());
        youngs.insert(youngs.end(), b.begin(), b.end());
        ratios.push_back(quantile(a, 0.5) / quantile(b, 0.5));
    }
    std::printf(
        "one more set recorded: after two years %.0f us, after two months %.0f us; ratio %.2f (from %.2f to %.2f), of the least %.2f\n",
        quantile(olds, 0.5), quantile(youngs, 0.5), quantile(ratios, 0.5), quantile(ratios, 0), quantile(ratios, 1),
        quantile(olds, 0) / quantile(youngs, 0));
}

} // namespace

} // namespace mk::bench

int main(int argc, char** argv)
{
    const QCoreApplication application(argc, argv);
    const auto arguments = mk::bench::benchArguments("set_cost_bench", 15, 2000);
    mk::bench::report(arguments.folder->path().toStdString(), arguments.runs, arguments.pairs);
    return 0;
}
