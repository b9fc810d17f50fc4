// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/trial.h"

#include "store/copies/verification.h"
#include "store/read/reader.h"
#include "store/registrar/registrar.h"

#include <gtest/gtest.h>

#include <QFile>

namespace mk::model {

using namespace registry;

namespace {

acts::ControlRun attempt(base::Moment at, Level level, const std::string& result)
{
    acts::ControlRun run;
    run.set = base::SetId("A");
    run.at = at;
    run.meter = base::MeterId("M1");
    run.level = level;
    run.by = base::OperatorId("N1");
    run.stripVial = base::StripVialId("V2");
    run.controlVial = base::ControlVialId(level == Level::Low ? "L1" : "H1");
    run.result = parseReading(result).value();
    run.unit = base::GlucoseUnit::MgPerDl;
    return run;
}

} // namespace

/// What was run between a correction and its confirmation is another attempt: it keeps what it says, in the index and in what is rebuilt.
TEST(AConfirmation, MendsTheAttemptThatItsCorrectionSpokeOf)
{
    const Prepared ground({ "2026-10-21", "2026-04-26T08:00", "2026-10-23", "2026-07-27T08:00", false });
    QTemporaryDir folder;
    const QString path = folder.filePath(QStringLiteral("ward.mkr"));
    ASSERT_TRUE(QFile::copy(QString::fromStdString(ground.path), path));
    auto session = store::Session::open(path.toStdString(), store::Session::Access::ReadWrite).value();
    std::int64_t now = ground.now + kHour;
    const auto clock = [&now] { return now; };
    auto registrar = store::Registrar::open(*session, clock, clock).value();
    const auto at = [&] { return ground.reference.zone().at(now); };
    const auto record = [&](const Act& act) {
        now += kMinute;
        const auto outcomes = registrar->record(std::vector<store::NewAct> { { act, {} } }, { {}, "model" });
        EXPECT_TRUE(outcomes) << (outcomes ? "" : outcomes.error().text);
        return outcomes ? outcomes->back().seq : base::Seq();
    };
    record(attempt(at(), Level::Low, "90"));
    record(attempt(at(), Level::High, "300"));
    const base::Seq corrected = record(
        acts::EntryCorrected { at(), base::OperatorId("N1"), base::SetId("A"), Level::Low, "result", "90", "60", "transposed", {}, {} });
    record(attempt(at(), Level::Low, "91"));
    record(acts::CorrectionConfirmed { at(), base::OperatorId("C1"), corrected });
    auto reader = store::Reader::open(*session);
    ASSERT_TRUE(reader);
    const auto runs = reader->runs(base::SetId("A"));
    ASSERT_TRUE(runs);
    std::vector<std::string> low;
    for (const auto& run : *runs)
        if (run.run.level == Level::Low)
            low.push_back(toText(run.run.result));
    EXPECT_EQ(low, (std::vector<std::string> { "60", "91" }));
    const auto verified = store::verify(*session, std::nullopt);
    ASSERT_TRUE(verified);
    EXPECT_TRUE(verified->holds()) << verified->brokenBecause;
}

} // namespace mk::model
