// SPDX-License-Identifier: GPL-3.0-or-later
// What happens now and then: look-backs, new people and lots, papers, notices, nonconformities, signed months.
#include "model/ward_hands.h"

#include <algorithm>

namespace mk::model {

using namespace registry;

namespace {

base::Decimal decimalOf(const std::string& text)
{
    return base::Decimal::parse(text).value();
}

} // namespace

Hands::Made Hands::newThing()
{
    const auto expiry = base::parsePrintedDate("2030-12").value();
    const auto period = base::parsePeriod("90 d").value();
    switch (draw(12)) {
    case 0: return { acts::WardAdded { base::WardId(named("W")), "a new ward" } };
    case 1:
        return { acts::ModelAdded { base::ModelId(named("K")), base::GlucoseUnit::MmolPerL, decimalOf("1.1"), decimalOf("33.3"), {}, {},
            YesNo::No, YesNo::Yes, {} } };
    case 2:
        return { acts::MeterEnrolled {
            base::MeterId(named("M")), base::ModelId("K1"), named("serial"), base::WardId("W2"), at(), MeterState::Received } };
    case 3: return { acts::OperatorEnrolled { base::OperatorId(named("N")), "somebody new", Role::Nurse, {}, {} } };
    case 4: return { acts::StripLotReceived { base::StripLotId(named("S")), base::ModelId("K1"), {}, {}, expiry, period, at(), {} } };
    case 5: return { acts::ControlLotReceived { base::ControlLotId(named("C")), Level::Low, expiry, period, at() } };
    case 6:
        return { acts::ControlVialOpened {
            base::ControlVialId(named("c")), base::ControlLotId(chance(50) ? "CL" : "CH"), at(), base::WardId("W1") } };
    case 7:
        return { acts::RangeAssigned { base::StripLotId("S2"), base::ControlLotId("CL2"), Level::Low, base::GlucoseUnit::MgPerDl,
            decimalOf("45"), decimalOf("70"), {}, {}, Stage::Range, at(), {} } };
    case 8: // undated: it clears nothing
        return { acts::StripVialOpened { base::StripVialId(named("v")), base::StripLotId("S1"), {}, base::WardId("W1"), YesNo::Yes } };
    default:
        return { acts::StripVialOpened {
            base::StripVialId(named("v")), base::StripLotId(chance(85) ? "S1" : "S2"), at(), base::WardId("W1"), {} } };
    }
}

Hands::Made Hands::lookback()
{
    if (m_opened.empty() || chance(15)) {
        const auto meter = aMeter();
        const auto sets = m_reference.sets(meter.value, m_now);
        if (sets.empty())
            return {};
        const auto newest = m_reference.zone().at(sets.back().first);
        if (!m_opened.empty() || chance(40)) // of its own accord, also from a time before it was in service
            return { acts::LookbackAsked { at(), coordinator(), meter,
                m_reference.zone().at(newest.utcMs - (chance(85) ? kHour : 3000 * kDay)), newest,
                pick<std::string>({ "technique", "strip-lot", "drift" }), {}, {} } };
        if (!sets.back().good())
            return {};
        // Told late, after an accepted set already followed: the registry opens one.
        return { acts::IncidentReported { m_reference.zone().at(newest.utcMs - 20 * kMinute - 13'000), at(), meter, base::OperatorId("N1"),
            IncidentKind::Dropped, {}, {}, {}, {} } };
    }
    const base::Seq opened { pick(m_opened) };
    const auto reopening = [&](base::Seq which) {
        return acts::LookbackReopened { at(), coordinator(), which, chance(95) ? "two more results came up" : "" };
    };
    if (const auto decided = m_reference.all<acts::LookbackClosed>(); !decided.empty() && chance(60))
        return { reopening(Reference::as<acts::LookbackClosed>(*pick(decided)).entry) };
    switch (draw(4)) {
    case 0: {
        const auto today = m_reference.zone().dateOf(at());
        return { acts::LookbackAssigned { at(), coordinator(), opened, chance(95) ? "the head of the ward" : " ",
            chance(90) ? base::addMonths(today, 1) : base::addMonths(today, -1) } };
    }
    case 1: return { reopening(opened) };
    default:
        return { acts::LookbackClosed {
            at(), coordinator(), opened, "random", decimalOf("4"), decimalOf("0"), YesNo::No, {}, {}, "the ward's physician", {}, {} } };
    }
}

Hands::Made Hands::paper()
{
    const std::string scheme = "ring", event = "E" + std::to_string(draw(2)), sample = "A" + std::to_string(draw(2));
    const auto samples = m_reference.all<acts::EqaReceived>();
    const auto received = samples.empty() || chance(20) ? acts::EqaReceived { {}, {}, scheme, event, sample, {}, {}, {}, {} }
                                                        : Reference::as<acts::EqaReceived>(*pick(samples));
    const auto returned = m_reference.all<acts::EqaReturned>();
    const std::uint64_t next = !returned.empty() && chance(25) ? 11 : !samples.empty() && chance(35) ? 10 : draw(20);
    switch (next) {
    case 0: return { acts::NoteAdded { at(), anyone(), aMeter(), "a note" } };
    case 1:
        return { acts::MeterDescribed {
            at(), aMeter(), coordinator(), "Maker", "0123", "2.1", "edition 4", "new", "wipe", "2 min", "20-600" } };
    case 2: return { acts::AcceptanceChecked { at(), aMeter(), coordinator(), static_cast<AcceptanceItem>(draw(6)), YesNo::Yes, "seen" } };
    case 3: {
        auto meter = aMeter();
        for (const auto* fact : m_reference.all<acts::MeterMoved>())
            if (const auto& move = Reference::as<acts::MeterMoved>(*fact); move.toWard && chance(80))
                meter = move.meter;
        return { acts::TransferConfirmed { at(), meter, anyone(), base::WardId(chance(85) ? m_reference.wardOf(meter.value) : "W2") } };
    }
    case 4:
        return { acts::CalibrationVerified { at(), aMeter(), coordinator(), "material", base::GlucoseUnit::MgPerDl, decimalOf("50"),
            decimalOf("51"), decimalOf("150"), decimalOf("149"), decimalOf("400"), decimalOf("402") } };
    case 5: {
        const auto closed = chance(20) ? std::optional(YesNo::Yes) : std::nullopt;
        return { acts::OperatorChanged { at(), coordinator(), base::OperatorId("N3"), "another name", {}, closed } };
    }
    case 6:
        return { acts::CompetencyAssessed { at(), coordinator(), base::OperatorId("N3"), {}, CompetencyStanding::Competent,
            base::parseDate("2027-06-30").value(), "observed-testing recording review maintenance unknown-sample problem-solving", {} } };
    case 7: return { acts::ShiftBegun { at(), anyone(), base::WardId("W1") } };
    case 8: return { acts::ShiftEnded { at(), anyone(), base::WardId("W1") } };
    case 9:
        return { acts::EqaReceived {
            at(), coordinator(), scheme, event, sample, m_reference.zone().at(m_now + 9 * kDay), base::MeterId("M1"), "cold", {} } };
    case 10:
        return { acts::EqaReturned { at(), base::OperatorId("N1"), scheme, received.event, received.sample, base::StripVialId("V3"),
            parseReading("101").value(), base::GlucoseUnit::MgPerDl, at(), YesNo::Yes } };
    case 11:
        return { acts::EqaScored { at(), coordinator(), scheme,
            returned.empty() ? event : Reference::as<acts::EqaReturned>(*returned.back()).event,
            returned.empty() ? sample : Reference::as<acts::EqaReturned>(*returned.back()).sample, decimalOf("100"), decimalOf("4"),
            "the same model", {}, {}, "C1" } };
    case 12:
        return { acts::TechniqueChecked { at(), aMeter(), base::OperatorId("C1"), base::OperatorId("N1"),
            chance(50) ? std::optional<std::string>("control-mixed") : std::nullopt, {} } };
    case 13: return { acts::ReviewSigned { at(), coordinator(), "2026-0" + std::to_string(1 + draw(2)), {}, {}, {}, {}, "reviewed", {} } };
    case 14:
    case 15: {
        const auto runs = m_reference.all<acts::ControlRun>();
        if (runs.empty())
            return {};
        for (const auto* fact : runs) // one that waits for it, if there is one
            if (const auto& run = Reference::as<acts::ControlRun>(*fact); run.lateReason && !run.form && chance(80))
                return { acts::LateEntryAccepted { at(), coordinator(), run.set, "the paper was seen" } };
        return { acts::LateEntryAccepted { at(), coordinator(), Reference::as<acts::ControlRun>(*pick(runs)).set, "the paper was seen" } };
    }
    case 16: return { acts::TakenAsItStands { at(), aMeter(), coordinator(), "the laboratory agrees" } };
    default: {
        const auto opened = m_reference.all<acts::NcOpened>();
        if (opened.empty() || chance(40))
            return { acts::NcOpened { at(), coordinator(), "storage", "M1", "the cupboard stood open", "closed it", "C1",
                base::parseDate("2027-01-31").value(), {} } };
        return { acts::NcStep {
            at(), coordinator(), { opened.back()->seq }, static_cast<NcState>(draw(6)), "done", CauseClass::Environment, {}, {}, {} } };
    }
    }
}

Hands::Made Hands::lotPaper()
{
    const base::StripLotId candidate("S4");
    const auto notices = m_reference.all<acts::NoticeIssued>();
    const auto known = notices.empty() || chance(20) ? acts::NoticeIssued() : Reference::as<acts::NoticeIssued>(*pick(notices));
    const std::string of = known.notice.empty() ? "FSN-" + std::to_string(draw(3)) : known.notice;
    const std::uint64_t next = !notices.empty() && chance(50) ? 7 + draw(2) : draw(9);
    switch (next) {
    case 0:
        return { acts::ShipmentReceived {
            at(), coordinator(), pick<std::string>({ "S1", "S4", "CL" }), named("box"), decimalOf("12"), "dry", "green", "cupboard" } };
    case 1:
        return { acts::RangeConfirmed { at(), base::OperatorId("N1"), base::StripLotId("S2"), base::ControlLotId("CL"), Level::Low,
            decimalOf("48"), decimalOf("72") } };
    case 2:
        return { acts::LotControlChecked { at(), base::OperatorId("N1"), candidate, base::MeterId(chance(50) ? "M1" : "M2"), Level::Low,
            base::ControlVialId("L1"), parseReading("61").value(), base::GlucoseUnit::MgPerDl } };
    case 3:
        return { acts::LotSampleCompared { at(), base::OperatorId("N1"), candidate, base::StripLotId("S1"), base::MeterId("M1"),
            named("blood"), decimalOf("100"), decimalOf("102"), base::GlucoseUnit::MgPerDl } };
    case 4:
        return { acts::ExcursionReported {
            at(), coordinator(), at(3 * kHour), at(kHour), base::WardId("W2"), "cupboard", "20", "41", "logger", {} } };
    case 5: return { acts::VialReleased { at(), "V8", base::OperatorId("C1"), "it was closed all the time" } };
    case 6: {
        acts::NoticeIssued notice { at(), coordinator(), "FSN-" + std::to_string(draw(3)), "strips read too high", {}, {}, {}, {}, {}, {},
            {} };
        switch (draw(4)) {
        case 0: notice.lot = "S9", notice.hitsNothing = YesNo::Yes; break; // nowhere on the ward
        case 1: notice.lot = "S3"; break;
        case 2: notice.lot = "S1", notice.vialFrom = notice.vialTo = pick<std::string>({ "V2", "V3" }); break;
        default: notice.model = base::ModelId("K2"); break;
        }
        return { notice };
    }
    case 7:
        return { acts::NoticeItemDone { at(), coordinator(), of,
            known.model          ? "M4"
                : known.vialFrom ? *known.vialFrom
                                 : "S3",
            "set aside", {} } };
    default:
        for (const auto* fact : notices) { // one that is dealt with, if there is one
            const auto& notice = Reference::as<acts::NoticeIssued>(*fact);
            const auto done = m_reference.all<acts::NoticeItemDone>();
            const auto closed = m_reference.all<acts::NoticeClosed>();
            const bool isClosed = std::ranges::any_of(
                closed, [&](const Fact* other) { return Reference::as<acts::NoticeClosed>(*other).notice == notice.notice; });
            const bool isDone = std::ranges::any_of(
                done, [&](const Fact* other) { return Reference::as<acts::NoticeItemDone>(*other).notice == notice.notice; });
            if (!isClosed && (isDone || notice.lot == "S9") && chance(90))
                return { acts::NoticeClosed { at(), coordinator(), notice.notice, "letter" } };
        }
        return { acts::NoticeClosed { at(), coordinator(), of, "letter" } };
    }
}

} // namespace mk::model
