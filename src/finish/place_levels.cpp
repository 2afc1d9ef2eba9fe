#include "finish/place_levels.hpp"

#include "cutter/cusp.hpp"
#include "geometry/in_parallel.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
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
  double s = 0;
  Vec2 tip{};              ///< d exact, z as written
  Vec2 written{};          ///< with what the digits in plan do to d in the mean
  double height_error = 0; ///< what the rounded height displaces along the normal, mm
  double cost = 0;         ///< of what its digits do to the form
  // Of the cheapest choice of all levels above that leads here.
  double whole = 0;
  std::size_t above = 0;
};

class Placing {
public:
  Placing(cutter::Meridian const& meridian, Stack const& stack, Offsets const& offsets,
          PlacingRule const& rule)
      : meridian_(meridian)
      , stack_(stack)
      , offsets_(offsets)
      , rule_(rule)
      , most_cusp_(rule.target.kind == cutter::FinishKind::ra ? 0 : rule.target.limit)
      , form_(std::max(rule.resolution, 0.05 * most_cusp_))
      , many_vertices_(has_many_vertices(stack)) {}

  // Beside s, where the nearer neighbour is as far away as `nearer`.
  std::vector<Candidate> about(double s, double nearer) const {
    constexpr double freedom = 0.0075; // of the distance to the neighbour: 1.5 % of a step, 3 % of a cusp
    constexpr double digits = 3;       // beyond a few digits there is nothing to be gained
    constexpr int tries = 4;           // to either side
    double const window = std::min(freedom * nearer, digits * rule_.resolution);
    std::vector<Candidate> candidates;
    for (int i = -tries; i <= tries; ++i) {
      double const here = s + window * i / tries;
      double const z = on_digits(meridian_.at(here).y, rule_.resolution);
      add(candidates, at_height(meridian_, z, s - window, s + window).value_or(here), z);
    }
    // Where a digit is coarse against the step, the next one above or below may keep the steps more even.
    double const middle = on_digits(meridian_.at(s).y, rule_.resolution);
    double const reach = std::max(window, std::min(rule_.resolution, nearer / 4));
    for (double const z : {middle - rule_.resolution, middle, middle + rule_.resolution}) {
      auto const exact = at_height(meridian_, z, s - reach, s + reach);
      if (!exact) continue;
      add(candidates, *exact, z);
      add(candidates, (*exact + s) / 2, z);
      add(candidates, s, z);
    }
    return candidates;
  }

  ShapedLevel shape(Candidate const& c) const {
    return shape_level(stack_, offsets_, c.tip.x, c.tip.y, rule_.resolution);
  }

  // Displacement along the surface normal (sin, cos of the slope), from the digits in plan and from the
  // rounded height; what cuts below the surface counts double.
  void judge(Candidate& c) const {
    // The digits in plan of many vertices come out alike wherever the level stands; only its height tells.
    ShapedLevel const level = many_vertices_ ? ShapedLevel{} : shape(c);
    c.written.x += level.displaced;
    double const sine = -meridian_.tangent(c.s).y;
    double const gouge = level.inward * sine - c.height_error;
    double const proud = level.outward * sine + c.height_error;
    double const mean = level.displaced * sine + c.height_error;
    double const form = std::abs(mean) + 0.5 * std::max({2 * gouge, proud, 0.0});
    // Half a digit in d and in z along a normal at 45 degrees is what no place can be blamed for; the model
    // that measures it knows the surface from digits as well.
    constexpr double most = 0.9 * 0.5 * std::numbers::sqrt2;
    double const beyond = std::max(0.0, gouge - most * rule_.resolution);
    c.cost = square(form / form_) + (level.failed ? impossible : 0);
    if (beyond > 1e-9) c.cost += too_deep * (1 + beyond / rule_.resolution);
  }

  // Of a candidate and a level above it, whose cusp was planned to be `planned`: what the levels stand for
  // rules, and among such choices what a reader will find.
  double cost(Vec2 above, Vec2 above_written, Candidate const& lower, double planned) const {
    constexpr double of_written = 0.1;
    double cost = cost_of_cusp(above, lower.tip, planned, 1) +
                  of_written * cost_of_cusp(above_written, lower.written, planned, 1 + written_slack);
    if (rule_.max_stepdown > 0 && above.y - lower.tip.y > rule_.max_stepdown + 1e-9) cost += 1000;
    return cost;
  }

private:
  static constexpr double too_deep = 1e6; ///< no finish is worth it
  static constexpr double impossible = 1e9;

  static double square(double x) { return x * x; }

  double cost_of_cusp(Vec2 upper, Vec2 lower, double planned, double slack) const {
    constexpr double even = 0.01;   // a cusp that differs by this share costs as much as a digit of form
    constexpr double above = 0.001; // what is over the target weighs ten times as much
    double const cusp = cutter::cusp_peak_to_valley(rule_.tool, meridian_, upper, lower);
    double const allowed = std::max(most_cusp_, planned);
    double cost = allowed > 0 ? square((cusp - planned) / (even * allowed)) : 0;
    if (most_cusp_ > 0 && cusp > slack * allowed) cost += square((cusp / allowed - slack) / above);
    return cost;
  }

  static bool has_many_vertices(Stack const& stack) {
    constexpr std::size_t many = 256;
    std::size_t vertices = 0;
    for (Contour const& contour : stack.levels.front().contours)
      vertices += contour.segments.size();
    return vertices > many;
  }

  void add(std::vector<Candidate>& candidates, double s, double z) const {
    Candidate c;
    c.s = s;
    c.tip = c.written = {meridian_.at(s).x, z};
    c.height_error = (z - meridian_.at(s).y) * meridian_.tangent(s).x;
    if (std::none_of(candidates.begin(), candidates.end(),
                     [&](Candidate const& o) { return o.tip == c.tip; }))
      candidates.push_back(c);
  }

  cutter::Meridian const& meridian_;
  Stack const& stack_;
  Offsets const& offsets_;
  PlacingRule const& rule_;
  double most_cusp_; ///< mm; of an Ra the plan alone knows what cusp it stands for: 0
  double form_;      ///< mm of displacement that costs 1
  bool many_vertices_;
};

// The cheapest choice of one candidate for each level: what the levels cost and what their neighbourhoods do
// (the shortest way through the choices from the top down). The last has one candidate, the lower end.
std::vector<Candidate> cheapest(Placing const& placing, std::vector<std::vector<Candidate>>& choices,
                                Vec2 top, std::vector<double> const& planned) {
  for (std::size_t k = 0; k < choices.size(); ++k)
    for (Candidate& c : choices[k]) {
      if (k == 0) {
        c.whole = c.cost + placing.cost(top, top, c, planned[k]);
        continue;
      }
      c.whole = std::numeric_limits<double>::infinity();
      for (std::size_t i = 0; i < choices[k - 1].size(); ++i) {
        double const whole = choices[k - 1][i].whole + c.cost +
                             placing.cost(choices[k - 1][i].tip, choices[k - 1][i].written, c, planned[k]);
        if (whole >= c.whole) continue;
        c.whole = whole;
        c.above = i;
      }
    }
  std::vector<Candidate> chosen(choices.size());
  std::size_t i = 0;
  for (std::size_t k = choices.size(); k-- > 0; i = chosen[k].above)
    chosen[k] = choices[k][i];
  return chosen;
}

} // namespace

std::vector<ShapedLevel> place_levels(cutter::Meridian const& meridian, std::vector<double> const& s,
                                      Stack const& stack, Offsets const& offsets, PlacingRule const& rule) {
  if (s.size() < 3) return {};
  Placing const placing(meridian, stack, offsets, rule);
  std::vector<std::vector<Candidate>> choices(s.size() - 1);
  std::vector<double> planned(s.size() - 1);
  geometry::in_parallel(choices.size(), [&](std::size_t i) {
    planned[i] = cutter::cusp_peak_to_valley(rule.tool, meridian, meridian.at(s[i]), meridian.at(s[i + 1]));
    if (i + 2 == s.size()) {
      Candidate end;
      end.s = s.back();
      end.tip = end.written = rule.bottom;
      choices[i] = {end};
      return;
    }
    choices[i] = placing.about(s[i + 1], std::min(s[i + 1] - s[i], s[i + 2] - s[i + 1]));
    for (Candidate& c : choices[i])
      placing.judge(c);
  });
  std::vector<Candidate> const chosen = cheapest(placing, choices, rule.top, planned);
  std::vector<ShapedLevel> levels(chosen.size() - 1);
  geometry::in_parallel(levels.size(), [&](std::size_t i) { levels[i] = placing.shape(chosen[i]); });
  return levels;
}

} // namespace restep::finish
