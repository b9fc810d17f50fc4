// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "journeys/ward_world.h"

#include "registry/control/failure_ladder.h"
#include "registry/meter/climbs.h"
#include "registry/meter/nonconformities.h"

#include <gtest/gtest.h>

#include <QJsonDocument>
#include <QJsonObject>
#include <QProcess>

#include <string>
#include <utility>
#include <vector>

/// A ward on which controls fail, for the stories of the ladder.
namespace mk::journeys {

using namespace registry;

inline const base::MeterId kM1("M1");

/// The common ground with a second meter, spare vials, and yesterday's accepted sets on strip vial V7.
class LadderWard {
public:
    explicit LadderWard(const std::vector<std::pair<std::string, std::string>>& policy = {}) : world(Ground { .policy = policy })
    {
        const base::Moment start = world.at("2026-05-01T05:00");
        world.record(
            acts::MeterEnrolled { base::MeterId("M4"), base::ModelId("K1"), "serial-4", base::WardId("W1"), start, MeterState::InService });
        for (const char* vial : { "V7", "V8" })
            world.record(acts::StripVialOpened { base::StripVialId(vial), base::StripLotId("S1"), start, base::WardId("W1") });
        world.record(acts::ControlVialOpened { base::ControlVialId("L2"), base::ControlLotId("CL"), start, base::WardId("W1") });
        world.record(acts::ControlVialOpened { base::ControlVialId("H2"), base::ControlLotId("CH"), start, base::WardId("W1") });
        onV7.strip = "V7";
        m4.meter = "M4";
        m4.strip = "V7";
        world.runSet("M1-yesterday", "2026-05-03T07:00", "60", "300", onV7);
        world.runSet("M4-yesterday", "2026-05-03T08:00", "61", "301", m4);
    }

    std::vector<LookbackRecord> lookbacks(const std::string& meter = "M1")
    {
        return world.reader().lookbacks(base::MeterId(meter)).value();
    }
    std::vector<Nonconformity> nonconformities()
    {
        auto reader = world.reader();
        return registry::nonconformities(reader, "M1", std::nullopt).value();
    }
    Ladder ladder(std::string_view time)
    {
        auto reader = world.reader();
        return registry::ladderAt(reader, kM1, world.at(time)).value();
    }
    std::string nextOf(std::string_view time)
    {
        const auto next = nextSaid(world.fitness(time));
        return next.empty() ? std::string() : next.front();
    }
    acts::NcStep ncStep(NcState to, const std::string& text, const std::string& person = "C1")
    {
        acts::NcStep step;
        step.at = world.at("2026-05-06T10:00");
        step.by = base::OperatorId(person);
        step.entry = nonconformities().front().entry;
        step.to = to;
        step.text = text;
        return step;
    }
    acts::LookbackClosed closing(base::Seq entry, const std::string& decision, std::string_view time)
    {
        world.goTo(time);
        acts::LookbackClosed closed { world.at(time), base::OperatorId("C1"), entry, decision };
        closed.reviewed = decimal("4"), closed.doubtful = decimal("0"), closed.informed = YesNo::No, closed.judgedBy = "Dr Marsh";
        return closed;
    }
    /// Fails on every step up to the last one.
    void failAll()
    {
        Setting newControl = onV7, newStrip = onV7;
        newControl.low = newStrip.low = "L2";
        newStrip.strip = "V8";
        world.run("S", "2026-05-04T07:00", Level::Low, "78", onV7);
        world.run("S", "2026-05-04T07:04", Level::Low, "79", onV7);
        world.run("S", "2026-05-04T07:10", Level::Low, "80", newControl);
        world.run("S", "2026-05-04T07:15", Level::Low, "81", newStrip);
    }

    /// What the command line prints of M1's file at a time.
    QJsonObject printed(const char* time)
    {
        QProcess process;
        process.start(QStringLiteral(MK_CLI),
            { QStringLiteral("--registry"), QString::fromStdString(world.path()), QStringLiteral("--json"), QStringLiteral("--at"),
                QString::fromLatin1(time), QStringLiteral("meter"), QStringLiteral("M1") });
        EXPECT_TRUE(process.waitForFinished(60'000));
        EXPECT_EQ(process.exitCode(), 0) << process.readAllStandardError().toStdString();
        return QJsonDocument::fromJson(process.readAllStandardOutput()).object();
    }

    WardWorld world;
    Setting onV7, m4;
};

inline std::string textIn(const QJsonObject& object, const char* key)
{
    return object.value(QLatin1String(key)).toString().toStdString();
}

} // namespace mk::journeys
