#include "transform/route.hpp"

#include <algorithm>
#include <cmath>

namespace restep::transform {

using motion::is_known;
using motion::Vec3;

namespace {

/// Far below any control's resolution: coordinates nearer than this are the same.
constexpr double same_place = 1e-9;

bool moves(double from, double to) {
  return is_known(to) && !(std::abs(to - from) <= same_place);
}

} // namespace

bool Clearance::known() const {
  return std::isfinite(height);
}

bool moves_sideways(Vec3 from, Vec3 to) {
  return moves(from.x, to.x) || moves(from.y, to.y);
}

Route safe_route(Stand const& stand, Vec3 target, Clearance const& clearance) {
  Vec3 const at = stand.at;
  if (!is_known(target.z)) target.z = at.z;
  Route route;
  bool const high_start = stand.safe_over(clearance), high_end = clearance.at_or_above(target.z);
  bool const stays_up = high_start && (high_end || !is_known(target.z));
  if (!moves_sideways(at, target) || stays_up) {
    route.add(target);
    return route;
  }
  // From the machine's top, whose height here is not known, across at the top.
  double const travel = is_known(at.z) ? std::max({clearance.height, at.z, target.z}) : motion::unknown;
  if (is_known(travel) && at.z < travel) {
    route.add({at.x, at.y, travel});
    route.lifts = true;
  }
  if (!is_known(travel) || target.z < travel) route.add({target.x, target.y, travel});
  route.add(target);
  return route;
}

} // namespace restep::transform
