#include "motion/survey.hpp"

#include "motion/arc.hpp"
#include "motion/cycle.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>
#include <variant>

namespace restep::motion {
namespace {

void extend(Reach& reach, Box const& box, std::uint32_t line) {
  for (int axis = 0; axis < 3; ++axis) {
    // A comparison with an unknown coordinate is false: unknown reaches nowhere.
    if (box.low[axis] < reach.low[axis]) {
      reach.low[axis] = box.low[axis];
      reach.low_line[axis] = line;
    }
    if (box.high[axis] > reach.high[axis]) {
      reach.high[axis] = box.high[axis];
      reach.high_line[axis] = line;
    }
  }
}

/// The ends of a move one by one, so that an unknown end does not hide the known one.
void extend(Reach& reach, Motion const& motion, std::uint32_t line) {
  extend(reach, Box{motion.from, motion.from}, line);
  extend(reach, Box{motion.to, motion.to}, line);
  if (is_arc(motion)) extend(reach, bounds(motion), line);
}

/// Where a feed motion that goes sideways cuts highest for certain. An arc that rises above both of its ends
/// has cut on the way up and on the way down.
double cut_height(Motion const& motion) {
  double const lower = std::min(motion.from.z, motion.to.z), upper = std::max(motion.from.z, motion.to.z);
  if (!is_arc(motion) || motion.plane == Plane::xy) return lower;
  constexpr double noise = 1e-9;
  double const crest = bounds(motion).high.z;
  return crest > upper + noise ? crest : lower;
}

/// However the control that the program is written for spells its remarks.
bool says_centre_feeds(std::string_view remark) {
  auto const alike = [](char a, char b) {
    return std::tolower(static_cast<unsigned char>(a)) == std::tolower(static_cast<unsigned char>(b));
  };
  return std::search(remark.begin(), remark.end(), centre_feeds_remark.begin(), centre_feeds_remark.end(),
                     alike) != remark.end();
}

struct Span {
  double low = 0, high = 0;
};

/// The least and the largest of at least one value. Several of each are followed side by side, since one
/// comparison must wait for the one before.
Span span_of(double const* values, std::size_t count) {
  constexpr std::size_t lanes = 4;
  std::array<double, lanes> low, high;
  low.fill(values[0]);
  high.fill(values[0]);
  std::size_t i = 0;
  for (; i + lanes <= count; i += lanes)
    for (std::size_t k = 0; k < lanes; ++k) {
      low[k] = std::min(low[k], values[i + k]);
      high[k] = std::max(high[k], values[i + k]);
    }
  for (; i < count; ++i) {
    low[0] = std::min(low[0], values[i]);
    high[0] = std::max(high[0], values[i]);
  }
  return {*std::min_element(low.begin(), low.end()), *std::max_element(high.begin(), high.end())};
}

bool shifts_sideways(Cycle const& cycle) {
  return cycle.code == 760 || cycle.code == 870;
}

} // namespace

void Survey::add_motion(Motion const& motion, std::uint32_t line) {
  ++motions;
  bool const sideways = is_arc(motion) || motion.from.x != motion.to.x || motion.from.y != motion.to.y;
  extend(here(), motion, line);
  if (!is_cutting(motion)) {
    extend(rapids, motion, line);
    if (!sideways) return;
    // A comparison with an unknown height is false: it lowers nothing.
    for (double const z : {motion.from.z, motion.to.z})
      if (z < lowest_sideways_rapid) lowest_sideways_rapid = z;
    if (motion.from.z == motion.to.z) add_plane(motion.to.z);
    return;
  }
  extend(cutting, motion, line);
  for (double const z : {motion.from.z, motion.to.z})
    add_depth(z, line);
  if (!sideways) return;
  bool const whole = is_known(motion.from.z) && is_known(motion.to.z);
  raise_highest_cut(whole ? cut_height(motion) : is_known(motion.from.z) ? motion.from.z : motion.to.z);
}

/// What its points reach, column by column: only where they reach farther than before is asked which line
/// does.
void Survey::add(Stretch const& stretch) {
  blocks += stretch.size;
  motions += stretch.size;
  std::size_t const points = stretch.size + 1;
  // A point belongs to the cut that ends there, the first one to the cut that begins there.
  auto const line_of = [&](double const* column, double value) {
    auto const point = static_cast<std::size_t>(std::find(column, column + points, value) - column);
    return stretch.places()[point == 0 ? 0 : point - 1].line;
  };
  Reach& everything = here();
  std::array const columns{stretch.x(), stretch.y(), stretch.z()};
  Span height;
  for (int axis = 0; axis < 3; ++axis) {
    double const* const column = columns[static_cast<std::size_t>(axis)];
    Span const span = span_of(column, points);
    for (Reach* reach : {&everything, &cutting}) {
      if (span.low < reach->low[axis]) {
        reach->low[axis] = span.low;
        reach->low_line[axis] = line_of(column, span.low);
      }
      if (span.high > reach->high[axis]) {
        reach->high[axis] = span.high;
        reach->high_line[axis] = line_of(column, span.high);
      }
    }
    height = span;
  }
  double const* const z = stretch.z();
  add_depth(z[0], stretch.places()[0].line);
  add_depth(height.low, line_of(z, height.low));
  if (height.high <= highest_cut) return;
  for (std::size_t i = 0; i < stretch.size; ++i)
    if (stretch.moves_sideways(i)) raise_highest_cut(std::min(z[i], z[i + 1]));
}

Reach& Survey::here() {
  for (SystemReach& one : systems)
    if (one.system == system_ && one.length == length_) return one.reach;
  return systems.emplace_back(SystemReach{system_, length_, {}}).reach;
}

void Survey::add_depth(double z, std::uint32_t line) {
  if (!is_known(z)) return;
  for (ToolDepth& depth : depths) {
    if (depth.tool != tool_) continue;
    if (z < depth.low) depth = {tool_, z, line};
    return;
  }
  depths.push_back({tool_, z, line});
}

void Survey::raise_highest_cut(double z) {
  if (!(z > highest_cut)) return;
  highest_cut = z;
  auto const above = std::lower_bound(rapid_planes.begin(), rapid_planes.end(), z);
  rapid_planes.erase(rapid_planes.begin(), above);
}

void Survey::add_plane(double z) {
  constexpr std::size_t most = 64;
  if (!(z >= highest_cut)) return;
  auto const place = std::lower_bound(rapid_planes.begin(), rapid_planes.end(), z);
  if (place != rapid_planes.end() && *place == z) return;
  rapid_planes.insert(place, z);
  if (rapid_planes.size() > most) rapid_planes.erase(rapid_planes.end() - 2);
}

double Survey::lowest_plane(double height) const {
  auto const place = std::lower_bound(rapid_planes.begin(), rapid_planes.end(), height);
  return place == rapid_planes.end() ? unknown : *place;
}

/// Boring cycles that move off the wall, inside the hole or beside it.
void Survey::add_shifted(Cycle const& cycle, std::uint32_t line) {
  for (Event const& event : expand(cycle)) {
    auto const* move = std::get_if<Motion>(&event);
    if (!move) continue;
    extend(is_cutting(*move) ? cutting : rapids, *move, line);
    extend(here(), *move, line);
  }
}

void Survey::add_cycle(Cycle const& cycle, std::uint32_t line) {
  ++motions;
  int const normal = axes_of(cycle.plane).normal;
  Vec3 retract = cycle.hole;
  Vec3 clear = cycle.hole;
  retract[normal] = cycle.retract;
  clear[normal] = cycle.clear;
  for (Vec3 const& point : {cycle.from, retract, clear})
    extend(rapids, Box{point, point}, line);
  for (Vec3 const& point : {retract, cycle.hole})
    extend(cutting, Box{point, point}, line);
  for (Vec3 const& point : {cycle.from, retract, clear, cycle.hole})
    extend(here(), Box{point, point}, line);
  if (shifts_sideways(cycle)) add_shifted(cycle, line);
  add_depth(cycle.hole.z, line);
  // A cycle along X or Y cuts sideways.
  if (normal != 2) raise_highest_cut(cycle.hole.z);
}

void Survey::add(Step const& step) {
  if (step.first_in_block) ++blocks;
  std::uint32_t const line = step.place.line;
  if (auto const* motion = std::get_if<Motion>(&step.event)) {
    add_motion(*motion, line);
  } else if (auto const* cycle = std::get_if<Cycle>(&step.event)) {
    add_cycle(*cycle, line);
  } else if (auto const* home = std::get_if<Home>(&step.event)) {
    extend(here(), Box{home->via, home->via}, line);
  } else if (auto const* absolute = std::get_if<MachineMove>(&step.event)) {
    extend(machine, Box{absolute->to, absolute->to}, line);
  } else if (auto const* work = std::get_if<WorkOffset>(&step.event)) {
    system_ = work->system;
  } else if (std::holds_alternative<OffsetChange>(step.event) ||
             std::holds_alternative<SetOrigin>(step.event)) {
    shifted = true;
  } else if (auto const* change = std::get_if<ToolChange>(&step.event)) {
    tool_ = change->tool;
    if (std::find(tools.begin(), tools.end(), change->tool) == tools.end()) tools.push_back(change->tool);
  } else if (auto const* offset = std::get_if<LengthOffset>(&step.event)) {
    length_offset = length_offset || offset->active;
    length_ = offset->active ? offset->index : 0;
  } else if (auto const* remark = std::get_if<Comment>(&step.event)) {
    centre_feeds = centre_feeds || says_centre_feeds(remark->text);
  } else if (auto const* stop = std::get_if<Stop>(&step.event)) {
    ends = ends || stop->kind == StopKind::end || stop->kind == StopKind::end_rewind;
  }
}

} // namespace restep::motion
