#pragma once

#include <string>
#include <vector>

namespace restep::interpret {

/// How a dialect is read, where controls differ. Defaults: a full RS274/NGC control as shops use it.
struct ReadRules {
  /// NISTIR 6556 to the letter as errors: layout (";", O numbers, percent pairs, 5-digit N, 256 characters),
  /// codes and values that it does not have, and words that shops' controls take more lightly (G0 and G1
  /// alone, G80 beside G0, a zero centre offset outside the plane, an arc without end, G86 and G88 without P,
  /// G4 X).
  bool strict_layout = false;
  bool count_without_point = false; ///< a length without a decimal point counts least increments
  double least_increment_mm = 0.001;
  double least_increment_inch = 0.0001;
  bool dwell_in_milliseconds = false; ///< G4 P and cycle P
  bool iso_units = true;              ///< G70/G71 mean inch/mm
  bool home_moves_all_axes = false;   ///< NGC: G28 with axis words sends every axis home
  bool initial_level_sticky =
      true; ///< G98 level: height at entry into the cycle mode (true) or before each block (NGC)
  bool repeats_in_k = false; ///< K, not L, says how often a canned cycle is repeated (but in G76 and G87)
  bool starts_in_inch = false;
  bool block_delete = false;       ///< the operator's switch: lines with "/" are skipped
  double arc_tolerance_mm = 0.002; ///< start and end radius may differ by this (NISTIR 6556, 3.5.3.2)
  double arc_tolerance_inch = 0.0002;
  /// How many blocks may be executed once calls, jumps and loops are followed: beyond it a loop has no end.
  int most_blocks = 10'000'000;
  std::vector<int> carried_g; ///< codes in tenths that are carried unchanged though unknown
  std::vector<int> carried_m;
};

} // namespace restep::interpret
