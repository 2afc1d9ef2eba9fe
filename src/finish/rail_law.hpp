#pragma once

#include "cutter/meridian.hpp"
#include "geometry/vec.hpp"

#include <cstddef>
#include <vector>

namespace restep::finish {

/// The course of one matched point of a stack's contours from level to level: its place in plan as a function
/// of the height.
///
/// A point that moves straight in plan, as those of most surfaces do, is told by the fewest lines and arcs
/// through its way and height (fit_rail_meridian). One that does not is told by a curve through the levels'
/// own points over its chord length: cubic in plan, monotone cubic in height (Fritsch and Carlson, SIAM J.
/// Numer. Anal. 17, 1980, 238-246).
class RailLaw {
public:
  /// `places[k]` is where the point stands at the height `z[k]`; heights fall strictly. `tolerance` mm.
  static RailLaw fit(std::vector<geometry::Vec2> places, std::vector<double> z, double tolerance);

  geometry::Vec2 at(double z) const;
  bool fitted() const { return fitted_; }

private:
  bool fit_curve(double tolerance);
  void lay_spline();
  geometry::Vec2 on_spline(double z) const;
  double aside(double way) const;
  double aside_slope(std::size_t k) const;

  std::vector<geometry::Vec2> places_;
  std::vector<double> z_;
  geometry::Vec2 direction_{}; ///< of its way in plan; zero where it stands still
  bool fitted_ = false;
  cutter::Meridian curve_;     ///< (way, z)
  std::vector<double> way_;    ///< per level, where it leaves the straight line
  std::vector<double> aside_;  ///< to the left of it
  std::vector<double> length_; ///< spline: chord length at each level
  std::vector<double> fall_;   ///< dz / dlength
  std::vector<geometry::Vec2> run_;
};

/// The way that a curve (way, z) has gone at a height.
double way_at_height(cutter::Meridian const& curve, double z);

} // namespace restep::finish
