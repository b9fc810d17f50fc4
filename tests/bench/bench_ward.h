// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "registry/acts/file_rows.h"
#include "store/registrar/registrar.h"

#include <QTemporaryDir>

#include <chrono>
#include <memory>
#include <string>
#include <vector>

namespace mk::bench {

/// An invented hospital of any size: meters of one model on one ward, one two-level set a day and meter.
/// driftPerYear   percent that every other meter rises in a year, and the others fall
struct BenchWard {
    int meters = 0;
    int days = 0;
    int driftPerYear = 0;

    /// As many meters as it takes for at least that many runs, at most a year of sets each.
    static BenchWard forRuns(int runs);

    int runs() const { return 2 * meters * days; }
    /// Wards, meters, people, lots, vials, ranges.
    std::vector<registry::FileRows> catalogue() const;
    /// control_runs.csv of `days` days as text; results scatter by a third of an SD about the means.
    std::string runsText() const { return runsText(0, days); }
    /// Of the days from one up to another, that one not among them.
    std::string runsText(int from, int to) const;
    /// The set of one meter on one day, counted on beyond the days of the file.
    std::vector<store::NewAct> set(int meter, int day) const;

private:
    int resultOf(bool low, int meter, int day) const;
};

/// A new registry with the ward's catalogue. Ends the program with a line on standard error where that fails.
std::unique_ptr<store::Session> foundWard(const std::string& path, const BenchWard& ward);
/// Takes the files over; ends the program where a row is rejected.
void takeOverAll(store::Session& session, std::vector<registry::FileRows> files);

/// What a bench of the store is told on its command line, in this order, with a folder of its own that goes with it.
struct BenchArguments {
    int runs = 0;
    int pairs = 0;
    std::unique_ptr<QTemporaryDir> folder;
};
/// Ends the program with a line that says how to call it where a number is below 1 or the folder cannot be written.
BenchArguments benchArguments(const char* name, int defaultPairs, int defaultRuns = 100'000);

[[noreturn]] void giveUp(const std::string& why);

double seconds(std::chrono::steady_clock::duration time);
/// The value below which that share of the numbers lies; 0.5 for the median.
double quantile(std::vector<double> numbers, double share);

} // namespace mk::bench
