// SPDX-License-Identifier: GPL-3.0-or-later
#include "journeys/lot_hands.h"

#include "store/read/lot_records.h"
#include "words/faults.h"

#include <gtest/gtest.h>

namespace mk::journeys {

using namespace registry;

std::string recordBy(WardWorld& ward, const std::string& person, const Act& act)
{
    const store::NewAct one { act, {} };
    const auto outcomes = ward.registrar().record({ &one, 1 }, { base::OperatorId(person), "test" });
    return outcomes ? std::string() : words::said(outcomes.error()).toStdString();
}

base::Moment now(WardWorld& ward, std::string_view time)
{
    ward.goTo(time);
    return ward.at(time);
}

void addMeterTo(WardWorld& ward, const std::string& meter, base::Moment at)
{
    ward.record(acts::MeterEnrolled {
        base::MeterId(meter), base::ModelId("K1"), "serial-" + meter, base::WardId("W1"), at, MeterState::InService });
}

void openVial(WardWorld& ward, const std::string& vial, const std::string& lot, base::Moment at)
{
    ward.record(acts::StripVialOpened { base::StripVialId(vial), base::StripLotId(lot), at, base::WardId("W1") });
}

acts::RangeAssigned rangeOn(const std::string& lot, Level level, const std::string& low, const std::string& high, base::Moment from)
{
    acts::RangeAssigned range;
    range.stripLot = base::StripLotId(lot);
    range.controlLot = base::ControlLotId(level == Level::Low ? "CL" : "CH");
    range.level = level;
    range.unit = kMg;
    range.low = decimal(low);
    range.high = decimal(high);
    range.stage = Stage::Range;
    range.from = from;
    return range;
}

acts::StripLotReceived newLot(const std::string& lot, base::Moment at)
{
    return { base::StripLotId(lot), base::ModelId("K1"), {}, {}, base::parsePrintedDate("2030-12-31").value(),
        base::parsePeriod("90 d").value(), at, {} };
}

void bringInReleasedS2(WardWorld& ward, std::string_view time)
{
    const base::Moment at = now(ward, time);
    auto lot = newLot("S2", at);
    lot.released = at;
    ward.record(lot);
    ward.record(rangeOn("S2", Level::Low, "48", "72", at));
    ward.record(rangeOn("S2", Level::High, "270", "366", at));
    openVial(ward, "V2", "S2", at);
}

Setting with(const std::string& meter, const std::string& strip)
{
    Setting setting;
    setting.meter = meter;
    setting.strip = strip;
    return setting;
}

std::string dayOf(int day, const std::string& time)
{
    return base::toText(base::addDays(base::parseDate("2026-05-04").value(), day)) + "T" + time;
}

std::vector<LimitProposal> proposals(WardWorld& ward, std::string_view time, Level level, const std::string& lot)
{
    auto reader = ward.reader();
    store::LimitChoice choice;
    choice.stripLot = base::StripLotId(lot);
    choice.level = level;
    const auto found = store::limitProposals(reader, choice, ward.at(time));
    EXPECT_TRUE(found) << found.error().text;
    return found ? *found : std::vector<LimitProposal>();
}

} // namespace mk::journeys
