#include "transform/engagement.hpp"

#include "cutter/cutting_data.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {
namespace {

using finish::LevelFigures;

/// The largest step sideways between neighbouring levels.
double largest_stepover(LevelFigures const& figures) {
  double largest = 0;
  for (std::size_t i = 1; i < figures.positions.size(); ++i)
    largest = std::max(largest, std::abs(figures.positions[i].x - figures.positions[i - 1].x));
  return largest;
}

void engage(cutter::Tool const& tool, double digit, LevelFigures& figures) {
  figures.stepover_max_mm = largest_stepover(figures);
  if (figures.spindle_rpm > 0 && tool.flutes > 0)
    figures.feed_per_tooth_mm =
        cutter::feed_per_tooth(figures.feed_max_mm_min, figures.spindle_rpm, tool.flutes);
  if (!(figures.stepdown_max_mm > 0)) return;
  double const diameter = cutter::effective_diameter(tool, figures.stepdown_max_mm);
  figures.effective_diameter_mm = diameter;
  figures.chip_thinning = cutter::corner_thinning(tool, figures.stepdown_max_mm);
  figures.cutting_speed_m_min = cutter::cutting_speed(diameter, figures.spindle_rpm);
  // Levels of a vertical wall stand above each other: what they take sideways the stock says, not they.
  if (!(figures.stepover_max_mm > digit)) return;
  figures.radial_thinning = cutter::chip_thinning(diameter, figures.stepover_max_mm);
  // hex = fz sin(phi) sin(kappa), common practice for the two together.
  figures.thickest_chip_mm = figures.feed_per_tooth_mm * figures.radial_thinning * figures.chip_thinning;
}

/// The speed at the diameter that cuts, where the tool's full diameter would be inside its range.
void judge_speed(Context& context, finish::PassReport const& pass, cutter::Tool const& tool) {
  LevelFigures const& figures = pass.after;
  double const speed = figures.cutting_speed_m_min;
  double const full = cutter::cutting_speed(tool.diameter, figures.spindle_rpm);
  if (!(speed > 0) || !(speed < tool.cutting_speed_min) || full < tool.cutting_speed_min) return;
  text::Place place;
  place.line = pass.first_line;
  context.findings.add(
      text::Severity::note, "cutting-speed-engaged",
      fmt::format("pass {} cuts at {:.3g} m/min: at its depth T{} cuts on a diameter of {}; it wants {:.3g} "
                  "m/min at least",
                  pass.index, speed, pass.tool,
                  length_words(figures.effective_diameter_mm, motion::Units::mm), tool.cutting_speed_min),
      "raise S, and F with it, where the rest of the pass bears it", place);
}

void judge(Context& context, finish::PassReport const& pass, std::string_view what, std::string code,
           double before, double after, double allowed) {
  double const digit = context.resolution.length;
  if (allowed <= 0 || after <= allowed + digit / 2) return;
  text::Place place;
  place.line = pass.first_line;
  bool const more = after > before + digit / 2;
  context.findings.add(
      text::Severity::warning, std::move(code),
      fmt::format("pass {} has a {} of {}; T{} bears {} at most ({} in the source)", pass.index, what,
                  length_words(after, motion::Units::mm), pass.tool, length_words(allowed, motion::Units::mm),
                  length_words(before, motion::Units::mm)),
      more ? "ask for less with --max-stepdown" : "the source asks for it already; look at the tool table",
      place);
}

} // namespace

void judge_passes(Context& context) {
  for (finish::PassReport& pass : context.passes) {
    cutter::Tool const* tool = context.tools.find(pass.tool);
    if (pass.raster) // its lines have stepovers instead, and what they cut below them is not known
      for (LevelFigures* figures : {&pass.before, &pass.after})
        figures->stepover_max_mm = figures->stepdown_max_mm;
    if (!tool || !tool->can_finish() || pass.raster) continue;
    engage(*tool, context.resolution.length, pass.before);
    engage(*tool, context.resolution.length, pass.after);
    judge_speed(context, pass, *tool);
    if (pass.status != finish::PassStatus::restepped) continue;
    judge(context, pass, "stepdown", "stepdown-large", pass.before.stepdown_max_mm,
          pass.after.stepdown_max_mm, tool->max_stepdown);
    judge(context, pass, "stepover", "stepover-large", pass.before.stepover_max_mm,
          pass.after.stepover_max_mm, tool->max_stepover);
  }
}

} // namespace restep::transform
