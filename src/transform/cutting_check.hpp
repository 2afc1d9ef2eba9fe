#pragma once

#include "cutter/tool.hpp"
#include "motion/machine.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"
#include "text/finding.hpp"

#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <vector>

namespace restep::transform {

/// A figure's least and greatest value and where they stand.
struct Range {
  double least = std::numeric_limits<double>::infinity();
  double most = -std::numeric_limits<double>::infinity();
  std::uint32_t least_line = 0, most_line = 0;

  void add(double value, std::uint32_t line);
  bool empty() const { return !(least <= most); }
};

/// What one tool does while it cuts sideways; drilling cycles count as well.
struct ToolFigures {
  int tool = 0;
  Range chip;  ///< mm per tooth; empty when the flutes or the speed are not known
  Range speed; ///< m/min, at the tool's full diameter
};

/// Watches a stream as a control would run it: chips, cutting speeds, the spindle, the rate of blocks.
class CuttingCheck {
public:
  /// `changes_restore`: somebody behind switches the spindle on again after tool changes.
  CuttingCheck(motion::Machine const& machine, cutter::ToolTable const& tools, bool changes_restore)
      : machine_(machine)
      , tools_(tools)
      , changes_restore_(changes_restore) {}

  void add(motion::Step const& step);
  void add(motion::Stretch const& stretch);

  std::vector<ToolFigures> const& figures() const { return figures_; }

  /// Findings about everything added. Errors: spindle-stands (the program turns the spindle elsewhere).
  /// Warnings: spindle-never-turns, chip-thin, chip-thick, cutting-speed, blocks-per-second.
  void report(text::Findings& findings) const;

private:
  motion::Machine const& machine_;
  cutter::ToolTable const& tools_;
  bool changes_restore_;
  std::vector<ToolFigures> figures_;
  cutter::Tool const* tool_ = nullptr;
  int tool_number_ = -1;
  double rpm_ = 0;
  motion::Rotation rotation_ = motion::Rotation::stop;
  bool ever_turned_ = false;
  std::vector<text::Place> standing_cuts_; ///< the first cuts with a standing spindle, a few
  bool stood_ = false;                     ///< the last cut was one of them

  static constexpr std::size_t window = 32;
  std::array<double, window> seconds_{}; ///< of the last moves
  std::size_t moves_ = 0;
  double window_seconds_ = 0;
  double least_seconds_ = std::numeric_limits<double>::infinity(); ///< of the window, at its fastest
  std::uint32_t fastest_line_ = 0;

  void stand_or_turn(text::Place const& place);
  void figure(text::Place const& place, double feed, motion::FeedMode mode);
  void cut(text::Place const& place, double feed, motion::FeedMode mode, bool sideways);
  void count_block(double seconds, std::uint32_t line);
  void report_tool(text::Findings& findings, ToolFigures const& figures) const;
};

} // namespace restep::transform
