#include "finish/shape.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace restep::finish {

namespace {

// Unit normal to the left of an element's course at its start or its end.
Vec2 left_at(Segment const& element, Vec2 from, Vec2 to, Vec2 centre, bool at_end) {
  if (!element.arc) return left_normal(normalized(to - from));
  Vec2 const out = normalized((at_end ? to : from) - centre);
  return element.ccw ? -out : out;
}

// The neighbouring grid point that moves the elements ending and starting here least along their normals.
Vec2 snap(Vec2 p, Vec2 before, Vec2 after, double resolution) {
  double const x = std::floor(p.x / resolution);
  double const y = std::floor(p.y / resolution);
  Vec2 best{};
  double best_score = -1;
  for (double const i : {x, x + 1})
    for (double const j : {y, y + 1}) {
      Vec2 const g{i * resolution, j * resolution};
      Vec2 const e = g - p;
      // The small share of the plain distance decides between equals.
      double const score = std::max(std::abs(dot(e, before)), std::abs(dot(e, after))) + 0.05 * length(e);
      if (best_score < 0 || score < best_score) {
        best_score = score;
        best = g;
      }
    }
  return best;
}

} // namespace

Level const& nearest_level(Stack const& stack, double z) {
  return *std::min_element(stack.levels.begin(), stack.levels.end(), [&](Level const& a, Level const& b) {
    return std::abs(a.z - z) < std::abs(b.z - z);
  });
}

double on_digits(double x, double resolution) {
  return std::round(x / resolution) * resolution;
}

ShapedLevel shape_level(Stack const& stack, Offsets const& offsets, double d, double z, double resolution) {
  ShapedLevel level;
  double displaced = 0;
  double weight = 0;
  for (std::size_t c = 0; c < offsets.points.size(); ++c) {
    Contour const& model = stack.levels.front().contours[c];
    std::size_t const n = model.segments.size();
    std::vector<Vec2> exact(n + 1);
    std::vector<Vec2> centres(n);
    for (std::size_t i = 0; i <= n; ++i)
      exact[i] = offsets.points[c][i].at(d);
    if (model.closed) exact[n] = exact[0];
    for (std::size_t j = 0; j < n; ++j)
      if (model.segments[j].arc) centres[j] = offsets.centres[c][j].at(d);

    std::vector<Vec2> left_start(n);
    std::vector<Vec2> left_end(n);
    for (std::size_t j = 0; j < n; ++j) {
      left_start[j] = left_at(model.segments[j], exact[j], exact[j + 1], centres[j], false);
      left_end[j] = left_at(model.segments[j], exact[j], exact[j + 1], centres[j], true);
    }
    std::vector<Vec2> written(n + 1);
    for (std::size_t i = 0; i <= n; ++i) {
      Vec2 const before = i > 0 ? left_end[i - 1] : model.closed ? left_end[n - 1] : left_start[0];
      Vec2 const after = i < n ? left_start[i] : model.closed ? left_start[0] : left_end[n - 1];
      written[i] = snap(exact[i], before, after, resolution);
    }
    if (model.closed) written[n] = written[0];

    for (std::size_t j = 0; j < n; ++j) {
      double const at_start = offsets.away * dot(written[j] - exact[j], left_start[j]);
      double const at_end = offsets.away * dot(written[j + 1] - exact[j + 1], left_end[j]);
      double const length = std::max(distance(exact[j], exact[j + 1]), resolution);
      displaced += 0.5 * (at_start + at_end) * length;
      weight += length;
      level.inward = std::max({level.inward, -at_start, -at_end});
      level.outward = std::max({level.outward, at_start, at_end});
    }
    // The cut itself, with its own start and direction.
    Contour cut = nearest_level(stack, z).contours[c];
    for (std::size_t j = 0; j < n; ++j) {
      cut.segments[j].from = exact[j];
      cut.segments[j].to = exact[j + 1];
      cut.segments[j].centre = centres[j];
    }
    level.start_directions.push_back(cut.direction_at_start());
    level.end_directions.push_back(cut.direction_at_end());
    Vec2 const left = left_normal(cut.direction_at_start());
    level.starts.push_back(cut.closed && cut.start_share > 0 ? snap(cut.cut_start(), left, left, resolution)
                                                             : written[cut.start_element]);
    level.points.push_back(std::move(written));
    level.centres.push_back(std::move(centres));
  }
  level.tip = {d, z};
  level.displaced = weight > 0 ? displaced / weight : 0;
  return level;
}

} // namespace restep::finish
