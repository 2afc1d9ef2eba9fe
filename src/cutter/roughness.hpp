#pragma once

#include "cutter/meridian.hpp"
#include "cutter/tool.hpp"

namespace restep::cutter {

/// The theoretical profile that two neighbouring levels leave between their two contacts, measured normal to
/// the finished surface, with the straight line through the two valleys taken as level. All in mm.
struct Profile {
  double length = 0; ///< along the finished surface
  double mean = 0;   ///< mean line above the valleys
  double ra = 0;     ///< mean deviation from the mean line (ISO 4287:1997, 4.2.1)
  double rq = 0;     ///< root mean square deviation (ISO 4287:1997, 4.2.2)
};

/// The profile between two tip positions (d, z). The outline (arc, flat, side) is integrated piece by piece
/// between its corners by Gauss-Legendre quadrature, relative error below 1e-9. All zero when both levels
/// touch the same edge.
Profile profile_between(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower);

/// The share of a wave of this length that the Gaussian profile filter with the given cut-off passes on as
/// roughness: 1 - 2^-((cutoff/wavelength)^2) (ISO 16610-21). Half at wavelength = cutoff.
double share_kept_as_roughness(double wavelength, double cutoff);

} // namespace restep::cutter
