#include "finish/place_levels.hpp"

#include "geometry/in_parallel.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

namespace restep::finish {

namespace {

// Arc length between `low` and `high` where the meridian has height z (heights never rise along it).
std::optional<double> at_height(cutter::Meridian const& meridian, double z, double low, double high) {
  double const upper = meridian.at(low).y;
  if (upper < z || meridian.at(high).y > z) return std::nullopt;
  return std::clamp(meridian.reach(low, upper - z), low, high);
}

// Where a level may stand: a place on the meridian and the written height.
struct Candidate {
  double s = 0, z = 0;
  double height_error = 0; ///< what the rounded height displaces along the normal, mm
  double score = 0;
};

class Placing {
public:
  Placing(cutter::Meridian const& meridian, Stack const& stack, Offsets const& offsets, double resolution)
      : meridian_(meridian)
      , stack_(stack)
      , offsets_(offsets)
      , resolution_(resolution) {}

  // Within `window` of s, the likely ones first.
  std::vector<Candidate> about(double s, double window) const {
    constexpr int tries = 4; // to either side
    std::vector<Candidate> candidates;
    for (int n = 0; n <= 2 * tries; ++n) {
      int const i = n % 2 == 0 ? n / 2 : -(n + 1) / 2; // 0, -1, 1, -2, 2 ...
      double const here = s + window * i / tries;
      double const z = on_digits(meridian_.at(here).y, resolution_);
      Candidate c{at_height(meridian_, z, s - window, s + window).value_or(here), z, 0, 0};
      c.height_error = (z - meridian_.at(c.s).y) * meridian_.tangent(c.s).x;
      bool const known = std::any_of(candidates.begin(), candidates.end(),
                                     [&](Candidate const& o) { return o.s == c.s && o.z == c.z; });
      if (!known) candidates.push_back(c);
    }
    // The digits in plan of many vertices come out alike wherever the level stands; only its height tells.
    if (many_vertices()) {
      auto const best =
          std::min_element(candidates.begin(), candidates.end(), [](Candidate const& a, Candidate const& b) {
            constexpr double nothing = 1e-7; // mm
            return std::abs(a.height_error) + nothing < std::abs(b.height_error);
          });
      candidates = {*best};
    }
    return candidates;
  }

  ShapedLevel shape(Candidate const& c) const {
    return shape_level(stack_, offsets_, meridian_.at(c.s).x, c.z, resolution_);
  }

  // Displacement along the surface normal (sin, cos of the slope), from the digits in plan and from the
  // rounded height; what cuts below the surface counts double.
  double score(Candidate const& c) const {
    ShapedLevel const level = shape(c);
    double const sine = -meridian_.tangent(c.s).y;
    double const gouge = level.inward * sine - c.height_error;
    double const proud = level.outward * sine + c.height_error;
    double const mean = level.displaced * sine + c.height_error;
    return std::abs(mean) + 0.5 * std::max({2 * gouge, proud, 0.0}) + (level.failed ? 10 : 0);
  }

private:
  bool many_vertices() const {
    constexpr std::size_t many = 256;
    std::size_t vertices = 0;
    for (Contour const& contour : stack_.levels.front().contours)
      vertices += contour.segments.size();
    return vertices > many;
  }

  cutter::Meridian const& meridian_;
  Stack const& stack_;
  Offsets const& offsets_;
  double resolution_;
};

} // namespace

std::vector<ShapedLevel> place_levels(cutter::Meridian const& meridian, std::vector<double> const& s,
                                      Stack const& stack, Offsets const& offsets, double resolution,
                                      double max_stepdown) {
  constexpr double freedom =
      0.003;                   // of the distance to the nearer neighbour: 0.6 % of a step, 1.2 % of a cusp
  constexpr double digits = 3; // beyond a few digits there is nothing to be gained
  if (s.size() < 3) return {};
  Placing const placing(meridian, stack, offsets, resolution);
  std::vector<std::vector<Candidate>> candidates(s.size() - 2);
  geometry::in_parallel(candidates.size(), [&](std::size_t i) {
    double const nearer = std::min(s[i + 1] - s[i], s[i + 2] - s[i + 1]);
    candidates[i] = placing.about(s[i + 1], std::min(freedom * nearer, digits * resolution));
    if (candidates[i].size() > 1)
      for (Candidate& c : candidates[i])
        c.score = placing.score(c);
  });
  std::vector<Candidate> chosen;
  double above = meridian.at(s.front()).y;
  for (std::vector<Candidate>& choices : candidates) {
    for (Candidate& c : choices)
      if (above - c.z > max_stepdown + 1e-9) c.score += 1; // far worse than any digit
    chosen.push_back(
        *std::min_element(choices.begin(), choices.end(),
                          [](Candidate const& a, Candidate const& b) { return a.score < b.score; }));
    above = chosen.back().z;
  }
  std::vector<ShapedLevel> levels(chosen.size());
  geometry::in_parallel(levels.size(), [&](std::size_t i) { levels[i] = placing.shape(chosen[i]); });
  return levels;
}

} // namespace restep::finish
