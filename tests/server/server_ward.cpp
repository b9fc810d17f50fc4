// SPDX-License-Identifier: GPL-3.0-or-later
#include "server/server_ward.h"

#include <gtest/gtest.h>

namespace mk::server {

using namespace registry;

namespace {

base::Decimal decimal(const char* typed)
{
    return base::Decimal::parse(typed).value();
}

} // namespace

base::Moment now()
{
    return Zone::named("Europe/Berlin").value().at(store::machineClock());
}

base::Result<std::vector<store::Outcome>> Window::record(const Act& act, const std::string& id)
{
    const store::NewAct one { act, id };
    return registrar->record({ &one, 1 }, { {}, "test" });
}

ServerWard::ServerWard(support::PrivateServer& server) : m_server(server), m_database(server.newDatabase())
{
    {
        auto made = store::Session::create(address("keeper"));
        EXPECT_TRUE(made) << made.error().text;
        const auto founded = store::found(**made, "Europe/Berlin", {}, { {}, "test" }, store::machineClock);
        EXPECT_TRUE(founded) << founded.error().text;
    }
    Window coordinator = open("coordinator");
    const auto record = [&](const Act& act) {
        const auto done = coordinator.record(act);
        EXPECT_TRUE(done) << kindOf(act) << ": " << done.error().text;
    };
    const auto mg = base::GlucoseUnit::MgPerDl;
    const base::Moment start = Zone::named("Europe/Berlin").value().at(store::machineClock() - 60'000);
    const auto printed = base::parsePrintedDate("2039-12-31").value();
    const auto period = base::parsePeriod("12 m").value();
    const base::Date from = base::parseDate("2020-01-01").value();
    const base::Date until = base::parseDate("2039-12-31").value();
    record(acts::WardAdded { base::WardId("W1"), "Ward one" });
    record(acts::ModelAdded { base::ModelId("K1"), mg, decimal("20"), decimal("600"), {}, {}, YesNo::No, YesNo::Yes, {} });
    record(acts::OperatorEnrolled { base::OperatorId("N1"), {}, Role::Nurse, from, until });
    record(acts::OperatorEnrolled { base::OperatorId("C1"), {}, Role::Coordinator, from, until });
    record(acts::StripLotReceived { base::StripLotId("S1"), base::ModelId("K1"), {}, {}, printed, period, start, start });
    record(acts::StripVialOpened { base::StripVialId("V1"), base::StripLotId("S1"), start, base::WardId("W1") });
    const struct {
        const char *lot, *vial, *low, *high, *mean, *sd;
        Level level;
    } kControls[] = { { "CL", "L1", "48", "72", "60", "3", Level::Low }, { "CH", "H1", "255", "345", "300", "9", Level::High } };
    for (const auto& control : kControls) {
        record(acts::ControlLotReceived { base::ControlLotId(control.lot), control.level, printed, period, start });
        record(acts::ControlVialOpened { base::ControlVialId(control.vial), base::ControlLotId(control.lot), start, base::WardId("W1") });
        const store::NewAct range { acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId(control.lot), control.level, mg,
                                        decimal(control.low), decimal(control.high), decimal(control.mean), decimal(control.sd),
                                        Stage::Established, start },
            {} };
        const auto done = coordinator.registrar->record({ &range, 1 }, { base::OperatorId("C1"), "test" });
        EXPECT_TRUE(done) << done.error().text;
    }
    for (int i = 1; i <= 8; ++i)
        record(acts::MeterEnrolled {
            base::MeterId("M" + std::to_string(i)), base::ModelId("K1"), "S-" + std::to_string(i), base::WardId("W1"), start, {} });
}

Window ServerWard::open(const std::string& address, store::Session::Access access) const
{
    Window window;
    auto session = store::Session::open(address, access);
    EXPECT_TRUE(session) << session.error().text;
    window.session = std::move(session).value();
    auto registrar = store::Registrar::open(*window.session, store::machineClock);
    EXPECT_TRUE(registrar) << registrar.error().text;
    window.registrar = std::move(registrar).value();
    return window;
}

acts::ControlRun ServerWard::run(const std::string& set, const std::string& meter, Level level, const std::string& result)
{
    acts::ControlRun run;
    run.set = base::SetId(set);
    run.at = now();
    run.meter = base::MeterId(meter);
    run.by = base::OperatorId("N1");
    run.stripVial = base::StripVialId("V1");
    run.level = level;
    run.controlVial = base::ControlVialId(level == Level::Low ? "L1" : "H1");
    run.result = parseReading(result).value();
    run.unit = base::GlucoseUnit::MgPerDl;
    return run;
}

store::Verification ServerWard::verification() const
{
    auto session = store::Session::open(address("inspector"), store::Session::Access::ReadOnly);
    EXPECT_TRUE(session) << session.error().text;
    auto found = store::verify(**session, std::nullopt);
    EXPECT_TRUE(found) << found.error().text;
    if (found)
        for (const auto& part : found->differsIn)
            ::testing::Test::RecordProperty("differs", part);
    return found ? *found : store::Verification {};
}

} // namespace mk::server
