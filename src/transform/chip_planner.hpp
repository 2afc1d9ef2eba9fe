#pragma once

#include "cutter/tool.hpp"
#include "motion/machine.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"

#include <cstdint>
#include <map>

namespace restep::transform {

/// Finds, in the first reading, where the machine's feeds are so slow that a tool would rub at its speed, and
/// how much slower it must turn. Only sideways cuts count that an axis limits, or its acceleration on an arc
/// longer than the tool is wide, and only those whose chip was thick enough as programmed, however their feed
/// is meant (G93, G94, G95); a speed outside the tool's cutting speeds or the spindle's range is not
/// proposed. Without flutes, a least chip load and a least cutting speed in the tool table nothing is.
class ChipPlanner {
public:
  ChipPlanner(motion::Machine const& machine, cutter::ToolTable const& tools)
      : machine_(machine)
      , tools_(tools) {}

  void add(motion::Step const& step);
  void add(motion::Stretch const& stretch);

  /// By the line of the S word: rpm, whole numbers.
  std::map<std::uint32_t, double> speeds() const;

private:
  motion::Machine const& machine_;
  cutter::ToolTable const& tools_;
  cutter::Tool const* tool_ = nullptr;
  double rpm_ = 0;
  std::uint32_t line_ = 0; ///< of the S word in force
  struct Need {
    double rpm = 0;   ///< at which the slowest of the cuts makes the least chip
    double least = 0; ///< the tools' and the spindle's least
  };
  std::map<std::uint32_t, Need> needs_;

  bool may_rub() const;
  void add(motion::Motion const& cut, bool incremental);
};

} // namespace restep::transform
