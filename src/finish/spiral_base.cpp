#include "finish/spiral_base.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace restep::finish {

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

// Elements that turn by no more than this where they meet run on smoothly: arcs told by rounded centres.
constexpr double smooth_joint = 0.02; // radians
// Lines that turn by no more than this are chords of a curve.
constexpr double chord_joint = 0.35; // radians

double angle_between(Vec2 a, Vec2 b) {
  return std::atan2(cross(a, b), dot(a, b));
}

double sweep_of(Segment const& s) {
  return s.length() / s.radius();
}

} // namespace

tl::expected<SpiralBase, std::string> SpiralBase::from(std::vector<Segment> const& loop) {
  SpiralBase base;
  base.lowest_ = -infinity;
  base.highest_ = infinity;
  for (Segment const& s : loop) {
    Element e;
    e.segment = s;
    e.length = s.length();
    if (!(e.length > 0)) continue;
    if (s.arc)
      e.sweep = sweep_of(s);
    else
      e.along = normalized(s.to - s.from);
    e.start = base.length_;
    base.length_ += e.length;
    base.elements_.push_back(e);
  }
  if (base.elements_.empty()) return tl::unexpected(std::string("its last turn has no length"));

  // The ends of two elements move along m = (n1 + n2) / (1 + n1 . n2), n1 and n2 being their unit normals
  // there: the bisector, long enough for both to be displaced by w.
  std::size_t const count = base.elements_.size();
  for (std::size_t i = 0; i < count; ++i) {
    Element& before = base.elements_[i];
    Element& after = base.elements_[(i + 1) % count];
    Vec2 const n1 = left_normal(before.segment.direction_at_to());
    Vec2 const n2 = left_normal(after.segment.direction_at_from());
    double const turn = angle_between(n1, n2);
    bool const arc = before.segment.arc || after.segment.arc;
    if (std::abs(turn) > (arc ? smooth_joint : 2.7))
      return tl::unexpected(fmt::format("its contour has a corner at X{:.3f} Y{:.3f} whose offsets are not "
                                        "known",
                                        after.segment.from.x, after.segment.from.y));
    Vec2 const m = (n1 + n2) / (1 + dot(n1, n2));
    before.joint_to = m;
    after.joint_from = m;
  }
  base.find_bulges();
  for (Element const& e : base.elements_) {
    if (e.segment.arc) {
      double const r = e.segment.radius();
      if (e.segment.ccw)
        base.highest_ = std::min(base.highest_, r);
      else
        base.lowest_ = std::max(base.lowest_, -r);
      continue;
    }
    double const shrinks = dot(e.joint_from - e.joint_to, e.along); // of its length per w
    if (shrinks > 1e-12) base.highest_ = std::min(base.highest_, e.length / shrinks);
    if (shrinks < -1e-12) base.lowest_ = std::max(base.lowest_, e.length / shrinks);
  }
  return base;
}

// A curve of curvature k stands off the middle of its chord L by k L^2 / 8, to the right where it turns left.
// The curvature at a joint of two chords that turn by a is a / ((L1 + L2) / 2). Lines much longer than their
// neighbours are lines.
void SpiralBase::find_bulges() {
  constexpr double alike = 2;
  std::size_t const count = elements_.size();
  if (count <= 8) return;
  for (std::size_t i = 0; i < count; ++i) {
    Element& e = elements_[i];
    if (e.segment.arc) continue;
    double curvature = 0;
    for (std::size_t const k : {(i + 1) % count, (i + count - 1) % count}) {
      Element const& other = elements_[k];
      if (other.segment.arc || other.length > alike * e.length || e.length > alike * other.length) continue;
      double const turn = (k == (i + 1) % count ? 1 : -1) * angle_between(e.along, other.along);
      if (std::abs(turn) > chord_joint) continue;
      double const here = turn / ((e.length + other.length) / 2);
      // Where a curve begins the first joint turns by less: the other end knows better.
      if (std::abs(here) > std::abs(curvature)) curvature = here;
    }
    e.bulge = -curvature * e.length * e.length / 8;
    chord_tolerance_ = std::max(chord_tolerance_, std::abs(e.bulge));
  }
}

bool SpiralBase::project(Element const& e, Vec2 p, double& share, double& w) {
  Segment const& s = e.segment;
  if (!s.arc) {
    w = cross(e.along, p - s.from);
    double const begin = w * dot(e.joint_from, e.along);
    double const length = e.length + w * dot(e.joint_to, e.along) - begin;
    if (length <= 0) return false;
    share = (dot(p - s.from, e.along) - begin) / length;
    double const within = std::clamp(share, 0.0, 1.0);
    w -= 4 * within * (1 - within) * e.bulge;
    return true;
  }
  Vec2 const arm = p - s.centre;
  double const r = geometry::length(arm);
  if (!(r > 0)) return false;
  w = s.ccw ? s.radius() - r : r - s.radius();
  double angle = angle_between(s.from - s.centre, arm) * (s.ccw ? 1 : -1);
  constexpr double whole = 2 * std::numbers::pi;
  if (angle < 0) angle += whole;
  // What lies behind the end is nearer to the end or to the beginning.
  if (angle > e.sweep + (whole - e.sweep) / 2) angle -= whole;
  share = angle / e.sweep;
  return true;
}

SpiralBase::At SpiralBase::locate(double u) const {
  double const turns = std::floor(u / length_);
  double const within = std::clamp(u - turns * length_, 0.0, length_);
  auto const after = std::upper_bound(elements_.begin(), elements_.end(), within,
                                      [](double v, Element const& e) { return v < e.start; });
  auto const i = static_cast<std::size_t>(after - elements_.begin()) - 1;
  return {i, std::clamp((within - elements_[i].start) / elements_[i].length, 0.0, 1.0)};
}

std::optional<SpiralBase::Place> SpiralBase::place_of(Vec2 p, double low, double high) const {
  constexpr double beyond = 0.003; // mm along the contour: the digits move joints
  std::optional<Place> best;
  double best_miss = infinity;
  double const first_turn = std::floor(low / length_);
  std::size_t i = locate(low).element;
  double turn = first_turn;
  // One element before the first and one behind the last: joints belong to either side.
  if (i == 0) {
    i = elements_.size() - 1;
    turn -= 1;
  } else {
    --i;
  }
  for (std::size_t looked = 0; looked < elements_.size() + 2; ++looked) {
    Element const& e = elements_[i];
    double const start = turn * length_ + e.start;
    bool const last = start > high;
    double share = 0;
    double w = 0;
    if (project(e, p, share, w) && w > lowest_ && w < highest_) {
      double const miss = std::max({0.0, -share, share - 1}) * e.length;
      if (miss <= beyond) {
        double const u = start + std::clamp(share, 0.0, 1.0) * e.length;
        bool const inside = u >= low - beyond && u <= high + beyond;
        // The nearest normal; of those that meet the point alike, the nearest element.
        double const score = miss + 1e-3 * std::abs(w);
        if (inside && score < best_miss) {
          best_miss = score;
          best = Place{u, w};
        }
      }
    }
    if (last) break;
    if (++i == elements_.size()) {
      i = 0;
      turn += 1;
    }
  }
  return best;
}

Vec2 SpiralBase::point(double u, double w) const {
  At const at = locate(u);
  Element const& e = elements_[at.element];
  Segment const& s = e.segment;
  if (s.arc) {
    Vec2 const on = s.point_at(at.share);
    Vec2 const out = normalized(on - s.centre);
    // The radius of the start, so that a turn about one centre is one circle.
    return s.centre + (s.radius() + (s.ccw ? -w : w)) * out;
  }
  Vec2 const from = s.from + w * e.joint_from;
  Vec2 const to = s.to + w * e.joint_to;
  return from + at.share * (to - from) + 4 * at.share * (1 - at.share) * e.bulge * left_normal(e.along);
}

Vec2 SpiralBase::left(double u) const {
  At const at = locate(u);
  return left_normal(elements_[at.element].segment.direction_at_share(at.share));
}

std::optional<Vec2> SpiralBase::centre(double u) const {
  Segment const& s = elements_[locate(u).element].segment;
  return s.arc ? std::optional(s.centre) : std::nullopt;
}

} // namespace restep::finish
