// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "model/ward_ground.h"
#include "model/ward_reference.h"

#include <QTemporaryDir>

#include <map>
#include <memory>
#include <string>
#include <vector>

namespace mk::model {

/// How often each kind of act was tried and accepted, over all sequences, and in how many of them it occurred.
struct Tally {
    int sequences = 0, acts = 0, accepted = 0, repeatedDeliveries = 0, questions = 0, usable = 0;
    std::map<std::string, int> tried, taken, sequencesWith;
    std::map<std::string, std::string> refusal;            ///< the first one of each kind, in words
    std::map<std::string, std::pair<int, int>> seconds {}; ///< what has to do with a second person: tried, accepted
    std::map<std::string, int> waiting {};                 ///< of those accepted, by kind: that waited for one
};

/// A prepared registry file that trials copy.
struct Prepared {
    QTemporaryDir folder;
    std::string path;
    Reference reference; ///< knows the ground
    std::int64_t now = 0;

    explicit Prepared(const Ground& ground);
};

struct Finding {
    std::string text;              ///< empty: reference and registry agree, and nothing was broken
    std::vector<int> steps;        ///< that were taken, up to the failing one
    std::vector<std::string> acts; ///< what they were
};

/// Plays the steps of one seed on a copy of the ground and asks the reference after each. Of a step ~n only its pause is kept.
Finding play(const Prepared& ground, std::uint64_t seed, const std::vector<int>& steps, Tally* tally);

/// The same failure, or another one, with as few steps as dropping them one at a time finds.
Finding shrink(const Prepared& ground, std::uint64_t seed, Finding found);

} // namespace mk::model
