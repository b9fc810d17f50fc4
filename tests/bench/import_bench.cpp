// SPDX-License-Identifier: GPL-3.0-or-later
// Importing control runs beside the bare bulk load of as many rows (performance.md, L5), in turn on the same disk.
//   import_bench [runs, 100000] [pairs, 5] [folder, the one it is started in]
#include "bare_table.h"
#include "bench_ward.h"

#include "exchange/registry_csv.h"

#include <QCoreApplication>
#include <QFile>

#include <cstdio>

namespace mk::bench {

namespace {

struct ImportTimes {
    double read = 0;        ///< seconds from text to rows
    double importFiles = 0; ///< seconds from rows to the commit
};

ImportTimes importOnce(const std::string& path, const BenchWard& ward, const std::string& text)
{
    const auto session = foundWard(path, ward);
    const auto start = std::chrono::steady_clock::now();
    std::vector<registry::FileRows> files { exchange::readRegistryFile("control_runs.csv", text, registry::Zone::utc()) };
    const auto read = std::chrono::steady_clock::now();
    takeOverAll(*session, std::move(files));
    return { seconds(read - start), seconds(std::chrono::steady_clock::now() - read) };
}

double loadOnce(const std::string& path, int rows)
{
    BareTable table(path);
    const auto start = std::chrono::steady_clock::now();
    table.load(rows, true);
    return seconds(std::chrono::steady_clock::now() - start);
}

void removeFiles(const std::string& path)
{
    for (const char* suffix : { "", "-wal", "-shm" })
        QFile::remove(QString::fromStdString(path + suffix));
}

void report(const std::string& folder, int runs, int pairs)
{
    const BenchWard ward = BenchWard::forRuns(runs);
    const std::string text = ward.runsText();
    std::vector<double> imports, loads, ratios, reading;
    for (int pair = -1; pair < pairs; ++pair) {
        const ImportTimes import = importOnce(folder + "/import.mkr", ward, text);
        const double load = loadOnce(folder + "/bare.db", ward.runs());
        removeFiles(folder + "/import.mkr");
        removeFiles(folder + "/bare.db");
        if (pair < 0)
            continue; // warm-up
        const double whole = import.read + import.importFiles;
        imports.push_back(ward.runs() / whole);
        loads.push_back(ward.runs() / load);
        ratios.push_back(load / whole);
        reading.push_back(import.read / whole);
    }
    std::printf("%d runs of %d meters\n", ward.runs(), ward.meters);
    std::printf("A  import, from CSV text        median %8.0f rows/s   (%.0f %% of it reads the text)\n", quantile(imports, 0.5),
        100 * quantile(reading, 0.5));
    std::printf("B  bare bulk load (L5)          median %8.0f rows/s\n", quantile(loads, 0.5));
    std::printf(
        "A/B  median of %d pairs %.3f (from %.3f to %.3f)\n", pairs, quantile(ratios, 0.5), quantile(ratios, 0), quantile(ratios, 1));
}

} // namespace

} // namespace mk::bench

int main(int argc, char** argv)
{
    const QCoreApplication application(argc, argv);
    const auto arguments = mk::bench::benchArguments("import_bench", 5);
    mk::bench::report(arguments.folder->path().toStdString(), arguments.runs, arguments.pairs);
    return 0;
}
