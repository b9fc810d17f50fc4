// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace CLI {
class App;
}

namespace mk::cli {

/// Does the command that was chosen draw? A review on paper and the plot of a study need fonts and charts, so a window system: the one
/// without a screen. Nothing else does.
/// app  after parsing; a word that was typed as a value means nothing here
bool needsWindowSystem(const CLI::App& app);

} // namespace mk::cli
