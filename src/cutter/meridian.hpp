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
  double radius = 0; ///< mm, of the finished round or fillet: rho - r convex, rho + r concave; 0 otherwise
  double angle = 0;  ///< of a line, degrees from the tool axis: 0 wall, 3 a draft of 3 degrees, 45 a chamfer,
                     ///< 90 floor; 0 for arcs
  double z_from = 0, z_to = 0; ///< tip heights
};

/// The meridian: pieces that join end to end, parametrised by arc length s from the top.
///
/// Slope and normal. theta is the slope of the surface from horizontal, 0 on a floor and 90 degrees on a
/// wall. The tangent, pointing down, is (cos theta, -sin theta); the normal, pointing into the air, is
/// n = (sin theta, cos theta). On a convex arc theta rises on the way down and a point is
/// centre + rho n; on a concave one theta falls and a point is centre - rho n.
///
/// Frame of the corner-arc centres. The centre of a tool's corner arc stands at (d - a, z + r) when the tip
/// centre stands at (d, z), a = Rt - r being the radius of the flat bottom. The constant a says nothing about
/// cusps, so it is left out: wherever this room speaks of corner-arc centres and of points of the surface, it
/// means (d, z + r), and a point of the part at the horizontal distance u (in the same coordinate as d) has
/// the coordinates (u + a, height). The finished surface is the curve of the corner-arc centres moved by r
/// along -n.
class Meridian {
public:
  Meridian() = default;
  /// Pieces must follow each other (each `from` the `to` before it) and arcs must sweep less than a half
  /// turn.
  explicit Meridian(std::vector<Piece> pieces);

  std::vector<Piece> const& pieces() const { return pieces_; }
  double length() const { return starts_.empty() ? 0 : starts_.back(); }
  /// Arc lengths of the beginnings of the pieces, and one more of the end of the last.
  std::vector<double> const& starts() const { return starts_; }

  /// Point at arc length s (clamped to the ends). Exactly a piece's own end points at its ends.
  Vec2 at(double s) const;
  /// Unit tangent at s, pointing down the curve. At a joint that of the piece that begins there.
  Vec2 tangent(double s) const;
  /// Arc length of the point of the curve nearest to p.
  double nearest(Vec2 p) const;
  /// Index of the piece at s; at a joint the piece that begins there.
  std::size_t piece_at(double s) const;
  /// The largest arc length up to which the curve has fallen by no more than `drop` below its height at s,
  /// mm.
  double reach(double s, double drop) const;
  /// The same from the top down to a height.
  double down_to(double z) const { return reach(0, at(0).y - z); }

  /// The curve between two arc lengths; a point where they are one.
  Meridian part(double from, double to) const;

  /// Distance of a tip position p from the curve along the normal of the nearest piece: positive on the air
  /// side, negative on the material side. Beyond its ends the curve goes on along its end tangents.
  double signed_distance(Vec2 p) const;

  /// Height of a point above the finished surface of a tool with corner radius r, along the normal of the
  /// nearest piece, mm: positive on the air side. `point` is in the frame of the corner-arc centres (see
  /// above). Exact on planes (n.P + const), rounds (|P - O| - R) and fillets (R - |P - O|), formula (9); at a
  /// concave joint the surface is the fillet of radius r that the tool itself leaves, at a convex joint it is
  /// the edge where the two neighbours meet.
  double height_above_surface(Vec2 point, double corner_radius) const;

  /// The surfaces, one per piece, for a tool with corner radius r. A round whose radius comes out below
  /// `edge_tolerance` (or negative) is a sharp edge.
  std::vector<Surface> surfaces(double corner_radius) const;

  /// mm; no drawing asks for a round of 5 um, but the digits of a program leave one at a sharp edge.
  static constexpr double edge_tolerance = 0.005;

private:
  /// Slope angles of a piece at its ends, radians; equal for a line.
  struct Slopes {
    double from = 0, to = 0;
    Vec2 tangent{}; ///< of a line
  };
  struct Foot {
    std::size_t piece = 0;
    double s = 0;         ///< along the piece
    double distance = 0;  ///< absolute
    bool at_from = false; ///< clamped to an end
    bool at_to = false;
  };

  Foot foot_on(std::size_t piece, Vec2 p) const;
  Foot nearest_foot(Vec2 p) const;
  double slope(std::size_t piece, double along) const;

  std::vector<Piece> pieces_;
  std::vector<Slopes> slopes_;
  std::vector<double> starts_; ///< arc length at the start of each piece, one more at the end
};

} // namespace restep::cutter
