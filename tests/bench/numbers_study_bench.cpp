// SPDX-License-Identifier: GPL-3.0-or-later
// `study rules` over 10^6 rows as a whole process, beside the least that anybody must do: find the cells, read the numbers, count the
// rules, write the same output.
#include "ratio.h"
#include "stats/rules/control_rules.h"

#include <charconv>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>

namespace {

constexpr std::size_t kRows = 1'000'000;

std::filesystem::path writeSeries(const std::filesystem::path& folder)
{
    std::mt19937_64 random(20261125);
    std::normal_distribution<double> normal;
    std::string text = "set,level,z\n";
    for (std::size_t i = 1; i <= kRows; ++i) {
        char z[32];
        std::snprintf(z, sizeof z, "%.3f", normal(random));
        text += std::to_string(i) + ",low," + z + '\n';
    }
    const auto path = folder / "series.csv";
    std::ofstream(path, std::ios::binary) << text;
    return path;
}

std::string wholeFile(const std::filesystem::path& path)
{
    std::string text(std::filesystem::file_size(path), '\0');
    std::ifstream(path, std::ios::binary).read(text.data(), static_cast<std::streamsize>(text.size()));
    return text;
}

void leastWork(const std::filesystem::path& in, const std::filesystem::path& out)
{
    using namespace mk::stats;
    const std::string text = wholeFile(in);
    std::vector<std::string_view> sets;
    std::vector<double> z;
    for (std::size_t at = text.find('\n') + 1; at < text.size();) {
        const std::size_t first = text.find(',', at);
        const std::size_t second = text.find(',', first + 1);
        const std::size_t end = text.find('\n', second);
        double value = 0;
        std::from_chars(text.data() + second + 1, text.data() + end, value);
        sets.push_back(std::string_view(text).substr(at, first - at));
        z.push_back(value);
        at = end + 1;
    }
    std::vector<RuleMask> masks(z.size());
    ruleMasks(z, OnLimit::In, masks);
    const std::vector<Rule> rules = { Rule::OneTwoS, Rule::OneThreeS, Rule::TwoTwoS, Rule::RFourS, Rule::FourOneS, Rule::TenX };
    std::string written = "{\"format\":1,\"sets\":[";
    for (std::size_t i = 0; i < z.size(); ++i) {
        written += i == 0 ? "{\"set\":\"" : ",{\"set\":\"";
        written += sets[i];
        std::string fired;
        bool rejected = false;
        for (const Rule rule : rules) {
            if ((masks[i] & maskOf(rule)) == 0)
                continue;
            rejected |= rule != Rule::OneTwoS;
            fired += fired.empty() ? "\"" : ",\"";
            fired += name(rule);
            fired += '"';
        }
        written += rejected ? "\",\"verdict\":\"rejected\",\"rules\":["
                            : (fired.empty() ? "\",\"verdict\":\"accepted\",\"rules\":[" : "\",\"verdict\":\"warned\",\"rules\":[");
        written += fired;
        written += "]}";
    }
    std::ofstream(out, std::ios::binary) << written;
}

} // namespace

int main(int, char** argv)
{
    const auto cli = std::filesystem::canonical(argv[0]).parent_path().parent_path().parent_path() / "meterkeep-cli";
    const auto folder = std::filesystem::temp_directory_path() / ("study_bench_" + std::to_string(std::random_device()()));
    std::filesystem::create_directory(folder);
    const auto series = writeSeries(folder);
    const auto command = cli.string() + " study rules " + series.string() + " --json > " + (folder / "ours.json").string();
    int status = 0;
    mk::bench::printRatio(
        "study rules, 10^6 rows, the whole process", [&] { status |= std::system(command.c_str()); },
        [&] { leastWork(series, folder / "least.json"); }, 4, 2);
    const bool same = wholeFile(folder / "ours.json").starts_with(wholeFile(folder / "least.json"));
    std::printf("    exit status %d, the same output: %s\n", status, same ? "yes" : "NO");
    std::filesystem::remove_all(folder);
    return 0;
}
