#pragma once

#include "cutter/finish_target.hpp"
#include "cutter/tool.hpp"
#include "cutter/underside.hpp"

#include <limits>

namespace restep::finish {

/// Two neighbouring lines of a parallel pass at one place along them: heights of the tip on both, and what
/// the surface that the tip follows does between and along them. mm.
struct RasterPlace {
  double v1 = 0, z1 = 0, v2 = 0, z2 = 0; ///< across the lines, v1 < v2
  double middle = 0;                     ///< height of the tip's surface half way between them
  double rise = 0;                       ///< of the lines, per mm along them in plan

  double bulge() const { return middle - (z1 + z2) / 2; }
  double rise_across() const { return (z2 - z1) / (v2 - v1); }
};

/// What two neighbouring lines leave between them.
///
/// The section is the one normal to the cut: the tool swept along its rising or falling way has an outline
/// there, and the outlines of the two lines meet in the cusp. For a ball the outline is a circle whatever the
/// rise, and formula (5) of the surface-finish reference with the surface's own curvature in that section
/// gives
///
///   h = r - sqrt(r^2 - c^2/4) - b,    c^2 = dv^2 + (dz cos g)^2,   tan g = rise,
///
/// c being the distance of the two ways and b how far the tip's surface bulges over their chord; with the
/// bulge of a circle this is formula (16) of a round and (21) of a fillet. Where the outlines meet elsewhere
/// than on two circles (a steep wall, a bull, a flat, a cone) the swept undersides are laid over each other
/// and the highest point is measured over the lowest that the tool leaves from all places between the two.
class RasterRule {
public:
  explicit RasterRule(cutter::Tool const& tool);

  cutter::Underside const& underside() const { return underside_; }
  /// Height of the cusp along the normal of the surface; infinite where the lines do not meet under the tool.
  double cusp(RasterPlace const& place) const;
  /// Ra of the profile across the lines.
  double ra(RasterPlace const& place) const;
  /// The figure that a target limits.
  double figure(cutter::FinishTarget const& target, RasterPlace const& place) const;

private:
  struct Crest {
    double v = 0, z = 0;
    double foot = 0;  ///< where between the lines the tool stands that cuts deepest below it
    double above = 0; ///< the surface there, straight up
  };
  double outline(double v, double rise, double* slope = nullptr) const;
  double surface_at(RasterPlace const& place, double v, double& foot) const;
  bool crest(RasterPlace const& place, Crest& found) const;

  cutter::Underside underside_;
};

/// Two neighbouring lines and the cusps between them, from place to place along them, mm.
struct RasterPair {
  double from = 0, to = 0; ///< across the lines
  double least = std::numeric_limits<double>::infinity();
  double most = 0;
  double ra = 0; ///< where the cusp is largest

  void count(RasterRule const& rule, RasterPlace const& place);
};

} // namespace restep::finish
