// SPDX-License-Identifier: GPL-3.0-or-later
#include "bench_ward.h"

#include "exchange/registry_csv.h"

#include <QCoreApplication>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>

namespace mk::bench {

namespace {

constexpr std::int64_t kFirstDayMs = 1'546'300'800'000; // 2019-01-01T00:00Z
constexpr std::int64_t kDayMs = 86'400'000;
constexpr int kMostDays = 365;
const store::Author kAuthor { base::OperatorId("rook"), "bench" };

std::string meterName(int meter)
{
    return "M-" + std::to_string(1000 + meter);
}

base::Moment timeOf(int meter, int day)
{
    return { kFirstDayMs + day * kDayMs + (5 * 3600 + meter * 20 % 3600) * 1000LL, 60 };
}

std::string setName(int meter, int day)
{
    return meterName(meter) + "/" + std::to_string(day);
}

} // namespace

/// Mean and SD are 46 and 4, 305 and 18; the scatter is the same each time.
int BenchWard::resultOf(bool low, int meter, int day) const
{
    const unsigned mixed = (static_cast<unsigned>(meter) * 2654435761U) ^ (static_cast<unsigned>(day) * 40503U + (low ? 0U : 77U));
    const int step = static_cast<int>((mixed >> 7) % 5U) - 2;
    const int result = low ? 46 + step : 305 + 4 * step;
    const double drift = (meter % 2 == 0 ? 1 : -1) * driftPerYear / 100.0 * day / 365;
    return static_cast<int>(std::lround(result * (1 + drift)));
}

BenchWard BenchWard::forRuns(int runs)
{
    const int sets = std::max(1, (runs + 1) / 2);
    const int days = std::min(sets, kMostDays);
    return { (sets + days - 1) / days, days, 0 };
}

std::vector<registry::FileRows> BenchWard::catalogue() const
{
    std::string enrolled = "meter,model,serial,ward,enrolled,state\n";
    for (int i = 0; i < meters; ++i)
        enrolled += meterName(i) + ",K-2," + std::to_string(i) + ",W1,2018-12-01,\n";
    const std::pair<const char*, std::string> files[] = {
        { "wards.csv", "ward,name\nW1,Bench\n" },
        { "models.csv", "model,unit,low,high,needs_code,shared_use\nK-2,mg/dL,20,600,no,yes\n" },
        { "meters.csv", enrolled },
        { "operators.csv",
            "operator,name,role,competent_from,competent_until\nhale,P. Hale,nurse,2018-01-01,2098-12-31\nrook,J. "
            "Rook,coordinator,2018-01-01,2098-12-31\n" },
        { "strip_lots.csv", "lot,model,expiry,open_period,received,released\nS1,K-2,2098-12,3660 d,2018-12-01,2018-12-02T09:00\n" },
        { "strip_vials.csv", "vial,lot,opened,ward\nS1-1,S1,2018-12-20T06:00,W1\n" },
        { "control_lots.csv",
            "lot,level,expiry,open_period,received\nCL,low,2098-12,3660 d,2018-12-01\nCH,high,2098-12,3660 d,2018-12-01\n" },
        { "control_vials.csv", "vial,lot,opened,ward\nCL-1,CL,2018-12-20T06:00,W1\nCH-1,CH,2018-12-20T06:05,W1\n" },
        { "ranges.csv",
            "strip_lot,control_lot,level,unit,low,high,mean,sd,stage,from\nS1,CL,low,mg/dL,36,56,46,4,established,2018-12-02\n"
            "S1,CH,high,mg/dL,263,347,305,18,established,2018-12-02\n" },
    };
    std::vector<registry::FileRows> rows;
    for (const auto& [name, text] : files)
        rows.push_back(exchange::readRegistryFile(name, text, registry::Zone::utc()));
    return rows;
}

std::string BenchWard::runsText(int from, int to) const
{
    std::string text = "set,at,meter,operator,strip_vial,level,control_vial,result,unit,reason,repeat_of,comment\n";
    for (int day = from; day < to; ++day)
        for (int meter = 0; meter < meters; ++meter)
            for (const bool low : { true, false })
                text += setName(meter, day) + "," + base::toText(timeOf(meter, day)) + "," + meterName(meter) + ",hale,S1-1,"
                    + (low ? "low,CL-1," : "high,CH-1,") + std::to_string(resultOf(low, meter, day)) + ",mg/dL,,,\n";
    return text;
}

std::vector<store::NewAct> BenchWard::set(int meter, int day) const
{
    std::vector<store::NewAct> runs;
    for (const bool low : { true, false }) {
        registry::acts::ControlRun run;
        run.set = base::SetId(setName(meter, day));
        run.at = timeOf(meter, day);
        run.meter = base::MeterId(meterName(meter));
        run.by = base::OperatorId("hale");
        run.stripVial = base::StripVialId("S1-1");
        run.level = low ? registry::Level::Low : registry::Level::High;
        run.controlVial = base::ControlVialId(low ? "CL-1" : "CH-1");
        run.result = *base::Decimal::parse(std::to_string(resultOf(low, meter, day)));
        run.unit = base::GlucoseUnit::MgPerDl;
        run.form = "DT-1"; // months back: from paper
        runs.push_back({ registry::Act(run), {} });
    }
    return runs;
}

std::unique_ptr<store::Session> foundWard(const std::string& path, const BenchWard& ward)
{
    auto session = store::Session::create(path);
    if (!session)
        giveUp(session.error().text);
    if (const auto founded = store::found(**session, "UTC", {}, kAuthor, store::machineClock); !founded)
        giveUp(founded.error().text);
    takeOverAll(**session, ward.catalogue());
    return std::move(session).value();
}

void takeOverAll(store::Session& session, std::vector<registry::FileRows> files)
{
    auto registrar = store::Registrar::open(session, store::machineClock);
    if (!registrar)
        giveUp(registrar.error().text);
    const auto report = (*registrar)->importFiles(std::move(files), kAuthor);
    if (!report)
        giveUp(report.error().text);
    for (const auto& file : report->files)
        for (const auto& row : file.rejected)
            giveUp(file.file + " line " + std::to_string(row.line) + ": " + base::plainly(row.fault));
}

void giveUp(const std::string& why)
{
    std::fprintf(stderr, "%s\n", why.c_str());
    std::exit(2);
}

double seconds(std::chrono::steady_clock::duration time)
{
    return std::chrono::duration<double>(time).count();
}

double quantile(std::vector<double> numbers, double share)
{
    std::ranges::sort(numbers);
    return numbers.empty() ? 0
                           : numbers[std::min(numbers.size() - 1, static_cast<std::size_t>(share * static_cast<double>(numbers.size())))];
}

BenchArguments benchArguments(const char* name, int defaultPairs, int defaultRuns)
{
    const QStringList words = QCoreApplication::arguments();
    BenchArguments arguments { words.value(1, QString::number(defaultRuns)).toInt(), words.value(2, QString::number(defaultPairs)).toInt(),
        nullptr };
    arguments.folder = std::make_unique<QTemporaryDir>(words.value(3, QStringLiteral(".")) + QLatin1Char('/') + QLatin1String(name));
    if (arguments.runs < 1 || arguments.pairs < 1 || !arguments.folder->isValid())
        giveUp(std::string(name) + " [stored runs, or meters] [pairs] [folder that can be written]");
    return arguments;
}

} // namespace mk::bench
