#include "transform/cutting_check.hpp"

#include "cutter/cutting_data.hpp"
#include "motion/arc.hpp"
#include "transform/feed_limit.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::transform {

using motion::FeedMode;
using motion::Rotation;
using motion::Step;

namespace {

/// A figure counts as outside its range only when it is so by more than the digits of F and S explain.
constexpr double slack = 0.005;
constexpr std::size_t most_places = 20;
/// Rise per length of path up to which a move is a cut with the side of the tool.
constexpr double steepest_cut = 0.05;

text::Place at_line(std::uint32_t line) {
  text::Place place;
  place.line = line;
  return place;
}

} // namespace

void Range::add(double value, std::uint32_t line) {
  if (value < least) {
    least = value;
    least_line = line;
  }
  if (value > most) {
    most = value;
    most_line = line;
  }
}

void CuttingCheck::add(Step const& step) {
  if (auto const* motion = motion_of(step)) {
    if (!is_cutting(*motion)) return count_block(1, step.place.line);
    double const length = motion::length(*motion);
    // A ramp is a plunge: its feed is chosen for the end of the tool, not for its side.
    bool const sideways = std::abs(motion->to.z - motion->from.z) <= steepest_cut * length;
    double const per_minute = feed_per_minute(*motion, rpm_);
    if (length > 0 && per_minute > 0) count_block(60 * length / per_minute, step.place.line);
    cut(step.place, per_minute, FeedMode::per_minute, sideways);
  } else if (auto const* hole = std::get_if<motion::Cycle>(&step.event)) {
    cut(step.place, hole->feed, hole->feed_mode, true);
  } else if (auto const* speed = std::get_if<motion::SpindleSpeed>(&step.event)) {
    rpm_ = speed->rpm;
  } else if (auto const* turn = std::get_if<motion::SpindleTurn>(&step.event)) {
    rotation_ = turn->rotation;
    ever_turned_ = ever_turned_ || rotation_ != Rotation::stop;
  } else if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
    tool_number_ = change->tool;
    tool_ = tools_.find(change->tool);
    if (!changes_restore_) rotation_ = Rotation::stop;
  }
}

// One feed and one speed: the first cut tells what all have in common.
void CuttingCheck::add(motion::Stretch const& stretch) {
  motion::Ways const ways = stretch.ways();
  text::Place const* const places = stretch.places();
  double const per_length = 60 / stretch.like.feed;
  stand_or_turn(places[0]);
  for (std::size_t i = 0; i < stretch.size; ++i)
    if (ways.length[i] > 0) count_block(per_length * ways.length[i], places[i].line);
  double const* const z = stretch.z();
  for (std::size_t i = 0; i < stretch.size; ++i)
    if (std::abs(z[i + 1] - z[i]) <= steepest_cut * ways.length[i])
      return figure(places[i], stretch.like.feed, FeedMode::per_minute);
}

void CuttingCheck::cut(text::Place const& place, double feed, FeedMode mode, bool sideways) {
  stand_or_turn(place);
  if (sideways) figure(place, feed, mode);
}

void CuttingCheck::stand_or_turn(text::Place const& place) {
  // A tool of another kind (a scriber, a touch probe) may well be dragged by a standing spindle.
  bool const may_stand = tool_ && tool_->kind == cutter::ToolKind::other;
  bool const stands = rotation_ == Rotation::stop && !may_stand;
  if (stands && !stood_ && standing_cuts_.size() < most_places) standing_cuts_.push_back(place);
  stood_ = stands;
}

void CuttingCheck::figure(text::Place const& place, double feed, FeedMode mode) {
  if (!tool_ || rpm_ <= 0) return;

  auto found = std::find_if(figures_.begin(), figures_.end(),
                            [this](ToolFigures const& one) { return one.tool == tool_number_; });
  if (found == figures_.end()) found = figures_.insert(figures_.end(), {tool_number_, {}, {}});
  std::uint32_t const line = place.line;
  if (tool_->diameter > 0) found->speed.add(cutter::cutting_speed(tool_->diameter, rpm_), line);
  double const per_minute = mode == FeedMode::per_revolution ? feed * rpm_ : feed;
  if (tool_->flutes > 0 && motion::is_known(per_minute))
    found->chip.add(cutter::feed_per_tooth(per_minute, rpm_, tool_->flutes), line);
}

void CuttingCheck::count_block(double seconds, std::uint32_t line) {
  double& slot = seconds_[moves_ % window];
  window_seconds_ += seconds - slot;
  slot = seconds;
  if (++moves_ < window) return;
  double const together = std::max(window_seconds_, 1e-9);
  if (together >= least_seconds_) return;
  least_seconds_ = together;
  fastest_line_ = line;
}

void CuttingCheck::report(text::Findings& findings) const {
  if (ever_turned_) {
    for (text::Place const& place : standing_cuts_)
      findings.add(
          text::Severity::error, "spindle-stands", "a cut begins while the spindle stands",
          "give M3 (or M4) before it, or call the tool 'other' in the tool table if it does not turn", place);
  } else if (!standing_cuts_.empty()) {
    findings.add(text::Severity::warning, "spindle-never-turns",
                 "the program cuts and never starts the spindle",
                 "give S and M3, or start it by hand before cycle start", standing_cuts_.front());
  }
  for (ToolFigures const& figures : figures_)
    report_tool(findings, figures);
  double const fastest = static_cast<double>(window) / least_seconds_;
  if (machine_.blocks_per_second > 0 && fastest > machine_.blocks_per_second * (1 + slack))
    findings.add(text::Severity::warning, "blocks-per-second",
                 fmt::format("the {} moves up to here come at {:.0f} per second; the control reads {:.0f}",
                             window, fastest, machine_.blocks_per_second),
                 fmt::format("the tool will stutter: lower the feed to {:.0f} % there, or post longer moves",
                             100 * machine_.blocks_per_second / fastest),
                 at_line(fastest_line_));
}

void CuttingCheck::report_tool(text::Findings& findings, ToolFigures const& figures) const {
  cutter::Tool const& tool = *tools_.find(figures.tool);
  std::string const name = fmt::format("T{} ({})", figures.tool, cutter::describe(tool));
  if (tool.chip_load_min > 0 && figures.chip.least < tool.chip_load_min * (1 - slack))
    findings.add(text::Severity::warning, "chip-thin",
                 fmt::format("{} cuts {:.4g} mm per tooth here; it wants {:.4g} at least", name,
                             figures.chip.least, tool.chip_load_min),
                 "it rubs instead of cutting: raise the feed or lower the speed",
                 at_line(figures.chip.least_line));
  if (tool.chip_load_max > 0 && figures.chip.most > tool.chip_load_max * (1 + slack))
    findings.add(text::Severity::warning, "chip-thick",
                 fmt::format("{} cuts {:.4g} mm per tooth here; it bears {:.4g} at most", name,
                             figures.chip.most, tool.chip_load_max),
                 "lower the feed or raise the speed", at_line(figures.chip.most_line));
  bool const reachable = machine_.spindle_max <= 0 ||
                         cutter::spindle_speed(tool.cutting_speed_min, tool.diameter) <= machine_.spindle_max;
  if (tool.cutting_speed_min > 0 && figures.speed.least < tool.cutting_speed_min * (1 - slack) && reachable)
    findings.add(text::Severity::warning, "cutting-speed",
                 fmt::format("{} cuts at {:.3g} m/min here; it wants {:.3g} at least", name,
                             figures.speed.least, tool.cutting_speed_min),
                 "raise S, and F with it", at_line(figures.speed.least_line));
  if (tool.cutting_speed_max > 0 && figures.speed.most > tool.cutting_speed_max * (1 + slack))
    findings.add(text::Severity::warning, "cutting-speed",
                 fmt::format("{} cuts at {:.3g} m/min here; it bears {:.3g} at most", name,
                             figures.speed.most, tool.cutting_speed_max),
                 "lower S, and F with it", at_line(figures.speed.most_line));
}

} // namespace restep::transform
