#include "finish/raster_rule.hpp"

#include "geometry/constants.hpp"

#include <algorithm>
#include <cmath>

namespace restep::finish {

namespace {

using geometry::infinite;

// Height of the tip's surface between and beside the two lines: the parabola through its three known heights.
double tip_at(RasterPlace const& p, double v) {
  double const t = (v - p.v1) / (p.v2 - p.v1);
  return p.z1 + t * (p.z2 - p.z1) + 4 * t * (1 - t) * p.bulge();
}

double tip_slope(RasterPlace const& p, double v) {
  double const dv = p.v2 - p.v1;
  return p.rise_across() + 4 * p.bulge() * (p.v1 + p.v2 - 2 * v) / (dv * dv);
}

// The root of a function that is below 0 at `low` and above at `high`: false position with halved weights
// (Illinois), bisection mixed in.
template <class F>
double root_between(double low, double high, double at_low, double at_high, double close, F const& f) {
  int kept = 0;
  for (int round = 0; round < 60 && high - low > close; ++round) {
    double x = (low * at_high - high * at_low) / (at_high - at_low);
    if (round % 4 == 3 || !(x > low && x < high)) x = (low + high) / 2;
    double const here = f(x);
    if (here == 0) return x;
    if (here < 0) {
      low = x;
      at_low = here;
      if (kept == 1) at_high /= 2;
      kept = 1;
    } else {
      high = x;
      at_high = here;
      if (kept == 2) at_low /= 2;
      kept = 2;
    }
  }
  return (low + high) / 2;
}

} // namespace

RasterRule::RasterRule(cutter::Tool const& tool)
    : underside_(tool) {}

// The swept underside in the vertical section across the lines, and its slope.
double RasterRule::outline(double v, double rise, double* slope) const {
  double steepness = 0;
  double const z = underside_.swept(v, -infinite, infinite, 0, rise, &steepness);
  if (slope != nullptr) *slope = v < 0 ? -steepness : steepness;
  return z;
}

// The lowest that the tool leaves at v from any place between the lines: where the surface of the tips and
// the outline turned round have one slope. What the surface bends is little against what the tool does, so
// that the difference of the slopes rises from left to right.
double RasterRule::surface_at(RasterPlace const& place, double v, double& foot) const {
  double const reach = underside_.reach() * (1 - 1e-9);
  double const low = std::max(place.v1, v - reach);
  double const high = std::min(place.v2, v + reach);
  auto const slope_at = [&](double w) {
    double slope = 0;
    outline(v - w, place.rise, &slope);
    return tip_slope(place, w) - slope;
  };
  double const at_low = slope_at(low);
  double const at_high = slope_at(high);
  if (at_low >= 0)
    foot = low;
  else if (at_high <= 0)
    foot = high;
  else
    foot = root_between(low, high, at_low, at_high, 1e-6 * (high - low), slope_at);
  return tip_at(place, foot) + outline(v - foot, place.rise);
}

// Where the outlines of the two lines meet. Their difference rises from left to right, outlines being convex.
bool RasterRule::crest(RasterPlace const& p, Crest& found) const {
  double const reach = underside_.reach() * (1 - 1e-12);
  double const low = p.v2 - reach;
  double const high = p.v1 + reach;
  if (low >= high) return false;
  auto const first = [&](double v) { return p.z1 + outline(v - p.v1, p.rise); };
  auto const second = [&](double v) { return p.z2 + outline(v - p.v2, p.rise); };
  auto const difference = [&](double v) { return first(v) - second(v); };
  double const at_low = difference(low);
  double const at_high = difference(high);
  if (at_low >= 0)
    found.v = low; // the side of the second tool stands in the outline of the first
  else if (at_high <= 0)
    found.v = high;
  else
    found.v = root_between(low, high, at_low, at_high, 1e-10 * reach, difference);
  // On the side of a cylinder the height jumps: the crest is where the outline of the other tool meets it.
  found.z = std::max(first(found.v), second(found.v));
  found.above = found.z - surface_at(p, found.v, found.foot);
  return true;
}

double RasterRule::cusp(RasterPlace const& p) const {
  double const dv = p.v2 - p.v1;
  if (!(dv > 0)) return 0;
  if (underside_.ball()) {
    double const r = underside_.corner_radius();
    double const cosine = 1 / std::sqrt(1 + p.rise * p.rise);
    double const dz = (p.z2 - p.z1) * cosine;
    double const c2 = dv * dv + dz * dz;
    if (dv > 2 * r) return infinite;
    if (c2 <= 2 * r * dv) {
      double const bulge = p.bulge() * cosine * dv / std::sqrt(c2);
      double const root = std::sqrt(std::max(0.0, r * r - c2 / 4));
      return std::max(0.0, c2 / 4 / (r + root) - bulge);
    }
  }
  Crest found;
  if (!crest(p, found)) return infinite;
  double const across = tip_slope(p, found.foot);
  return std::max(0.0, found.above) / std::sqrt(1 + p.rise * p.rise + across * across);
}

// A profile of two arcs of a radius R that are h deep over the length 2 b, R = (b^2 + h^2) / 2h, has by
// formula (28)  Ra = (R^2 asin(x0/R) - q x0) / b,  x0^2 = R^2 - q^2,  q the mean of sqrt(R^2 - x^2). Every
// other profile is measured point by point.
double RasterRule::ra(RasterPlace const& p) const {
  double const h = cusp(p);
  if (!(h > 0) || !std::isfinite(h)) return h;
  double const slope = p.rise_across() / std::sqrt(1 + p.rise * p.rise);
  double const dv = p.v2 - p.v1;
  if (underside_.ball() && dv * (1 + slope * slope) <= 2 * underside_.corner_radius()) {
    double const b = dv * std::sqrt(1 + slope * slope) / 2;
    double const radius = (b * b + h * h) / (2 * h);
    double const q =
        (b * std::sqrt(radius * radius - b * b) + radius * radius * std::asin(b / radius)) / (2 * b);
    double const x0 = std::sqrt(std::max(0.0, radius * radius - q * q));
    return (radius * radius * std::asin(x0 / radius) - q * x0) / b;
  }
  Crest found;
  if (!crest(p, found) || !(found.above > 0)) return 0;
  // From contact to contact: as far from the lines as the crest is from the place that touches below it.
  double const offset = found.v - found.foot;
  constexpr int points = 128;
  double mean = 0;
  double heights[points];
  for (int i = 0; i < points; ++i) {
    double const v = p.v1 + offset + dv * (i + 0.5) / points;
    double foot = 0;
    double const bare = std::min(p.z1 + outline(v - p.v1, p.rise), p.z2 + outline(v - p.v2, p.rise));
    heights[i] = std::isfinite(bare) ? std::max(0.0, bare - surface_at(p, v, foot)) : found.above;
    mean += heights[i] / points;
  }
  double deviation = 0;
  for (double const height : heights)
    deviation += std::abs(height - mean) / points;
  return deviation * h / found.above;
}

double RasterRule::figure(cutter::FinishTarget const& target, RasterPlace const& place) const {
  return target.kind == cutter::FinishKind::ra ? ra(place) : cusp(place);
}

void RasterPair::count(RasterRule const& rule, RasterPlace const& place) {
  double const cusp = rule.cusp(place);
  least = std::min(least, cusp);
  if (cusp <= most) return;
  most = cusp;
  ra = rule.ra(place);
}

} // namespace restep::finish
