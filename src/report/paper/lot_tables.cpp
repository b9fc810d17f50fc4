// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/paper/lot_tables.h"

#include <algorithm>
#include <functional>

namespace mk::report {

using namespace registry;

bool isIn(const LotTable& table, const LevelFigures& figures)
{
    const auto lot = table.controlLots.find(figures.level);
    return figures.stripLot == table.stripLot && figures.unit == table.unit && lot != table.controlLots.end()
        && lot->second == figures.controlLot;
}

const LevelFigures* figuresIn(const MeterMonth& meter, const LotTable& table, Level level)
{
    const auto found = std::ranges::find_if(meter.levels, [&](const LevelFigures& f) { return f.level == level && isIn(table, f); });
    return found == meter.levels.end() ? nullptr : &*found;
}

std::vector<LotTable> lotTables(const MonthFigures& figures)
{
    std::vector<const LevelFigures*> all;
    for (const auto& meter : figures.meters)
        for (const auto& level : meter.levels)
            all.push_back(&level);
    std::ranges::stable_sort(all, {}, [](const LevelFigures* f) { return f->firstAt; });
    std::vector<LotTable> tables;
    for (const auto* level : all) {
        const auto fits = [&](LotTable& table) {
            if (table.stripLot != level->stripLot || table.unit != level->unit)
                return false;
            const auto lot = table.controlLots.find(level->level);
            return lot == table.controlLots.end() || lot->second == level->controlLot;
        };
        auto table = std::ranges::find_if(tables, fits);
        if (table == tables.end())
            table = tables.insert(tables.end(), LotTable { level->stripLot, {}, level->firstAt, level->lastAt, level->unit, {} });
        table->controlLots[level->level] = level->controlLot;
        table->firstAt = std::min(table->firstAt, level->firstAt);
        table->lastAt = std::max(table->lastAt, level->lastAt);
        if (std::ranges::find(table->levels, level->level) == table->levels.end())
            table->levels.push_back(level->level);
    }
    for (auto& table : tables)
        std::ranges::sort(table.levels);
    std::ranges::stable_sort(tables, std::ranges::greater(), [](const LotTable& t) { return t.lastAt; });
    return tables;
}

} // namespace mk::report
