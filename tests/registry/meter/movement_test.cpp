// SPDX-License-Identifier: GPL-3.0-or-later
// Every pair of states x role x evidence complete or each item missing: handbook 1.3 and 1.4, story S44.
#include "registry/meter/meter_life.h"
#include "registry/meter/movement.h"

#include "registry/registry_sample.h"

#include <gtest/gtest.h>

#include <functional>

namespace mk::registry {
namespace {

using sample::at;
using S = MeterState;

constexpr S kStates[] = { S::Received, S::Acceptance, S::InService, S::OnHold, S::Withdrawn, S::AtRepair, S::Reserve, S::Missing,
    S::Retired };
constexpr const char* kBegan = "2026-05-04T08:00";
constexpr const char* kMoved = "2026-05-04T12:00";

/// Everything that any movement could want; a case takes one thing away.
struct Papers {
    acts::MeterMoved movement;
    S state = S::Received;
    std::optional<ModelRecord> model = sample::Materials().model;
    bool insertKnown = true;
    std::vector<Record<acts::AcceptanceChecked>> checks;
    std::vector<SetRecord> sets;
    std::vector<PairRecord> pairs;
    std::vector<IncidentRecord> incidents;

    Papers(S from, S to) : state(from)
    {
        movement.at = at(kMoved);
        movement.meter = base::MeterId("M1");
        movement.by = base::OperatorId("C1");
        movement.toState = to;
        movement.reason = "a reason";
        movement.document = "report 7";
        movement.memoryCleared = YesNo::Yes;
        movement.lastSeen = "N1 at noon";
        movement.condition = "whole";
        for (int i = 0; i < 6; ++i)
            say(static_cast<AcceptanceItem>(i), YesNo::Yes);
        SetRecord set;
        set.judged.firstAt = at("2026-05-04T11:00");
        set.judged.lastAt = at("2026-05-04T11:02");
        set.judged.verdict = Verdict::Accepted;
        sets = { set };
        PairRecord pair;
        pair.judged.at = at("2026-05-04T11:30");
        pair.judged.outcome = PairOutcome::Inside;
        pairs = { pair };
        incidents = { { { 70 }, { at("2026-05-04T10:00"), {}, base::MeterId("M1"), base::OperatorId("N1"), IncidentKind::Cleaned, {} } } };
    }
    void say(AcceptanceItem item, YesNo met, std::optional<std::string> evidence = {})
    {
        const auto seq = static_cast<std::int64_t>(20 + checks.size());
        checks.push_back(
            { { seq }, { at("2026-05-04T11:40"), base::MeterId("M1"), base::OperatorId("C1"), item, met, std::move(evidence) } });
    }
    base::Done ask() const
    {
        MovementEvidence evidence;
        evidence.state = state;
        evidence.since = at(kBegan);
        evidence.at = at(kMoved);
        evidence.model = model;
        evidence.insertKnown = insertKnown;
        evidence.checks = checks;
        evidence.newestSets = sets;
        evidence.pairs = pairs;
        evidence.incidents = incidents;
        return papersSuffice(movement, evidence, defaultPolicy(), sample::berlin());
    }
    /// As the registrar asks: first who, then with what.
    bool allowed(Role role) const { return mayMove(state, *movement.toState, role) && ask(); }
};

/// One thing taken away, and the word of the refusal that names it.
struct Lack {
    S from, to;
    const char* what;
    std::function<void(Papers&)> take;
    const char* named;
};

std::vector<Lack> lacks()
{
    const auto reason = [](Papers& p) { p.movement.reason.reset(); };
    const auto memory = [](Papers& p) { p.movement.memoryCleared.reset(); };
    const auto memoryNo = [](Papers& p) { p.movement.memoryCleared = YesNo::No; };
    const auto document = [](Papers& p) { p.movement.document.reset(); };
    const auto noDocument = [](Papers& p) { p.movement.document.reset(), p.insertKnown = false; };
    const auto notShared = [](Papers& p) { p.model->act.sharedUse.reset(); };
    const auto noSet = [](Papers& p) { p.sets.clear(); };
    const auto oldSet = [](Papers& p) { p.sets.front().judged.firstAt = at("2026-05-04T07:59"); };
    const auto rejected = [](Papers& p) { p.sets.front().judged.verdict = Verdict::Rejected; };
    const auto dirty = [](Papers& p) { p.incidents.clear(); };
    const auto cleanedBefore = [](Papers& p) { p.incidents.front().act.at = at("2026-05-04T07:00"); };
    const auto dirtyNoPaper = [](Papers& p) { p.incidents.clear(), p.movement.document.reset(); };
    const auto unseen = [](Papers& p) { p.movement.lastSeen.reset(), p.movement.reason.reset(); };
    const auto noCondition = [](Papers& p) { p.movement.condition.reset(), p.movement.reason.reset(); };
    const auto noAgreement = [](Papers& p) { p.pairs.clear(); };
    const auto oneWrong = [](Papers& p) { p.say(AcceptanceItem::Firmware, YesNo::No); };

    std::vector<Lack> all {
        { S::Received, S::Acceptance, "insert", noDocument, "--insert-edition" },
        { S::AtRepair, S::Acceptance, "service report", document, "service report" },
        { S::InService, S::OnHold, "cause", reason, "--reason" },
        { S::InService, S::Withdrawn, "reason", reason, "--reason" },
        { S::OnHold, S::Withdrawn, "reason", reason, "--reason" },
        { S::Reserve, S::Withdrawn, "reason", reason, "--reason" },
        { S::Missing, S::Withdrawn, "condition", noCondition, "--condition" },
        { S::Acceptance, S::AtRepair, "failing items", reason, "--reason" },
        { S::Withdrawn, S::AtRepair, "decontamination", dirtyNoPaper, "--document" },
        { S::Withdrawn, S::AtRepair, "memory", memory, "--memory-cleared" },
        { S::Withdrawn, S::AtRepair, "memory said no", memoryNo, "--memory-cleared" },
        { S::Reserve, S::InService, "shared use", notShared, "shared_use" },
        { S::Reserve, S::InService, "cleaning", dirty, "cleaned" },
        { S::Reserve, S::InService, "cleaning since", cleanedBefore, "cleaned" },
        { S::Reserve, S::InService, "controls", noSet, "control set" },
        { S::Reserve, S::InService, "controls since", oldSet, "control set" },
        { S::Reserve, S::InService, "controls accepted", rejected, "control set" },
    };
    for (const S to : { S::InService, S::Reserve }) {
        all.push_back({ S::Acceptance, to, "shared use", notShared, "shared_use" });
        all.push_back({ S::Acceptance, to, "controls", noSet, "control set" });
        all.push_back({ S::Acceptance, to, "controls since", oldSet, "control set" });
        all.push_back({ S::Acceptance, to, "controls accepted", rejected, "control set" });
        all.push_back({ S::Acceptance, to, "agreement", noAgreement, "agreement" });
        all.push_back({ S::Acceptance, to, "an item found wrong later", oneWrong, "firmware" });
        for (int i = 0; i < 6; ++i)
            all.push_back({ S::Acceptance, to, "item of the list",
                [i](Papers& p) { std::erase_if(p.checks, [i](const auto& c) { return c.act.item == static_cast<AcceptanceItem>(i); }); },
                Words<AcceptanceItem>::all[i].data() });
    }
    for (const S from : kStates) {
        if (from != S::Missing && from != S::Retired)
            all.push_back({ from, S::Missing, "last seen", unseen, "--last-seen" });
        if (from == S::Retired)
            continue;
        all.push_back({ from, S::Retired, "reason", reason, "--reason" });
        all.push_back({ from, S::Retired, "memory", memory, "--memory-cleared" });
    }
    return all;
}

bool tableHas(S from, S to)
{
    return static_cast<bool>(mayMove(from, to, Role::Coordinator));
}

} // namespace

TEST(Movement, WithAllPapersEveryPairFollowsTheTableAndTheRole)
{
    for (const S from : kStates)
        for (const S to : kStates)
            for (const Role role : { Role::Nurse, Role::Coordinator, Role::Inspector }) {
                const Papers papers(from, to);
                EXPECT_EQ(papers.allowed(role), static_cast<bool>(mayMove(from, to, role)))
                    << word(from) << " to " << word(to) << " by " << word(role);
            }
}

TEST(Movement, EachMissingPaperRefusesAndIsNamed)
{
    for (const auto& lack : lacks()) {
        const std::string step = std::string(word(lack.from)) + " to " + std::string(word(lack.to)) + " without " + lack.what;
        ASSERT_TRUE(tableHas(lack.from, lack.to)) << step;
        Papers papers(lack.from, lack.to);
        ASSERT_TRUE(papers.ask()) << step << ": " << papers.ask().error().text;
        lack.take(papers);
        for (const Role role : { Role::Nurse, Role::Coordinator, Role::Inspector })
            EXPECT_FALSE(papers.allowed(role)) << step << " by " << word(role);
        const base::Done refused = papers.ask();
        ASSERT_FALSE(refused) << step;
        EXPECT_NE(refused.error().text.find(lack.named), std::string::npos) << step << ": " << refused.error().text;
    }
}

TEST(Movement, EveryTransitionOfTheTableThatWantsPapersIsAmongTheCases)
{
    const auto all = lacks();
    for (const S from : kStates)
        for (const S to : kStates) {
            const bool plain = to == S::Reserve
                && (from == S::InService      // T11, into the pool: the coordinator alone
                    || from == S::Withdrawn); // T8, on the evidence of a return
            const bool tried = std::ranges::any_of(all, [&](const Lack& lack) { return lack.from == from && lack.to == to; });
            EXPECT_EQ(tried, tableHas(from, to) && !plain) << word(from) << " to " << word(to);
        }
}

TEST(Movement, AgreementMayRestOnNamedEvidence)
{
    Papers papers(S::Acceptance, S::InService);
    papers.pairs.clear();
    EXPECT_FALSE(papers.ask());
    papers.say(AcceptanceItem::Agreement, YesNo::Yes, "side by side with M2, 4 May");
    EXPECT_TRUE(papers.ask());
    papers.say(AcceptanceItem::Agreement, YesNo::No, "seen again");
    EXPECT_FALSE(papers.ask()) << "the newest word counts";
}

TEST(Movement, AcceptanceOfAnEarlierRoundDoesNotCount)
{
    Papers papers(S::Acceptance, S::InService);
    for (auto& check : papers.checks)
        check.act.at = at("2026-05-04T07:00");
    EXPECT_FALSE(papers.ask()) << "said before this acceptance began";
}

TEST(Movement, IssueWantsASetThatStillClears)
{
    Papers papers(S::Reserve, S::InService);
    papers.movement.at = at("2026-05-06T12:00");
    MovementEvidence evidence;
    evidence.state = S::Reserve;
    evidence.since = at(kBegan);
    evidence.at = at("2026-05-05T11:01");
    evidence.model = papers.model;
    evidence.newestSets = papers.sets;
    evidence.incidents = papers.incidents;
    EXPECT_TRUE(papersSuffice(papers.movement, evidence, defaultPolicy(), sample::berlin()));
    evidence.at = at("2026-05-05T11:02"); // 24 h after the set
    EXPECT_FALSE(papersSuffice(papers.movement, evidence, defaultPolicy(), sample::berlin()));
}

TEST(Acceptance, NamesWhatIsMissingAndWhatIsWrong)
{
    Papers papers(S::Acceptance, S::InService);
    papers.checks.clear();
    papers.say(AcceptanceItem::Identity, YesNo::Yes);
    auto refused = acceptanceComplete(acceptanceList(papers.checks, at(kBegan), at(kMoved)));
    ASSERT_FALSE(refused);
    for (const char* item : { "shared-use", "unit-and-clock", "firmware", "controls", "agreement" })
        EXPECT_NE(refused.error().text.find(item), std::string::npos) << item;
    EXPECT_EQ(refused.error().text.find("identity"), std::string::npos);
}

} // namespace mk::registry
