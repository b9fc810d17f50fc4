// SPDX-License-Identifier: GPL-3.0-or-later
// What happens every day: controls, incidents, stops and returns, comparisons.
#include "model/ward_hands.h"

#include <algorithm>

namespace mk::model {

using namespace registry;
using S = MeterState;

namespace {

base::Decimal number(const std::string& text)
{
    return base::Decimal::parse(text).value();
}

} // namespace

Hands::Hands(const Reference& reference, std::uint64_t seed, int step, std::vector<std::int64_t> opened)
    : m_reference(reference),
      m_random(seed * 1'000'003 + static_cast<std::uint64_t>(step)),
      m_opened(std::move(opened)),
      m_step(step)
{
    m_random.discard(8);
}

std::int64_t Hands::pause()
{
    const auto minutes = [&](std::uint64_t from, std::uint64_t to) { return static_cast<std::int64_t>(from + draw(to - from)) * kMinute; };
    switch (draw(20)) {
    case 0:
    case 1:
    case 2:
    case 3:
    case 4:
    case 5: return minutes(4, 25);
    case 6:
    case 7:
    case 8:
    case 9:
    case 10:
    case 11:
    case 12: return minutes(30, 6 * 60);
    case 13:
    case 14:
    case 15:
    case 16:
    case 17: return minutes(6 * 60, 22 * 60);
    case 18: return minutes(24 * 60, 4 * 24 * 60);
    default: return chance(30) ? minutes(5 * 24 * 60, 40 * 24 * 60) : 24 * kHour;
    }
}

std::vector<Act> Hands::acts(std::int64_t now)
{
    m_now = now;
    struct Choice {
        int weight;
        Made (Hands::*make)();
    };
    static constexpr Choice kChoices[] = { { 30, &Hands::controlSet }, { 5, &Hands::repeat }, { 3, &Hands::lateSet },
        { 7, &Hands::incident }, { 5, &Hands::returnStep }, { 9, &Hands::returnPath }, { 6, &Hands::movement }, { 30, &Hands::acceptance },
        { 5, &Hands::comparison }, { 6, &Hands::correction }, { 5, &Hands::annulment }, { 7, &Hands::confirmation }, { 3, &Hands::range },
        { 4, &Hands::rangeAgain }, { 6, &Hands::lookback }, { 3, &Hands::vialEnd }, { 3, &Hands::lotEvent }, { 6, &Hands::newThing },
        { 18, &Hands::paper }, { 14, &Hands::lotPaper } };
    int sum = 0;
    for (const auto& choice : kChoices)
        sum += choice.weight;
    for (int again = 0; again < 20; ++again) {
        int left = static_cast<int>(draw(static_cast<std::uint64_t>(sum)));
        for (const auto& choice : kChoices) {
            left -= choice.weight;
            if (left >= 0)
                continue;
            m_author.clear();
            if (Made made = (this->*choice.make)(); !made.empty())
                return made;
            break;
        }
    }
    return controlSet();
}

std::string Hands::aResult(Level level)
{
    const bool low = level == Level::Low;
    switch (draw(50)) {
    case 0: return low ? "73" : "360";
    case 1: return low ? "78" : "346";
    case 2: return "HI";
    case 3: return low ? "LO" : "HI";
    case 4:
    case 5: return "ERR:E4";
    case 6: return low ? "70" : "330"; // within the range, beyond 3 SD
    case 7: return low ? "60.0" : "300.0";
    default: return low ? pick<std::string>({ "58", "59", "60", "61", "62" }) : pick<std::string>({ "294", "298", "300", "303", "306" });
    }
}

acts::ControlRun Hands::aRun(const std::string& set, const base::MeterId& meter, Level level, std::int64_t before)
{
    acts::ControlRun run;
    run.set = base::SetId(set);
    run.at = at(before);
    run.meter = meter;
    run.level = level;
    run.by = base::OperatorId(chance(90) ? "N1" : pick<std::string>({ "N2", "C1" }));
    run.result = parseReading(aResult(level)).value();
    run.unit = chance(97) ? base::GlucoseUnit::MgPerDl : base::GlucoseUnit::MmolPerL;
    if (run.unit == base::GlucoseUnit::MmolPerL)
        run.result = number("3.4");
    // Mostly what is fit for use; sometimes whatever lies on the table.
    std::vector<std::string> strips, controls;
    const bool careless = chance(6);
    const auto opened = [&](std::optional<base::Moment> when) { return careless || (when && *when <= run.at); };
    for (const auto* fact : m_reference.all<acts::StripVialOpened>())
        if (const auto& vial = Reference::as<acts::StripVialOpened>(*fact); opened(vial.opened)
            && (careless || (m_reference.vialUsable(vial.vial.value, run.at.utcMs) && m_reference.suits(vial.vial.value, meter.value))))
            strips.push_back(vial.vial.value);
    for (const auto* fact : m_reference.all<acts::ControlVialOpened>()) {
        const auto& vial = Reference::as<acts::ControlVialOpened>(*fact);
        const bool right = vial.lot.value == (level == Level::Low ? "CL" : "CH") || (chance(3) && vial.lot.value == "CL2");
        if (right && opened(vial.opened) && (careless || m_reference.vialUsable(vial.vial.value, run.at.utcMs)))
            controls.push_back(vial.vial.value);
    }
    run.stripVial = base::StripVialId(strips.empty() ? "V2" : strips[draw(std::min<std::size_t>(strips.size(), chance(75) ? 1 : 9))]);
    run.controlVial = base::ControlVialId(controls.empty() ? (level == Level::Low ? "L1" : "H1") : pick(controls));
    if (chance(20))
        run.comment = "as usual";
    return run;
}

Hands::Made Hands::controlSet()
{
    const auto meter = aMeter();
    const std::string set = named("s");
    auto low = aRun(set, meter, Level::Low, 2 * kMinute), high = aRun(set, meter, Level::High, kMoment);
    if (chance(85))
        high.stripVial = low.stripVial, high.by = low.by;
    if (chance(8)) // called away
        return { chance(50) ? Act(low) : Act(high) };
    return { low, high };
}

/// One more run in the newest set: a level that failed or lacks, on the same vials or others.
Hands::Made Hands::repeat()
{
    const auto meter = aMeter();
    const auto sets = m_reference.sets(meter.value, m_now);
    if (sets.empty() || m_now - sets.back().last > 2 * kDay)
        return {};
    auto run = aRun(sets.back().set, meter, chance(50) ? Level::Low : Level::High, kMoment);
    if (sets.back().good())
        return {};
    run.repeatOf = sets.back().set;
    if (chance(30))
        run.deviation = "asked by the coordinator";
    return { run };
}

Hands::Made Hands::lateSet()
{
    const auto meter = aMeter();
    const std::string set = named("late");
    const auto before = static_cast<std::int64_t>(30 + draw(48 * 60)) * kMinute + 17'000;
    auto low = aRun(set, meter, Level::Low, before + 2 * kMinute), high = aRun(set, meter, Level::High, before);
    high.stripVial = low.stripVial, high.by = low.by;
    low.lateReason = high.lateReason = "the workstation was down";
    if (chance(65))
        low.form = high.form = "P-" + set;
    return { low, high };
}

Hands::Made Hands::incident()
{
    acts::IncidentReported incident;
    const auto late = chance(25) ? static_cast<std::int64_t>(draw(40 * 60)) * kMinute : 0;
    incident.at = at(late + 13'000);
    if (chance(60))
        incident.noticedAt = at();
    incident.meter = aMeter();
    incident.by = anyone();
    incident.what = chance(25) ? pick<IncidentKind>({ IncidentKind::ErrorCode, IncidentKind::Cleaned })
                               : static_cast<IncidentKind>(draw(std::size(Words<IncidentKind>::all)));
    if (incident.what == IncidentKind::Cleaned)
        incident.agent = "wipe", incident.contactTimeKept = YesNo::Yes;
    if (incident.what == IncidentKind::ErrorCode)
        incident.detail = "E3";
    return { incident };
}

Hands::Made Hands::returnStep()
{
    return { acts::ReturnStep { at(), aMeter(), anyone(), static_cast<ReturnStepKind>(draw(4)), {} } };
}

/// What brings a stopped meter nearer to its return.
Hands::Made Hands::returnPath()
{
    std::vector<std::string> stopped;
    for (const auto& meter : m_reference.meters())
        if (const auto state = m_reference.stateAt(meter, m_now); state == S::OnHold || state == S::Withdrawn)
            stopped.push_back(meter);
    if (stopped.empty())
        return {};
    const base::MeterId meter(pick(stopped));
    switch (draw(6)) {
    case 0:
    case 1: return { acts::ReturnStep { at(), meter, base::OperatorId("C1"), ReturnStepKind::Inspected, "looked at" } };
    case 2:
    case 3: return { acts::ReturnStep { at(), meter, base::OperatorId(chance(70) ? "C1" : "N1"), ReturnStepKind::Signed, "cause found" } };
    default: break;
    }
    const std::string set = named("back");
    auto low = aRun(set, meter, Level::Low, 2 * kMinute), high = aRun(set, meter, Level::High, kMoment);
    low.result = number("60"), high.result = number("300"), low.by = high.by = base::OperatorId("N1"), high.stripVial = low.stripVial;
    return { low, high };
}

Hands::Made Hands::movement()
{
    acts::MeterMoved move;
    move.at = at();
    move.meter = aMeter();
    move.by = chance(75) ? base::OperatorId("C1") : anyone();
    move.reason = "because";
    move.document = "P-1", move.memoryCleared = YesNo::Yes, move.labelled = YesNo::Yes, move.lastSeen = "store room",
    move.condition = "clean";
    const S from = m_reference.stateAt(move.meter.value, m_now);
    if (const auto moved = m_reference.all<acts::MeterMoved>(); chance(25))
        for (auto fact = moved.rbegin(); fact != moved.rend(); ++fact) // the receiving ward's word
            if (const auto& sent = Reference::as<acts::MeterMoved>(**fact); sent.toWard)
                return { acts::TransferConfirmed { at(), sent.meter, anyone(), *sent.toWard } };
    if (from == S::InService && chance(25)) {
        move.toWard = base::WardId(m_reference.wardOf(move.meter.value) == "W1" ? "W2" : "W1");
        return { move };
    }
    move.toState = static_cast<S>(draw(std::size(Words<S>::all)));
    if (chance(65)) { // a way that there is
        std::vector<S> ways;
        for (int to = 0; to < static_cast<int>(std::size(Words<S>::all)); ++to)
            if (isTransition(from, static_cast<S>(to), Role::Coordinator, false) && static_cast<S>(to) != S::Retired)
                ways.push_back(static_cast<S>(to));
        if (!ways.empty())
            move.toState = pick(ways);
    }
    return { move };
}

/// What brings a delivered or repaired meter into service.
Hands::Made Hands::acceptance()
{
    std::vector<std::string> waiting;
    for (const auto& meter : m_reference.meters())
        if (const auto state = m_reference.stateAt(meter, m_now); state == S::Received || state == S::Acceptance || state == S::AtRepair)
            waiting.push_back(meter);
    if (waiting.empty())
        return {};
    const base::MeterId meter(pick(waiting));
    acts::MeterMoved move;
    move.at = at(), move.meter = meter, move.by = coordinator(), move.reason = "delivered", move.document = "P-2";
    if (m_reference.stateAt(meter.value, m_now) != S::Acceptance) {
        move.toState = S::Acceptance;
        return { move };
    }
    switch (draw(5)) {
    case 0:
    case 1: {
        Made list;
        for (int item = 0; item < static_cast<int>(std::size(Words<AcceptanceItem>::all)); ++item)
            list.push_back(
                acts::AcceptanceChecked { at(), meter, base::OperatorId("C1"), static_cast<AcceptanceItem>(item), YesNo::Yes, "seen" });
        return list;
    }
    case 2: {
        const std::string set = named("acc");
        auto low = aRun(set, meter, Level::Low, 2 * kMinute), high = aRun(set, meter, Level::High, kMoment);
        high.stripVial = low.stripVial;
        return { low, high };
    }
    default: move.toState = chance(70) ? S::InService : S::Reserve; return { move };
    }
}

Hands::Made Hands::comparison()
{
    acts::ComparisonRecorded pair;
    pair.pair = base::PairId(named("p"));
    pair.meter = aMeter();
    pair.meterAt = at(20 * kMinute + 5'000);
    pair.labAt = at(chance(85) ? 12 * kMinute : 0);
    pair.by = base::OperatorId("N1");
    pair.unit = base::GlucoseUnit::MgPerDl;
    pair.sample = "key-" + pair.pair.value;
    const bool twoWays = m_reference.expect(pair.meter.value, m_now).must.contains("comparison-failed");
    if (twoWays) { // the repeat belongs to the same day; on another one only a good pair is told
        std::int64_t last = 0;
        for (const auto* fact : m_reference.all<acts::ComparisonRecorded>())
            if (const auto& other = Reference::as<acts::ComparisonRecorded>(*fact); other.meter == pair.meter)
                last = std::max(last, std::max(other.meterAt, other.labAt).utcMs);
        const bool sameDay = m_reference.zone().dateOf(m_reference.zone().at(last)) == m_reference.zone().dateOf(pair.labAt);
        pair.meterResult = number(sameDay && chance(50) ? "140" : "104");
    } else {
        pair.meterResult = number(chance(75) ? "112" : "113"); // 12 % of 100, and just beyond
    }
    pair.labResult = number("100");
    if (chance(20))
        pair.haematocrit = number(chance(50) ? "40" : "66");
    return { pair };
}

Hands::Made Hands::vialEnd()
{
    std::vector<std::string> open;
    for (const auto* fact : m_reference.all<acts::StripVialOpened>())
        open.push_back(Reference::as<acts::StripVialOpened>(*fact).vial.value);
    for (const auto* fact : m_reference.all<acts::ControlVialOpened>())
        open.push_back(Reference::as<acts::ControlVialOpened>(*fact).vial.value);
    return { acts::VialEnded { at(chance(80) ? 7'000 : 3 * kHour + 7'000), chance(60) ? open.back() : pick(open),
        base::OperatorId(chance(80) ? "N1" : "C1"), static_cast<VialEndKind>(draw(3)) } };
}

Hands::Made Hands::lotEvent()
{
    acts::LotEvent event { at(chance(80) ? 9'000 : 5 * kHour + 9'000), pick<std::string>({ "S1", "S1", "S2", "CL2", "S3", "CL" }),
        coordinator(),
        chance(45)       ? LotEventKind::Released
            : chance(75) ? LotEventKind::Quarantined
                         : LotEventKind::Rejected,
        "letter", {} };
    if (event.what == LotEventKind::Released)
        event.noSamples = "too little blood that day";
    if (event.what == LotEventKind::Released && chance(60))
        event.releasedElsewhere = "sheet 14";
    if (event.what == LotEventKind::Quarantined)
        event.inDoubt = chance(30) ? YesNo::Yes : YesNo::No;
    return { event };
}

} // namespace mk::model
