#pragma once

#include "finish/corner.hpp"
#include "finish/stack.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace restep::finish {

/// Where a point of the contour is, as a function of the offset d. Exact offsets that keep their structure
/// move every arc centre and every vertex along a straight line, save a corner at an arc, which stays where
/// the two elements meet. Where the levels do not bear that out the law is a table between the levels' own
/// points.
class PointLaw {
public:
  /// Fits the law to a point's places at the given offsets. `tolerance` mm. `corner` where the point is one.
  static tl::expected<PointLaw, double> fit(std::vector<double> const& d, std::vector<Vec2> const& places,
                                            double tolerance, std::optional<Corner> const& corner = {});

  /// Lets a straight law keep to the elements that meet at the point (one or two): their ends on all levels
  /// tell where they run better than the point's own places do, which digits let turn a little. Only where
  /// the places are about as near to it as they were.
  void settle(std::span<ElementLaw const> elements, std::vector<double> const& d,
              std::vector<Vec2> const& places);
  /// The same for the centre of an arc, which stays where it is as the arc is moved.
  void stay_at(Vec2 place, std::vector<double> const& d, std::vector<Vec2> const& places);

  Vec2 at(double d) const;
  /// True when the law holds beyond the levels too.
  bool exact() const { return table_d_.empty() || corner_; }

private:
  Vec2 on_line(double d) const { return origin_ + d * slope_; }
  Vec2 in_table(double d) const;
  double worst(std::vector<double> const& d, std::vector<Vec2> const& places) const; ///< of the straight law
  void take_if_as_near(PointLaw const& other, std::vector<double> const& d, std::vector<Vec2> const& places);

  Vec2 origin_{}, slope_{};
  std::optional<Corner> corner_;
  std::vector<double> table_d_;
  std::vector<Vec2> table_;
};

/// Which of two neighbouring levels may be moved to where the other is, and so to anywhere between them:
/// where a corner vanishes only one of them can.
struct Movable {
  bool onwards = true; ///< the first of the two
  bool back = true;    ///< the second
};

/// A stack whose contours are offsets of each other.
struct Offsets {
  std::vector<double>
      d;             ///< per level, mm from the first level in cutting order, growing away from the material
  double spread = 0; ///< largest disagreement between elements of one level about its d, mm
  /// points[contour][i]: point i of the contour: 0 its first element's start, then the end of each element.
  std::vector<std::vector<PointLaw>> points;
  /// centres[contour][j]: centre of element j; unused for lines.
  std::vector<std::vector<PointLaw>> centres;
  double away = 1; ///< +1 when "away from the material" is left of the cutting direction, -1 when right, 0
                   ///< for a vertical wall
  /// Stacks that do not match element by element have no such laws: a new level is shaped by moving one of
  /// its two neighbours.
  std::vector<Movable> movable; ///< per interval between levels k and k + 1
  /// [level][contour][element]: how far its start, between chords, goes to the left to be where the levels
  /// beside have them too (steady.hpp), mm. A new level is moved from there.
  std::vector<std::vector<std::vector<float>>> steady;
  /// [contour][element]: elements of the first level that other levels no longer have. Empty where all last.
  std::vector<std::vector<bool>> vanishing;
  bool vanishes(std::size_t contour, std::size_t element) const {
    return !vanishing.empty() && vanishing[contour][element];
  }
  double sagitta = 0; ///< largest of its chords, mm
  double form = 0;    ///< how far the program's own contours stand off exact offsets (its chords do), mm
};

/// Measures the signed normal displacement of every level against the first and the law of every point. The
/// error says in the user's words why the contours are not offsets of each other. `resolution` is the
/// program's last digit, mm.
tl::expected<Offsets, std::string> measure_offsets(Stack const& stack, double resolution);

/// Gives `d`, measured to the left of the course, its sign and `away`. The error says where a deeper level
/// stands nearer to the material by more than the tolerance (mm); empty when none does.
std::string orient(Offsets& offsets, Stack const& stack, double tolerance);

/// Why the contours of one level, moved by `shifts` (mm), do not move as one; empty when they do.
std::string contours_differ(std::vector<double> const& shifts, double tolerance);

} // namespace restep::finish
