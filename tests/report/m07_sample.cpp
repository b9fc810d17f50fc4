// SPDX-License-Identifier: GPL-3.0-or-later
#include "m07_sample.h"

#include "registry/control/control_set.h"

#include <cmath>
#include <cstdio>
#include <map>
#include <sstream>

namespace mk::report::sample {

using namespace registry;
using base::Moment;

namespace {

base::PrintedDate printed(const char* text)
{
    return base::parsePrintedDate(text).value();
}

base::Decimal decimal(const char* text)
{
    return base::Decimal::parse(text).value();
}

/// Lots, vials, ranges and people that the sets name.
struct Stock {
    ModelRecord model;
    OperatorRecord person;
    std::map<std::string, StripLotRecord> stripLots;
    std::map<std::string, StripVialRecord> stripVials;
    ControlLotRecord lowLot, highLot;
    ControlVialRecord lowVial, highVial, oldVial;
    std::map<std::string, RangeRecord> ranges;
};

RangeRecord aRange(const char* lot, Level level, const char* low, const char* high, const char* mean, const char* sd)
{
    RangeRecord range;
    range.act.stripLot = base::StripLotId(lot);
    range.act.controlLot = base::ControlLotId(level == Level::Low ? "CL-418" : "CH-419");
    range.act.level = level;
    range.act.low = decimal(low);
    range.act.high = decimal(high);
    range.act.mean = decimal(mean);
    range.act.sd = decimal(sd);
    range.act.stage = Stage::Established;
    return range;
}

ControlLotRecord aControlLot(const char* id, Level level)
{
    ControlLotRecord lot;
    lot.lot.lot = base::ControlLotId(id);
    lot.lot.level = level;
    lot.lot.expiry = printed("2027-06");
    lot.lot.openPeriod = base::parsePeriod("90 d").value();
    return lot;
}

ControlVialRecord aControlVial(const char* id, const char* lot, Moment opened)
{
    ControlVialRecord vial;
    vial.vial.vial = base::ControlVialId(id);
    vial.vial.lot = base::ControlLotId(lot);
    vial.vial.opened = opened;
    return vial;
}

const Stock& stock()
{
    static const Stock made = [] {
        Stock s;
        s.model.act.model = base::ModelId("K-2");
        s.model.act.sharedUse = YesNo::Yes;
        s.person.act.id = base::OperatorId("arlen");
        s.person.act.competentFrom = base::parseDate("2026-01-01").value();
        s.person.act.competentUntil = base::parseDate("2027-12-31").value();
        for (const char* id : { "S2609", "S2611" }) {
            StripLotRecord lot;
            lot.lot.lot = base::StripLotId(id);
            lot.lot.model = base::ModelId("K-2");
            lot.lot.expiry = printed("2027-08");
            lot.lot.openPeriod = base::parsePeriod("90 d").value();
            lot.lot.released = at(7, 24, 11, 0);
            s.stripLots[id] = lot;
            StripVialRecord vial;
            vial.vial.vial = base::StripVialId(std::string(id) + "-05");
            vial.vial.lot = base::StripLotId(id);
            vial.vial.opened = at(9, 28, 4, 0);
            s.stripVials[id] = vial;
        }
        s.lowLot = aControlLot("CL-418", Level::Low);
        s.highLot = aControlLot("CH-419", Level::High);
        s.lowVial = aControlVial("CL-418-4", "CL-418", at(9, 20, 4, 0));
        s.highVial = aControlVial("CH-419-4", "CH-419", at(9, 20, 4, 0));
        s.oldVial = aControlVial("CH-419-2", "CH-419", at(7, 27, 4, 0));
        s.ranges["S2609low"] = aRange("S2609", Level::Low, "37", "57", "46.9", "2.0");
        s.ranges["S2609high"] = aRange("S2609", Level::High, "252", "332", "290.3", "8.7");
        s.ranges["S2611low"] = aRange("S2611", Level::Low, "38", "58", "47.6", "2.1");
        s.ranges["S2611high"] = aRange("S2611", Level::High, "255", "335", "294.1", "8.9");
        return s;
    }();
    return made;
}

/// Judges set after set, as the registry does.
class SetMaker {
public:
    explicit SetMaker(std::string meter)
        : m_meter(std::move(meter)),
          m_policy(policyFrom(PolicyPairs { { "profile", "older" } }).value()),
          m_series(m_policy)
    {
    }

    /// results  level and what was shown, in order; a leading '!' takes the expired vial
    void add(const std::string& id, Moment first, const std::vector<std::pair<Level, std::string>>& results, const std::string& lot)
    {
        std::vector<acts::ControlRun> runs;
        std::vector<RunToJudge> input;
        runs.reserve(results.size());
        for (const auto& [level, shown] : results) {
            const bool expired = shown[0] == '!';
            acts::ControlRun run;
            run.set = base::SetId(m_meter + "/" + id);
            run.at = base::plusMs(first, static_cast<std::int64_t>(runs.size()) * 120'000);
            run.meter = base::MeterId(m_meter);
            run.by = base::OperatorId("arlen");
            run.level = level;
            run.result = parseReading(expired ? shown.substr(1) : shown).value();
            runs.push_back(run);
            const Stock& s = stock();
            RunContext context { &s.model, &s.person, &s.stripVials.at(lot), &s.stripLots.at(lot),
                level == Level::Low ? &s.lowVial
                    : expired       ? &s.oldVial
                                    : &s.highVial,
                level == Level::Low ? &s.lowLot : &s.highLot, &s.ranges.at(lot + std::string(word(level))), MeterState::InService };
            input.push_back({ { ++m_seq }, &runs.back(), context });
        }
        SetRecord record;
        record.judged = m_series.judge(input, false, {}, zone(), { [&](Moment since) {
            std::vector<CountedResult> counted;
            for (const auto& result : m_counted)
                if (result.at >= since)
                    counted.push_back(result);
            return counted;
        } });
        record.seq = { ++m_seq };
        for (std::size_t i = 0; i < runs.size(); ++i) {
            record.runs.push_back({ input[i].seq, input[i].seq, runs[i], record.judged.runs[i] });
            const auto* number = std::get_if<base::Decimal>(&runs[i].result);
            if (record.judged.runs[i].counted && number != nullptr) {
                const double mean = record.judged.runs[i].mean->toDouble();
                m_counted.push_back({ record.judged.lastAt, runs[i].level, number->toDouble() - mean, mean });
            }
        }
        m_series.follow(record);
        m_sets.push_back(std::move(record));
    }

    std::vector<SetRecord> take() { return std::move(m_sets); }

private:
    std::string m_meter;
    Policy m_policy;
    MeterSeries m_series;
    std::int64_t m_seq = 100;
    std::vector<CountedResult> m_counted;
    std::vector<SetRecord> m_sets;
};

Moment dayOfStory(int index, int hour, int minute)
{
    return index < 31 ? at(10, static_cast<unsigned>(index) + 1, hour, minute) : at(11, static_cast<unsigned>(index) - 30, hour, minute);
}

/// Numbers that look like a meter's, the same in every run.
double wobble(unsigned seed)
{
    seed = seed * 2654435761u ^ (seed >> 13);
    seed = (seed ^ (seed >> 15)) * 2246822519u;
    seed ^= seed >> 13;
    const unsigned other = seed * 3266489917u;
    const double u = (static_cast<double>(seed % 100000u) + 0.5) / 100000.0;
    const double v = static_cast<double>(other % 100000u) / 100000.0;
    return std::sqrt(-2 * std::log(u)) * std::cos(6.283185307179586 * v) * 0.8;
}

std::vector<SetRecord> quietSets(const std::string& meter, unsigned seed)
{
    SetMaker maker(meter);
    for (int i = 0; i < 31; ++i) {
        const bool old = i < 18;
        const unsigned n = seed * 100 + static_cast<unsigned>(i) * 2;
        const auto text = [](double value) { return std::to_string(static_cast<int>(std::lround(value))); };
        maker.add(std::to_string(i), dayOfStory(i, 6, 30 - static_cast<int>((seed + static_cast<unsigned>(i)) % 25)),
            { { Level::Low, text((old ? 46.9 : 47.6) + 2 * wobble(n)) },
                { Level::High, text((old ? 290.3 : 294.1) + 8.8 * wobble(n + 1)) } },
            old ? "S2609" : "S2611");
    }
    return maker.take();
}

MonthMeterInput aMeterOf(const std::string& meter, const char* ward, std::vector<SetRecord> sets)
{
    MonthMeterInput input;
    input.meter.act.meter = base::MeterId(meter);
    input.meter.act.ward = base::WardId(ward);
    input.wards = { { {}, base::WardId(ward), at(4, 20, 0, 0) } };
    input.states = { { { 1 }, MeterState::InService, at(4, 20, 0, 0), {} } };
    input.sets = std::move(sets);
    return input;
}

} // namespace

const Zone& zone()
{
    static const Zone berlin = Zone::named("Europe/Berlin").value();
    return berlin;
}

Moment at(unsigned month, unsigned day, int hour, int minute)
{
    const base::Date date { std::chrono::year(2026) / std::chrono::month(month) / std::chrono::day(day) };
    return zone().at(zone().resolve({ date, (hour * 60 + minute) * 60'000 }).first.utcMs);
}

std::vector<SetRecord> m07Sets()
{
    std::istringstream lows(
        "47 46 48 47 47 45 48 46 49 46 47 51 47 46 44 48 47 46 48 47 46 49 47 47 48 46 49 47 48 49 46 47 48 49 48 49 48 50 49 49 49 50 51");
    std::istringstream highs("292 288 295 290 291 285 HI/293 293 280 296 289 300 298 293 284 297 288 291 295 287 301 292 296 291 299 289 "
                             "303 296 338/306 292 301 297 300"
                             " 293 304 302 305 293 307 308 306 311 310");
    SetMaker maker("M-07");
    std::string low;
    std::string high;
    for (int i = 0; lows >> low && highs >> high; ++i) {
        const std::string lot = i < 18 ? "S2609" : "S2611";
        if (i == 31)
            maker.add("expired", dayOfStory(i, 5, 58), { { Level::High, "!315" } }, lot);
        std::vector<std::pair<Level, std::string>> results { { Level::Low, low } };
        const auto slash = high.find('/');
        results.emplace_back(Level::High, high.substr(0, slash));
        if (slash != std::string::npos)
            results.emplace_back(Level::High, high.substr(slash + 1));
        maker.add(std::to_string(i), dayOfStory(i, 6, 10), results, lot);
    }
    return maker.take();
}

std::vector<IncidentRecord> m07Incidents()
{
    IncidentRecord fall;
    fall.seq = { 4711 };
    fall.act.at = at(10, 14, 2, 0);
    fall.act.what = IncidentKind::Dropped;
    fall.act.detail = "fell from the bed table";
    return { fall };
}

std::vector<StateSpell> m07States()
{
    return { { { 1 }, MeterState::InService, at(4, 20, 0, 0), {} },
        { { 900 }, MeterState::Withdrawn, at(11, 12, 9, 20), MeterState::InService } };
}

std::vector<MonthMeterInput> wardInput(int meters)
{
    std::vector<MonthMeterInput> input;
    for (int i = 1; i <= 2 * meters; ++i) {
        char name[16];
        std::snprintf(name, sizeof name, "M-%02d", i);
        const bool hero = i == 7;
        input.push_back(aMeterOf(name, i <= meters ? "W5" : "W3", hero ? m07Sets() : quietSets(name, static_cast<unsigned>(i))));
        if (hero)
            input.back().incidents = m07Incidents();
    }
    return input;
}

} // namespace mk::report::sample
