#include "motion/survey.hpp"

#include "motion/arc.hpp"

#include <algorithm>

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

void add_motion(Survey& survey, Motion const& motion, std::uint32_t line) {
  ++survey.motions;
  if (!is_cutting(motion)) {
    extend(survey.rapids, motion, line);
    return;
  }
  extend(survey.cutting, motion, line);
  bool const sideways = is_arc(motion) || motion.from.x != motion.to.x || motion.from.y != motion.to.y;
  if (!sideways) return;
  for (double const z : {motion.from.z, motion.to.z})
    if (z > survey.highest_cut) survey.highest_cut = z;
}

void add_cycle(Survey& survey, Cycle const& cycle, std::uint32_t line) {
  ++survey.motions;
  int const normal = axes_of(cycle.plane).normal;
  Vec3 retract = cycle.hole;
  Vec3 clear = cycle.hole;
  retract[normal] = cycle.retract;
  clear[normal] = cycle.clear;
  for (Vec3 const& point : {cycle.from, retract, clear})
    extend(survey.rapids, Box{point, point}, line);
  for (Vec3 const& point : {retract, cycle.hole})
    extend(survey.cutting, Box{point, point}, line);
  // A cycle along X or Y cuts sideways.
  if (normal != 2) survey.highest_cut = std::max(survey.highest_cut, cycle.hole.z);
}

} // namespace

void Survey::add(Step const& step) {
  if (step.first_in_block) ++blocks;
  std::uint32_t const line = step.place.line;
  if (auto const* motion = std::get_if<Motion>(&step.event)) {
    add_motion(*this, *motion, line);
  } else if (auto const* cycle = std::get_if<Cycle>(&step.event)) {
    add_cycle(*this, *cycle, line);
  } else if (auto const* change = std::get_if<ToolChange>(&step.event)) {
    if (std::find(tools.begin(), tools.end(), change->tool) == tools.end()) tools.push_back(change->tool);
  } else if (auto const* offset = std::get_if<LengthOffset>(&step.event)) {
    length_offset = length_offset || offset->active;
  } else if (auto const* stop = std::get_if<Stop>(&step.event)) {
    ends = ends || stop->kind == StopKind::end || stop->kind == StopKind::end_rewind;
  }
}

} // namespace restep::motion
