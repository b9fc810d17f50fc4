// SPDX-License-Identifier: GPL-3.0-or-later
#include "registry/registry_sample.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace mk::registry::sample {

const Zone& berlin()
{
    static const Zone zone = Zone::named("Europe/Berlin").value();
    return zone;
}

base::Moment at(std::string_view text)
{
    return TextForm<base::Moment>::read(text, { &berlin(), nullptr }).value();
}

base::Decimal decimal(const std::string& typed)
{
    return base::Decimal::parse(typed).value();
}

Materials::Materials()
{
    const auto mg = base::GlucoseUnit::MgPerDl;
    const base::Moment start = at("2026-05-01T05:00");
    const auto printed = base::parsePrintedDate("2027-12-31").value();
    const auto period = base::parsePeriod("90 d").value();
    model = { { 11 }, { base::ModelId("K1"), mg, decimal("20"), decimal("600"), decimal("20"), decimal("65"), YesNo::No, YesNo::Yes, {} } };
    person = { { 12 },
        { base::OperatorId("N1"), "Nurse one", Role::Nurse, base::parseDate("2026-01-01").value(),
            base::parseDate("2026-12-31").value() } };
    stripLot = { { 13 }, { base::StripLotId("S1"), base::ModelId("K1"), {}, {}, printed, period, start, start }, {} };
    stripVial = { { 14 }, { base::StripVialId("V1"), base::StripLotId("S1"), start, base::WardId("W1") }, {} };
    lowLot = { { 15 }, { base::ControlLotId("CL"), Level::Low, printed, period, start }, {} };
    highLot = { { 16 }, { base::ControlLotId("CH"), Level::High, printed, period, start }, {} };
    lowVial = { { 17 }, { base::ControlVialId("L1"), base::ControlLotId("CL"), start, base::WardId("W1") }, {} };
    highVial = { { 18 }, { base::ControlVialId("H1"), base::ControlLotId("CH"), start, base::WardId("W1") }, {} };
    lowRange = { { 19 },
        { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, mg, decimal("48"), decimal("72"), decimal("60"), decimal("3"),
            Stage::Established, start } };
    highRange = { { 20 },
        { base::StripLotId("S1"), base::ControlLotId("CH"), Level::High, mg, decimal("255"), decimal("345"), decimal("300"), decimal("9"),
            Stage::Established, start } };
}

RunContext Materials::contextOf(Level level) const
{
    const bool low = level == Level::Low;
    return { &model, &person, &stripVial, &stripLot, low ? &lowVial : &highVial, low ? &lowLot : &highLot, low ? &lowRange : &highRange,
        state };
}

acts::ControlRun aRun(const std::string& set, std::string_view time, Level level, const std::string& result)
{
    acts::ControlRun run;
    run.set = base::SetId(set);
    run.at = at(time);
    run.meter = base::MeterId("M1");
    run.by = base::OperatorId("N1");
    run.stripVial = base::StripVialId("V1");
    run.level = level;
    run.controlVial = base::ControlVialId(level == Level::Low ? "L1" : "H1");
    run.result = parseReading(result).value();
    return run;
}

SetRecord judgeSet(MeterSeries& series, const Materials& materials, const std::vector<acts::ControlRun>& runs, bool boundary)
{
    static std::int64_t seq = 100;
    std::vector<RunToJudge> input;
    for (const auto& run : runs)
        input.push_back({ { ++seq }, &run, materials.contextOf(run.level) });
    SetRecord record { { ++seq },
        series.judge(input, boundary, {}, berlin(), { [](base::Moment) { return std::vector<CountedResult>(); } }), {} };
    for (std::size_t i = 0; i < runs.size(); ++i)
        record.runs.push_back({ input[i].seq, input[i].seq, runs[i], record.judged.runs[i] });
    series.follow(record);
    return record;
}

SetRecord judgePairOf(MeterSeries& series, const Materials& materials, const std::string& set, std::string_view time,
    const std::string& low, const std::string& high)
{
    acts::ControlRun second = aRun(set, time, Level::High, high);
    second.at = berlin().at(second.at.utcMs + 2 * 60'000);
    return judgeSet(series, materials, { aRun(set, time, Level::Low, low), second });
}

std::vector<std::string> codesOf(const Fitness& fitness)
{
    std::vector<std::string> codes;
    for (const auto& reason : fitness.reasons)
        codes.emplace_back(code(reason.code));
    std::ranges::sort(codes);
    return codes;
}

std::vector<std::string> codesOf(const std::vector<ReasonCode>& reasons)
{
    std::vector<std::string> codes;
    for (const auto reason : reasons)
        codes.emplace_back(code(reason));
    return codes;
}

bool hasCode(const Fitness& fitness, std::string_view code)
{
    return std::ranges::any_of(fitness.reasons, [&](const Reason& reason) { return registry::code(reason.code) == code; });
}

} // namespace mk::registry::sample
