// SPDX-License-Identifier: GPL-3.0-or-later
// What the drift rules of stats/drift do on simulated wards, line by line beside the table of handbook 6.5.
//   ward_table_bench [part of the wards, 1] [seed, 1] [section 1 to 4, all]
#include "ward_table.h"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cmath>
#include <cstdlib>

namespace mk::bench {

namespace {

using test::SimulatedMeter;
using test::SimulatedWard;
using Settings = stats::UsualSettings;

constexpr int kInControlMeters = 9'000;
constexpr int kChangedMeters = 3'000; // each by itself
constexpr int kChangedWards = 1'500;  // with one of twelve
constexpr int kWard = 12;
constexpr int kChangeDay = 60; // the usual value is known by then

/// A figure that lines ask of their wards: a mean, or a quantile of days.
struct Asked {
    const char* what;
    PageFigure page;
    OfMeter of;
    double part = 0, perDay = 0; // of a quantile
};

class WardTable {
public:
    WardTable(double part, std::uint64_t seed) : m_part(part), m_seed(seed) { }

    void head(int section, const char* title)
    {
        m_next = static_cast<std::uint64_t>(section - 1) * 1'000'000'000 * m_seed; // the same alone and among all
        std::printf("\n**%s**\n\n| line | figure | page | each meter by itself | wards | differs |\n|---|---|---|---|---|---|\n", title);
    }

    /// Both as meters by themselves and in wards of twelve; so many meters count.
    void line(const std::string& name, const SimulatedWard& ward, const std::vector<Asked>& asked, const Settings& settings = {})
    {
        SimulatedWard alone = ward;
        alone.meters = 1, alone.alone = true;
        const int meters = ward.changed > 0 ? kChangedMeters : kInControlMeters;
        const auto single = simulated(alone, meters, settings);
        SimulatedWard together = ward;
        together.meters = kWard;
        print(name, asked, &single, simulated(together, ward.changed > 0 ? kChangedWards : meters / kWard, settings));
    }
    /// Only as wards of their own size.
    void wards(const std::string& name, const SimulatedWard& ward, int meters, const std::vector<Asked>& asked)
    {
        print(name, asked, nullptr, simulated(ward, meters / ward.meters, {}));
    }
    void end() const
    {
        std::printf("\n%d figures, %d of them differ; %.0f meter-years, seed %llu, GCC %s\n", m_figures, m_differ, m_years,
            static_cast<unsigned long long>(m_seed), __VERSION__);
    }

private:
    ManyWards simulated(SimulatedWard ward, int howMany, const Settings& settings)
    {
        howMany = std::max(20, static_cast<int>(howMany * m_part));
        ward.seed = m_next = m_next + 1'000'000 * m_seed;
        m_years += howMany * ward.meters * (ward.days / 365.0);
        return simulateMany(ward, howMany, settings);
    }
    static SimulatedFigure figureOf(const ManyWards& many, const Asked& asked)
    {
        return asked.part > 0 ? quantileOf(many, asked.part, asked.page, asked.of, asked.perDay) : meanOf(many, asked.page, asked.of);
    }
    void print(const std::string& name, const std::vector<Asked>& asked, const ManyWards* single, const ManyWards& together)
    {
        for (const Asked& each : asked) {
            const auto alone = single ? std::optional(figureOf(*single, each)) : std::nullopt;
            const auto ward = figureOf(together, each);
            const bool both = alone && alone->differs && ward.differs;
            const char* mark = both ? "both" : alone && alone->differs ? "by itself" : ward.differs ? "wards" : "";
            std::printf("| %s | %s | %s | %s | %s | %s |\n", name.c_str(), each.what, each.page.text.c_str(),
                alone ? alone->text.c_str() : "-", ward.text.c_str(), mark);
            ++m_figures;
            m_differ += *mark != 0 ? 1 : 0;
        }
        std::fflush(stdout);
    }

    double m_part;
    std::uint64_t m_seed, m_next = 0;
    double m_years = 0;
    int m_figures = 0, m_differ = 0;
};

// What is asked of a meter

OfMeter unchanged(int SimulatedMeter::*what)
{
    return [what](const SimulatedMeter& meter) { return meter.changed ? std::nullopt : std::optional<double>(meter.*what); };
}

/// Since the first bad control; never is far away.
OfMeter daysUntil(std::optional<int> SimulatedMeter::*when)
{
    return [when](const SimulatedMeter& meter) -> std::optional<double> {
        if (!meter.changed || !meter.firstBad)
            return std::nullopt;
        return meter.*when ? *(meter.*when) - *meter.firstBad : 9'999;
    };
}

OfMeter within(std::optional<int> SimulatedMeter::*when, int days, bool fromChange = false)
{
    return [when, days, fromChange](const SimulatedMeter& meter) -> std::optional<double> {
        if (!meter.changed || !meter.firstBad)
            return std::nullopt;
        return meter.*when && *(meter.*when) - (fromChange ? 0 : *meter.firstBad) <= days ? 1 : 0;
    };
}

std::optional<double> lotNamed(const SimulatedMeter& meter)
{
    return meter.changed && meter.lotAtFirst ? std::optional<double>(*meter.lotAtFirst ? 1 : 0) : std::nullopt;
}

Asked told(double page_)
{
    return { "told a meter-year", page(page_, 2), unchanged(&SimulatedMeter::episodes) };
}
Asked told(double page_, int decimals)
{
    return { "told a meter-year", page(page_, decimals), unchanged(&SimulatedMeter::episodes) };
}
Asked toldDays(double page_, int decimals)
{
    return { "days told", page(page_, decimals), unchanged(&SimulatedMeter::toldDays) };
}
Asked stopped(double page_, int decimals = 2)
{
    return { "days stopped", page(page_, decimals), unchanged(&SimulatedMeter::stoppedDays) };
}

Asked stoppedBy(const char* what, double page_, int days)
{
    return { what, page(page_, 2), within(&SimulatedMeter::stopped, days) };
}
Asked toldAt(const char* what, double part, int day)
{
    return { what, page(day, 0), daysUntil(&SimulatedMeter::told), part };
}

SimulatedWard wardOf(double cv, int levels = 2)
{
    SimulatedWard ward;
    ward.meters = kWard, ward.cv = cv, ward.levels = levels;
    return ward;
}

SimulatedWard moved(SimulatedWard ward, double percent, int rampDays, int days, int changeDay = kChangeDay)
{
    ward.change = test::Change { changeDay, percent, rampDays };
    ward.changed = 1;
    ward.days = changeDay + days;
    return ward;
}

// The table

void inControl(WardTable& table)
{
    table.head(1, "In control, a meter-year");
    const double stops[] = { .01, .09, .41, .68 };
    for (int cv = 2; cv <= 5; ++cv)
        table.line("CV " + std::to_string(cv) + ", differ by .5", wardOf(cv), { told(.14), toldDays(1.2, 1), stopped(stops[cv - 2]) });
    SimulatedWard ward = wardOf(3);
    ward.offsets = 0;
    table.line("CV 3, differ by 0", ward, { told(.13), toldDays(1.0, 1), stopped(.01) });
    ward.offsets = 1;
    table.line("CV 3, differ by 1.0", ward, { told(.23), toldDays(10, 0), stopped(1.2, 1) });
    table.line("one level, CV 3", wardOf(3, 1), { told(.11), toldDays(.9, 1), stopped(.12) });
    table.line("one level, CV 5", wardOf(5, 1), { told(.11), toldDays(.9, 1), stopped(.78) });
    ward = wardOf(3);
    ward.trueSd = 1.1;
    table.line("true SD 1.1", ward, { told(.4, 1), toldDays(3.5, 1), stopped(.31) });
    ward.trueSd = 1.25;
    table.line("true SD 1.25", ward, { told(1.3, 1), toldDays(12, 0), stopped(1.2, 1) });
    ward = wardOf(3);
    ward.correlated = .2;
    table.line("levels correlated .2", ward, { told(.4, 1), toldDays(3.5, 1), stopped(.33) });
    ward.correlated = .4;
    table.line("levels correlated .4", ward, { told(.8, 1), toldDays(7.3, 1), stopped(.53) });
    ward = wardOf(3);
    ward.wild = .01;
    table.line("1 % gross errors", ward, { told(.46), toldDays(3.8, 1), stopped(.34) });
}

void newLots(WardTable& table)
{
    table.head(2, "In control, a meter-year, new lots");
    struct Size {
        int meters;
        double told, stopped;
    };
    SimulatedWard ward = wardOf(3);
    ward.lotDays = 90;
    for (const Size size : { Size { 3, .15, .12 }, Size { 5, .18, .08 }, Size { 12, .20, .12 }, Size { 60, .17, .46 } }) {
        ward.meters = size.meters, ward.sinks = 0;
        const std::string meters = std::to_string(size.meters) + " meters";
        table.wards("lots every 90 d, " + meters, ward, kInControlMeters, { told(size.told), toldDays(2, 0), stopped(size.stopped) });
        ward.sinks = 3;
        const OfMeter own = [](const SimulatedMeter& meter) { return std::optional<double>(meter.toldDays - meter.lotDays); };
        table.wards("the same, sinks 3 %, " + meters, ward, kInControlMeters,
            { { "told of the meter", page(.7, 1.2, 1), unchanged(&SimulatedMeter::meterSpells) },
                { "days told of the meter", page(3, 5, 0), own },
                { "days told of the lot", page(75, 98, 0), unchanged(&SimulatedMeter::lotDays) },
                { "days stopped", page(1.6, 2.0, 1), unchanged(&SimulatedMeter::stoppedDays) } });
    }
}

/// What the page says of one column.
struct Moved {
    const char* name;
    double cv;
    int levels;
    int told, ninety;
    double stopped9, stopped65, stopped45, stopped3, before6, after6;
    int creeps[3];
    double creepPercent[3];
};

constexpr Moved kMoved[] = { { "CV 2", 2, 2, 0, 1, 1.00, .99, .42, .04, 1.00, 1.00, { 44, 23, 14 }, { 1.8, 2.3, 2.8 } },
    { "CV 3", 3, 2, 1, 1, .99, .99, .71, .23, 1.00, 1.00, { 44, 23, 14 }, { 2.6, 3.5, 4.2 } },
    { "CV 4", 4, 2, 1, 3, .99, .99, .81, .37, .93, .99, { 44, 23, 14 }, { 3.5, 4.6, 5.6 } },
    { "CV 5", 5, 2, 2, 4, .97, .99, .77, .33, .72, .99, { 44, 23, 14 }, { 4.4, 5.8, 7.0 } },
    { "CV 3, one level", 3, 1, 2, 3, 1.00, 1.00, .70, .20, .90, 1.00, { 57, 29, 17 }, { 3.4, 4.4, 5.1 } } };

void steps(WardTable& table, const Moved& column)
{
    const SimulatedWard ward = wardOf(column.cv, column.levels);
    const std::string name = std::string(", ") + column.name;
    table.line("step 9 %" + name, moved(ward, 9, 0, 40),
        { toldAt("told, median day", .5, column.told), toldAt("told, 90 %", .9, column.ninety),
            stoppedBy("stopped within 7 d", column.stopped9, 7) });
    table.line("step 6.5 %" + name, moved(ward, 6.5, 0, 40), { stoppedBy("stopped within 30 d", column.stopped65, 30) });
    table.line("step 4.5 %" + name, moved(ward, 4.5, 0, 40), { stoppedBy("stopped within 30 d", column.stopped45, 30) });
    table.line("step 3 %" + name, moved(ward, 3, 0, 40), { stoppedBy("stopped within 30 d", column.stopped3, 30) });
    // 6 % is reached on the thirtieth day, 29 after the first.
    table.line("9 % in 45 d" + name, moved(ward, 9, 45, 60),
        { { "told before 6 %", page(column.before6, 2), within(&SimulatedMeter::told, 28, true) },
            { "stopped by 15 d after 6 %", page(column.after6, 2), within(&SimulatedMeter::stopped, 44, true) } });
}

void creeps(WardTable& table, const Moved& column)
{
    constexpr double kRates[] = { .02, .05, .1 };
    constexpr const char* kNames[] = { "creep .02 SD a day, ", "creep .05 SD a day, ", "creep .1 SD a day, " };
    for (int i = 0; i < 3; ++i) {
        constexpr int kDays = 100;
        const double perDay = kRates[i] * column.cv;
        // The page counts so that after d days a meter is off by d days' worth; here it is so on day d - 1.
        const OfMeter days = [](const SimulatedMeter& meter) -> std::optional<double> {
            return !meter.changed ? std::nullopt : std::optional<double>(meter.told ? *meter.told + 1 : 9'999);
        };
        table.line(kNames[i] + std::string(column.name), moved(wardOf(column.cv, column.levels), perDay * kDays, kDays, kDays),
            { { "told after days, median", page(column.creeps[i], 0), days, .5 },
                { "told at %, median", page(column.creepPercent[i], 1), days, .5, perDay } });
    }
}

void movedMeters(WardTable& table)
{
    table.head(3, "Moved, days from the first bad control");
    for (const Moved& column : kMoved) {
        steps(table, column);
        creeps(table, column);
    }
}

// What stands below the table

void learning(WardTable& table)
{
    for (const int day : { 3, 7, 15 })
        table.line("onset on day " + std::to_string(day) + ", step 9 %, CV 3", moved(wardOf(3), 9, 0, 40, day),
            { { "stopped within 7 d", page(.96, .99, 2), within(&SimulatedMeter::stopped, 7) } });
    table.line("off by 9 % from the first control, CV 3", moved(wardOf(3), 9, 0, 40, 0),
        { { "stopped within 7 d", page(.88, 2), within(&SimulatedMeter::stopped, 7) } });
    const auto began = [](const SimulatedMeter& meter) -> std::optional<double> {
        return meter.changed && meter.began && meter.firstBad ? std::optional<double>(*meter.began - *meter.firstBad) : std::nullopt;
    };
    table.line("step 9 %, CV 3", moved(wardOf(3), 9, 0, 40), { { "began, days after the step, median", page(0, 0), began, .5 } });
    for (const double rate : { .02, .05, .1 })
        table.line("creep " + std::to_string(rate).substr(0, 4) + " SD a day, CV 3", moved(wardOf(3), rate * 3 * 100, 100, 100),
            { { "began, days after the onset, median", page(11, 15, 0), began, .5 } });
    table.line("9 % in 45 d, CV 3", moved(wardOf(3), 9, 45, 60), { { "began, days after the onset, median", page(11, 15, 0), began, .5 } });
}

void meterOrLot(WardTable& table)
{
    for (const double percent : { 3.0, 6.0, 9.0 }) {
        SimulatedWard ward = moved(wardOf(3), percent, 0, 40);
        const std::string step = "step " + std::to_string(static_cast<int>(percent)) + " % of ";
        ward.changed = 12;
        table.wards(step + "all 12, CV 3", ward, kInControlMeters, { { "first telling names the lot", page(.95, .99, 2), lotNamed } });
        ward.changed = 1;
        table.wards(step + "one of 12, CV 3", ward, 3 * kInControlMeters, { { "first telling names the lot", page(0, .04, 2), lotNamed } });
    }
    SimulatedWard ward = moved(wardOf(3), 9, 0, 275, 90);
    ward.meters = 3, ward.lotDays = 90;
    table.wards("one of 3 goes bad by 9 % with the lot, CV 3", ward, kInControlMeters,
        { { "days told, the others", page(2, 8, 0), unchanged(&SimulatedMeter::toldDays) } });
}

void weekly(WardTable& table)
{
    SimulatedWard ward = wardOf(3);
    ward.every = 7;
    table.line("one control a week, CV 3", ward, { told(.02) });
    ward = moved(ward, 9, 0, 120, 7 * 25);
    table.line("the same, step 9 %", ward,
        { { "told, median day", page(7, 13, 0), daysUntil(&SimulatedMeter::told), .5 },
            { "stopped, median day", page(28, 0), daysUntil(&SimulatedMeter::stopped), .5 } });
    ward.whileTold = 1;
    table.line("the same, daily while told", ward, { { "stopped, median day", page(10, 0), daysUntil(&SimulatedMeter::stopped), .5 } });
}

void tradeOff(WardTable& table)
{
    struct Choice {
        double h, k, ideal, low;
        int decimals;
    };
    for (const Choice choice :
        { Choice { 4, 1, .13, .40, 2 }, Choice { 3.5, 1, .29, .74, 2 }, Choice { 3, 1, .6, 1.4, 1 }, Choice { 4, .75, .7, 1.5, 1 } }) {
        Settings settings;
        settings.h = choice.h, settings.k = choice.k;
        char name[48];
        std::snprintf(name, sizeof name, "h %g k %g, CV 3", choice.h, choice.k);
        SimulatedWard ward = wardOf(3);
        table.line(name, ward, { told(choice.ideal, choice.decimals) }, settings);
        ward.trueSd = 1.1;
        table.line(name + std::string(", SD 10 % low"), ward, { told(choice.low, choice.decimals) }, settings);
    }
    struct Newest {
        std::size_t newest;
        double nine, three;
    };
    for (const Newest choice : { Newest { 5, 1.00, .38 }, Newest { 7, 1.00, .25 }, Newest { 10, .86, .14 } }) {
        Settings settings;
        settings.newest = choice.newest;
        const std::string name = "newest " + std::to_string(choice.newest) + ", CV 3, step ";
        table.line(name + "9 %", moved(wardOf(3), 9, 0, 40), { stoppedBy("stopped within 7 d", choice.nine, 7) }, settings);
        table.line(name + "3 %", moved(wardOf(3), 3, 0, 40), { stoppedBy("stopped within 30 d", choice.three, 30) }, settings);
    }
    table.line("CV 5, one level, step 9 %", moved(wardOf(5, 1), 9, 0, 40), { stoppedBy("stopped within 7 d", .80, 7) });
}

void belowTheTable(WardTable& table)
{
    table.head(4, "Below the table");
    learning(table);
    meterOrLot(table);
    weekly(table);
    tradeOff(table);
}

} // namespace

} // namespace mk::bench

int main(int argc, char** argv)
{
    using namespace mk::bench;
    const auto start = std::chrono::steady_clock::now();
    WardTable table(argc > 1 ? std::atof(argv[1]) : 1, argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 1);
    const int only = argc > 3 ? std::atoi(argv[3]) : 0;
    void (*const sections[])(WardTable&) = { inControl, newLots, movedMeters, belowTheTable };
    for (int section = 1; section <= 4; ++section)
        if (only == 0 || only == section)
            sections[section - 1](table);
    table.end();
    std::fprintf(stderr, "%.0f s\n", std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
    return 0;
}
