#include "cutter/marcher.hpp"

#include "cutter/cusp.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace restep::cutter {

// Chandrupatla's method (Advances in Engineering Software 28, 1997, 145-149): inverse quadratic interpolation
// where the three last points allow it, bisection otherwise.
double last_within(std::function<double(double)> const& excess, double low, double high, double resolution) {
  constexpr double good_enough = 1e-11; // relative excess on the inner side
  double a = high, b = low;
  double fa = excess(a), fb = excess(b);
  double t = 0.5;
  for (int i = 0; i < 200; ++i) {
    double const within = fa <= 0 ? fa : fb;
    if (within >= -good_enough && within <= 0) break;
    double const width = std::abs(b - a);
    if (width <= 2 * resolution) break;
    t = std::clamp(t, resolution / width, 1 - resolution / width);
    double const x = a + t * (b - a);
    double const fx = excess(x);
    double c = b, fc = fb; // the point that drops out
    if ((fx > 0) == (fa > 0)) {
      c = a;
      fc = fa;
    } else {
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
    , least_step_(meridian.length() / static_cast<double>(max_levels)) {
  if (tool.corner_radius > 0) find_idle();
}

bool Marcher::is_idle(double s) const {
  // The point of the surface under the contact lies above the surface that is left.
  double const r = tool_.corner_radius;
  Vec2 const contact = meridian_.at(s) + Vec2{0, r} - r * geometry::left_normal(meridian_.tangent(s));
  return meridian_.height_above_surface(contact, r) > 1e-9;
}

void Marcher::find_idle() {
  auto const& starts = meridian_.starts();
  std::size_t const pieces = meridian_.pieces().size();
  // Where, between a place that is idle and one that is not, the idle stretch ends.
  auto const bound = [&](double idle, double busy) {
    for (int i = 0; i < 60; ++i) {
      double const middle = (idle + busy) / 2;
      (is_idle(middle) ? idle : busy) = middle;
    }
    return busy;
  };
  for (std::size_t i = 0; i < pieces; ++i) {
    double const whole = starts[i + 1] - starts[i], inside = 1e-9 * whole;
    double const first = starts[i] + inside, last = starts[i + 1] - inside, middle = starts[i] + whole / 2;
    if (!(whole > 0)) continue;
    bool const at_first = is_idle(first), at_last = is_idle(last), at_middle = is_idle(middle);
    if (at_first && at_last && at_middle) {
      idle_.push_back({starts[i], starts[i + 1]});
      continue;
    }
    if (at_first) idle_.push_back({starts[i], bound(first, at_middle ? last : middle)});
    if (at_last) idle_.push_back({bound(last, at_middle ? first : middle), starts[i + 1]});
  }
  // Stretches that meet at a joint are one.
  std::vector<Idle> joined;
  for (Idle const& stretch : idle_)
    if (!joined.empty() && stretch.from <= joined.back().to)
      joined.back().to = std::max(joined.back().to, stretch.to);
    else
      joined.push_back(stretch);
  idle_ = std::move(joined);
}

Marcher::Idle const* Marcher::idle_at(double s) const {
  for (Idle const& stretch : idle_)
    if (s >= stretch.from && s < stretch.to) return &stretch;
  return nullptr;
}

double Marcher::figure(double s, double e) const {
  if (Idle const* stretch = idle_at(s); stretch != nullptr && e <= stretch->to) return 0;
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
  // Out of an idle stretch there is one way, whatever stands there.
  if (Idle const* stretch = idle_at(s)) return std::max(std::min(stretch->to, cap), std::min(least, cap));
  double low = s, stride = guess;
  while (low < cap) {
    if (Idle const* stretch = idle_at(low)) {
      double const e = std::min(stretch->to, cap);
      if (over(e) > 0) break;
      low = e;
      stride = std::max(stride, low - s);
      continue;
    }
    // Never over a joint without a look at it.
    double joint = meridian_.starts()[meridian_.piece_at(low) + 1];
    for (Idle const& stretch : idle_)
      if (stretch.from > low) joint = std::min(joint, stretch.from);
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
