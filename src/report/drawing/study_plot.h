// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "base/result.h"

#include <optional>
#include <string>
#include <vector>

/// The plot of a study as a value, and how it becomes a file. Black on white: marks differ by shape, lines by stroke, never by colour.
namespace mk::report {

enum class PlotShape { Circle, Ring, SquareWithBar, Diamond, Triangle, Cross };
enum class PlotStroke { Solid, Strong, Dashed, Dotted, Faint };

/// Points of one kind. x, y: of one length, in the units of the axes; points that are not finite are not drawn.
/// legend   what they are; empty: not in the legend
struct PlotPoints {
    std::string legend;
    std::vector<double> x, y;
    PlotShape shape = PlotShape::Circle;
};

/// A line through points, as for PlotPoints; NaN leaves a gap.
struct PlotCurve {
    std::string legend;
    std::vector<double> x, y;
    PlotStroke stroke = PlotStroke::Solid;
};

/// A line across the whole panel, such as a limit; its label stands at the right or upper end.
struct PlotLimit {
    enum class Way { Horizontal, Vertical };

    double at = 0;
    std::string label;
    PlotStroke stroke = PlotStroke::Dashed;
    Way way = Way::Horizontal;
};

/// A text at a place of the panel, such as the letter of a zone.
struct PlotNote {
    double x = 0, y = 0;
    std::string text;
};

/// One axis. Bounds that are not given are chosen from the data.
/// names   where numbers mean things with names: tick i + 1 reads names[i]
struct PlotAxis {
    std::string title;
    std::optional<double> lower, upper;
    bool logarithmic = false;
    std::vector<std::string> names;
    bool wholeNumbers = false; ///< ticks at whole numbers only, as for the number of a value
};

struct PlotPanel {
    std::string title; ///< what is shown, short; may be empty for a plot of one panel
    PlotAxis x, y;
    std::vector<PlotPoints> points;
    std::vector<PlotCurve> curves;
    std::vector<PlotLimit> limits;
    std::vector<PlotNote> notes;
    bool sameScale = false; ///< a unit is as long on both axes, as error grids and regressions want it
};

/// title     the finding, in one line: "Bias -2.1 mg/dL, limits of agreement -78.1 to 73.9"
/// footnote  how it was computed, source, cautions; wrapped; may be empty
/// panels    one below the other, at least one
struct PlotScene {
    std::string title;
    std::string footnote;
    std::vector<PlotPanel> panels;
};

/// Draws the scene into a file; the ending says how: .png, .svg or .pdf. Needs a QApplication.
/// errors  BadInput for another ending, Io
base::Done savePlot(const PlotScene& scene, const std::string& path);

} // namespace mk::report
