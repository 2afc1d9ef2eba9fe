#include "finish/offsets.hpp"

#include "finish/by_geometry.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace restep::finish {

namespace {

// One element of a contour on every level.
std::vector<Segment> element_of(Stack const& stack, std::size_t contour, std::size_t element) {
  std::vector<Segment> all;
  for (Level const& level : stack.levels)
    all.push_back(level.contours[contour].segments[element]);
  return all;
}

// The unit normal to the left of the course in the middle of an element. For a half turn or a full turn the
// bisector of the two radii is the start radius turned by half the sweep.
Vec2 left_in_middle(Segment const& s) {
  if (!s.arc) return left_normal(normalized(s.to - s.from));
  Vec2 const a = s.from - s.centre;
  double const half = s.length() / s.radius() / 2 * (s.ccw ? 1 : -1);
  Vec2 const out{a.x * std::cos(half) - a.y * std::sin(half), a.x * std::sin(half) + a.y * std::cos(half)};
  return normalized(s.ccw ? -out : out);
}

Vec2 mean_left(std::vector<Segment> const& element) {
  Vec2 left{};
  for (Segment const& s : element)
    left = left + left_in_middle(s);
  return normalized(left);
}

// How far an element lies to the left of where it was. An arc's radius says it without its ends, which a
// corner lets wander along it.
double moved_left(Segment const& was, Segment const& is, Vec2 left) {
  if (!is.arc) return dot(left, 0.5 * (is.from + is.to) - 0.5 * (was.from + was.to));
  double const shrunk = was.mean_radius() - is.mean_radius();
  return (is.ccw ? shrunk : -shrunk) + dot(left, is.centre - was.centre);
}

struct Displacement {
  double sum = 0, weight = 0;
  double low = 0, high = 0;
  bool any = false;

  void add(double value, double length, bool reliable) {
    sum += value * length;
    weight += length;
    if (!reliable) return;
    low = any ? std::min(low, value) : value;
    high = any ? std::max(high, value) : value;
    any = true;
  }
};

// True when the two elements meet where the levels have the corner. A displacement of an element by the
// tolerance moves the corner by as much over the sine of the angle between the two.
bool holds(Corner const& corner, std::vector<double> const& d, std::vector<Vec2> const& places,
           double tolerance) {
  constexpr double least_sine = 0.1; // smoother joints have no corner to speak of
  for (std::size_t k = 0; k < d.size(); ++k) {
    auto const place = corner.at(d[k], places[k]);
    if (!place) return false;
    double const sine = corner.sine_at(*place);
    if (sine < least_sine || distance(*place, places[k]) > tolerance / sine) return false;
  }
  return true;
}

// Elements shorter than this say little about direction at the program's digits and are only averaged.
constexpr double telling_length = 0.2;

} // namespace

void PointLaw::settle(std::span<ElementLaw const> elements, std::vector<double> const& d,
                      std::vector<Vec2> const& places) {
  constexpr double least_sine = 0.1; // elements that meet more smoothly move the point along one normal
  bool const lines = std::none_of(elements.begin(), elements.end(), [](auto const& e) { return e.arc(); });
  auto const settled = [&](double at) -> std::optional<Vec2> {
    Vec2 p = on_line(at);
    for (int round = 0; round < 3; ++round) {
      Vec2 const n0 = left_normal(elements.front().direction_at(p));
      Vec2 const n1 = left_normal(elements.back().direction_at(p));
      double const r0 = elements.front().left_of(at, p);
      double const r1 = elements.back().left_of(at, p);
      double const sine = cross(n0, n1);
      // Chords move less than the curve that they stand for, and their ends with the curve.
      if (std::abs(sine) < least_sine && lines && elements.size() > 1) return std::nullopt;
      if (std::abs(sine) >= least_sine)
        p = p - Vec2{r0 * n1.y - r1 * n0.y, r1 * n0.x - r0 * n1.x} / sine;
      else
        p = p - 0.5 * (r0 + r1) * normalized(n0 + n1);
    }
    return p;
  };
  auto const [low, high] = std::minmax_element(d.begin(), d.end());
  auto const at_low = settled(*low);
  auto const at_high = settled(*high);
  if (!at_low || !at_high) return;
  PointLaw law;
  law.slope_ = *high - *low > 1e-6 ? (*at_high - *at_low) / (*high - *low) : Vec2{};
  law.origin_ = *at_low - *low * law.slope_;
  take_if_as_near(law, d, places);
}

void PointLaw::stay_at(Vec2 place, std::vector<double> const& d, std::vector<Vec2> const& places) {
  PointLaw law;
  law.origin_ = place;
  take_if_as_near(law, d, places);
}

// The other law has less freedom: the places that the levels show may be a little farther from it, not more.
void PointLaw::take_if_as_near(PointLaw const& other, std::vector<double> const& d,
                               std::vector<Vec2> const& places) {
  constexpr double farther = 1.5;
  constexpr double no_digit = 1e-6; // mm
  if (!table_d_.empty()) return;
  double const own = worst(d, places);
  if (other.worst(d, places) <= farther * own + no_digit) *this = other;
}

double PointLaw::worst(std::vector<double> const& d, std::vector<Vec2> const& places) const {
  double worst = 0;
  for (std::size_t k = 0; k < d.size(); ++k)
    worst = std::max(worst, distance(on_line(d[k]), places[k]));
  return worst;
}

tl::expected<PointLaw, double> PointLaw::fit(std::vector<double> const& d, std::vector<Vec2> const& places,
                                             double tolerance, std::optional<Corner> const& corner) {
  double const n = static_cast<double>(d.size());
  double mean_d = 0;
  Vec2 mean{};
  for (std::size_t k = 0; k < d.size(); ++k) {
    mean_d += d[k] / n;
    mean = mean + places[k] / n;
  }
  double sdd = 0;
  Vec2 sdp{};
  for (std::size_t k = 0; k < d.size(); ++k) {
    double const dd = d[k] - mean_d;
    sdd += dd * dd;
    sdp = sdp + dd * (places[k] - mean);
  }
  PointLaw law;
  law.slope_ = sdd > 1e-12 ? sdp / sdd : Vec2{};
  law.origin_ = mean - mean_d * law.slope_;
  double const worst = law.worst(d, places);
  // A corner at an arc may run almost straight: what it is, is better known.
  bool const is_corner = corner && holds(*corner, d, places, tolerance);
  if (worst <= tolerance && !is_corner) return law;

  // Not straight: keep a table if the levels themselves show that interpolation between neighbours is good
  // enough. Leaving a level out doubles the spacing and so makes the error of a smooth curve four times as
  // large.
  std::vector<std::size_t> order(d.size());
  for (std::size_t k = 0; k < order.size(); ++k)
    order[k] = k;
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return d[a] < d[b]; });
  for (std::size_t const k : order) {
    if (!law.table_d_.empty() && d[k] - law.table_d_.back() < 1e-9) continue;
    law.table_d_.push_back(d[k]);
    law.table_.push_back(places[k]);
  }
  if (is_corner) {
    law.corner_ = corner;
    return law;
  }
  if (law.table_d_.size() < 3) return tl::unexpected(worst);
  double left_out = 0;
  for (std::size_t k = 1; k + 1 < law.table_d_.size(); ++k) {
    double const t = (law.table_d_[k] - law.table_d_[k - 1]) / (law.table_d_[k + 1] - law.table_d_[k - 1]);
    Vec2 const guess = law.table_[k - 1] + t * (law.table_[k + 1] - law.table_[k - 1]);
    left_out = std::max(left_out, distance(guess, law.table_[k]));
  }
  if (left_out > 4 * tolerance) return tl::unexpected(worst);
  return law;
}

Vec2 PointLaw::at(double d) const {
  if (table_d_.empty()) return on_line(d);
  Vec2 const near = in_table(d);
  if (!corner_) return near;
  return corner_->at(d, near).value_or(near);
}

Vec2 PointLaw::in_table(double d) const {
  auto const after = std::upper_bound(table_d_.begin(), table_d_.end(), d);
  if (after == table_d_.begin()) return table_.front();
  if (after == table_d_.end()) return table_.back();
  auto const i = static_cast<std::size_t>(after - table_d_.begin());
  double const t = (d - table_d_[i - 1]) / (table_d_[i] - table_d_[i - 1]);
  return table_[i - 1] + t * (table_[i] - table_[i - 1]);
}

std::string orient(Offsets& offsets, Stack const& stack, double tolerance) {
  std::size_t const levels = stack.levels.size();
  // Deeper levels of a surface that can be machined stand farther from the material.
  std::size_t const top = stack.downwards() ? 0 : levels - 1;
  std::size_t const bottom = stack.downwards() ? levels - 1 : 0;
  double const run = offsets.d[bottom] - offsets.d[top];
  double const range = *std::max_element(offsets.d.begin(), offsets.d.end()) -
                       *std::min_element(offsets.d.begin(), offsets.d.end());
  offsets.away = range <= tolerance ? 0 : run > 0 ? 1 : -1;
  if (offsets.away < 0)
    for (double& d : offsets.d)
      d = -d;
  for (std::size_t k = 1; k < levels; ++k) {
    double const down = (offsets.d[k] - offsets.d[k - 1]) * (stack.downwards() ? 1 : -1);
    if (offsets.away != 0 && down < -tolerance)
      return fmt::format("a deeper level stands {:.1f} um nearer to the material than the level above it: "
                         "an undercut, or two surfaces in one stack",
                         -1000 * down);
  }
  return {};
}

std::string contours_differ(std::vector<double> const& shifts, double tolerance) {
  auto const [low, high] = std::minmax_element(shifts.begin(), shifts.end());
  if (shifts.size() < 2 || *high - *low <= 2 * tolerance) return {};
  return fmt::format(
      "the {} contours of its levels stand on different surfaces: contour {} moves by {:.1f} um where "
      "contour {} moves by {:.1f} um",
      shifts.size(), low - shifts.begin() + 1, 1000 * *low, high - shifts.begin() + 1, 1000 * *high);
}

namespace {

// The elements that end at a point of a contour's and begin there; one at the ends of an open one.
std::vector<ElementLaw> elements_at(std::vector<ElementLaw> const& elements, bool closed, std::size_t point) {
  std::size_t const n = elements.size();
  if (!closed && point == 0) return {elements.front()};
  if (!closed && point == n) return {elements.back()};
  return {elements[(point + n - 1) % n], elements[point % n]};
}

// The corner at a point of a contour's; none at the ends of an open one.
std::optional<Corner> corner_at(std::vector<ElementLaw> const& elements, bool closed, std::size_t point) {
  std::vector<ElementLaw> const at = elements_at(elements, closed, point);
  if (elements.size() < 2 || at.size() < 2) return std::nullopt;
  if (!at[0].arc() && !at[1].arc()) return std::nullopt; // runs straight
  return Corner(at[0], at[1]);
}

// The laws of the points and centres of one contour; in words when there are none.
std::string lay_point_laws(Offsets& offsets, Stack const& stack, std::size_t c, double tolerance) {
  Contour const& first = stack.levels[0].contours[c];
  std::size_t const n = first.segments.size();
  double const side = offsets.away < 0 ? -1 : 1;
  std::vector<ElementLaw> elements;
  for (std::size_t j = 0; j < n; ++j)
    elements.emplace_back(element_of(stack, c, j), offsets.d, side);
  auto const places_of = [&](auto const& point_of) {
    std::vector<Vec2> places;
    for (Level const& level : stack.levels)
      places.push_back(point_of(level.contours[c]));
    return places;
  };
  std::vector<PointLaw> points, centres;
  for (std::size_t i = 0; i <= n; ++i) {
    std::vector<Vec2> const places = places_of([&](Contour const& contour) {
      return i == 0 ? contour.segments[0].from : contour.segments[i - 1].to;
    });
    auto law = PointLaw::fit(offsets.d, places, tolerance, corner_at(elements, first.closed, i));
    if (!law)
      return fmt::format("a corner of its contours does not move evenly from level to level ({:.1f} um off a "
                         "smooth course)",
                         1000 * law.error());
    law->settle(elements_at(elements, first.closed, i), offsets.d, places);
    points.push_back(std::move(*law));
  }
  for (std::size_t j = 0; j < n; ++j) {
    if (!first.segments[j].arc) {
      centres.emplace_back();
      continue;
    }
    std::vector<Vec2> const places =
        places_of([&](Contour const& contour) { return contour.segments[j].centre; });
    auto law = PointLaw::fit(offsets.d, places, tolerance);
    if (!law)
      return fmt::format("the centre of an arc wanders from level to level ({:.1f} um)", 1000 * law.error());
    law->stay_at(elements[j].centre(), offsets.d, places);
    centres.push_back(std::move(*law));
  }
  offsets.points.push_back(std::move(points));
  offsets.centres.push_back(std::move(centres));
  return {};
}

} // namespace

tl::expected<Offsets, std::string> measure_offsets(Stack const& stack, double resolution) {
  if (!stack.by_element) return measure_by_geometry(stack, resolution);
  std::size_t const levels = stack.levels.size();
  std::size_t const contours = stack.levels.front().contours.size();
  // Two rounded levels may differ by a digit along a normal; the mean of many elements is far better.
  double const tolerance = std::max(1.6 * resolution, 0.0005);

  Offsets offsets;
  offsets.d.assign(levels, 0.0);
  std::vector<Displacement> displacement(levels);
  bool uneven = false;                                                                 // within one contour
  std::vector<std::vector<double>> shifts(levels, std::vector<double>(contours, 0.0)); // of each contour
  for (std::size_t c = 0; c < contours; ++c) {
    std::vector<Displacement> own(levels);
    for (std::size_t j = 0; j < stack.levels[0].contours[c].segments.size(); ++j) {
      std::vector<Segment> const element = element_of(stack, c, j);
      double length = 0;
      for (Segment const& s : element)
        length += s.length() / static_cast<double>(levels);
      Vec2 const left = mean_left(element);
      for (std::size_t k = 0; k < levels; ++k)
        for (Displacement* sum : {&displacement[k], &own[k]})
          sum->add(moved_left(element[0], element[k], left), length, length > telling_length);
    }
    for (std::size_t k = 0; k < levels; ++k) {
      shifts[k][c] = own[k].weight > 0 ? own[k].sum / own[k].weight : 0;
      uneven = uneven || own[k].high - own[k].low > 2 * tolerance;
    }
  }
  for (std::size_t k = 0; k < levels; ++k) {
    offsets.d[k] = displacement[k].weight > 0 ? displacement[k].sum / displacement[k].weight : 0;
    offsets.spread = std::max(offsets.spread, displacement[k].high - displacement[k].low);
  }
  if (offsets.spread > 2 * tolerance) {
    // Contours that are offsets each for itself are named as such.
    if (!uneven)
      for (std::vector<double> const& of_level : shifts)
        if (std::string trouble = contours_differ(of_level, tolerance); !trouble.empty())
          return tl::unexpected(std::move(trouble));
    return tl::unexpected(
        fmt::format("the contours of its levels are not offsets of each other: elements of one level "
                    "moved by amounts that differ by {:.1f} um",
                    1000 * offsets.spread));
  }

  if (std::string trouble = orient(offsets, stack, tolerance); !trouble.empty())
    return tl::unexpected(std::move(trouble));

  for (std::size_t c = 0; c < contours; ++c)
    if (std::string trouble = lay_point_laws(offsets, stack, c, tolerance); !trouble.empty())
      return tl::unexpected(std::move(trouble));
  return offsets;
}

} // namespace restep::finish
