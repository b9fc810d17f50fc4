// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "model/ward_reference.h"

#include <random>

namespace mk::model {

/// The ward's hands: from a seed, what somebody does next. The same seed on the same records does the same.
class Hands {
public:
    /// opened  the look-backs that the registry has opened by itself
    Hands(const Reference& reference, std::uint64_t seed, int step, std::vector<std::int64_t> opened);

    /// How long until then, in milliseconds: minutes, hours, sometimes weeks.
    std::int64_t pause();
    /// Acts that go into the journal in one transaction; mostly one, the runs of a set together.
    std::vector<registry::Act> acts(std::int64_t now);
    /// Who enters them; empty: nobody is named.
    const std::string& author() const { return m_author; }

private:
    using Made = std::vector<registry::Act>;
    Made controlSet();
    Made repeat();
    Made lateSet();
    Made incident();
    Made returnStep();
    Made returnPath();
    Made movement();
    Made acceptance();
    Made comparison();
    Made correction();
    Made annulment();
    Made confirmation();
    Made range();
    Made rangeAgain();
    std::string second(const std::set<std::string>& parts);
    Made lookback();
    Made vialEnd();
    Made lotEvent();
    Made newThing();
    Made paper();
    Made lotPaper();

    std::uint64_t draw(std::uint64_t below) { return m_random() % below; }
    bool chance(int percent) { return draw(100) < static_cast<std::uint64_t>(percent); }
    template <typename T>
    const T& pick(const std::vector<T>& from)
    {
        return from[draw(from.size())];
    }
    std::string named(const std::string& what) { return what + std::to_string(m_step) + "x" + std::to_string(++m_named); }
    static constexpr std::int64_t kMoment = 1'000; ///< between reading the result and recording it
    base::Moment at(std::int64_t before = 0) const { return m_reference.zone().at(m_now - before); }
    base::OperatorId anyone() { return base::OperatorId(pick<std::string>({ "N1", "N1", "N1", "N2", "C1", "C1", "I1" })); }
    base::OperatorId coordinator() { return base::OperatorId(chance(85) ? "C1" : "N1"); }
    base::MeterId aMeter() { return base::MeterId(pick<std::string>({ "M1", "M1", "M1", "M2", "M2", "M3", "M4" })); }
    registry::acts::ControlRun aRun(const std::string& set, const base::MeterId& meter, registry::Level level, std::int64_t before);
    std::string aResult(registry::Level level);

    const Reference& m_reference;
    std::mt19937_64 m_random;
    std::vector<std::int64_t> m_opened;
    int m_step;
    int m_named = 0;
    std::string m_author;
    std::int64_t m_now = 0;
};

} // namespace mk::model
