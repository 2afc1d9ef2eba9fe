#include "finish/place_levels.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace restep::finish {

namespace {

// Arc length between `low` and `high` where the meridian has height z (heights never rise along it).
std::optional<double> at_height(cutter::Meridian const& meridian, double z, double low, double high) {
  if (meridian.at(low).y < z || meridian.at(high).y > z) return std::nullopt;
  for (int round = 0; round < 60; ++round) {
    double const middle = 0.5 * (low + high);
    (meridian.at(middle).y > z ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

struct Candidate {
  ShapedLevel level;
  double score = 0;
};

Candidate candidate(cutter::Meridian const& meridian, double s, double z, Stack const& stack,
                    Offsets const& offsets, double resolution) {
  Vec2 const tip = meridian.at(s);
  Vec2 const along = meridian.tangent(s);
  Candidate c;
  c.level = shape_level(stack, offsets, tip.x, z, resolution);
  // Displacement along the surface normal (sin, cos of the slope): from the digits in plan, and from the
  // rounded height.
  double const sine = -along.y;
  double const height_error = (z - tip.y) * along.x;
  double const gouge = c.level.inward * sine - height_error;
  double const proud = c.level.outward * sine + height_error;
  double const mean = c.level.displaced * sine + height_error;
  // What cuts below the surface counts double.
  c.score = std::abs(mean) + 0.5 * std::max({2 * gouge, proud, 0.0});
  return c;
}

} // namespace

std::vector<ShapedLevel> place_levels(cutter::Meridian const& meridian, std::vector<double> const& s,
                                      Stack const& stack, Offsets const& offsets, double resolution,
                                      double max_stepdown) {
  constexpr int tries = 4; // to either side
  constexpr double freedom =
      0.006;                   // of the distance to the nearer neighbour: 1.2 % of a step, 2.4 % of a cusp
  constexpr double digits = 3; // beyond a few digits there is nothing to be gained
  std::vector<ShapedLevel> levels;
  double above = meridian.at(s.front()).y;
  for (std::size_t k = 1; k + 1 < s.size(); ++k) {
    double const window = std::min(freedom * std::min(s[k] - s[k - 1], s[k + 1] - s[k]), digits * resolution);
    std::optional<Candidate> best;
    for (int i = -tries; i <= tries; ++i) {
      double const here = s[k] + window * i / tries;
      double const z = on_digits(meridian.at(here).y, resolution);
      double const exact = at_height(meridian, z, s[k] - window, s[k] + window).value_or(here);
      Candidate c = candidate(meridian, exact, z, stack, offsets, resolution);
      if (c.level.failed) c.score += 10;
      if (above - z > max_stepdown + 1e-9) c.score += 1; // far worse than any digit
      if (!best || c.score < best->score) best = std::move(c);
    }
    above = best->level.tip.y;
    levels.push_back(std::move(best->level));
  }
  return levels;
}

} // namespace restep::finish
