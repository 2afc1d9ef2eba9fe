#pragma once

#include "geometry/vec.hpp"
#include "motion/step.hpp"
#include "text/place.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace restep::proof {

using geometry::Vec3;

/// Where and how two programs' cuts differ.
struct CutDifference {
  text::Place a, b; ///< where one of them has ended, its last cut; line 0 when it has none
  std::string what;
  Vec3 at = motion::unknown_position; ///< where A's tool is then, mm; unknown where one program has ended
};

struct Comparison {
  std::optional<CutDifference> path; ///< the first place where the tool goes elsewhere
  /// What else differs at the same place of the path, the first of each kind: tool, spindle, coolant, feed,
  /// work offset and its origin, length offset, compensation.
  std::vector<CutDifference> states;
  double largest_deviation = 0; ///< mm, up to the first difference of the path
  /// The blocks where it is and the place on A, or B, mm; line 0 and unknown while there is none.
  text::Place largest_a, largest_b;
  Vec3 largest_at = motion::unknown_position;
  double length_a = 0, length_b = 0; ///< mm, of all cuts that are known
  std::uint64_t cuts_a = 0, cuts_b = 0;

  bool same() const { return !path && states.empty(); }
};

struct CompareRules {
  double tolerance = 0.001; ///< mm between the ways
  /// B is A moved by this, mm; its work offsets may then have other numbers and origins.
  std::optional<Vec3> shift;
  /// False where one of the controls has no such word, so that its programs cannot say it.
  bool tools = true, length_offsets = true;
};

/// Compares the cutting motions of two programs in order, as geometry: a line or an arc may be cut into any
/// number of pieces on either side, and an arc may have become chords within the tolerance. Canned cycles are
/// expanded; rapids are left out. Shifts by G92 and G52 are taken out, so that the places compared are those
/// in the work offset. Both streams are walked once, side by side, along the path; memory is one motion of
/// each.
Comparison compare_cuts(motion::StepSource& a, motion::StepSource& b, CompareRules const& rules);

} // namespace restep::proof
