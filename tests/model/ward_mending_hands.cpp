// SPDX-License-Identifier: GPL-3.0-or-later
// What somebody undoes, and the second person who says so too: corrections, annulments, ranges typed twice.
#include "model/ward_hands.h"

#include <algorithm>
#include <tuple>

namespace mk::model {

using namespace registry;

namespace {

base::Decimal limit(const std::string& text)
{
    return base::Decimal::parse(text).value();
}

bool waitsStill(const Fact& fact)
{
    return fact.waits && fact.confirmed == kNever;
}

/// Is it of a set that clears no meter, of the last days?
bool isFailure(const Reference& reference, const Fact& fact, std::int64_t now)
{
    const auto& run = Reference::as<acts::ControlRun>(fact);
    const auto sets = reference.sets(run.meter.value, now);
    const auto set = std::ranges::find(sets, run.set.value, &Reference::Judged::set);
    return fact.annulled == kNever && now - fact.told < 3 * kDay && set != sets.end() && !set->good();
}

} // namespace

/// Mostly somebody who may; now and then whoever has a part in it.
std::string Hands::second(const std::set<std::string>& parts)
{
    std::vector<std::string> free;
    for (const char* person : { "N1", "N2", "N3", "C1", "C1" })
        if (m_reference.maySecond(person, parts, m_now))
            free.emplace_back(person);
    return free.empty() || chance(40) ? pick<std::string>({ "N1", "N1", "N2", "N3", "C1", "I1" }) : pick(free);
}

Hands::Made Hands::correction()
{
    const auto runs = m_reference.all<acts::ControlRun>();
    if (runs.empty())
        return {};
    auto speaksOf = runs[runs.size() - 1 - draw(std::min<std::size_t>(runs.size(), 6))];
    if (chance(60)) // a failure is looked into first
        for (const auto* other : runs)
            if (isFailure(m_reference, *other, m_now))
                speaksOf = other;
    const auto& fact = *speaksOf;
    const auto& run = Reference::runAt(fact, kNever);
    for (const auto* other : runs) // a correction speaks of the newest attempt
        if (other->seq > fact.seq && Reference::as<acts::ControlRun>(*other).set == run.set
            && Reference::as<acts::ControlRun>(*other).level == run.level)
            return {};
    if (run.unit != base::GlucoseUnit::MgPerDl || std::holds_alternative<High>(run.result) || std::holds_alternative<Low>(run.result))
        return {};
    acts::EntryCorrected correction { at(), chance(80) ? run.by : anyone(), run.set, run.level, "result", toText(run.result), {},
        "transposed", {}, {} };
    correction.newText = run.level == Level::Low ? pick<std::string>({ "61", "62", "60", "60", "26", "79" })
                                                 : pick<std::string>({ "301", "299", "300", "300", "400" });
    if (correction.newText == correction.oldText)
        correction.newText += ".0";
    if (chance(12))
        correction.column = "strip_vial", correction.oldText = run.stripVial.value,
        correction.newText = run.stripVial.value == "V2" ? "V3" : "V2";
    else if (chance(12))
        correction.column = "operator", correction.oldText = run.by.value, correction.newText = run.by.value == "N1" ? "N2" : "N1";
    if (chance(30))
        correction.confirmedBy = base::OperatorId(second({ correction.by.value, run.by.value }));
    if (chance(20))
        m_author = pick<std::string>({ "N1", "N2", "C1", "I1" }); // somebody enters it for another
    return { correction };
}

Hands::Made Hands::annulment()
{
    std::vector<std::pair<std::string, std::string>> keys, failed;
    std::map<std::string, int> rows;
    for (const auto& fact : m_reference.facts()) {
        std::string key = keyOf(fact.act);
        if (std::holds_alternative<acts::ControlRun>(fact.act))
            key += "/" + std::to_string(++rows[key]);
        const bool may = std::holds_alternative<acts::ControlRun>(fact.act) || std::holds_alternative<acts::IncidentReported>(fact.act)
            || std::holds_alternative<acts::ComparisonRecorded>(fact.act) || std::holds_alternative<acts::LotEvent>(fact.act)
            || std::holds_alternative<acts::VialEnded>(fact.act)
            || (std::holds_alternative<acts::RangeAssigned>(fact.act) && !fact.takenOver);
        if (may && fact.annulled == kNever)
            keys.emplace_back(fileOf(fact.act), key);
        if (std::holds_alternative<acts::ControlRun>(fact.act) && isFailure(m_reference, fact, m_now))
            failed.emplace_back(fileOf(fact.act), key);
    }
    if (keys.empty())
        return {};
    auto [file, key] = keys[keys.size() - 1 - draw(std::min<std::size_t>(keys.size(), 5))];
    if (!failed.empty() && chance(40))
        std::tie(file, key) = pick(failed);
    acts::EntryAnnulled annulment { at(), chance(70) ? base::OperatorId("C1") : anyone(), file, key, "entered by mistake", {}, {} };
    if (chance(25))
        annulment.confirmedBy = base::OperatorId(second({ annulment.by.value }));
    return { annulment };
}

/// The second person's word on what waits, if anything does.
Hands::Made Hands::confirmation()
{
    std::vector<const Fact*> mendings, waiting;
    for (const auto& fact : m_reference.facts())
        if (std::holds_alternative<acts::EntryCorrected>(fact.act) || std::holds_alternative<acts::EntryAnnulled>(fact.act)) {
            mendings.push_back(&fact);
            if (waitsStill(fact))
                waiting.push_back(&fact);
        }
    if (mendings.empty())
        return {};
    const Fact& mending = *(waiting.empty() || chance(10) ? pick(mendings) : pick(waiting));
    return { acts::CorrectionConfirmed { at(), base::OperatorId(second(m_reference.partsIn(mending))), base::Seq(mending.seq) } };
}

/// Wider or narrower limits than the ward took over, sometimes dated back: they judge what is run from now on.
Hands::Made Hands::range()
{
    acts::RangeAssigned range;
    const bool low = chance(60);
    range.stripLot = base::StripLotId(chance(80) ? "S1" : "S2");
    range.controlLot = base::ControlLotId(low ? "CL" : "CH");
    range.level = low ? Level::Low : Level::High;
    range.unit = base::GlucoseUnit::MgPerDl;
    range.low = limit(low ? pick<std::string>({ "46", "50", "57" }) : pick<std::string>({ "250", "260", "290" }));
    range.high = limit(low ? pick<std::string>({ "69", "74", "80" }) : pick<std::string>({ "309", "350", "365" }));
    range.from = at(chance(50) ? 0 : static_cast<std::int64_t>(draw(3 * 24 * 60)) * kMinute);
    if (chance(8))
        range.mean = limit(low ? "60" : "300"), range.sd = limit(low ? "3" : "9"), range.stage = Stage::Interim;
    m_author = pick<std::string>({ "N1", "N1", "N2", "N3", "C1", "I1", "" });
    return { range };
}

Hands::Made Hands::rangeAgain()
{
    std::vector<const Fact*> waiting;
    for (const auto* fact : m_reference.all<acts::RangeAssigned>())
        if (waitsStill(*fact))
            waiting.push_back(fact);
    if (waiting.empty())
        return {};
    const Fact& fact = *waiting.back();
    const auto& range = Reference::as<acts::RangeAssigned>(fact);
    acts::RangeConfirmed again { at(), base::OperatorId(second({ fact.person })), range.stripLot, range.controlLot, range.level, range.low,
        range.high, {} };
    if (chance(15))
        again.high = limit("71");
    return { again };
}

} // namespace mk::model
