#include "finish/spiral_base.hpp"

#include "finish/course.hpp"

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

  base.find_bends();
  std::size_t const count = base.elements_.size();
  for (std::size_t i = 0; i < count; ++i) {
    Element& before = base.elements_[i];
    Element& after = base.elements_[(i + 1) % count];
    auto const m = joint_of(before, after);
    if (!m)
      return tl::unexpected(fmt::format("its contour has a corner at X{:.3f} Y{:.3f} whose offsets are not "
                                        "known",
                                        after.segment.from.x, after.segment.from.y));
    before.joint_to = *m;
    after.joint_from = *m;
  }
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

// A curve that turns by a over its chord of length L stands off the middle of it by a L / 8, to the right
// where it turns left.
void SpiralBase::find_bends() {
  std::vector<Segment> loop;
  for (Element const& e : elements_)
    loop.push_back(e.segment);
  std::vector<double> const bends = bends_of(loop, true);
  for (std::size_t i = 0; i < elements_.size(); ++i) {
    Element& e = elements_[i];
    e.bend = bends[i];
    chord_tolerance_ = std::max(chord_tolerance_, e.length * std::abs(e.bend) / 8);
  }
}

// How the ends of two elements move with w where they meet. Where a curve runs on, or into a line, every
// point of it moves along its normal, which a chord's end has turned against the chord by half of what the
// curve turns over it. At a corner of two lines m = (n1 + n2) / (1 + n1 . n2), n1 and n2 being their unit
// normals: the bisector, long enough for both to be displaced by w.
std::optional<Vec2> SpiralBase::joint_of(Element const& before, Element const& after) {
  Vec2 const n1 = left_normal(before.segment.direction_at_to());
  Vec2 const n2 = left_normal(after.segment.direction_at_from());
  double const turn = angle_between(n1, n2);
  bool const arc = before.segment.arc || after.segment.arc;
  if (std::abs(turn) > (arc ? smooth_joint : 2.7)) return std::nullopt;
  double const curve = (before.bend + after.bend) / 2;
  if (!arc && curve != 0 && std::abs(turn - curve) <= 0.5 * std::abs(curve)) {
    double const here = turn * before.bend / (before.bend + after.bend);
    return std::cos(here) * n1 + std::sin(here) * left_normal(n1);
  }
  return (n1 + n2) / (1 + dot(n1, n2));
}

bool SpiralBase::project(Element const& e, Vec2 p, double& share, double& w) {
  Segment const& s = e.segment;
  if (!s.arc) {
    // Its displaced chord, and the offset of the curve over that: one round is exact on a line, on a curve w
    // comes nearer by w a^2 / 8 / L each.
    double const high = cross(e.along, p - s.from);
    w = high;
    for (int round = 0; round < (e.bend == 0 ? 1 : 4); ++round) {
      double const begin = w * dot(e.joint_from, e.along);
      double const length = e.length + w * dot(e.joint_to, e.along) - begin;
      if (length <= 0) return false;
      share = (dot(p - s.from, e.along) - begin) / length;
      if (e.bend == 0) break;
      double const within = std::clamp(share, 0.0, 1.0);
      double const bulge = within * (1 - within) * e.bulge();
      w = (high - bulge) / (e.moves(within) - bulge * e.bend / e.length);
    }
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
  double const bulge = at.share * (1 - at.share) * e.bulge() * (1 - w * e.bend / e.length);
  return from + at.share * (to - from) + bulge * left_normal(e.along);
}

std::vector<Segment> SpiralBase::curve() const {
  std::vector<Segment> loop;
  for (Element const& e : elements_) {
    Segment s = e.segment;
    constexpr double straight = 1e-6; // radians over a chord
    if (!s.arc && std::abs(e.bend) > straight) {
      s.arc = true;
      s.ccw = e.bend > 0;
      s.centre = 0.5 * (s.from + s.to) + e.length / 2 / std::tan(e.bend / 2) * left_normal(e.along);
    }
    loop.push_back(s);
  }
  return loop;
}

std::vector<double> SpiralBase::joints() const {
  std::vector<double> all;
  for (Element const& e : elements_)
    all.push_back(e.start);
  all.push_back(length_);
  return all;
}

std::vector<Segment> SpiralBase::moved(std::vector<double> const& w) const {
  std::vector<Segment> loop;
  for (std::size_t i = 0; i < elements_.size(); ++i) {
    Segment s = elements_[i].segment;
    s.from =
        loop.empty() ? elements_.back().segment.to + w.back() * elements_.back().joint_to : loop.back().to;
    s.to = s.to + w[i + 1] * elements_[i].joint_to;
    if (s.arc && s.from != s.to) {
      Vec2 const along = normalized(s.to - s.from);
      s.centre = s.centre - dot(s.centre - 0.5 * (s.from + s.to), along) * along;
    }
    loop.push_back(s);
  }
  return loop;
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
