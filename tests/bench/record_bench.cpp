// SPDX-License-Identifier: GPL-3.0-or-later
// Recording one two-level set beside one bare durable commit (performance.md, L4), in turn on the same disk.
//   record_bench [stored runs, 100000] [pairs, 15] [folder, the one it is started in]
#include "bare_table.h"
#include "bench_ward.h"

#include "exchange/registry_csv.h"

#include <QCoreApplication>

#include <cstdio>

namespace mk::bench {

namespace {

constexpr int kOperations = 40; ///< of each kind in a pair
constexpr int kWarmUp = 200;    ///< so that both write-ahead logs have grown once

/// Microseconds that one call takes.
template <typename F>
double microseconds(F&& call)
{
    const auto start = std::chrono::steady_clock::now();
    call();
    return 1e6 * seconds(std::chrono::steady_clock::now() - start);
}

class RecordBench {
public:
    RecordBench(const std::string& folder, int runs)
        : m_ward(BenchWard::forRuns(runs)),
          m_session(foundWard(folder + "/record.mkr", m_ward)),
          m_bare(folder + "/bare.db")
    {
        takeOverAll(*m_session, { exchange::readRegistryFile("control_runs.csv", m_ward.runsText(), registry::Zone::utc()) });
        m_bare.load(m_ward.runs(), false);
        auto registrar = store::Registrar::open(*m_session, store::machineClock);
        if (!registrar)
            giveUp(registrar.error().text);
        m_registrar = std::move(registrar).value();
        std::printf("%d runs of %d meters stored in each\n", m_ward.runs(), m_ward.meters);
    }

    double recordOne()
    {
        const auto acts = m_ward.set(m_next % m_ward.meters, m_ward.days + m_next / m_ward.meters);
        ++m_next;
        return microseconds([&] {
            const auto outcomes = m_registrar->record(acts, { base::OperatorId("hale"), "bench" });
            if (!outcomes)
                giveUp(outcomes.error().text);
        });
    }
    double commitOne()
    {
        return microseconds([&] { m_bare.commitOne(); });
    }

private:
    BenchWard m_ward;
    std::unique_ptr<store::Session> m_session;
    BareTable m_bare;
    std::unique_ptr<store::Registrar> m_registrar;
    int m_next = 0;
};

void report(const std::string& folder, int runs, int pairs)
{
    RecordBench bench(folder, runs);
    for (int i = 0; i < kWarmUp; ++i) {
        bench.recordOne();
        bench.commitOne();
    }
    std::vector<double> sets, commits, ratios;
    for (int pair = 0; pair < pairs; ++pair) {
        std::vector<double> a, b;
        for (int i = 0; i < kOperations; ++i)
            a.push_back(bench.recordOne());
        for (int i = 0; i < kOperations; ++i)
            b.push_back(bench.commitOne());
        ratios.push_back(quantile(a, 0.5) / quantile(b, 0.5));
        sets.insert(sets.end(), a.begin(), a.end());
        commits.insert(commits.end(), b.begin(), b.end());
    }
    std::printf("A  one two-level set recorded   median %8.0f us   p99 %8.0f us\n", quantile(sets, 0.5), quantile(sets, 0.99));
    std::printf("B  bare durable commit (L4)     median %8.0f us   p99 %8.0f us\n", quantile(commits, 0.5), quantile(commits, 0.99));
    std::printf("A/B  median of %d pairs %.2f (from %.2f to %.2f), p99/p99 %.2f\n", pairs, quantile(ratios, 0.5), quantile(ratios, 0),
        quantile(ratios, 1), quantile(sets, 0.99) / quantile(commits, 0.99));
}

} // namespace

} // namespace mk::bench

int main(int argc, char** argv)
{
    const QCoreApplication application(argc, argv);
    const auto arguments = mk::bench::benchArguments("record_bench", 15);
    mk::bench::report(arguments.folder->path().toStdString(), arguments.runs, arguments.pairs);
    return 0;
}
