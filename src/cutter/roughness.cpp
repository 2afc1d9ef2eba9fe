#include "cutter/roughness.hpp"

#include "cutter/cusp.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace restep::cutter {

using geometry::cross;
using geometry::distance;
using geometry::dot;
using geometry::left_normal;

namespace {

/// Positive half of the nodes and weights of the 16-point Gauss-Legendre rule on [-1, 1].
struct Node {
  double x, weight;
};
constexpr std::array<Node, 8> nodes = {{{0.09501250983763744, 0.1894506104550685},
                                        {0.2816035507792589, 0.1826034150449236},
                                        {0.4580167776572274, 0.1691565193950025},
                                        {0.6178762444026438, 0.1495959888165767},
                                        {0.7554044083550030, 0.1246289712555339},
                                        {0.8656312023878318, 0.09515851168249278},
                                        {0.9445750230732326, 0.06225352393864789},
                                        {0.9894009349916499, 0.02715245941175409}}};

template <typename F>
double integrate(F const& f, double from, double to) {
  double const middle = (from + to) / 2, half = (to - from) / 2;
  double sum = 0;
  for (Node const& node : nodes)
    sum += node.weight * (f(middle - half * node.x) + f(middle + half * node.x));
  return sum * half;
}

/// A stretch of the finished surface, in the frame of the corner-arc centres: a line, or an arc about
/// `centre`, whose normal starts at the angle `slope` and turns by `turn` over the whole length.
struct Stretch {
  bool line = true;
  Vec2 from{};
  Vec2 tangent{};
  Vec2 centre{};
  double radius = 0;
  double side = 1; ///< +1: surface = centre + radius n (convex); -1: centre - radius n
  double slope = 0, turn = 0;
  double length = 0;

  struct Spot {
    Vec2 at, normal;
  };
  Spot spot(double x) const {
    if (line) return {from + x * tangent, left_normal(tangent)};
    double const theta = slope + turn * (x / length);
    Vec2 const n{std::sin(theta), std::cos(theta)};
    return {centre + (side * radius) * n, n};
  }
  /// Where the normal through p meets the stretch, or -1 when it meets it outside.
  double foot(Vec2 p) const {
    double x = 0;
    if (line) {
      x = dot(p - from, tangent);
    } else {
      Vec2 const n = side * (p - centre);
      x = turn == 0 ? -1 : (std::atan2(n.x, n.y) - slope) / turn * length;
    }
    return x > 0 && x < length ? x : -1;
  }
};

/// Distance along the line q + t n at which it enters the silhouette of a tool (flat bottom, corner arc,
/// side) whose corner-arc centre is c; n points up or away from the material.
double entry(double r, bool ball, Vec2 c, Vec2 q, Vec2 n) {
  // The silhouette is all that lies right of the side and above the bottom, with the corner rounded off.
  // Enter through the side or the bottom, whichever comes later, unless that is in the corner square.
  constexpr double along = 1e-12; // a line along the boundary is inside it or never gets there
  auto const distance_to = [](double gap, double speed) {
    return speed > along ? gap / speed : gap > along ? HUGE_VAL : -HUGE_VAL;
  };
  double const to_side = distance_to(c.x - r - q.x, n.x);
  double const to_bottom = distance_to(c.y - r - q.y, n.y);
  if (to_side == HUGE_VAL || to_bottom == HUGE_VAL) return HUGE_VAL;
  if (to_side >= to_bottom && q.y + to_side * n.y >= c.y) return to_side;
  if (!ball && to_bottom >= to_side && q.x + to_bottom * n.x >= c.x) return to_bottom;
  // |q + t n - c| = r, the first root; a line can pass a ball on its far side, and only there.
  Vec2 const from_centre = q - c;
  double const b = dot(from_centre, n), off = cross(n, from_centre);
  if (std::abs(off) > r * (1 + 1e-9)) return HUGE_VAL;
  return -b - std::sqrt(std::max(0.0, (r - off) * (r + off)));
}

/// The surface between two arc lengths of the meridian, joints included.
std::vector<Stretch> surface_between(Meridian const& meridian, double r, double s1, double s2) {
  std::vector<Stretch> stretches;
  auto const& pieces = meridian.pieces();
  Vec2 const raise{0, r};
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    Piece const& piece = pieces[i];
    double const begin = std::max(s1, meridian.starts()[i]), end = std::min(s2, meridian.starts()[i + 1]);
    if (!(end > begin)) continue;
    Stretch stretch;
    // One-sided tangents at the ends, so that a joint belongs to the piece in hand.
    double const inside = (end - begin) * 1e-9;
    Vec2 const t1 = meridian.tangent(begin), t2 = meridian.tangent(end - inside);
    if (piece.shape == Piece::Shape::line) {
      stretch.tangent = t1;
      stretch.from = meridian.at(begin) + raise - r * left_normal(t1);
      stretch.length = end - begin;
    } else {
      stretch.line = false;
      stretch.centre = piece.centre + raise;
      stretch.side = piece.convex ? 1 : -1;
      stretch.radius = std::max(0.0, piece.convex ? piece.rho - r : piece.rho + r);
      stretch.slope = std::atan2(-t1.y, t1.x);
      stretch.turn = (piece.convex ? 1 : -1) * (end - begin) / piece.rho;
      stretch.length = stretch.radius * std::abs(stretch.turn);
    }
    stretches.push_back(stretch);
    bool const joint_inside = i + 1 < pieces.size() && end == meridian.starts()[i + 1] && s2 > end;
    if (!joint_inside) continue;
    double const slope_before = std::atan2(-t2.y, t2.x);
    Vec2 const next = meridian.tangent(end);
    double const turn = std::atan2(-next.y, next.x) - slope_before;
    if (turn < -1e-7 && r > 0) { // a concave joint: the tool's own fillet
      Stretch fillet;
      fillet.line = false;
      fillet.centre = meridian.at(end) + raise;
      fillet.radius = r;
      fillet.side = -1;
      fillet.slope = slope_before;
      fillet.turn = turn;
      fillet.length = r * -turn;
      stretches.push_back(fillet);
    }
  }
  return stretches;
}

/// The height of the outline over the surface, corner by corner.
class Outline {
public:
  Outline(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower)
      : r_(tool.corner_radius)
      , ball_(r_ > 0 && tool.flat_radius() <= 1e-9)
      , upper_{upper.x, upper.y + r_}
      , lower_{lower.x, lower.y + r_}
      , valley_upper_(meridian.signed_distance(upper))
      , valley_lower_(meridian.signed_distance(lower))
      , stretches_(surface_between(meridian, r_, meridian.nearest(upper), meridian.nearest(lower))) {
    for (Stretch const& stretch : stretches_)
      length_ += stretch.length;
    CuspPoint const meeting = cusp_point(r_, ball_, upper_, lower_);
    std::array<Vec2, 3> const corners = {meeting.at, Vec2{upper_.x, upper_.y - r_},
                                         Vec2{lower_.x - r_, lower_.y}};
    double start = 0;
    for (Stretch const& stretch : stretches_) {
      std::array<double, 5> cuts = {0, stretch.length, -1, -1, -1};
      for (std::size_t k = 0; k < corners.size(); ++k)
        cuts[2 + k] = stretch.foot(corners[k]);
      std::sort(cuts.begin(), cuts.end());
      for (std::size_t k = 0; k + 1 < cuts.size(); ++k)
        if (cuts[k] >= 0 && cuts[k + 1] > cuts[k]) arcs_.push_back({&stretch, start, cuts[k], cuts[k + 1]});
      start += stretch.length;
    }
  }
  Outline(Outline const&) = delete;
  Outline& operator=(Outline const&) = delete;

  Profile profile() const {
    Profile profile;
    if (!(length_ > 0)) return profile;
    profile.length = length_;
    double area = 0;
    for (Arc const& arc : arcs_)
      area += integrate([&](double x) { return height(arc, x); }, arc.from, arc.to);
    profile.mean = area / length_;
    double deviation = 0, squares = 0;
    for (Arc const& arc : arcs_) {
      auto const off = [&](double x) { return height(arc, x) - profile.mean; };
      double const crossing = crossing_of(off, arc.from, arc.to);
      deviation += std::abs(integrate(off, arc.from, crossing)) + std::abs(integrate(off, crossing, arc.to));
      squares += integrate([&](double x) { return off(x) * off(x); }, arc.from, arc.to);
    }
    profile.ra = deviation / length_;
    profile.rq = std::sqrt(squares / length_);
    return profile;
  }

private:
  /// A part of the outline without a corner, over [from, to] of one stretch.
  struct Arc {
    Stretch const* stretch;
    double start; ///< of the stretch along the whole surface
    double from, to;
  };

  double height(Arc const& arc, double x) const {
    auto const [at, normal] = arc.stretch->spot(x);
    double const bare = std::min(entry(r_, ball_, upper_, at, normal), entry(r_, ball_, lower_, at, normal));
    double const share = (arc.start + x) / length_;
    return bare - (valley_upper_ + share * (valley_lower_ - valley_upper_));
  }

  /// Where a function that rises or falls throughout changes its sign; `to` when it does not. Looked at just
  /// inside the ends: where a side or a bottom runs along the normal, the height jumps there.
  template <typename F>
  static double crossing_of(F const& f, double from, double to) {
    double const inside = 1e-9 * (to - from);
    bool const sign = f(from + inside) > 0;
    if ((f(to - inside) > 0) == sign) return to;
    for (int i = 0; i < 48; ++i) {
      double const middle = (from + to) / 2;
      ((f(middle) > 0) == sign ? from : to) = middle;
    }
    return (from + to) / 2;
  }

  double r_;
  bool ball_;
  Vec2 upper_, lower_; ///< corner-arc centres
  double valley_upper_, valley_lower_;
  std::vector<Stretch> stretches_;
  std::vector<Arc> arcs_;
  double length_ = 0;
};

} // namespace

Profile profile_between(Tool const& tool, Meridian const& meridian, Vec2 upper, Vec2 lower) {
  return Outline(tool, meridian, upper, lower).profile();
}

double share_kept_as_roughness(double wavelength, double cutoff) {
  double const ratio = cutoff / wavelength;
  return 1 - std::exp2(-ratio * ratio);
}

} // namespace restep::cutter
