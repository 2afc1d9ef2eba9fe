#include "finish/raster_link.hpp"

#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::finish {

namespace {

using motion::Step;

motion::Motion const& motion_at(LineLink const& link, std::size_t i) {
  return *motion::motion_of(link.steps[i]);
}

double radius_at(motion::Motion const& m, Vec3 const& p) {
  motion::PlaneAxes const axes = motion::axes_of(m.plane);
  return std::hypot(p[axes.first] - m.centre[axes.first], p[axes.second] - m.centre[axes.second]);
}

// Links of the same kinds of motions in the same order.
bool same_way(LineLink const& a, LineLink const& b) {
  if (a.steps.size() != b.steps.size()) return false;
  for (std::size_t i = 0; i < a.steps.size(); ++i)
    if (motion_at(a, i).path != motion_at(b, i).path) return false;
  return true;
}

} // namespace

Vec3 LineLinks::own(Vec3 const& p) const {
  return geometry::at_height(frame_.own(geometry::xy(p)), p.z);
}
Vec3 LineLinks::plan(Vec3 const& p) const {
  return geometry::at_height(frame_.plan(geometry::xy(p)), p.z);
}

Vec3 LineLinks::moved(Vec3 const& p, LineLink const& link, LineLink const* other, std::size_t step,
                      bool centre, LineEnds const& ends) const {
  Vec3 const at = own(p);
  Vec3 const from = own(link.ends.previous);
  Vec3 const to = own(link.ends.next);
  Vec3 const way = to - from;
  // Across from line to line; along, where a hole is passed over.
  int const axis = std::abs(way.y) > tolerance_ ? 1 : 0;
  double const share =
      std::abs(way[axis]) > tolerance_ ? std::clamp((at[axis] - from[axis]) / way[axis], 0.0, 1.0) : 0;
  Vec3 const shift = (1 - share) * (own(ends.previous) - from) + share * (own(ends.next) - to);
  Vec3 result = at + shift;
  // Digits put a point that belongs to an end a little beside it.
  double const high = std::max(link.ends.previous.z, link.ends.next.z) + tolerance_;
  bool const common =
      other == nullptr ? at.z > high : at.z > high && std::abs(motion_at(*other, step).to.z - at.z) <= 1e-6;
  if (!centre && common)
    result.z = std::max(at.z, motion_at(link, step).path == motion::PathKind::rapid ? result.z : at.z);
  return plan(result);
}

// Turns and scales a link in plan so that it leads from end to end: only for links whose arcs are level.
bool LineLinks::turn(std::vector<Step>& steps, LineLink const& link, LineEnds const& ends) {
  Vec2 const was = geometry::xy(link.ends.next) - geometry::xy(link.ends.previous);
  Vec2 const is = geometry::xy(ends.next) - geometry::xy(ends.previous);
  double const l2 = dot(was, was);
  if (!(l2 > 0)) return false;
  double const cosine = dot(was, is) / l2;
  double const sine = cross(was, is) / l2;
  auto const turned = [&](Vec3 const& p) {
    Vec2 const arm = geometry::xy(p) - geometry::xy(link.ends.previous);
    double const share = std::clamp(dot(arm, was) / l2, 0.0, 1.0);
    double const z = p.z + (1 - share) * (ends.previous.z - link.ends.previous.z) +
                     share * (ends.next.z - link.ends.next.z);
    return geometry::at_height(
        geometry::xy(ends.previous) + Vec2{cosine * arm.x - sine * arm.y, sine * arm.x + cosine * arm.y}, z);
  };
  for (std::size_t i = 0; i < steps.size(); ++i) {
    motion::Motion const& old = motion_at(link, i);
    if (!motion::is_cutting(old) || (motion::is_arc(old) && old.plane != motion::Plane::xy)) return false;
    motion::Motion& m = *motion::motion_of(steps[i]);
    m.to = turned(old.to);
    if (motion::is_arc(old)) m.centre = turned(old.centre);
  }
  return true;
}

// Beyond 0.002 mm an arc is none by the standard's own tolerance (NISTIR 6556 3.5.3.2).
bool LineLinks::keeps_arcs(std::vector<Step> const& steps) const {
  return std::all_of(steps.begin(), steps.end(), [](Step const& step) {
    motion::Motion const& m = *motion::motion_of(step);
    return !motion::is_arc(m) || std::abs(radius_at(m, m.from) - radius_at(m, m.to)) <= 0.002;
  });
}

tl::expected<std::vector<Step>, std::string> LineLinks::make(LineEnds const& ends, double resolution) const {
  if (links_.empty())
    return tl::unexpected(std::string("the program has no link of the kind that new lines need"));
  double const v = (own(ends.previous).y + own(ends.next).y) / 2;
  auto const away = [&](LineLink const& link) {
    return std::abs((own(link.ends.previous).y + own(link.ends.next).y) / 2 - v);
  };
  LineLink const* nearest = nullptr;
  LineLink const* second = nullptr;
  for (LineLink const& link : links_) {
    if (nearest == nullptr || away(link) < away(*nearest)) {
      second = nearest;
      nearest = &link;
    } else if (second == nullptr || away(link) < away(*second)) {
      second = &link;
    }
  }
  if (second != nullptr && !same_way(*nearest, *second)) second = nullptr;
  std::vector<Step> steps = nearest->steps;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    motion::Motion const& old = motion_at(*nearest, i);
    if (!motion::is_known(old.from) || !motion::is_known(old.to) || old.compensated || old.rotary)
      return tl::unexpected(std::string("a move between its lines is not fully known"));
    motion::Motion& m = *motion::motion_of(steps[i]);
    m.to = moved(old.to, *nearest, second, i, false, ends);
    if (motion::is_arc(old)) m.centre = moved(old.centre, *nearest, second, i, true, ends);
  }
  auto const joined = [&] {
    Vec3 at = ends.previous;
    for (std::size_t i = 0; i < steps.size(); ++i) {
      motion::Motion& m = *motion::motion_of(steps[i]);
      m.from = at;
      for (int axis = 0; axis < 3; ++axis)
        m.to[axis] = std::round(m.to[axis] / resolution) * resolution;
      if (i + 1 == steps.size()) m.to = ends.next;
      // The centre of an arc lies at the height of its start along the axis normal to it.
      if (motion::is_arc(m)) m.centre[motion::axes_of(m.plane).normal] = at[motion::axes_of(m.plane).normal];
      at = m.to;
      steps[i].generated = steps[i].touched = true;
    }
  };
  joined();
  if (keeps_arcs(steps)) return steps;
  if (turn(steps, *nearest, ends)) {
    joined();
    if (keeps_arcs(steps)) return steps;
  }
  return tl::unexpected(std::string("an arc between its lines would lose its shape at another stepover"));
}

} // namespace restep::finish
