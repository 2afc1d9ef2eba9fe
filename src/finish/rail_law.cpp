#include "finish/rail_law.hpp"

#include "finish/rail_meridian.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace restep::finish {

using geometry::Vec2;

namespace {

// Cubic between a and b with the given changes per share at its ends.
template <class T>
T hermite(T a, T b, T slope_a, T slope_b, double t) {
  double const u = 1 - t;
  return (u * u * (1 + 2 * t)) * a + (t * t * (3 - 2 * t)) * b + (t * u * u) * slope_a -
         (t * t * u) * slope_b;
}

} // namespace

double way_at_height(cutter::Meridian const& curve, double z) {
  return curve.at(curve.down_to(z)).x;
}

RailLaw RailLaw::fit(std::vector<Vec2> places, std::vector<double> z, double tolerance) {
  RailLaw law;
  law.places_ = std::move(places);
  law.z_ = std::move(z);
  Vec2 const whole = law.places_.back() - law.places_.front();
  double farthest = 0;
  for (Vec2 const p : law.places_)
    farthest = std::max(farthest, distance(p, law.places_.front()));
  if (farthest <= tolerance) { // stands still: a corner on a wall
    Vec2 mean{};
    for (Vec2 const p : law.places_)
      mean = mean + p / static_cast<double>(law.places_.size());
    law.places_.front() = mean;
    law.fitted_ = true;
    return law;
  }
  if (length(whole) > 0.5 * farthest) {
    law.direction_ = normalized(whole);
    law.fitted_ = law.fit_curve(tolerance);
  }
  if (!law.fitted_) law.lay_spline();
  return law;
}

bool RailLaw::fit_curve(double tolerance) {
  std::vector<Vec2> points;
  double off_line = 0;
  for (std::size_t k = 0; k < places_.size(); ++k) {
    Vec2 const v = places_[k] - places_.front();
    points.push_back({dot(v, direction_), z_[k]});
    way_.push_back(points.back().x);
    aside_.push_back(cross(direction_, v));
    off_line = std::max(off_line, std::abs(aside_.back()));
  }
  if (off_line <= tolerance)
    aside_.clear();
  else if (!std::is_sorted(way_.begin(), way_.end()))
    return false;
  auto fit = fit_rail_meridian(points, tolerance);
  if (!fit) return false;
  curve_ = std::move(fit->curve);
  return std::all_of(points.begin(), points.end(), [&](Vec2 p) {
    Vec2 const there{way_at_height(curve_, p.y), p.y};
    return std::abs(curve_.signed_distance(p)) <= 1.5 * tolerance &&
           std::abs(curve_.signed_distance(there)) <= tolerance;
  });
}

double RailLaw::aside(double way) const {
  if (aside_.empty()) return 0;
  auto const after = std::upper_bound(way_.begin(), way_.end(), way);
  if (after == way_.begin()) return aside_.front();
  if (after == way_.end()) return aside_.back();
  auto const i = static_cast<std::size_t>(after - way_.begin());
  double const h = way_[i] - way_[i - 1];
  if (h < 1e-6) return aside_[i];
  return hermite(aside_[i - 1], aside_[i], h * aside_slope(i - 1), h * aside_slope(i),
                 (way - way_[i - 1]) / h);
}

// Of the parabola through three neighbours.
double RailLaw::aside_slope(std::size_t k) const {
  auto const slope = [this](std::size_t i) {
    double const h = way_[i + 1] - way_[i];
    return h < 1e-6 ? 0 : (aside_[i + 1] - aside_[i]) / h;
  };
  if (k == 0) return slope(0);
  if (k + 1 == way_.size()) return slope(k - 1);
  double const share = (way_[k + 1] - way_[k]) / std::max(way_[k + 1] - way_[k - 1], 1e-6);
  return share * slope(k - 1) + (1 - share) * slope(k);
}

void RailLaw::lay_spline() {
  std::size_t const n = places_.size();
  length_.assign(n, 0);
  for (std::size_t k = 1; k < n; ++k)
    length_[k] = length_[k - 1] + std::hypot(distance(places_[k], places_[k - 1]), z_[k] - z_[k - 1]);
  auto const slope = [&](auto const& value, std::size_t k) {
    return (value[k + 1] - value[k]) / (length_[k + 1] - length_[k]);
  };
  fall_.assign(n, 0);
  run_.assign(n, {});
  for (std::size_t k = 0; k < n; ++k) {
    if (k == 0 || k + 1 == n) {
      std::size_t const i = k == 0 ? 0 : n - 2;
      fall_[k] = slope(z_, i);
      run_[k] = slope(places_, i);
      continue;
    }
    // The parabola through three neighbours.
    double const before = length_[k] - length_[k - 1];
    double const after = length_[k + 1] - length_[k];
    double const share = after / (before + after);
    fall_[k] = share * slope(z_, k - 1) + (1 - share) * slope(z_, k);
    run_[k] = share * slope(places_, k - 1) + (1 - share) * slope(places_, k);
  }
  for (std::size_t k = 0; k + 1 < n; ++k) {
    double const chord = slope(z_, k);
    for (std::size_t const i : {k, k + 1})
      fall_[i] = std::max(fall_[i], 3 * chord); // both fall: no steeper than three chords
  }
}

Vec2 RailLaw::on_spline(double z) const {
  std::size_t k = 0;
  while (k + 2 < z_.size() && z_[k + 1] >= z)
    ++k;
  double const h = length_[k + 1] - length_[k];
  double low = 0;
  double high = 1;
  for (int i = 0; i < 50; ++i) {
    double const t = (low + high) / 2;
    (hermite(z_[k], z_[k + 1], h * fall_[k], h * fall_[k + 1], t) > z ? low : high) = t;
  }
  return hermite(places_[k], places_[k + 1], h * run_[k], h * run_[k + 1], (low + high) / 2);
}

Vec2 RailLaw::at(double z) const {
  if (!fitted_) return on_spline(z);
  if (direction_ == Vec2{}) return places_.front();
  double const way = way_at_height(curve_, z);
  return places_.front() + way * direction_ + aside(way) * left_normal(direction_);
}

} // namespace restep::finish
