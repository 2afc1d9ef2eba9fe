#pragma once

#include "geometry/vec.hpp"
#include "motion/step.hpp"
#include "motion/stretch.hpp"

#include <cstdint>
#include <limits>
#include <string_view>
#include <vector>

namespace restep::motion {

/// The reach of one kind of motion per axis and the line that reaches furthest, arcs' bulges and cycles
/// included.
struct Reach {
  geometry::Vec3 low{std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity(),
                     std::numeric_limits<double>::infinity()};
  geometry::Vec3 high{-std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity(),
                      -std::numeric_limits<double>::infinity()};
  std::uint32_t low_line[3] = {0, 0, 0};
  std::uint32_t high_line[3] = {0, 0, 0};
};

/// How far the motions in one work offset and under one tool length offset reach, cuts and rapids together.
struct SystemReach {
  int system = 1; ///< as in WorkOffset
  int length = 0; ///< the H of the G43 in force; 0 when none is
  Reach reach;
};

/// The lowest point that one tool cuts.
struct ToolDepth {
  int tool = 0;
  double low = 0; ///< mm
  std::uint32_t line = 0;
};

/// The remark that marks a program whose feeds on inside arcs are those of the tool's centre already.
inline constexpr std::string_view centre_feeds_remark = "inside arcs have centre feeds";

/// What one reading of the whole program tells before anything is rewritten.
struct Survey {
  Reach cutting; ///< feed motions, work coordinates (all systems taken together)
  Reach rapids;
  /// Highest Z at which a feed motion moves sideways, mm. A sloping one counts with its lower end: a ramp
  /// begins and a lead-out ends in the air.
  double highest_cut = -std::numeric_limits<double>::infinity();
  /// Heights above it at which the program itself travels sideways by level rapids, rising. Of very many only
  /// the lowest and the highest are kept.
  std::vector<double> rapid_planes;
  /// The lowest Z of a rapid that moves sideways, mm; infinite when no such height is known.
  double lowest_sideways_rapid = std::numeric_limits<double>::infinity();
  std::vector<int> tools; ///< in order of first use
  std::uint64_t blocks = 0;
  std::uint64_t motions = 0;
  bool ends = false;          ///< M2 or M30 seen
  bool length_offset = false; ///< G43 seen: Z is the tip's only while one is in force
  bool centre_feeds = false;  ///< centre_feeds_remark seen
  /// What the program says of the state before its first motion (state_word). Steps do not tell: the reader
  /// of the first reading fills it in.
  std::uint8_t stated = state_word::all;
  bool shifted = false;             ///< G92, G52 or G10 seen: where a work offset lies changes on the way
  std::vector<SystemReach> systems; ///< in order of first use
  Reach machine;                    ///< G53 moves, machine coordinates
  std::vector<ToolDepth> depths;    ///< in order of first use; a tool of -1 was never named

  /// Takes one more step into account.
  void add(Step const& step);
  void add(Stretch const& stretch);

  /// The lowest of the rapid planes at or above `height`, NaN when there is none.
  double lowest_plane(double height) const;

private:
  int system_ = 1;
  int length_ = 0;
  int tool_ = -1;

  Reach& here();
  void add_depth(double z, std::uint32_t line);
  void add_motion(Motion const& motion, std::uint32_t line);
  void add_shifted(Cycle const& cycle, std::uint32_t line);
  void add_cycle(Cycle const& cycle, std::uint32_t line);
  void raise_highest_cut(double z);
  void add_plane(double z);
};

} // namespace restep::motion
