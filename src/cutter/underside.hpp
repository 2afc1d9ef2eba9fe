#pragma once

#include "cutter/tool.hpp"

namespace restep::cutter {

/// The surface that a turning tool sweeps out of the material below it: its height above the tip as a
/// function of the distance from the axis. Flat bottom, corner arc, then the cylinder or, of a tapered tool,
/// the cone that touches the corner arc. It rises with the distance and is convex, which is what makes the
/// swept heights below well defined.
class Underside {
public:
  /// The cone of a tapered tool is followed over its flute length; where that is not known, over ten
  /// diameters.
  explicit Underside(Tool const& tool);

  /// Largest distance from the axis at which there is tool, mm.
  double reach() const { return reach_; }
  double flat_radius() const { return flat_; }
  double corner_radius() const { return corner_; }
  /// True for the shape without a flat and without a cone.
  bool ball() const { return flat_ <= 1e-9 && !tapered_; }

  /// Height above the tip at the distance rho from the axis, mm; infinite beyond the reach.
  double height(double rho) const;
  /// Its derivative; infinite at the widest place of a cylinder.
  double slope(double rho) const;

  /// The lowest height that the tool leaves at a point when its tip runs along a straight line. The point
  /// stands `aside` from the line in plan; the tip runs from `from` to `to`, counted along the line in plan
  /// from the foot of the point; its height is `tip` above the foot and changes by `rise` per mm. Infinite
  /// where the tool does not pass. Exact for a ball; otherwise the only root of a rising function, to 2e-6 mm
  /// along the line, which is worth its square in height.
  /// `steepness`, where asked for, is how the height grows with |aside|.
  double swept(double aside, double from, double to, double tip, double rise,
               double* steepness = nullptr) const;

private:
  double swept_generally(double aside, double from, double to, double rise) const;

  double flat_ = 0, corner_ = 0;
  bool tapered_ = false;
  double arc_end_ = 0;        ///< distance from the axis at which the corner arc ends
  double arc_end_height_ = 0; ///< above the tip
  double cone_slope_ = 0;     ///< height per mm of distance
  double reach_ = 0;
};

} // namespace restep::cutter
