#include "finish/shape.hpp"

#include "finish/course.hpp"
#include "finish/move_left.hpp"
#include "finish/steady.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>
#include <span>
#include <utility>

namespace restep::finish {

namespace {

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

namespace {

// Puts contours on the control's digits and keeps account of what that displaces.
class Scribe {
public:
  Scribe(double away, double resolution)
      : away_(away)
      , resolution_(resolution) {}

  void set_away(double away) { away_ = away; }

  void write(Contour exact) {
    std::vector<Segment> const& s = exact.segments;
    std::size_t const n = s.size();
    std::vector<Vec2> left_start(n);
    std::vector<Vec2> left_end(n);
    for (std::size_t j = 0; j < n; ++j) {
      left_start[j] = left_normal(s[j].direction_at_from());
      left_end[j] = left_normal(s[j].direction_at_to());
    }
    std::vector<Vec2> written(n + 1);
    for (std::size_t i = 0; i <= n; ++i) {
      Vec2 const before = i > 0 ? left_end[i - 1] : exact.closed ? left_end[n - 1] : left_start[0];
      Vec2 const after = i < n ? left_start[i] : exact.closed ? left_start[0] : left_end[n - 1];
      written[i] = snap(i < n ? s[i].from : s[n - 1].to, before, after, resolution_);
    }
    if (exact.closed) written[n] = written[0];
    for (std::size_t j = 0; j < n; ++j) {
      double const at_start = away_ * dot(written[j] - s[j].from, left_start[j]);
      double const at_end = away_ * dot(written[j + 1] - s[j].to, left_end[j]);
      double const length = std::max(distance(s[j].from, s[j].to), resolution_);
      displaced_ += 0.5 * (at_start + at_end) * length;
      weight_ += length;
      keep(at_start);
      keep(at_end);
    }
    // The cut itself, with its own start and direction.
    ShapedContour shaped;
    shaped.start_direction = exact.direction_at_start();
    shaped.end_direction = exact.direction_at_end();
    shaped.start = written[exact.start_element];
    if (exact.closed && exact.start_share > 0) {
      // Of the told course, as the other normals here.
      Vec2 const left = left_normal(exact.reversed ? -shaped.start_direction : shaped.start_direction);
      shaped.start = snap(exact.cut_start(), left, left, resolution_);
      keep(away_ * dot(shaped.start - exact.cut_start(), left));
    }
    for (std::size_t j = 0; j < n; ++j) {
      exact.segments[j].from = written[j];
      exact.segments[j].to = written[j + 1];
    }
    shaped.contour = std::move(exact);
    level_.contours.push_back(std::move(shaped));
  }

  ShapedLevel take(Vec2 tip) {
    level_.tip = tip;
    level_.displaced = weight_ > 0 ? displaced_ / weight_ : 0;
    return std::move(level_);
  }

private:
  // What a written place stands away from the material.
  void keep(double displaced) {
    level_.inward = std::max(level_.inward, -displaced);
    level_.outward = std::max(level_.outward, displaced);
  }

  double away_;
  double resolution_;
  double displaced_ = 0;
  double weight_ = 0;
  ShapedLevel level_;
};

// The levels from which contours may be moved to height z, the nearer one first.
std::vector<std::size_t> source_levels(Stack const& stack, Offsets const& offsets, double z) {
  std::size_t k = 0; // the interval from level k to k + 1
  double const sign = stack.downwards() ? 1 : -1;
  while (k + 2 < stack.levels.size() && sign * (stack.levels[k + 1].z - z) >= 0)
    ++k;
  std::vector<std::size_t> sources;
  if (offsets.movable[k].onwards) sources.push_back(k);
  if (offsets.movable[k].back) sources.push_back(k + 1);
  if (sources.size() == 2 && std::abs(stack.levels[k + 1].z - z) < std::abs(stack.levels[k].z - z))
    std::swap(sources[0], sources[1]);
  return sources;
}

// A contour of the program moved to where a new level needs it; what has become shorter than a digit is left
// out.
std::optional<Contour> moved_contour(Contour const& source, std::span<float const> steady, double shift,
                                     double resolution) {
  auto moved = move_left(steadied(source, steady), source.closed, shift, resolution);
  if (!moved) return std::nullopt;
  Contour contour = source;
  contour.segments.clear();
  contour.start_element = 0;
  bool start_found = false;
  for (std::size_t j = 0; j < moved->segments.size(); ++j) {
    Segment const& s = moved->segments[j];
    if (!s.arc && distance(s.from, s.to) < 0.5 * resolution && moved->segments.size() > 3) continue;
    if (!start_found && moved->origin[j] >= source.start_element) {
      start_found = true;
      contour.start_element = contour.segments.size();
      if (moved->origin[j] != source.start_element) contour.start_share = 0;
    }
    contour.segments.push_back(s);
  }
  if (!start_found) contour.start_share = 0;
  return contour;
}

// A contour whose chords stand no more than `sagitta` off the curve that they stand for: longer ones are
// parted on it.
Contour with_chords_within(Contour contour, double sagitta) {
  std::vector<double> const bends = bends_of(contour.segments, contour.closed);
  std::vector<Segment> parted;
  std::size_t start_element = contour.start_element;
  for (std::size_t j = 0; j < contour.segments.size(); ++j) {
    Segment const& s = contour.segments[j];
    Vec2 const along = s.to - s.from;
    // The sagitta of a part falls with the square of its share of the chord.
    double const own = length(along) * std::abs(bends[j]) / 8;
    auto const parts = static_cast<std::size_t>(std::ceil(std::sqrt(std::max(own / sagitta, 1.0)) - 1e-9));
    if (j == contour.start_element) {
      double const place = contour.start_share * static_cast<double>(parts);
      auto const part = std::min(static_cast<std::size_t>(place), parts - 1);
      start_element = parted.size() + part;
      contour.start_share = place - static_cast<double>(part);
    }
    Segment piece = s;
    for (std::size_t i = 1; i <= parts; ++i) {
      double const share = static_cast<double>(i) / static_cast<double>(parts);
      // As in Course: off the chord by t (1 - t) L alpha / 2, to the right where the course turns left.
      piece.to = i == parts
                     ? s.to
                     : s.from + share * along - 0.5 * share * (1 - share) * bends[j] * left_normal(along);
      parted.push_back(piece);
      piece.from = piece.to;
    }
  }
  contour.segments = std::move(parted);
  contour.start_element = start_element;
  return contour;
}

// All contours of a new level; none when they cannot be moved there. A level whose chords would grow beyond
// what the program allows its chords is taken last.
std::vector<Contour> moved_contours(Stack const& stack, Offsets const& offsets, double d, double z,
                                    double resolution) {
  constexpr double growth = 1.002;
  double const side = offsets.away < 0 ? -1 : 1;
  std::vector<Contour> best;
  double least_sagitta = std::numeric_limits<double>::infinity();
  for (std::size_t const k : source_levels(stack, offsets, z)) {
    std::vector<Contour> contours;
    double sagitta = 0;
    for (std::size_t c = 0; c < stack.levels[k].contours.size(); ++c) {
      Contour const& source = stack.levels[k].contours[c];
      auto contour = moved_contour(source, offsets.steady[k][c], side * (d - offsets.d[k]), resolution);
      if (!contour) break;
      sagitta = std::max(sagitta, largest_sagitta(contour->segments, contour->closed));
      contours.push_back(std::move(*contour));
    }
    if (contours.size() < stack.levels[k].contours.size() || sagitta >= least_sagitta) continue;
    least_sagitta = sagitta;
    best = std::move(contours);
    if (sagitta <= growth * offsets.sagitta) break;
  }
  return best;
}

} // namespace

ShapedLevel shape_contours(std::vector<Contour> exact, std::vector<double> const& away, Vec2 tip,
                           double resolution) {
  Scribe scribe(1, resolution);
  for (std::size_t c = 0; c < exact.size(); ++c) {
    scribe.set_away(away[c]);
    scribe.write(std::move(exact[c]));
  }
  return scribe.take(tip);
}

ShapedLevel shape_level(Stack const& stack, Offsets const& offsets, double d, double z, double resolution) {
  Scribe scribe(offsets.away, resolution);
  if (!stack.by_element) {
    auto contours = moved_contours(stack, offsets, d, z, resolution);
    // Between the program's levels its own chords do; above them the arcs of an opening go on growing.
    bool const above = z > std::max(stack.levels.front().z, stack.levels.back().z);
    for (Contour& contour : contours)
      scribe.write(above && offsets.sagitta > 0 ? with_chords_within(std::move(contour), offsets.sagitta)
                                                : std::move(contour));
    ShapedLevel level = scribe.take({d, z});
    level.failed = contours.empty();
    return level;
  }
  Level const& nearest = nearest_level(stack, z);
  for (std::size_t c = 0; c < offsets.points.size(); ++c) {
    Contour exact = nearest.contours[c];
    std::size_t const n = exact.segments.size();
    for (std::size_t j = 0; j < n; ++j) {
      Segment& s = exact.segments[j];
      s.from = offsets.points[c][j].at(d);
      s.to = offsets.points[c][exact.closed && j + 1 == n ? 0 : j + 1].at(d);
      s.centre = s.arc ? offsets.centres[c][j].at(d) : Vec2{};
    }
    scribe.write(std::move(exact));
  }
  return scribe.take({d, z});
}

} // namespace restep::finish
