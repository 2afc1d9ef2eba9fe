#pragma once

#include "finish/contour.hpp"
#include "fixture.hpp"
#include "geometry/vec.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <random>
#include <string>
#include <utility>
#include <vector>

/// Parts as a shop meets them, drawn at random: a boss or a pocket whose outline is a convex polygon with
/// sharp or rolled corners or the lens that two circles have in common, under a draft, a round, a chamfer
/// over a wall or a fillet. The program's contours and the surface follow from the part by formulas of their
/// own.
namespace restep::transform::testing {

/// How far the tool's axis stands from the outline (which is that of the lowest place of the wall, or of the
/// upper edge where a fillet leads to a floor) when its tip stands at a depth below the top face.
struct RandomSurface {
  enum class Kind { draft, round, chamfer_wall, fillet };
  Kind kind = Kind::draft;
  double size = 1;  ///< radius of the round or fillet; height of the chamfer, mm
  double angle = 5; ///< of the draft, degrees
  double depth = 3; ///< of the last level, mm

  /// d for a tool with flat bottom a and corner radius r; none where it does not touch.
  std::optional<double> offset(double down, double a, double r) const {
    double const centre = r - down; // height of the corner arc's centre
    switch (kind) {
    case Kind::draft: {
      double const t = geometry::radians(angle);
      return a + r / std::cos(t) - centre * std::tan(t);
    }
    case Kind::round: { // about the place that lies `size` inside and below the upper edge
      double const over = std::max(0.0, centre + size);
      if (over > size + r) return std::nullopt;
      return a - size + std::sqrt((size + r) * (size + r) - over * over);
    }
    case Kind::chamfer_wall: { // 45 degrees, then rolling about the edge `size` below the top, then the wall
      double const over = centre + size;
      double const s = std::sqrt(0.5);
      if (over > r * s) return a + r * s - (over - r * s);
      return a + std::sqrt(std::max(0.0, r * r - std::max(0.0, over) * std::max(0.0, over)));
    }
    case Kind::fillet: { // about the place that lies `size` out of the wall and above the floor
      if (size <= r) return std::nullopt;
      double const under = std::clamp(size - depth - centre, 0.0, size - r);
      return a + size - std::sqrt((size - r) * (size - r) - under * under);
    }
    }
    return std::nullopt;
  }
};

/// An outline, counter-clockwise.
struct RandomOutline {
  enum class Kind { sharp, rolled, lens };
  Kind kind = Kind::sharp;
  std::vector<geometry::Vec2> corners; ///< a convex polygon's
  double radius = 15, apart = 12;      ///< of a lens' circles and their centres

  using Segments = std::vector<finish::Segment>;

  /// Moved outwards by `out`; none where it loses an element.
  std::optional<Segments> moved(double out) const {
    return kind == Kind::lens ? lens(out) : kind == Kind::rolled ? rolled(out) : sharp(out);
  }

private:
  geometry::Vec2 normal(std::size_t i) const {
    geometry::Vec2 const along = normalized(corners[(i + 1) % corners.size()] - corners[i]);
    return -left_normal(along);
  }

  std::optional<Segments> sharp(double out) const {
    std::size_t const n = corners.size();
    std::vector<geometry::Vec2> moved;
    for (std::size_t i = 0; i < n; ++i) {
      geometry::Vec2 const u = normal((i + n - 1) % n), v = normal(i);
      moved.push_back(corners[i] + out / (1 + dot(u, v)) * (u + v));
    }
    Segments s;
    for (std::size_t i = 0; i < n; ++i) {
      geometry::Vec2 const to = moved[(i + 1) % n];
      if (dot(to - moved[i], corners[(i + 1) % n] - corners[i]) <
          3 * length(corners[(i + 1) % n] - corners[i]))
        return std::nullopt;
      s.push_back({false, false, moved[i], to, {}, 0});
    }
    return s;
  }

  std::optional<Segments> rolled(double out) const {
    if (out < 0.3) return std::nullopt;
    std::size_t const n = corners.size();
    Segments s;
    for (std::size_t i = 0; i < n; ++i) {
      geometry::Vec2 const next = corners[(i + 1) % n];
      s.push_back({false, false, corners[i] + out * normal(i), next + out * normal(i), {}, 0});
      s.push_back({true, true, next + out * normal(i), next + out * normal((i + 1) % n), next, 0});
    }
    return s;
  }

  std::optional<Segments> lens(double out) const {
    double const half = apart / 2;
    double const r = radius + out;
    if (r < half + 2) return std::nullopt;
    double const tip = std::sqrt(r * r - half * half);
    geometry::Vec2 const right{half, 0}, up{0, tip}, down{0, -tip};
    return Segments{{true, true, down, up, -right, 0}, {true, true, up, down, right, 0}};
  }
};

struct RandomPart {
  RandomSurface surface;
  RandomOutline outline;
  cutter::Tool tool;
  bool pocket = false, clockwise = false, upwards = false, stays_down = false;
  bool chords = false; ///< instead of arcs, within 5 um of them
  double digits = 1e-4;
  std::vector<double> depths; ///< in cutting order, rounded

  double rounded(double x) const { return std::round(x / digits) * digits; }
  /// For messages.
  std::string text() const {
    return fmt::format(
        "surface {} size {:.3f} angle {:.2f} depth {:.2f}, outline {} {} corners size {:.2f}, {}, {}{}{}{}"
        "{} levels, digits {}",
        static_cast<int>(surface.kind), surface.size, surface.angle, surface.depth,
        static_cast<int>(outline.kind), outline.corners.size(), outline.radius, cutter::describe(tool),
        pocket ? "pocket " : "boss ", clockwise ? "clockwise " : "", upwards ? "upwards " : "",
        stays_down ? "stays down " : "", chords ? "in chords " : "", depths.size(), digits);
  }
  std::optional<double> offset(double depth) const {
    return surface.offset(depth, tool.flat_radius(), tool.corner_radius);
  }

  /// None where the part cannot be cut so.
  std::optional<std::vector<Step>> program() const {
    Program p;
    p.rapid(0, 0, rounded(15));
    for (std::size_t k = 0; k < depths.size(); ++k) {
      auto const d = offset(depths[k]);
      if (!d) return std::nullopt;
      auto contour = outline.moved(pocket ? -*d : *d);
      if (!contour) return std::nullopt;
      if (clockwise) finish::turn_round(*contour);
      level(p, *contour, -depths[k], k > 0 && stays_down);
    }
    p.rapid_z(rounded(15));
    return p.steps;
  }

private:
  Vec3 place(geometry::Vec2 p, double z) const { return {rounded(p.x), rounded(p.y), z}; }

  void level(Program& p, RandomOutline::Segments const& contour, double z, bool down) const {
    constexpr double lead = 0.5;
    geometry::Vec2 const start = contour.front().point_at(0.5);
    geometry::Vec2 const along = contour.front().direction_at_share(0.5);
    geometry::Vec2 const air = (pocket == clockwise ? -1.0 : 1.0) * left_normal(along);
    geometry::Vec2 const in = start + lead * (air - along), out = start + lead * (air + along);
    geometry::Vec2 const centre = start + lead * air;
    if (down) {
      p.feed(rounded(in.x), rounded(in.y), nowhere, 400);
    } else {
      p.rapid(rounded(in.x), rounded(in.y), rounded(2));
    }
    p.feed(nowhere, nowhere, z, 150);
    auto const turn = cross(air, along) < 0 ? motion::PathKind::arc_cw : motion::PathKind::arc_ccw;
    auto const arc = [&](motion::PathKind path, geometry::Vec2 to, geometry::Vec2 about) {
      p.arc(path, motion::Plane::xy, place(to, z), geometry::at_height(about, z), 400);
    };
    arc(turn, start, centre);
    auto const follow = [&](finish::Segment const& s, geometry::Vec2 to) {
      if (s.arc && chords) {
        // An arc of the angle t leaves its chord by R (1 - cos(t / 2)).
        finish::Segment part = s;
        part.from = {p.at.x, p.at.y};
        part.to = to;
        double const most = 2 * std::acos(1 - 0.005 / s.radius());
        int const n = std::max(2, static_cast<int>(std::ceil(part.length() / s.radius() / most)));
        for (int i = 1; i < n; ++i) {
          geometry::Vec2 const at = part.point_at(static_cast<double>(i) / n);
          p.feed(rounded(at.x), rounded(at.y), nowhere, 400);
        }
        p.feed(rounded(to.x), rounded(to.y), nowhere, 400);
      } else if (s.arc)
        arc(s.ccw ? motion::PathKind::arc_ccw : motion::PathKind::arc_cw, to, s.centre);
      else
        p.feed(rounded(to.x), rounded(to.y), nowhere, 400);
    };
    follow(contour.front(), contour.front().to);
    for (std::size_t j = 1; j < contour.size(); ++j)
      follow(contour[j], contour[j].to);
    follow(contour.front(), start);
    arc(turn, out, centre);
    if (!stays_down) p.rapid_z(rounded(2));
  }
};

/// The same part for the same seed, everywhere.
inline RandomPart random_part(unsigned seed) {
  std::mt19937 source(seed);
  auto const whole = [&](int low, int high) { // high is not among them
    return low + static_cast<int>(source() % static_cast<unsigned>(high - low));
  };
  auto const number = [&](double low, double high) { return low + (high - low) * whole(0, 1001) / 1000.0; };
  RandomPart part;
  part.tool =
      cutter::parse_tool(std::array{"bull 3 r0.3", "ball 2", "flat 3", "bull 6 r1"}[whole(0, 4)]).value();
  part.tool.number = 1;
  using Surface = RandomSurface::Kind;
  part.surface.kind =
      std::array{Surface::draft, Surface::round, Surface::chamfer_wall, Surface::fillet}[whole(0, 4)];
  part.surface.size = number(1.2, 3);
  part.surface.angle = number(1, 10);
  part.surface.depth = number(1.5, 4);
  part.pocket = whole(0, 2) == 0;
  using Outline = RandomOutline::Kind;
  part.outline.kind =
      std::array{Outline::sharp, Outline::lens, Outline::rolled}[whole(0, part.pocket ? 2 : 3)];
  int const corners = whole(3, 8);
  double const size = number(14, 30);
  for (int i = 0; i < corners; ++i) {
    double const angle = 2 * std::numbers::pi * (i + number(-0.2, 0.2)) / corners;
    part.outline.corners.push_back({size * std::cos(angle), size * std::sin(angle)});
  }
  part.outline.radius = size;
  part.outline.apart = size * number(0.5, 1);
  part.clockwise = whole(0, 2) == 0;
  part.upwards = whole(0, 4) == 0;
  part.stays_down = !part.upwards && whole(0, 3) == 0;
  part.chords = part.outline.kind != Outline::sharp && whole(0, 2) == 0;
  part.digits = std::array{1e-3, 1e-4, 0.00254}[whole(0, 3)]; // the last one: 0.0001 in
  int const levels = whole(10, 40);
  for (int k = 1; k <= levels; ++k)
    part.depths.push_back(part.rounded(part.surface.depth * k / levels));
  if (part.upwards) std::reverse(part.depths.begin(), part.depths.end());
  return part;
}

} // namespace restep::transform::testing
