#include "cutter/meridian.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace restep::cutter {

using geometry::cross;
using geometry::degrees;
using geometry::distance;
using geometry::dot;

namespace {

/// A line this close to the axis (or to the horizontal) is a wall (or a floor): 0.005 degrees is less than a
/// micrometre over 10 mm.
constexpr double straight_tolerance = 0.005;

Vec2 tangent_of(double theta) {
  return {std::cos(theta), -std::sin(theta)};
}

Vec2 normal_of(double theta) {
  return {std::sin(theta), std::cos(theta)};
}

/// Slope at a point of an arc: the normal is the direction from the centre to the point, reversed on a
/// concave arc.
double arc_slope(Piece const& piece, Vec2 point) {
  Vec2 const n = piece.convex ? point - piece.centre : piece.centre - point;
  return std::atan2(n.x, n.y);
}

double line_slope(Piece const& piece) {
  Vec2 const t = piece.to - piece.from;
  return t == Vec2{} ? std::numbers::pi / 2 : std::atan2(-t.y, t.x);
}

double length_of(Piece const& piece, double from, double to) {
  return piece.shape == Piece::Shape::line ? distance(piece.from, piece.to) : piece.rho * std::abs(to - from);
}

} // namespace

std::string_view name_of(SurfaceKind kind) {
  switch (kind) {
  case SurfaceKind::wall: return "wall";
  case SurfaceKind::plane: return "plane";
  case SurfaceKind::convex_round: return "convex round";
  case SurfaceKind::concave_fillet: return "concave fillet";
  case SurfaceKind::edge: return "sharp edge";
  case SurfaceKind::floor: return "floor";
  }
  return "plane";
}

Meridian::Meridian(std::vector<Piece> pieces)
    : pieces_(std::move(pieces)) {
  if (pieces_.empty()) return;
  starts_.push_back(0);
  for (Piece const& piece : pieces_) {
    Slopes slopes;
    if (piece.shape == Piece::Shape::line) {
      slopes.from = slopes.to = line_slope(piece);
      slopes.tangent = tangent_of(slopes.from);
    } else {
      slopes.from = arc_slope(piece, piece.from);
      slopes.to = arc_slope(piece, piece.to);
    }
    slopes_.push_back(slopes);
    starts_.push_back(starts_.back() + length_of(piece, slopes.from, slopes.to));
  }
}

std::size_t Meridian::piece_at(double s) const {
  std::size_t i = 0;
  while (i + 1 < pieces_.size() && s >= starts_[i + 1])
    ++i;
  return i;
}

double Meridian::slope(std::size_t piece, double along) const {
  double const from = slopes_[piece].from, to = slopes_[piece].to;
  if (pieces_[piece].shape == Piece::Shape::line || pieces_[piece].rho <= 0) return from;
  return from + std::copysign(along / pieces_[piece].rho, to - from);
}

Vec2 Meridian::at(double s) const {
  if (pieces_.empty()) return {};
  std::size_t const i = piece_at(s);
  Piece const& piece = pieces_[i];
  double const along = s - starts_[i], whole = starts_[i + 1] - starts_[i];
  if (along <= 0) return piece.from;
  if (along >= whole) return piece.to;
  if (piece.shape == Piece::Shape::line) return piece.from + (along / whole) * (piece.to - piece.from);
  Vec2 const n = normal_of(slope(i, along));
  return piece.convex ? piece.centre + piece.rho * n : piece.centre - piece.rho * n;
}

Vec2 Meridian::tangent(double s) const {
  if (pieces_.empty()) return {0, -1};
  std::size_t const i = piece_at(s);
  return tangent_of(slope(i, std::clamp(s, starts_[i], starts_[i + 1]) - starts_[i]));
}

Meridian::Foot Meridian::foot_on(std::size_t index, Vec2 p) const {
  Piece const& piece = pieces_[index];
  double const whole = starts_[index + 1] - starts_[index];
  Foot foot;
  foot.piece = index;
  if (piece.shape == Piece::Shape::line) {
    foot.s = dot(p - piece.from, slopes_[index].tangent);
  } else {
    // The angle of p about the centre, measured from the middle of the arc so that a point behind the centre
    // goes to the nearer end.
    double const middle = (slopes_[index].from + slopes_[index].to) / 2;
    double const turn = std::remainder(arc_slope(piece, p) - middle, 2 * std::numbers::pi);
    foot.s = whole / 2 + piece.rho * std::copysign(1.0, slopes_[index].to - slopes_[index].from) * turn;
  }
  foot.at_from = foot.s <= 0;
  foot.at_to = !foot.at_from && foot.s >= whole;
  if (foot.at_from)
    foot.distance = distance(p, piece.from);
  else if (foot.at_to)
    foot.distance = distance(p, piece.to);
  else if (piece.shape == Piece::Shape::line)
    foot.distance = std::abs(cross(slopes_[index].tangent, p - piece.from));
  else
    foot.distance = std::abs(distance(p, piece.centre) - piece.rho);
  foot.s = std::clamp(foot.s, 0.0, whole);
  return foot;
}

Meridian::Foot Meridian::nearest_foot(Vec2 p) const {
  Foot best = foot_on(0, p);
  for (std::size_t i = 1; i < pieces_.size(); ++i) {
    Foot const foot = foot_on(i, p);
    // At a joint the piece whose inside holds the foot is told apart from the one that only ends there.
    bool const nearer = foot.distance < best.distance ||
                        (foot.distance == best.distance && (best.at_from || best.at_to) && !foot.at_from);
    if (nearer) best = foot;
  }
  return best;
}

double Meridian::nearest(Vec2 p) const {
  if (pieces_.empty()) return 0;
  Foot const foot = nearest_foot(p);
  return starts_[foot.piece] + foot.s;
}

Meridian Meridian::part(double from, double to) const {
  std::vector<Piece> pieces;
  for (std::size_t i = 0; i < pieces_.size(); ++i) {
    double const begin = std::max(from, starts_[i]);
    double const end = std::min(to, starts_[i + 1]);
    if (end <= begin) continue;
    Piece piece = pieces_[i];
    piece.from = pieces.empty() ? at(begin) : pieces.back().to;
    piece.to = at(end);
    pieces.push_back(piece);
  }
  if (pieces.empty() && !pieces_.empty()) {
    pieces.push_back(pieces_[piece_at(from)]);
    pieces.front().from = pieces.front().to = at(from);
  }
  return Meridian(std::move(pieces));
}

double Meridian::reach(double s, double drop) const {
  if (pieces_.empty()) return 0;
  double const floor = at(s).y - drop;
  std::size_t i = piece_at(s);
  while (i < pieces_.size() && pieces_[i].to.y >= floor)
    ++i;
  if (i == pieces_.size()) return length();
  Piece const& piece = pieces_[i];
  double along = 0;
  if (piece.shape == Piece::Shape::line) {
    along = (piece.from.y - floor) / (piece.from.y - piece.to.y) * (starts_[i + 1] - starts_[i]);
  } else {
    // Height over the centre is rho cos theta, below it on a concave arc.
    double const cosine = (floor - piece.centre.y) / (piece.convex ? piece.rho : -piece.rho);
    double const theta = std::acos(std::clamp(cosine, -1.0, 1.0));
    along = piece.rho * std::abs(theta - slopes_[i].from);
  }
  return std::clamp(starts_[i] + along, s, starts_[i + 1]);
}

double Meridian::signed_distance(Vec2 p) const {
  if (pieces_.empty()) return 0;
  Foot const foot = nearest_foot(p);
  Piece const& piece = pieces_[foot.piece];
  auto const [from, to, tangent] = slopes_[foot.piece];
  std::size_t const last = pieces_.size() - 1;
  if (foot.at_from && foot.piece == 0) return dot(p - piece.from, normal_of(from));
  if (foot.at_to && foot.piece == last) return dot(p - piece.to, normal_of(to));
  if (foot.at_from || foot.at_to) {
    // Nearest to a joint: which side is told by the sum of the two normals there.
    Vec2 const joint = foot.at_from ? piece.from : piece.to;
    Vec2 const mine = normal_of(foot.at_from ? from : to);
    Vec2 const other = normal_of(foot.at_from ? slopes_[foot.piece - 1].to : slopes_[foot.piece + 1].from);
    return std::copysign(foot.distance, dot(p - joint, mine + other));
  }
  if (piece.shape == Piece::Shape::line) return cross(tangent, p - piece.from);
  double const outside = distance(p, piece.centre) - piece.rho;
  return piece.convex ? outside : -outside;
}

double Meridian::height_above_surface(Vec2 point, double corner_radius) const {
  // The surface lies r below the curve of the corner-arc centres, which is the curve of the tips raised by r.
  return corner_radius + signed_distance({point.x, point.y - corner_radius});
}

std::vector<Surface> Meridian::surfaces(double corner_radius) const {
  std::vector<Surface> found;
  for (std::size_t i = 0; i < pieces_.size(); ++i) {
    Piece const& piece = pieces_[i];
    Surface surface;
    surface.z_from = piece.from.y;
    surface.z_to = piece.to.y;
    if (piece.shape == Piece::Shape::line) {
      surface.angle = 90 - degrees(slopes_[i].from);
      if (surface.angle <= straight_tolerance) {
        surface.kind = SurfaceKind::wall;
        surface.angle = 0;
      } else if (surface.angle >= 90 - straight_tolerance) {
        surface.kind = SurfaceKind::floor;
        surface.angle = 90;
      } else {
        surface.kind = SurfaceKind::plane;
      }
    } else if (piece.convex) {
      surface.radius = piece.rho - corner_radius;
      surface.kind = surface.radius < edge_tolerance ? SurfaceKind::edge : SurfaceKind::convex_round;
      if (surface.kind == SurfaceKind::edge) surface.radius = 0;
    } else {
      surface.radius = piece.rho + corner_radius;
      surface.kind = SurfaceKind::concave_fillet;
    }
    found.push_back(surface);
  }
  return found;
}

} // namespace restep::cutter
