#include "finish/fit_meridian.hpp"

#include "finish/curve.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>

namespace restep::finish {

namespace {

using geometry::Vec2;
using Points = std::span<Vec2 const>;

constexpr std::size_t least_for_line = 3; // two points lie on any line
constexpr std::size_t least_for_arc = 4;  // three points lie on any circle

struct Group {
  std::size_t first = 0, last = 0;
  std::optional<Curve> curve;
  std::size_t size() const { return last - first + 1; }
};

// The simplest curve that explains the points: a wall if one does, else a line, else an arc.
std::optional<Curve> explain(Points points, double tolerance) {
  if (points.size() >= least_for_line) {
    if (Curve const wall = fit_wall(points); largest_distance(wall, points) <= tolerance) return wall;
    Curve const line = finish::fit_line(points);
    if (largest_distance(line, points) <= tolerance) return line;
  }
  if (points.size() >= least_for_arc)
    if (auto const arc = fit_arc(points); arc && largest_distance(*arc, points) <= tolerance) return arc;
  return std::nullopt;
}

// The longest group from `first` that one curve explains: grow by doubling, then bisect.
Group reach_from(Points points, std::size_t first, double tolerance) {
  Group best{first, first, std::nullopt};
  std::size_t const available = points.size() - first;
  auto const attempt = [&](std::size_t count) {
    auto curve = explain(points.subspan(first, count), tolerance);
    if (curve) best = {first, first + count - 1, curve};
    return curve.has_value();
  };
  std::size_t good = 0;
  std::size_t bad = available + 1;
  for (std::size_t count = least_for_line; count <= available; count *= 2) {
    // A bend can be too sharp for a line of three and still be an arc of four.
    if (attempt(count) || (count < least_for_arc && least_for_arc <= available && attempt(least_for_arc)))
      good = best.size();
    else {
      bad = count;
      break;
    }
  }
  if (good == 0) return best;
  bad = std::min(bad, available + 1);
  while (good + 1 < bad) {
    std::size_t const middle = good + (bad - good) / 2;
    (attempt(middle) ? good : bad) = middle;
  }
  return best;
}

double cost(Points points, Group const& g, double tolerance, std::optional<Curve>& curve) {
  curve = explain(points.subspan(g.first, g.size()), tolerance);
  return curve ? sum_of_squares(*curve, points.subspan(g.first, g.size()))
               : std::numeric_limits<double>::infinity();
}

// Moves the border between two groups to where both are explained best.
void settle_border(Points points, Group& above, Group& below, double tolerance) {
  std::optional<Curve> a, b;
  double best = cost(points, above, tolerance, a) + cost(points, below, tolerance, b);
  std::size_t const border = above.last;
  std::size_t const span = 6;
  std::size_t const low = std::max(above.first + least_for_line - 1, border > span ? border - span : 0);
  std::size_t const high =
      std::min(below.last >= least_for_line ? below.last - least_for_line : 0, border + span);
  for (std::size_t last = low; last <= high; ++last) {
    Group const one{above.first, last, {}}, two{last + 1, below.last, {}};
    std::optional<Curve> c1, c2;
    double const sum = cost(points, one, tolerance, c1) + cost(points, two, tolerance, c2);
    if (sum < best) {
      best = sum;
      above = {one.first, one.last, c1};
      below = {two.first, two.last, c2};
    }
  }
}

std::vector<Group> part(Points points, double tolerance) {
  std::vector<Group> groups;
  for (std::size_t first = 0; first < points.size();) {
    groups.push_back(reach_from(points, first, tolerance));
    first = groups.back().last + 1;
  }
  for (int round = 0; round < 2; ++round)
    for (std::size_t g = 0; g + 1 < groups.size(); ++g)
      if (groups[g].curve && groups[g + 1].curve) settle_border(points, groups[g], groups[g + 1], tolerance);
  return groups;
}

// How two neighbouring curves meet between the last level of one and the first of the next.
struct Joint {
  bool meets = false;
  Vec2 at{};
};
Joint joint_of(Curve const& above, Curve const& below, Vec2 last, Vec2 first, double tolerance) {
  Vec2 const middle = 0.5 * (last + first);
  double const gap = distance(last, first);
  // A joint may lie a little beyond the levels on either side, by what the tolerance means on a shallow
  // crossing.
  double const reach = 0.75 * gap + std::sqrt(8 * tolerance * std::max(gap, tolerance));
  if (auto const p = meeting_point(above, below, middle, tolerance); p && distance(*p, middle) <= reach)
    return {true, *p};
  Vec2 const a = nearest_point(above, middle);
  Vec2 const b = nearest_point(below, middle);
  if (distance(a, b) <= 2 * tolerance) return {true, 0.5 * (a + b)};
  return {};
}

// The arc's centre such that it runs through both ends, which lie off its circle by up to the tolerance where
// two pieces meet at a grazing angle: a step there would be a place for two levels.
Vec2 centre_through(Vec2 from, Vec2 to, Curve const& curve) {
  double const half = 0.5 * distance(from, to);
  if (!(half > 0 && half < curve.rho)) return curve.point;
  Vec2 const middle = 0.5 * (from + to);
  Vec2 const across = left_normal((to - from) / (2 * half));
  double const height = std::sqrt((curve.rho - half) * (curve.rho + half));
  return middle + (dot(across, curve.point - middle) < 0 ? -height : height) * across;
}

cutter::Piece piece_of(Curve const& curve, Vec2 from, Vec2 to) {
  cutter::Piece piece;
  piece.from = from;
  piece.to = to;
  if (curve.is_arc) {
    piece.shape = cutter::Piece::Shape::arc;
    piece.rho = curve.rho;
    piece.centre = centre_through(from, to, curve);
    // From the top down a round turns towards the material (clockwise with d to the right), a fillet away
    // from it.
    piece.convex = cross(to - from, curve.point - from) < 0;
  }
  return piece;
}

} // namespace

tl::expected<MeridianFit, std::string> fit_meridian(std::vector<Vec2> const& levels, double tolerance) {
  Points const points{levels};
  std::vector<Group> groups = part(points, tolerance);
  if (std::none_of(groups.begin(), groups.end(), [](Group const& g) { return g.curve.has_value(); }))
    return tl::unexpected(
        levels.size() < least_for_arc
            ? fmt::format("{} levels are too few to know the surface from", levels.size())
            : fmt::format("no line or arc explains three neighbouring levels within {:.1f} um",
                          1000 * tolerance));

  // Tangent neighbours are fitted together: each end of a piece is the least certain part of it, and the
  // joint is what holds it.
  std::vector<Curve> curves;
  std::vector<std::pair<std::size_t, std::size_t>> tangent;
  std::vector<Points> data;
  std::vector<std::size_t> curve_of_group(groups.size(), 0);
  for (std::size_t g = 0; g < groups.size(); ++g) {
    if (!groups[g].curve) continue;
    curve_of_group[g] = curves.size();
    curves.push_back(*groups[g].curve);
    data.push_back(points.subspan(groups[g].first, groups[g].size()));
    if (g > 0 && groups[g - 1].curve &&
        nearly_tangent(*groups[g - 1].curve, *groups[g].curve,
                       0.5 * (levels[groups[g - 1].last] + levels[groups[g].first]),
                       distance(levels[groups[g - 1].last], levels[groups[g].first]), tolerance))
      tangent.emplace_back(curve_of_group[g - 1], curve_of_group[g]);
  }
  fit_together(curves, data, tangent, tolerance);
  for (std::size_t g = 0; g < groups.size(); ++g)
    if (groups[g].curve) groups[g].curve = curves[curve_of_group[g]];

  MeridianFit fit;
  std::vector<cutter::Piece> pieces;
  std::size_t section_first = 0;
  Vec2 at{};
  for (std::size_t g = 0; g < groups.size(); ++g) {
    Group const& group = groups[g];
    if (!group.curve) { // levels that stand alone
      for (std::size_t k = group.first; k <= group.last; ++k)
        fit.sections.push_back({k, k, {}});
      section_first = group.last + 1;
      continue;
    }
    fit.residual =
        std::max(fit.residual, largest_distance(*group.curve, points.subspan(group.first, group.size())));
    if (pieces.empty()) {
      section_first = group.first;
      at = nearest_point(*group.curve, levels[group.first]);
    }
    Joint joint;
    if (g + 1 < groups.size() && groups[g + 1].curve)
      joint = joint_of(*group.curve, *groups[g + 1].curve, levels[group.last], levels[groups[g + 1].first],
                       tolerance);
    Vec2 const end = joint.meets ? joint.at : nearest_point(*group.curve, levels[group.last]);
    pieces.push_back(piece_of(*group.curve, at, end));
    at = end;
    if (!joint.meets) {
      fit.sections.push_back({section_first, group.last, cutter::Meridian(std::move(pieces))});
      pieces.clear();
    }
  }
  return fit;
}

} // namespace restep::finish
