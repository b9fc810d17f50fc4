// SPDX-License-Identifier: GPL-3.0-or-later
#include "study/commands/grid.h"

#include "study/commands/accuracy.h"
#include "study/table/figures.h"
#include "study/table/pairs.h"
#include "study/terminal/printing.h"
#include "study/terminal/usage.h"

#include <CLI/CLI.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>

namespace mk::study {

namespace {

using stats::ErrorGrid;
using stats::GridZone;

constexpr std::size_t kMostGridPointsShown = 20;
/// Where the published drawings of the consensus grid end, in mg/dL.
constexpr double kGridFrame = 550;

base::Done readGridRow(const StudyFile& file, const exchange::CsvRow& row, std::size_t reference, std::size_t test, StudyGridReport& report)
{
    const auto x = glucoseCell(file, row, reference);
    const auto y = glucoseCell(file, row, test);
    if (!x || !y)
        return x ? y.error() : x.error();
    report.reference.push_back(x->value);
    report.test.push_back(y->value);
    report.points.push_back({ row.line, std::string(row.cells[reference]), std::string(row.cells[test]) });
    return {};
}

std::string consensusName(const StudyGridReport& report)
{
    return said(
        report.options.consensus == ErrorGrid::ConsensusType1 ? StudyTexts::tr("consensus type 1") : StudyTexts::tr("consensus type 2"));
}

std::string gridHowComputed(const StudyGridReport& report)
{
    const std::string consensus = said(report.options.border == stats::GridBorder::LowerRisk
            ? StudyTexts::tr("Consensus grid of Pfuetzner et al. 2013, lines straight past 550 mg/dL, a point on a border in the zone with "
                             "less risk.")
            : StudyTexts::tr("Consensus grid of Pfuetzner et al. 2013, lines straight past 550 mg/dL, a point on a border in the zone with "
                             "more risk."));
    const std::string clarke = said(report.options.clarke == ErrorGrid::ClarkeText ? StudyTexts::tr("Clarke 1987 by its text.")
                                                                                   : StudyTexts::tr("Clarke 1987 by its drawing."));
    const std::string factor = report.options.unit == base::GlucoseUnit::MmolPerL ? ' ' + said(StudyTexts::tr("1 mmol/L is 18.0156 mg/dL."))
                                                                                  : "";
    return consensus + ' ' + clarke + factor;
}

std::string gridPercent(std::size_t count, std::size_t all)
{
    return hundredthsText(100 * static_cast<double>(count) / static_cast<double>(all));
}

std::string gridCountTable(const StudyGridReport& report)
{
    const auto consensus = stats::countZones(report.consensus);
    const auto clarke = stats::countZones(report.clarke);
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("zone")), consensusName(report), "%",
        said(StudyTexts::tr("Clarke")), "%" } };
    const auto addRow = [&](std::string name, std::size_t inConsensus, std::size_t inClarke) {
        rows.push_back({ std::move(name), std::to_string(inConsensus), gridPercent(inConsensus, report.points.size()),
            std::to_string(inClarke), gridPercent(inClarke, report.points.size()) });
    };
    for (std::size_t zone = 0; zone < consensus.size(); ++zone)
        addRow(std::string(1, stats::zoneLetter(static_cast<GridZone>(zone))), consensus[zone], clarke[zone]);
    addRow("A+B", consensus[0] + consensus[1], clarke[0] + clarke[1]);
    return alignedTable(rows);
}

/// The points in C, D or E of either grid, as far as they can be read at a glance.
std::string gridRiskTable(const StudyGridReport& report)
{
    std::vector<std::vector<std::string>> rows = { { said(StudyTexts::tr("line")), said(StudyTexts::tr("reference")),
        said(StudyTexts::tr("test")), consensusName(report), said(StudyTexts::tr("Clarke")) } };
    std::size_t all = 0;
    for (std::size_t i = 0; i < report.points.size(); ++i) {
        if (std::max(report.consensus[i], report.clarke[i]) < GridZone::C || ++all > kMostGridPointsShown)
            continue;
        rows.push_back({ std::to_string(report.points[i].line), report.points[i].reference, report.points[i].test,
            std::string(1, stats::zoneLetter(report.consensus[i])), std::string(1, stats::zoneLetter(report.clarke[i])) });
    }
    if (all == 0)
        return said(StudyTexts::tr("No pair lies in C, D or E of either grid.")) + '\n';
    const std::string more = all > kMostGridPointsShown
        ? said(StudyTexts::tr("… and %1 more; --json lists every pair."), std::to_string(all - kMostGridPointsShown)) + '\n'
        : "";
    return said(StudyTexts::tr("Pairs in C, D or E of a grid: %1"), std::to_string(all)) + '\n' + alignedTable(rows) + more;
}

/// Where each zone's letter stands, in mg/dL.
std::vector<report::PlotNote> gridLetters(ErrorGrid grid)
{
    if (grid == ErrorGrid::ConsensusType1 || grid == ErrorGrid::ConsensusType2)
        return { { 520, 520, "A" }, { 330, 530, "B" }, { 195, 530, "C" }, { 88, 530, "D" }, { 24, 530, "E" }, { 530, 330, "B" },
            { 530, 190, "C" }, { 530, 75, "D" } };
    return { { 520, 520, "A" }, { 305, 390, "B" }, { 150, 530, "C" }, { 20, 125, "D" }, { 32, 530, "E" }, { 530, 300, "B" },
        { 105, 20, "B" }, { 164, 18, "C" }, { 530, 125, "D" }, { 530, 35, "E" } };
}

void drawGridLines(report::PlotPanel& panel, ErrorGrid grid, double perMg, double frame)
{
    panel.curves.push_back({ {}, { 0, frame }, { 0, frame }, report::PlotStroke::Dotted });
    for (const stats::GridLine& line : stats::gridLines(grid)) {
        report::PlotCurve& curve = panel.curves.emplace_back();
        for (const stats::GridVertex vertex : line.vertices) {
            curve.x.push_back(vertex.reference * perMg);
            curve.y.push_back(vertex.test * perMg);
        }
        const std::size_t last = curve.x.size() - 1;
        // As many pieces on as reach the frame's end, whichever way the line runs.
        const double step = std::hypot(curve.x[last] - curve.x[last - 1], curve.y[last] - curve.y[last - 1]);
        if (line.goesOn) {
            curve.x.push_back(curve.x[last] + 2 * frame / step * (curve.x[last] - curve.x[last - 1]));
            curve.y.push_back(curve.y[last] + 2 * frame / step * (curve.y[last] - curve.y[last - 1]));
        }
    }
}

void drawGridPoints(report::PlotPanel& panel, const StudyGridReport& report, const std::vector<GridZone>& zones)
{
    using report::PlotShape;
    constexpr std::array<PlotShape, 5> kShapes = { PlotShape::Ring, PlotShape::Cross, PlotShape::Triangle, PlotShape::Diamond,
        PlotShape::SquareWithBar };
    std::array<report::PlotPoints, 5> byZone;
    for (std::size_t i = 0; i < zones.size(); ++i) {
        byZone[static_cast<std::size_t>(zones[i])].x.push_back(report.reference[i]);
        byZone[static_cast<std::size_t>(zones[i])].y.push_back(report.test[i]);
    }
    for (std::size_t zone = 0; zone < byZone.size(); ++zone) {
        const std::size_t count = byZone[zone].x.size();
        if (count == 0)
            continue;
        byZone[zone].shape = kShapes[zone];
        byZone[zone].legend = std::string(1, stats::zoneLetter(static_cast<GridZone>(zone))) + ": " + std::to_string(count) + " ("
            + gridPercent(count, zones.size()) + " %)";
        panel.points.push_back(std::move(byZone[zone]));
    }
}

report::PlotPanel gridPanel(const StudyGridReport& report, ErrorGrid grid, const std::vector<GridZone>& zones, std::string title)
{
    const bool mmol = report.options.unit == base::GlucoseUnit::MmolPerL;
    const double perMg = mmol ? 1 / base::GlucoseConcentration::kMgPerDlPerMmolPerL : 1;
    const double most = std::max(std::ranges::max(report.reference), std::ranges::max(report.test));
    const double frame = std::max(kGridFrame * perMg, most * 1.02);
    const std::string unit(base::toText(report.options.unit));
    report::PlotPanel panel;
    panel.title = std::move(title);
    panel.x = { said(StudyTexts::tr("Reference, %1"), unit), 0.0, frame, false, {} };
    panel.y = { said(StudyTexts::tr("Meter, %1"), unit), 0.0, frame, false, {} };
    panel.sameScale = true;
    drawGridLines(panel, grid, perMg, frame);
    drawGridPoints(panel, report, zones);
    for (report::PlotNote note : gridLetters(grid))
        panel.notes.push_back({ note.x * perMg, note.y * perMg, note.text });
    return panel;
}

std::string gridShareInAB(const std::vector<GridZone>& zones)
{
    const auto counts = stats::countZones(zones);
    return gridPercent(counts[0] + counts[1], zones.size());
}

struct StudyGridArguments {
    std::string file, plot;
    std::string type = "1", unit = "mg/dL", border = "lower", clarke = "text";
};

int runStudyGrid(const StudyGridArguments& arguments, bool json)
{
    const auto file = readStudyFile(arguments.file);
    if (!file)
        return printFault(file.error());
    StudyGridOptions options;
    options.consensus = arguments.type == "2" ? ErrorGrid::ConsensusType2 : ErrorGrid::ConsensusType1;
    options.clarke = arguments.clarke == "drawing" ? ErrorGrid::ClarkeDrawing : ErrorGrid::ClarkeText;
    options.border = arguments.border == "higher" ? stats::GridBorder::HigherRisk : stats::GridBorder::LowerRisk;
    options.unit = base::glucoseUnitNamed(arguments.unit).value_or(base::GlucoseUnit::MgPerDl);
    return printStudy(studyGrid(*file, options), json, arguments.plot, studyGridJson, studyGridTable, studyGridPlot);
}

} // namespace

base::Result<StudyGridReport> studyGrid(const StudyFile& file, const StudyGridOptions& options)
{
    const auto reference = file.column("reference");
    const auto test = file.column("test");
    if (!reference || !test)
        return reference ? test.error() : reference.error();
    if (const auto rows = file.hasRows("pair"); !rows)
        return rows.error();
    StudyGridReport report;
    report.options = options;
    for (const exchange::CsvRow& row : file.table.rows) {
        if (const auto read = readGridRow(file, row, *reference, *test, report); !read)
            return read.error();
    }
    auto consensus = stats::gridZones(options.consensus, report.reference, report.test, options.unit, options.border);
    auto clarke = stats::gridZones(options.clarke, report.reference, report.test, options.unit);
    if (!consensus || !clarke)
        return consensus ? clarke.error() : consensus.error();
    report.consensus = std::move(consensus).value();
    report.clarke = std::move(clarke).value();
    report.ignoredColumns = file.ignored({ "reference", "test" });
    return report;
}

std::string studyGridJson(const StudyGridReport& report)
{
    JsonWriter json;
    json.beginObject().key("format").value(1).key("n").value(report.points.size()).key("unit").value(base::toText(report.options.unit));
    json.key("type").value(report.options.consensus == ErrorGrid::ConsensusType1 ? 1 : 2);
    json.key("border").value(report.options.border == stats::GridBorder::LowerRisk ? "lower" : "higher");
    json.key("clarke_reading").value(report.options.clarke == ErrorGrid::ClarkeText ? "text" : "drawing");
    writeZoneCounts(json.key("consensus_grid"), stats::countZones(report.consensus));
    writeZoneCounts(json.key("clarke_grid"), stats::countZones(report.clarke));
    json.key("points").beginArray();
    for (std::size_t i = 0; i < report.points.size(); ++i) {
        const char consensus = stats::zoneLetter(report.consensus[i]), clarke = stats::zoneLetter(report.clarke[i]);
        json.beginObject().key("reference").value(report.points[i].reference).key("test").value(report.points[i].test);
        json.key("consensus").value(std::string_view(&consensus, 1)).key("clarke").value(std::string_view(&clarke, 1)).endObject();
    }
    json.endArray().key("ignored_columns").array(report.ignoredColumns).endObject();
    return json.text() + '\n';
}

std::string studyGridTable(const StudyGridReport& report)
{
    return said(StudyTexts::tr("Pairs: %1, in %2."), std::to_string(report.points.size()), base::toText(report.options.unit)) + '\n'
        + gridCountTable(report) + gridRiskTable(report) + gridHowComputed(report) + '\n' + ignoredLine(report.ignoredColumns);
}

report::PlotScene studyGridPlot(const StudyGridReport& report)
{
    const std::string consensus = said(report.options.consensus == ErrorGrid::ConsensusType1 ? StudyTexts::tr("Consensus grid, type 1")
                                                                                             : StudyTexts::tr("Consensus grid, type 2"));
    const QString title = report.points.size() == 1
        ? StudyTexts::tr("%1 % of %2 pair lies in A and B of the consensus grid, %3 % of Clarke's")
        : StudyTexts::tr("%1 % of %2 pairs lie in A and B of the consensus grid, %3 % of Clarke's");
    return { said(title, gridShareInAB(report.consensus), std::to_string(report.points.size()), gridShareInAB(report.clarke)),
        gridHowComputed(report) + ' ' + said(StudyTexts::tr("The dotted line is where meter and reference agree.")),
        { gridPanel(report, report.options.consensus, report.consensus, consensus),
            gridPanel(report, report.options.clarke, report.clarke, said(StudyTexts::tr("Clarke grid"))) } };
}

void addStudyGrid(CLI::App& study, const bool& json, std::function<int()>& chosen)
{
    auto* command = study.add_subcommand("grid", "Error grids: how much harm each pair's error could do, from A to E");
    auto arguments = std::make_shared<StudyGridArguments>();
    command->add_option("FILE", arguments->file, "CSV with reference,test")->required();
    oneOf(command->add_option("--type", arguments->type, "Consensus grid for type 1 or type 2 diabetes"), { "1", "2" })
        ->capture_default_str();
    oneOf(command->add_option("--unit", arguments->unit, "Of both columns"), { "mg/dL", "mmol/L" })->capture_default_str();
    oneOf(command->add_option(
              "--border", arguments->border, "Consensus grid: a point exactly on a border gets the zone with lower or higher risk"),
        { "lower", "higher" })
        ->capture_default_str();
    oneOf(
        command->add_option("--clarke", arguments->clarke,
            "Clarke's grid by its text (A: both below 70, or within 20 %; C: anywhere above reference + 110) or by its drawing (A: both at "
            "most 70; borders belong to C, D, E; upper C ends at 290)"),
        { "text", "drawing" })
        ->capture_default_str();
    addPlotOption(*command, arguments->plot);
    command->footer(
        "How it is computed:\n"
        "  Consensus (Parkes) grid with the vertices of Pfuetzner et al. 2013, lines straight past 550 mg/dL; ISO 15197 uses type 1 for\n"
        "  everyone and asks for 99 % of the pairs in A and B. Clarke's grid of 1987 is in use in two readings, which differ on borders.\n"
        "  Zones are decided on the decimals as typed; mmol/L counts as 18.0156 mg/dL.\n"
        "Example:\n  meterkeep-cli study grid comparison.csv --type 1 --unit mg/dL --plot grid.png");
    whenChosen(*command, chosen, [arguments, &json] { return runStudyGrid(*arguments, json); });
}

} // namespace mk::study
