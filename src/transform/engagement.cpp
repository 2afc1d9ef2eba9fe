#include "transform/engagement.hpp"

#include "cutter/cutting_data.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {
namespace {

using finish::LevelFigures;

void engage(cutter::Tool const& tool, LevelFigures& figures) {
  if (!(figures.stepdown_max_mm > 0)) return;
  figures.effective_diameter_mm = cutter::effective_diameter(tool, figures.stepdown_max_mm);
  figures.chip_thinning = cutter::corner_thinning(tool, figures.stepdown_max_mm);
}

/// The largest step sideways between neighbouring levels.
double largest_stepover(LevelFigures const& figures) {
  double largest = 0;
  for (std::size_t i = 1; i < figures.positions.size(); ++i)
    largest = std::max(largest, std::abs(figures.positions[i].x - figures.positions[i - 1].x));
  return largest;
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
    if (!tool || !tool->can_finish() || pass.raster) continue; // lines have stepovers instead
    engage(*tool, pass.before);
    engage(*tool, pass.after);
    if (pass.status != finish::PassStatus::restepped) continue;
    judge(context, pass, "stepdown", "stepdown-large", pass.before.stepdown_max_mm,
          pass.after.stepdown_max_mm, tool->max_stepdown);
    judge(context, pass, "stepover", "stepover-large", largest_stepover(pass.before),
          largest_stepover(pass.after), tool->max_stepover);
  }
}

} // namespace restep::transform
