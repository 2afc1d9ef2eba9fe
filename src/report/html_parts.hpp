#pragma once

#include "report/html.hpp"

#include <string>
#include <string_view>

namespace restep::report {

// The sections of the page, one file per subject; each is a complete <section> or empty.

/// A finishing pass: meridian, cusp against depth, level tables.
std::string pass_section(finish::PassReport const& pass, PageKind kind);

/// Plan and side view.
std::string path_section(Toolpath const& path, PageKind kind);

/// Feed and chip load along the cutting time.
std::string feed_section(ProgramReport const& report, Toolpath const& path);

/// Bars of the passes' times before and after.
std::string time_section(ProgramReport const& report, PageKind kind);

std::string findings_section(ProgramReport const& report);
std::string edits_section(ProgramReport const& report);

/// The style sheet.
std::string_view page_style();

/// The scripts of the interactive part, bundled when restep was built; empty when it was built without Node.
std::string_view page_script();

/// What the scripts need, as JSON.
std::string page_data(ProgramReport const& report, Toolpath const& path);

/// Figures of one pair of neighbouring levels.
struct PairFigures {
  double cusp_um = 0;
  bool rounded = true;                     ///< the flanks are arcs, not a stair
  double s_from = 0, s_peak = 0, s_to = 0; ///< along the meridian, mm
};
std::vector<PairFigures> pair_figures(finish::PassReport const& pass,
                                      std::vector<geometry::Vec2> const& tips);

/// "<td>" and its text, escaped.
std::string cell(std::string_view text);
/// The same, set as a number.
std::string number_cell(std::string_view text);

} // namespace restep::report
