// SPDX-License-Identifier: GPL-3.0-or-later
#include "desk_fixture.h"

#include <utility>

namespace mk::desktop {

using namespace registry::acts;
using registry::Level;

namespace {

template <typename A>
store::NewAct act(A value)
{
    return { registry::Act(std::move(value)), {} };
}

ControlRun aRun(const char* meter, const char* set, base::Moment at, Level level, const char* result)
{
    ControlRun run;
    run.set = base::SetId(set);
    run.at = at;
    run.meter = base::MeterId(meter);
    run.by = base::OperatorId("arlen");
    run.stripVial = base::StripVialId("S1-01");
    run.level = level;
    run.controlVial = base::ControlVialId(level == Level::Low ? "CL-1" : "CH-1");
    run.result = decimal(result);
    run.unit = base::GlucoseUnit::MgPerDl;
    return run;
}

RangeAssigned aRange(const char* lot, Level level, const char* low, const char* high, const char* mean, const char* sd)
{
    RangeAssigned range;
    range.stripLot = base::StripLotId("S1");
    range.controlLot = base::ControlLotId(lot);
    range.level = level;
    range.unit = base::GlucoseUnit::MgPerDl;
    range.low = decimal(low);
    range.high = decimal(high);
    range.mean = decimal(mean);
    range.sd = decimal(sd);
    range.stage = registry::Stage::Established;
    range.from = wall("2026-10-01T08:00");
    return range;
}

} // namespace

void DeskFixture::SetUp()
{
    ASSERT_TRUE(m_folder.isValid());
    const base::Moment today = std::exchange(m_now, wall("2026-11-02T06:00")); // a range judges what was run after it was typed
    auto session = store::Session::create(options().desk.path);
    ASSERT_TRUE(session) << session.error().text;
    const auto founded = store::found(**session, "Europe/Berlin", settings(), { {}, "test" }, clock());
    ASSERT_TRUE(founded) << founded.error().text;
    session->reset();

    ModelAdded model { .model = base::ModelId("K-2"),
        .unit = base::GlucoseUnit::MgPerDl,
        .low = decimal("20"),
        .high = decimal("600"),
        .haematocritLow = {},
        .haematocritHigh = {},
        .needsCode = registry::YesNo::No,
        .sharedUse = registry::YesNo::Yes,
        .marketApproval = {} };
    OperatorEnrolled arlen { .id = base::OperatorId("arlen"),
        .name = "D. Arlen",
        .role = registry::Role::Nurse,
        .competentFrom = *base::parseDate("2026-01-12"),
        .competentUntil = *base::parseDate("2027-01-11") };
    StripLotReceived strips { .lot = base::StripLotId("S1"),
        .model = base::ModelId("K-2"),
        .gtin = {},
        .code = {},
        .expiry = *base::parsePrintedDate("2027-08-31"),
        .openPeriod = *base::parsePeriod("90 d"),
        .received = wall("2026-09-28T09:00"),
        .released = wall("2026-10-01T08:00") };
    std::vector<store::NewAct> acts { act(WardAdded { base::WardId("W5"), "Surgery" }), act(model), act(arlen), act(strips),
        act(StripVialOpened { base::StripVialId("S1-01"), base::StripLotId("S1"), wall("2026-11-02T05:00"), base::WardId("W5") }) };
    for (const auto& [lot, vial, level] : { std::tuple("CL", "CL-1", Level::Low), std::tuple("CH", "CH-1", Level::High) }) {
        acts.push_back(act(ControlLotReceived {
            base::ControlLotId(lot), level, *base::parsePrintedDate("2027-09"), *base::parsePeriod("90 d"), wall("2026-09-01T09:00") }));
        acts.push_back(
            act(ControlVialOpened { base::ControlVialId(vial), base::ControlLotId(lot), wall("2026-11-02T05:00"), base::WardId("W5") }));
    }
    acts.push_back(act(aRange("CL", Level::Low, "38", "58", "47.6", "2.1")));
    acts.push_back(act(aRange("CH", Level::High, "255", "335", "294.1", "8.9")));
    for (const char* meter : { "M-11", "M-12" }) {
        MeterEnrolled enrolled;
        enrolled.meter = base::MeterId(meter);
        enrolled.model = base::ModelId("K-2");
        enrolled.ward = base::WardId("W5");
        enrolled.enrolled = wall("2026-10-20T08:00");
        acts.push_back(act(enrolled));
    }
    record(std::move(acts), {}); // the ground is there already; nobody's role is asked
    m_now = today;
    runSet("M-11", "M-11/a", "47", "296");
    runSet("M-12", "M-12/a", "48", "291");
}

WindowOptions DeskFixture::options() const
{
    WindowOptions options;
    options.desk.path = place();
    options.desk.clock = clock();
    options.ward = base::WardId("W5");
    options.person = base::OperatorId("arlen");
    return options;
}

void DeskFixture::runSet(const char* meter, const char* set, const char* low, const char* high)
{
    // As from a paper form: some tests look at the ward a day later.
    registry::acts::ControlRun first = aRun(meter, set, wall("2026-11-17T06:29"), Level::Low, low);
    registry::acts::ControlRun second = aRun(meter, set, wall("2026-11-17T06:31"), Level::High, high);
    first.form = second.form = "F-1";
    record({ act(first), act(second) });
}

void DeskFixture::record(std::vector<store::NewAct> acts, const base::OperatorId& person)
{
    auto session = store::Session::open(options().desk.path, store::Session::Access::ReadWrite);
    ASSERT_TRUE(session) << session.error().text;
    auto registrar = store::Registrar::open(**session, clock());
    ASSERT_TRUE(registrar) << registrar.error().text;
    const auto done = (*registrar)->record(acts, { person, "test" });
    ASSERT_TRUE(done) << done.error().text;
    registrar->reset();
}

} // namespace mk::desktop
