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

Clearance clearance_of(Context const& context) {
  double highest = context.setting.stock ? context.setting.stock->high.z : context.survey.highest_cut;
  if (!std::isfinite(highest)) highest = context.survey.cutting.high.z; // a program of holes only
  double const digit = context.resolution.length;
  // Rounded up to heights that can be written: read back, they must still be clear.
  auto const writable = [digit](double z) { return std::ceil(z / digit - 1e-6) * digit; };
  Clearance clearance;
  clearance.tolerance = digit / 2;
  clearance.height = writable(highest + context.machine.rapid_clearance);
  clearance.park = writable(clearance.height + context.machine.clearance);
  double const plane = context.survey.lowest_plane(clearance.height - clearance.tolerance);
  clearance.lift = is_known(plane) ? writable(plane) : clearance.park;
  return clearance;
}

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
  bool const level = !moves(at.z, target.z);
  bool const stays_up = level ? stand.safe_over(clearance)
                              : (stand.top || clearance.parked(at.z)) && clearance.parked(target.z);
  if (!moves_sideways(at, target) || stays_up) {
    route.add(target);
    return route;
  }
  // From the machine's top, whose height here is not known, across at the top.
  double const higher = std::max(at.z, target.z);
  double const travel = !is_known(at.z)                 ? motion::unknown
                        : clearance.at_or_above(higher) ? higher
                                                        : clearance.lift;
  if (is_known(travel) && at.z < travel) {
    route.add({at.x, at.y, travel});
    route.lifts = true;
  }
  if (!is_known(travel) || target.z < travel) route.add({target.x, target.y, travel});
  route.add(target);
  return route;
}

} // namespace restep::transform
