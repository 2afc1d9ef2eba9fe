#include "cutter/marcher.hpp"

#include "cutter/cusp.hpp"

#include <algorithm>
#include <cmath>

namespace restep::cutter {

// Chandrupatla's method (Advances in Engineering Software 28, 1997, 145-149): inverse quadratic interpolation
// where the three last points allow it, bisection otherwise.
double last_within(std::function<double(double)> const& excess, double low, double high, double resolution) {
  constexpr double good_enough = 1e-11; // relative excess on the inner side
  double a = high, b = low, c = low;
  double fa = excess(a), fb = excess(b), fc = fb;
  double t = 0.5;
  for (int i = 0; i < 200; ++i) {
    double const within = fa <= 0 ? fa : fb;
    if (within >= -good_enough && within <= 0) break;
    double const width = std::abs(b - a);
    if (width <= 2 * resolution) break;
    t = std::clamp(t, resolution / width, 1 - resolution / width);
    double const x = a + t * (b - a);
    double const fx = excess(x);
    if ((fx > 0) == (fa > 0)) {
      c = a;
      fc = fa;
    } else {
      c = b;
      fc = fb;
      b = a;
      fb = fa;
    }
    a = x;
    fa = fx;
    double const xi = (a - b) / (c - b), phi = (fa - fb) / (fc - fb);
    bool const smooth = phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi;
    t = smooth ? fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb) : 0.5;
  }
  return fa <= 0 ? a : b;
}

Marcher::Marcher(Meridian const& meridian, Tool const& tool, FinishTarget const& target,
                 StepLimits const& limits)
    : meridian_(meridian)
    , tool_(tool)
    , target_(target)
    , min_stepdown_(limits.max_stepdown > 0 ? std::min(limits.min_stepdown, limits.max_stepdown)
                                            : limits.min_stepdown)
    , least_step_(meridian.length() / static_cast<double>(max_levels)) {}

double Marcher::figure(double s, double e) const {
  Vec2 const upper = meridian_.at(s), lower = meridian_.at(e);
  return target_.kind == FinishKind::ra ? ra_between(tool_, meridian_, upper, lower)
                                        : cusp_height(tool_, meridian_, upper, lower);
}

double Marcher::bottom(double s, double e) const {
  return bottom_used(tool_, meridian_.at(s), meridian_.at(e));
}

double Marcher::excess(double s, double e, double share, double stepdown) const {
  double const allowed = share * (1 + target_slack);
  double ratio =
      std::max(figure(s, e) / (target_.limit * allowed), bottom(s, e) / std::min(allowed, 1 + target_slack));
  if (stepdown > 0)
    ratio = std::max(ratio, (meridian_.at(s).y - meridian_.at(e).y) / (stepdown * (1 + target_slack)));
  return ratio - 1;
}

double Marcher::excess_to_end(double s, double share, double stepdown) const {
  double const length = meridian_.length();
  if (s >= length) return -1;
  double const last = excess(s, length, share, stepdown);
  if (last > 0) return last;
  // The end may lie within the rule behind a place that does not.
  return step_from(s, length - s, share, stepdown) >= length ? last : 1;
}

double Marcher::least_end(double s, double stepdown) const {
  double end = s + least_step_;
  if (min_stepdown_ > 0) {
    // A floor has no stepdown: the least one ends where a floor begins.
    double e = std::max(s, meridian_.reach(s, min_stepdown_));
    while (e > s) {
      std::size_t piece = meridian_.piece_at(e);
      if (piece > 0 && e == meridian_.starts()[piece]) --piece;
      Piece const& on = meridian_.pieces()[piece];
      if (on.from.y - on.to.y > 1e-9) break;
      e = std::max(s, meridian_.starts()[piece]);
    }
    end = std::max(end, e);
  }
  if (stepdown > 0) end = std::min(end, std::max(s + least_step_, meridian_.reach(s, stepdown)));
  return std::min(end, meridian_.length());
}

double Marcher::step_from(double s, double guess, double share, double stepdown) const {
  auto const over = [&](double e) { return excess(s, e, share, 0); };
  double const cap = stepdown > 0 ? meridian_.reach(s, stepdown * (1 + target_slack)) : meridian_.length();
  double const least = least_end(s, stepdown);
  double low = s, stride = guess;
  while (low < cap) {
    // Never over a joint without a look at it.
    double const joint = meridian_.starts()[meridian_.piece_at(low) + 1];
    double const e = std::min({s + stride, joint, cap});
    if (!(e > low)) {
      stride *= 1.5;
      continue;
    }
    if (over(e) > 0) {
      low = last_within(over, low, e, 1e-15 * meridian_.length());
      break;
    }
    low = e;
    stride = std::max(stride, e - s) * 1.5;
  }
  return std::max(low, least);
}

std::vector<double> Marcher::march(double share, double stepdown, std::size_t steps) const {
  std::vector<double> s = {0};
  double const length = meridian_.length();
  double guess = length / 16;
  while (s.size() <= steps && s.back() < length) {
    double e = step_from(s.back(), guess, share, stepdown);
    // What is left behind the last step by rounding alone is part of it.
    if (length - e <= 1e-12 * length) e = length;
    guess = e - s.back();
    s.push_back(e);
  }
  return s;
}

} // namespace restep::cutter
