// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/trial.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <numeric>
#include <type_traits>

namespace mk::model {

namespace {

/// A whole number from the environment, or what holds without it.
std::uint64_t fromEnvironment(const char* name, std::uint64_t otherwise)
{
    const char* text = std::getenv(name);
    return text == nullptr || *text == '\0' ? otherwise : std::strtoull(text, nullptr, 10);
}

std::vector<int> stepsOf(std::uint64_t seed)
{
    std::vector<int> steps(16 + seed * 7919 % 23); // with two runs in a set, thirty acts on average
    std::iota(steps.begin(), steps.end(), 0);
    return steps;
}

void report(std::uint64_t seed, const Finding& found)
{
    std::string acts;
    for (const auto& act : found.acts)
        acts += "  " + act + "\n";
    ADD_FAILURE() << "seed " << seed << ": " << found.text << "\nafter\n" << acts;
}

} // namespace

/// MK_MODEL_SEED=n plays one sequence; MK_MODEL_FIRST and MK_MODEL_SEQUENCES choose which and how many: tests/run --all plays 10,000.
TEST(Model, RandomActsStandAsTheReferenceSays)
{
    const Prepared grounds[] = { Prepared({ "2026-10-21", "2026-04-26T08:00", "2026-10-23", "2026-07-27T08:00", false }),
        Prepared({ "2026-03-26", "2025-09-28T02:30", "2026-03-29", "2025-12-31T08:00", true }) };
    const bool only = std::getenv("MK_MODEL_SEED") != nullptr;
    const std::uint64_t first = only ? fromEnvironment("MK_MODEL_SEED", 1) : fromEnvironment("MK_MODEL_FIRST", 1);
    const std::uint64_t many = only ? 1 : fromEnvironment("MK_MODEL_SEQUENCES", 100);
    const bool enough = !only && many >= 1000; // for shares
    Tally tally;
    int failures = 0;
    for (std::uint64_t seed = first; seed < first + many && failures < 4; ++seed) {
        const Prepared& ground = grounds[seed % 2];
        Finding found = play(ground, seed, stepsOf(seed), &tally);
        if (found.text.empty())
            continue;
        ++failures;
        report(seed, shrink(ground, seed, std::move(found)));
    }
    std::printf(
        "seeds %llu to %llu: %d sequences, %d acts (%.1f a sequence), %d accepted, %d delivered twice, %d questions, %d of them answered usable\n",
        static_cast<unsigned long long>(first), static_cast<unsigned long long>(first + many - 1), tally.sequences, tally.acts,
        double(tally.acts) / std::max(tally.sequences, 1), tally.accepted, tally.repeatedDeliveries, tally.questions, tally.usable);
    registry::forEachPersonsAct([&]<typename A>() {
        const std::string kind(A::kind);
        const double share = 100.0 * tally.sequencesWith[kind] / std::max(tally.sequences, 1);
        std::printf("  %-26s tried %6d, accepted %6d, in %5.1f %% of the sequences%s%s\n", kind.c_str(), tally.tried[kind],
            tally.taken[kind], share, tally.refusal[kind].empty() ? "" : "; refused: ", tally.refusal[kind].c_str());
        if (std::is_same_v<A, registry::acts::TakenAsItStands>) { // its policy knows no usual value: there is nothing to take
            EXPECT_EQ(tally.taken[kind], 0);
            EXPECT_TRUE(!enough || tally.tried[kind] > 0);
        } else if (enough && failures == 0) {
            EXPECT_GE(share, 1.0) << kind << " is accepted in too few sequences";
        }
    });
    for (const auto& [part, counted] : tally.seconds)
        std::printf("  %-50s tried %6d, accepted %6d\n", part.c_str(), counted.first, counted.second);
    for (const auto& [kind, count] : tally.waiting)
        std::printf("  waited for a second person: %-22s %6d\n", kind.c_str(), count);
    if (!only && failures == 0) {
        EXPECT_GE(tally.acts, 30 * tally.sequences) << "the sequences are too short";
    }
}

} // namespace mk::model
