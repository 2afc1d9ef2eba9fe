#include "cutter/underside.hpp"

#include "geometry/constants.hpp"
#include "geometry/vec.hpp"

#include <algorithm>
#include <cmath>

namespace restep::cutter {

namespace {

using geometry::infinite;

} // namespace

Underside::Underside(Tool const& tool)
    : flat_(std::max(0.0, tool.flat_radius()))
    , corner_(tool.corner_radius)
    , tapered_(tool.taper > 0)
    , reach_(tool.radius()) {
  if (!tapered_) {
    arc_end_ = reach_;
    arc_end_height_ = corner_;
    return;
  }
  // The cone stands at the half angle alpha to the axis; it touches the corner arc where the arc's normal is
  // normal to it: a + r cos alpha from the axis, r (1 - sin alpha) above the tip.
  double const alpha = geometry::radians(tool.taper);
  arc_end_ = flat_ + corner_ * std::cos(alpha);
  arc_end_height_ = corner_ * (1 - std::sin(alpha));
  cone_slope_ = 1 / std::tan(alpha);
  double const tall = tool.flute_length > 0 ? tool.flute_length : 10 * tool.diameter;
  reach_ = arc_end_ + std::max(0.0, tall - arc_end_height_) / cone_slope_;
}

double Underside::height(double rho) const {
  if (rho <= flat_) return 0;
  if (rho > reach_) return infinite;
  if (rho > arc_end_) return arc_end_height_ + (rho - arc_end_) * cone_slope_;
  double const out = rho - flat_;
  // r - sqrt(r^2 - out^2) without its cancellation
  double const root = std::sqrt(std::max(0.0, (corner_ - out) * (corner_ + out)));
  return out * out / (corner_ + root);
}

double Underside::slope(double rho) const {
  if (rho <= flat_) return 0;
  if (rho > arc_end_) return rho > reach_ ? infinite : cone_slope_;
  double const out = rho - flat_;
  double const root = std::sqrt(std::max(0.0, (corner_ - out) * (corner_ + out)));
  return root > 0 ? out / root : infinite;
}

double Underside::swept(double aside, double from, double to, double tip, double rise,
                        double* steepness) const {
  aside = std::abs(aside);
  if (!(aside <= reach_)) return infinite;
  double const half = std::sqrt(std::max(0.0, (reach_ - aside) * (reach_ + aside)));
  from = std::max(from, -half);
  to = std::min(to, half);
  if (from > to) return infinite;
  double s = 0;
  if (rise == 0)
    s = std::clamp(0.0, from, to);
  else if (ball())
    // Least of rise s - sqrt(K^2 - s^2), K the half chord of the ball beside its axis.
    s = std::clamp(-rise * half / std::sqrt(1 + rise * rise), from, to);
  else
    s = swept_generally(aside, from, to, rise);
  double const rho = std::min(std::sqrt(aside * aside + s * s), reach_);
  // At its least place the height does not change with s.
  if (steepness != nullptr) *steepness = rho > flat_ ? std::min(slope(rho), 1e12) * aside / rho : 0;
  return tip + rise * s + height(rho);
}

// The height rise s + h(rho(s)) is convex: where its derivative changes its sign it is least.
double Underside::swept_generally(double aside, double from, double to, double rise) const {
  auto const derivative = [&](double s) {
    double const rho = std::sqrt(aside * aside + s * s); // hypot takes most of the time
    return rho > flat_ ? rise + std::min(slope(rho), 1e12) * s / rho : rise;
  };
  double low = from;
  double high = to;
  double at_low = derivative(low);
  double at_high = derivative(high);
  if (at_low >= 0) return low;
  if (at_high <= 0) return high;
  // False position with halved weights (Illinois), with bisection mixed in where the derivative is steep.
  int kept = 0;
  for (int round = 0; round < 60 && high - low > 2e-6; ++round) {
    double s = (low * at_high - high * at_low) / (at_high - at_low);
    if (round % 3 == 2 || !(s > low && s < high)) s = (low + high) / 2;
    double const here = derivative(s);
    if (here == 0) return s;
    if (here < 0) {
      low = s;
      at_low = here;
      if (kept == 1) at_high /= 2;
      kept = 1;
    } else {
      high = s;
      at_high = here;
      if (kept == 2) at_low /= 2;
      kept = 2;
    }
  }
  return (low + high) / 2;
}

} // namespace restep::cutter
