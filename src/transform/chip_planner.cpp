// fz = F / (n z). Where an axis allows only the feed L < F, the chip becomes L / (n z). It stays at the
// tool's least fz_min when the spindle turns at n' = L / (z fz_min) instead; the other feeds of that speed go
// with it, so that their chips stay as they were. F and L are speeds: a feed per revolution F is F n, an
// inverse-time feed F times the length, and both come out at the same n'.
//
// On an arc L is also sqrt(a rho). A corner's arc is over before the tool has got slower by it, and is no
// reason to turn slower in the whole of the cut: an arc counts when its course is longer than the tool is
// wide.

#include "transform/chip_planner.hpp"

#include "cutter/cutting_data.hpp"
#include "motion/arc.hpp"
#include "transform/feed_limit.hpp"

#include <algorithm>
#include <cmath>

namespace restep::transform {

using motion::Step;

void ChipPlanner::add(Step const& step) {
  if (auto const* speed = std::get_if<motion::SpindleSpeed>(&step.event)) {
    rpm_ = speed->rpm;
    line_ = step.place.line;
  } else if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
    tool_ = tools_.find(change->tool);
  } else if (auto const* cut = motion_of(step); cut && is_cutting(*cut)) {
    add(*cut, step.modes.distance == motion::Distance::incremental);
  }
}

void ChipPlanner::add(motion::Stretch const& stretch) {
  bool const incremental = stretch.modes.distance == motion::Distance::incremental;
  for (std::size_t i = 0; may_rub() && i < stretch.size; ++i)
    add(stretch.cut(i), incremental);
}

/// Enough is known of the tool and its speed to tell.
bool ChipPlanner::may_rub() const {
  return tool_ && tool_->flutes > 0 && tool_->chip_load_min > 0 && tool_->cutting_speed_min > 0 && rpm_ > 0;
}

void ChipPlanner::add(motion::Motion const& cut, bool incremental) {
  if (!may_rub() || !motion::is_known(cut.from)) return;
  FeedLimit const limit = is_arc(cut) ? arc_limit(machine_, cut, tool_->radius())
                                      : straight_limit(machine_, cut.from, cut.to, incremental);
  bool const long_arc = limit.by == LimitedBy::arc && motion::length(cut) > tool_->diameter;
  if (limit.by != LimitedBy::x && limit.by != LimitedBy::y && !long_arc) return;
  double const feed = feed_per_minute(cut, rpm_);
  double const speed = machine_.spindle_max > 0 ? std::min(rpm_, machine_.spindle_max) : rpm_;
  if (!(feed * speed / rpm_ > limit.speed)) return;
  double const least = tool_->chip_load_min;
  bool const rubs_already = cutter::feed_per_tooth(feed, rpm_, tool_->flutes) < least;
  double const wanted = limit.speed / (tool_->flutes * least);
  if (rubs_already || wanted >= speed) return;
  double const floor =
      std::max(machine_.spindle_min, cutter::spindle_speed(tool_->cutting_speed_min, tool_->diameter));
  Need& need = needs_.try_emplace(line_, Need{wanted, floor}).first->second;
  need.rpm = std::min(need.rpm, wanted);
  need.least = std::max(need.least, floor);
}

std::map<std::uint32_t, double> ChipPlanner::speeds() const {
  std::map<std::uint32_t, double> speeds;
  for (auto const& [line, need] : needs_)
    if (double const rpm = std::floor(need.rpm); rpm > 0 && rpm >= need.least) speeds.emplace(line, rpm);
  return speeds;
}

} // namespace restep::transform
