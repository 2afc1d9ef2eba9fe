#pragma once

#include "cutter/tool.hpp"
#include "geometry/vec.hpp"

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace restep::cutter {

using geometry::Vec2;

enum class SurfaceKind : unsigned char { wall, plane, convex_round, concave_fillet, edge, floor };

/// "wall", "plane", "convex round", "concave fillet", "sharp edge", "floor": what the drawing calls it.
std::string_view name_of(SurfaceKind kind);

/// One piece of the curve that the programmed point (tip centre) follows in the plane normal to the contour.
/// Coordinates (d, z): d grows away from the material, z upwards; pieces run from the top down, so z never
/// rises and d never falls along a piece. An arc turns about `centre` with radius `rho`; `convex` is that of
/// the machined surface.
struct Piece {
  enum class Shape : unsigned char { line, arc };
  Shape shape = Shape::line;
  Vec2 from{}, to{};
  Vec2 centre{};
  double rho = 0;
  bool convex = true;
};

/// What a piece machines, as the user knows it.
struct Surface {
  SurfaceKind kind = SurfaceKind::wall;
  double radius = 0; ///< mm, of the finished round or fillet: rho - r convex, rho + r concave
  double angle = 0;  ///< degrees from the tool axis: 0 wall, 3 a draft of 3 degrees, 45 a chamfer, 90 floor
  double z_from = 0, z_to = 0; ///< tip heights
};

/// The meridian: pieces that join end to end, parametrised by arc length s from the top.
class Meridian {
public:
  Meridian() = default;
  explicit Meridian(std::vector<Piece> pieces);

  std::vector<Piece> const& pieces() const { return pieces_; }
  double length() const { return starts_.empty() ? 0 : starts_.back(); }

  /// Point at arc length s (clamped to the ends).
  Vec2 at(double s) const;
  /// Unit tangent at s, pointing down the curve.
  Vec2 tangent(double s) const;
  /// Arc length of the point of the curve nearest to p.
  double nearest(Vec2 p) const;
  /// Index of the piece at s.
  std::size_t piece_at(double s) const;
  /// Distance of a material point from the finished surface of this meridian under a tool with corner radius
  /// r: positive on the air side, measured along the surface normal of the nearest piece. The finished
  /// surface is the meridian (moved to the corner-arc centre) offset by r towards the material. `point` is
  /// given relative to the same origin as the meridian, with the tool's flat radius already taken off its d:
  /// a material point at horizontal distance u from the tool axis position d has d - a - ... see meridian.cpp
  /// for the frame.
  double height_above_surface(Vec2 point, double corner_radius) const;
  /// The surfaces, one per piece, for a tool with corner radius r.
  std::vector<Surface> surfaces(double corner_radius) const;

private:
  std::vector<Piece> pieces_;
  std::vector<double> starts_; ///< arc length at the start of each piece, one more at the end
};

} // namespace restep::cutter
