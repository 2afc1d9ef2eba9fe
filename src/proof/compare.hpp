#pragma once

#include "motion/step.hpp"
#include "text/place.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace restep::proof {

/// Where and how two programs' cuts differ.
struct CutDifference {
  text::Place a, b; ///< where one of them has ended, its last cut; line 0 when it has none
  std::string what;
};

struct Comparison {
  std::optional<CutDifference> path; ///< the first place where the tool goes elsewhere
  /// What else differs at the same place of the path, the first of each kind: tool, spindle, coolant, feed,
  /// work offset, compensation.
  std::vector<CutDifference> states;
  double largest_deviation = 0;      ///< mm, up to the first difference of the path
  double length_a = 0, length_b = 0; ///< mm, of all cuts that are known
  std::uint64_t cuts_a = 0, cuts_b = 0;

  bool same() const { return !path && states.empty(); }
};

/// Compares the cutting motions of two programs in order, as geometry: a line or an arc may be cut into any
/// number of pieces on either side, and an arc may have become chords within the tolerance (mm). Canned
/// cycles are expanded; rapids are left out. Both streams are walked once, side by side, along the path;
/// memory is one motion of each.
Comparison compare_cuts(motion::StepSource& a, motion::StepSource& b, double tolerance);

} // namespace restep::proof
