#pragma once

#include "motion/step.hpp"

namespace restep::proof::testing {

/// A straight cut.
inline motion::Step line(geometry::Vec3 from, geometry::Vec3 to) {
  motion::Motion m;
  m.path = motion::PathKind::line;
  m.from = from;
  m.to = to;
  motion::Step step;
  step.event = m;
  return step;
}

} // namespace restep::proof::testing
