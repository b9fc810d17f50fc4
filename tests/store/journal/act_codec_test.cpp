// SPDX-License-Identifier: GPL-3.0-or-later
// Every act survives the way into the journal and back.
#include "store/journal/act_codec.h"

#include <gtest/gtest.h>

#include <set>

namespace mk::store {
namespace {

using namespace registry;

base::Moment when(std::int64_t minute, int offset = 120)
{
    return { 1'777'000'000'000 + minute * 60'000, offset };
}
base::Decimal codecDecimal(const char* typed)
{
    return base::Decimal::parse(typed).value();
}
Reading codecReading(const char* typed)
{
    return parseReading(typed).value();
}

acts::JudgedRun aJudgedRun()
{
    acts::JudgedRun run { { 7 }, Level::High, 2, true, {}, codecDecimal("255"), codecDecimal("345"), codecDecimal("300.0"),
        codecDecimal("9.00"), Stage::Established, true, 0.1, -1.25, 0.5, 301.5, true, true, { "1-2s", "10x" }, base::StripLotId("S1"),
        base::ControlLotId("CH"), Verdict::Warned };
    return run;
}

acts::SetJudged aSetJudged()
{
    acts::SetJudged set;
    set.set = base::SetId("s\"1/ä");
    set.meter = base::MeterId("M1");
    set.ward = base::WardId("W1");
    set.firstAt = when(0);
    set.lastAt = when(2);
    set.attempt = 2;
    set.verdict = Verdict::Warned;
    set.rules = { "1-2s", "10x" };
    set.shift = true;
    set.segmentStart = true;
    acts::JudgedRun invalid;
    invalid.run = { 8 };
    invalid.invalidBecause = { "unit-mismatch", "range-missing" };
    set.runs = { aJudgedRun(), invalid };
    set.drift = { true, 1.0 / 3.0, 4.25, 0, 17, when(1), {}, { "EWMA", "10x" }, when(1),
        { { Level::Low, -2.5, -4.1, 12, false }, { Level::High, 19.0, 6.3, 12, true } }, true };
    acts::UsualFinding usual;
    usual.score = 1.0 / 3.0;
    usual.up = 4.5;
    usual.upSince = usual.began = when(1);
    usual.told = "high";
    usual.ownStop = usual.lot = true;
    usual.apartSince = when(0);
    usual.stops = "lot";
    usual.stripLot = base::StripLotId("S1");
    acts::UsualLevelFinding level;
    level.level = Level::High;
    level.n = 20;
    level.sum = -0.1;
    level.newest = { 1.0 / 7.0, -2 };
    level.count = 22;
    level.apart = level.frozen = true;
    level.silentAt = 2.5;
    level.controlLot = base::ControlLotId("CH");
    level.base = 300, level.cv = 3, level.limit = 6;
    level.learned = 20;
    level.usual = 0.5, level.othersSlow = -1, level.othersMove = 0.25, level.u = -4;
    level.others = 11;
    usual.levels = { level };
    set.drift.usual = usual;
    set.policyVersion = 3;
    return set;
}

/// Fills every field of an act with something of its type; `bare` leaves out what may be left out.
struct FieldFiller {
    bool bare = false;

    template <typename T>
    void operator()(std::string_view, T& value, acts::Field)
    {
        fill(value);
    }
    template <typename T>
    void operator()(std::string_view, std::optional<T>& value, acts::Field)
    {
        if (!bare)
            fill(value.emplace());
    }

private:
    static void fill(std::string& value) { value = "a \"text\", with ä"; }
    static void fill(base::Decimal& value) { value = codecDecimal("6.20"); }
    static void fill(base::Moment& value) { value = when(7, 60); }
    static void fill(base::Date& value) { value = base::parseDate("2027-02-28").value(); }
    static void fill(base::Seq& value) { value = { 41 }; }
    static void fill(Reading& value) { value = codecReading("ERR:E-4"); }
    static void fill(base::GlucoseUnit& value) { value = base::GlucoseUnit::MmolPerL; }
    template <typename Tag>
    static void fill(base::Id<Tag>& value)
    {
        value = base::Id<Tag>("id-1");
    }
    template <Worded E>
    static void fill(E& value)
    {
        value = static_cast<E>(std::size(Words<E>::all) - 1);
    }
};

template <typename... A>
void addLooseActs(std::vector<Act>& into, std::tuple<A...>*)
{
    const auto add = [&]<typename T>(bool bare) {
        T act;
        FieldFiller filler { bare };
        T::describe(filler, act);
        into.emplace_back(std::move(act));
    };
    (add.template operator()<A>(false), ...);
    (add.template operator()<A>(true), ...);
}

/// One act of each kind with everything given, and the smallest one.
std::vector<Act> oneOfEach()
{
    using base::OperatorId;
    const base::MeterId m1("M1");
    const base::OperatorId n1("N1");
    const auto printed = base::parsePrintedDate("2027-02").value();
    const auto period = base::parsePeriod("3 m").value();
    const auto mg = base::GlucoseUnit::MgPerDl;
    const base::Date day = base::parseDate("2026-01-01").value();
    acts::SetJudged revised = aSetJudged();
    revised.oldVerdict = Verdict::Accepted;
    revised.because = base::Seq { 44 };
    std::vector<Act> all { acts::WardAdded { base::WardId("W1"), "Innere \"Medizin\"\n" }, acts::WardAdded { base::WardId("W2"), {} },
        acts::ModelAdded { base::ModelId("K1"), base::GlucoseUnit::MmolPerL, codecDecimal("1.1"), codecDecimal("33.30"), codecDecimal("20"),
            codecDecimal("65"), YesNo::No, YesNo::Yes, "file A" },
        acts::ModelAdded { base::ModelId("K2"), mg, {}, {}, {}, {}, {}, {}, {} },
        acts::MeterEnrolled { m1, base::ModelId("K1"), "4711", base::WardId("W1"), when(0), MeterState::Reserve },
        acts::MeterEnrolled { m1, base::ModelId("K1"), {}, base::WardId("W1"), when(0, 60), {} },
        acts::OperatorEnrolled { n1, "N. One", Role::Nurse, day, day }, acts::OperatorEnrolled { n1, {}, Role::Inspector, {}, {} },
        acts::StripLotReceived { base::StripLotId("S1"), base::ModelId("K1"), "0950", "25", printed, period, when(0), when(5) },
        acts::StripLotReceived { base::StripLotId("S1"), base::ModelId("K1"), {}, {}, {}, {}, {}, {} },
        acts::StripVialOpened { base::StripVialId("V1"), base::StripLotId("S1"), when(0), base::WardId("W1") },
        acts::StripVialOpened { base::StripVialId("V1"), base::StripLotId("S1"), {}, {} },
        acts::ControlLotReceived { base::ControlLotId("CL"), Level::Normal, printed, period, when(0) },
        acts::ControlLotReceived { base::ControlLotId("CL"), Level::Low, {}, {}, {} },
        acts::ControlVialOpened { base::ControlVialId("L1"), base::ControlLotId("CL"), when(0), base::WardId("W1") },
        acts::RangeAssigned { base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, mg, codecDecimal("48"), codecDecimal("72.0"),
            codecDecimal("60"), codecDecimal("3.00"), Stage::Interim, when(0) },
        acts::RangeAssigned {
            base::StripLotId("S1"), base::ControlLotId("CL"), Level::Low, mg, codecDecimal("48"), codecDecimal("72"), {}, {}, {}, {} },
        acts::ControlRun { base::SetId("s1"), when(3), m1, n1, base::StripVialId("V1"), Level::High, base::ControlVialId("H1"),
            codecReading("6.20"), base::GlucoseUnit::MmolPerL, "D2", "s0", "a remark, with \"quotes\"", "25" },
        acts::ControlRun { base::SetId("s1"), when(3), m1, n1, base::StripVialId("V1"), Level::High, base::ControlVialId("H1"),
            codecReading("HI"), mg, {}, {}, {}, {} },
        acts::ControlRun { base::SetId("s1"), when(3), m1, n1, base::StripVialId("V1"), Level::Low, base::ControlVialId("H1"),
            codecReading("LO"), mg, {}, {}, {}, {} },
        acts::ControlRun { base::SetId("s1"), when(3), m1, n1, base::StripVialId("V1"), Level::Low, base::ControlVialId("H1"),
            codecReading("ERR:E-4"), mg, {}, {}, {}, {} },
        acts::ComparisonRecorded { base::PairId("P1"), m1, when(1), when(4), n1, base::StripVialId("V1"), "X1", "venous",
            codecReading("105"), codecReading("110"), mg, codecDecimal("36") },
        acts::ComparisonRecorded {
            base::PairId("P1"), m1, when(1), when(4), n1, {}, {}, {}, codecReading("LO"), codecReading("110"), mg, {} },
        acts::IncidentReported { when(1), when(9), m1, n1, IncidentKind::WrongUnit, "showed mmol/L" },
        acts::IncidentReported { when(1), {}, m1, n1, IncidentKind::FieldNotice, {} },
        acts::ReturnStep { when(1), m1, n1, ReturnStepKind::ComparisonPassed, "five pairs" },
        acts::MeterMoved { when(1), m1, n1, MeterState::AtRepair, base::WardId("W2"), "sent off" },
        acts::MeterMoved { when(1), m1, n1, {}, base::WardId("W2"), {} }, acts::VialEnded { when(1), "V1", n1, VialEndKind::Quarantined },
        acts::LotEvent { when(1), "S1", n1, LotEventKind::Rejected, "warm parcel" },
        acts::EntryCorrected { when(1), n1, base::SetId("s1"), Level::Low, "comment", "", "62", "left out", OperatorId("N2") },
        acts::EntryCorrected { when(1), n1, base::SetId("s1"), Level::Low, "comment", "x", "", "wrong", {} },
        acts::EntryAnnulled { when(1), n1, "incidents.csv", "a/b", "wrong meter" }, acts::CorrectionConfirmed { when(1), n1, { 12 } },
        acts::LookbackClosed { when(1), n1, { 13 }, "no result in doubt" }, acts::NoteAdded { when(1), n1, m1, "a note" },
        acts::RegistryFounded { "3f0c1f9e", "Europe/Berlin", "Meterkeep 0.1" },
        acts::PolicyChanged { 2, when(8), { { "rules", "1-3s" }, { "clearance_hours", "12" } } },
        acts::PolicyChanged { 1, {}, { { "rules", "" } } }, aSetJudged(), revised, acts::SetJudged {},
        acts::PairJudged { base::PairId("P1"), m1, when(4), PairOutcome::Excluded, { "too far apart", "no number" }, "", 2 },
        acts::PairJudged { base::PairId("P1"), m1, when(4), PairOutcome::Outside, {}, "66 to 84 mg/dL", 1 },
        acts::MeterStopped { m1, when(1), false, "control-rejected", { 5 }, false, "policy 1" },
        acts::MeterStopped { m1, when(1), true, "wet", { 5 }, true, "policy 1" },
        acts::MeterReturned { m1, when(1), MeterState::Reserve, { 6 }, { { 3 }, { 4 } } },
        acts::MeterReturned { m1, when(1), MeterState::InService, { 6 }, {} },
        acts::LookbackOpened { m1, when(5), when(1), when(3), "dropped", { 9 } },
        acts::ClockNoticed { "forward", 31'536'000, when(0), when(9, 60) }, acts::ReviewOvertaken { "2026-05", { 8 }, { 9 } },
        acts::SecretSet { when(0), base::OperatorId("C1"), base::OperatorId("N1"), std::string(64, 'a'), true },
        acts::SecretRecovered {
            when(0), base::OperatorId("C1"), "the head of the laboratory", "forgotten over the summer", std::string(64, 'b') },
        acts::SignInFailed { when(0), base::OperatorId("N1"), 5, when(15) }, acts::SignInFailed { when(0), {}, 1, {} },
        acts::SignInUnlocked { when(0), base::OperatorId("C1"), base::OperatorId("N1"), "showed her badge" },
        acts::RecordsShown { when(0), base::OperatorId("I1"), "meter M-07" },
        acts::BackupMade { when(0), "ward.mkr", { 8 }, std::string(64, 'c') },
        acts::RegistryRestored { when(0), "ward.mkr", { 8 }, std::string(64, 'c'), base::Seq { 9 }, std::string(64, 'd') },
        acts::RegistryMoved { when(0), "the server", { 8 }, std::string(64, 'c') },
        acts::PolicyChanged { 3, when(8), { { "rules", "1-3s" } }, n1, "a calendar day suits the ward" } };
    addLooseActs(all, static_cast<LooseActs*>(nullptr));
    return all;
}

} // namespace

TEST(ActCodec, EveryActReadsBackAsItWasWritten)
{
    for (const auto& act : oneOfEach()) {
        for (const bool imported : { false, true }) {
            const std::string text = bodyOf(act, imported).canonical();
            const auto body = Json::parse(text);
            ASSERT_TRUE(body) << kindOf(act) << ": " << body.error().text;
            EXPECT_EQ(isImported(*body), imported);
            const auto back = actFrom(kindOf(act), *body);
            ASSERT_TRUE(back) << kindOf(act) << ": " << back.error().text;
            EXPECT_EQ(back->index(), act.index());
            EXPECT_EQ(kindOf(*back), kindOf(act));
            EXPECT_EQ(bodyOf(*back, imported).canonical(), text) << kindOf(act);
        }
    }
}

TEST(ActCodec, EveryKindOfActIsTried)
{
    std::set<std::size_t> tried;
    std::set<std::string_view> kinds;
    for (const auto& act : oneOfEach()) {
        tried.insert(act.index());
        kinds.insert(kindOf(act));
    }
    EXPECT_EQ(tried.size(), std::variant_size_v<Act>);
    EXPECT_EQ(kinds.size(), std::variant_size_v<Act> + 2) << "control.judged and verdict.revised, meter.held and meter.withdrawn";
}

TEST(ActCodec, KeepsWhatWasTypedAndEveryBitOfWhatWasComputed)
{
    const auto run = std::get<acts::ControlRun>(actFrom("control.run",
        bodyOf(acts::ControlRun { base::SetId("s1"), when(3), base::MeterId("M1"), base::OperatorId("N1"), base::StripVialId("V1"),
                   Level::High, base::ControlVialId("H1"), codecReading("6.20"), base::GlucoseUnit::MmolPerL, {}, {}, {}, {} },
            false))
                                                    .value());
    EXPECT_EQ(toText(run.result), "6.20");
    EXPECT_EQ(run.unit, base::GlucoseUnit::MmolPerL);
    EXPECT_EQ(run.at.offsetMinutes, 120);
    EXPECT_FALSE(run.reason);

    const auto set = std::get<acts::SetJudged>(actFrom("control.judged", bodyOf(aSetJudged(), false)).value());
    EXPECT_EQ(set.drift.ewma, 1.0 / 3.0);
    EXPECT_EQ(set.runs[0].z, 0.1);
    EXPECT_EQ(set.runs[0].sd->typed(), "9.00");
    EXPECT_EQ(set.runs[1].invalidBecause, (std::vector<std::string> { "unit-mismatch", "range-missing" }));
    EXPECT_EQ(set.drift.highSince, when(1));
    EXPECT_FALSE(set.drift.lowSince);
    ASSERT_EQ(set.drift.bias.size(), 2U);
    EXPECT_TRUE(set.drift.bias[1].beyondHalfLimit);
}

TEST(ActCodec, RefusesWhatItCannotRead)
{
    const auto refused = [](std::string_view kind, std::string_view body) {
        const auto act = actFrom(kind, Json::parse(body).value());
        return !act && act.error().kind == base::FaultKind::Damaged;
    };
    EXPECT_TRUE(refused("nothing.known", "{}"));
    EXPECT_TRUE(refused("ward.added", "{}"));
    EXPECT_TRUE(refused("ward.added", "{\"ward\":1}"));
    EXPECT_TRUE(refused("ward.added", "[]"));
    EXPECT_TRUE(refused("vial.ended", R"({"at":"2026-05-04T07:00:00+02:00","how":"lost","operator":"N1","vial":"V1"})"));
    EXPECT_TRUE(refused("vial.ended", R"({"at":"yesterday","how":"empty","operator":"N1","vial":"V1"})"));
    EXPECT_TRUE(refused("control.judged", "{}"));
    EXPECT_FALSE(refused("vial.ended", R"({"at":"2026-05-04T07:00:00+02:00","how":"empty","operator":"N1","vial":"V1"})"));
}

TEST(ActCodec, RefusesNumbersThatDoNotFitAndAKindThatIsNotTheBodys)
{
    Json body = bodyOf(aSetJudged(), false);
    const std::string good = body.canonical();
    const auto readAs = [](std::string_view kind, const std::string& text) {
        const auto json = Json::parse(text);
        return json && bool(actFrom(kind, *json));
    };
    const auto with = [&](const std::string& from, const std::string& to) {
        std::string text = good;
        const auto at = text.find(from);
        EXPECT_NE(at, std::string::npos) << from << " in " << good;
        return text.replace(at, from.size(), to);
    };
    EXPECT_TRUE(readAs(acts::SetJudged::kind, good));
    EXPECT_FALSE(readAs(acts::SetJudged::kindRevised, good)) << "nothing says what the verdict was before";
    EXPECT_FALSE(readAs(acts::SetJudged::kind, with("\"attempt\":2", "\"attempt\":4294967298"))) << "would be read as 2";
    EXPECT_FALSE(readAs(acts::SetJudged::kind, with("\"ewma\":\"0.3333333333333333\"", "\"ewma\":\"inf\"")));
    EXPECT_FALSE(readAs(acts::SetJudged::kind, with("\"ewma\":\"0.3333333333333333\"", "\"ewma\":\"nan\"")));
}

TEST(ExactText, IsTheShortestThatReadsBack)
{
    EXPECT_EQ(exactText(0.1), "0.1");
    EXPECT_EQ(exactText(2.0), "2");
    for (const double value : { 1.0 / 3.0, 2.0000000000000018, -1e-300, 4.25 })
        EXPECT_EQ(std::stod(exactText(value)), value);
}

} // namespace mk::store
