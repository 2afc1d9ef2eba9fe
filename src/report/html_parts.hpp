#pragma once

#include "report/html.hpp"

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace restep::report {

struct ComparisonReport;

/// A course of more lines than this is thinned before it is drawn.
inline constexpr std::size_t most_drawn = 20'000;

// The sections of the page, one file per subject; each is a complete <section> or empty.

/// A finishing pass: meridian, cusp against depth, level tables.
std::string pass_section(finish::PassReport const& pass, PageKind kind);

/// Plan and side view.
std::string path_section(ProgramReport const& report, Toolpath const& path, PageKind kind);

/// Feed and chip load along the cutting time.
std::string feed_section(ProgramReport const& report, Toolpath const& path);

/// Feed (mm/min) and chip load (mm; 0 where it is not known) up to each second of cutting time; empty where
/// there are too many steps for the scripts.
struct FeedSteps {
  std::vector<double> seconds, feed, chip;
};
FeedSteps feed_steps(ProgramReport const& report, Toolpath const& path);

/// Bars of the passes' times before and after.
std::string time_section(ProgramReport const& report, PageKind kind);

/// Feed per tooth and cutting speed of each tool and in each pass; empty when no speed is known.
std::string chips_section(ProgramReport const& report, PageKind kind);

std::string findings_section(ProgramReport const& report);
std::string edits_section(ProgramReport const& report);

/// Passes whose surface is known or that were re-stepped: they have a colour and a number in the views.
std::vector<finish::PassReport const*> finishing_passes(ProgramReport const& report);

/// Colours of passes (p0, p1 ...) before they begin again; the numbers tell passes of one colour apart.
inline constexpr std::size_t pass_colours = 6;

/// Lines of one kind in the views.
struct PathLayer {
  std::string style; ///< classes of the style sheet
  std::string words; ///< for the legend
  Toolpath const* path;
  std::function<bool(Stretch const&)> draws;
};

/// A labelled place in the views; not drawn where the place is unknown.
struct PathMark {
  geometry::Vec3 at; ///< mm
  std::string label; ///< one or two characters
  std::string style;
};

/// Legend, plan and side view of all layers, the first lowest; all paths in one scale.
std::string path_views(std::vector<PathLayer> const& layers, std::vector<PathMark> const& marks,
                       std::string_view description);

/// The page up to its <main>: head, title, verdict. `title` and `verdict` are plain text, `kind` says what
/// the page is.
std::string page_start(std::string const& title, std::string_view kind, bool good,
                       std::string const& verdict);

/// A file's name without its folders.
std::string short_name(std::string const& program);

std::string cautions_section();

/// The style sheet.
std::string_view page_style();

/// The scripts of the interactive part, bundled when restep was built; empty when it was built without Node.
std::string_view page_script();

/// What the scripts need, as JSON.
std::string page_data(ProgramReport const& report, Toolpath const& path);
/// The same for a comparison: both ways, and the places marked in their views.
std::string comparison_data(ComparisonReport const& report, std::vector<PathMark> const& marks);

/// The end of the page: its foot, and the scripts with their data, where restep was built with them. `data`
/// is asked for only then.
std::string page_end(std::function<std::string()> const& data);

/// Figures of one pair of neighbouring levels.
struct PairFigures {
  double cusp_um = 0;
  bool rounded = true;                     ///< the flanks are arcs, not a stair
  double s_from = 0, s_peak = 0, s_to = 0; ///< along the meridian, mm
};
std::vector<PairFigures> pair_figures(finish::PassReport const& pass,
                                      std::vector<geometry::Vec2> const& tips);

/// One side of a pass: as it was, or as it is written.
struct PassSide {
  char const* name;  ///< "before"
  char const* style; ///< class of the style sheet
  finish::LevelFigures const& figures;
  std::vector<finish::PairFigure> cusps;
};

/// The cusp of every pair of neighbours, of the one meridian or as the pass itself tells them; empty where
/// the surface is not known.
std::vector<finish::PairFigure> cusps_of(finish::PassReport const& pass, finish::LevelFigures const& figures);

/// Cusp against depth, or against the place across the lines of a parallel pass.
std::string cusp_chart(finish::PassReport const& pass, std::vector<PassSide> const& sides);
std::string level_table(finish::PassReport const& pass, PassSide const& side);

/// "<td>" and its text, escaped.
std::string cell(std::string_view text);
/// The same, set as a number.
std::string number_cell(std::string_view text);

} // namespace restep::report
