#pragma once

#include "motion/time_model.hpp"

#include <vector>

namespace restep::motion::testing {

/// Seconds that a whole program takes.
inline double seconds_of(std::vector<Step> const& steps, Machine const& machine) {
  TimeModel model(machine);
  for (Step const& step : steps)
    model.add(step);
  return model.seconds();
}

} // namespace restep::motion::testing
