#pragma once

#include "cutter/meridian.hpp"
#include "finish/rail_law.hpp"
#include "finish/stack.hpp"

#include <tl/expected.hpp>

#include <cstddef>
#include <string>
#include <vector>

namespace restep::finish {

/// A place of the contours that is matched from level to level, and its own meridian.
///
/// A level line of a surface is normal to the surface's steepest descent: the surface's normal lies in the
/// vertical plane normal to the contour, and there a tool that follows the contour leaves its own outline.
/// The way u is counted along the contours' normals from level to level; along such a course height, slope
/// and curvature over u are those of the vertical section normal to the contour, since the course bends only
/// across the slope.
struct Rail {
  std::size_t contour = 0, element = 0;
  double share = 0;          ///< of the element's length
  cutter::Meridian meridian; ///< (u, z), u growing away from the material
};

/// A place of a contour and the unit normal to the air there.
struct RailPlace {
  Vec2 at{}, away{};
};

/// A stack whose contours are no offsets of each other: every matched point has its own course.
class RailSurface {
public:
  /// Fits every point's course and every rail's meridian. `resolution`: the program's last digit, mm. The
  /// error says in the user's words why the surface between the levels cannot be told.
  static tl::expected<RailSurface, std::string> fit(Stack const& stack, double resolution);

  std::vector<Rail> const& rails() const { return rails_; }
  double top() const { return z_.front(); }
  double bottom() const { return z_.back(); }
  /// The program's heights, from the top down.
  std::vector<double> const& heights() const { return z_; }

  /// How far the surface may be from what the program's levels say, along its normal, mm: the larger of what
  /// the levels themselves stand off it, and of what levels that were left out (every second one) stand off
  /// a surface made without them.
  double bound() const { return bound_; }
  /// What the levels stand off the surface at most, mm.
  double residual() const { return residual_; }
  /// The largest angle by which a contour turns from one of the program's levels to the next, radians.
  double turn() const { return turn_; }

  /// +1 where "away from the material" is left of a contour's elements, -1 where right.
  std::vector<double> const& away() const { return away_; }

  /// The contours at a height, exact; their starts, directions and steps are those of the nearest level.
  std::vector<Contour> contours_at(double z) const;

  /// Where a rail meets the contours `at_z` of a height.
  RailPlace place(Rail const& rail, std::vector<Contour> const& at_z) const;

  /// Mean of the rails' ways at a height, mm: what links take for the level's offset.
  double mean_way(double z) const;

  /// The largest of the surface's slopes from horizontal, radians.
  double steepest() const;

private:
  struct Laws {
    std::vector<std::vector<RailLaw>> points, centres; ///< [contour][point], [contour][element]
  };
  Laws laws_of(std::vector<std::size_t> const& levels, double tolerance) const;
  std::vector<Contour> shaped(Laws const& laws, double z) const;
  void lay_rails();
  std::vector<Vec2> ways_of(Rail const& rail) const;
  std::string fit_meridians(double tolerance);
  std::string find_sides(double tolerance);
  void measure_bound(double tolerance);
  double farthest_off(Laws const& laws, std::vector<std::size_t> const& levels) const;

  std::vector<Level> levels_; ///< from the top down
  std::vector<double> z_;
  Laws laws_;
  std::vector<Rail> rails_;
  std::vector<std::vector<Vec2>> ways_; ///< [rail][level]: (u, z), u to the left of the elements
  std::vector<double> away_;
  double bound_ = 0, residual_ = 0, turn_ = 0;
};

/// A place of a contour's element, and the unit normal to the left of its course there. Short chords take the
/// direction of the curve that they stand for.
RailPlace place_on(Contour const& contour, std::size_t element, double share);

} // namespace restep::finish
