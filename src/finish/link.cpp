#include "finish/link.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::finish {

namespace {

using motion::Step;
using motion::Vec3;

motion::Motion const& motion_at(LinkSample const& sample, std::size_t i) {
  return *motion::motion_of(sample.steps[i]);
}

double sideways(motion::Motion const& m) {
  return distance(geometry::xy(m.from), geometry::xy(m.to));
}

// Largest distance of a set of plan points from their mean, and the mean.
struct Scatter {
  Vec2 mean{};
  double worst = 0;
};
Scatter scatter(std::vector<Vec2> const& points) {
  Scatter s;
  for (Vec2 const p : points)
    s.mean = s.mean + p / static_cast<double>(points.size());
  for (Vec2 const p : points)
    s.worst = std::max(s.worst, distance(p, s.mean));
  return s;
}

// Straight dependence of a plan point on the level's offset d: p = a + b d, least squares.
struct Trend {
  Vec2 a{}, b{};
  double worst = 0;
};
Trend trend(std::vector<double> const& d, std::vector<Vec2> const& points) {
  double const n = static_cast<double>(d.size());
  double mean_d = 0;
  for (double const v : d)
    mean_d += v / n;
  Vec2 const mean = scatter(points).mean;
  double sdd = 0;
  Vec2 sdp{};
  for (std::size_t k = 0; k < d.size(); ++k) {
    sdd += (d[k] - mean_d) * (d[k] - mean_d);
    sdp = sdp + (d[k] - mean_d) * (points[k] - mean);
  }
  Trend t;
  t.b = sdd > 1e-12 ? sdp / sdd : Vec2{};
  t.a = mean - mean_d * t.b;
  for (std::size_t k = 0; k < d.size(); ++k)
    t.worst = std::max(t.worst, distance(t.a + d[k] * t.b, points[k]));
  return t;
}

// From which motion on a link belongs to the contour it goes to: from its longest straight move sideways, of
// those at its greatest height where it rises above both contours. Arcs lead out of a contour or into one:
// without a straight move the link turns where it goes plumb.
std::size_t turning_point(LinkSample const& sample) {
  std::size_t const n = sample.steps.size();
  double const levels = std::max(sample.previous.z, sample.next.z);
  double top = levels;
  for (std::size_t i = 0; i < n; ++i)
    top = std::max(top, motion_at(sample, i).to.z);
  auto const longest_from = [&](double height) {
    std::size_t longest = n;
    double length = same_height;
    for (std::size_t i = 0; i < n; ++i) {
      motion::Motion const& m = motion_at(sample, i);
      double const way = sideways(m);
      if (motion::is_arc(m) || std::min(m.from.z, m.to.z) < height - same_height ||
          way <= length + same_height)
        continue;
      length = way;
      longest = i;
    }
    return longest;
  };
  std::size_t turn = top > levels + same_height ? longest_from(top) : n;
  if (turn == n) turn = longest_from(-std::numeric_limits<double>::infinity());
  for (std::size_t i = 0; i < n && turn == n; ++i)
    if (!motion::is_arc(motion_at(sample, i))) turn = i;
  return turn < n ? turn : std::min<std::size_t>(1, n);
}

// A vector told along and across a direction, and back.
Vec2 in_frame(Vec2 v, Vec2 direction) {
  return {dot(v, direction), cross(direction, v)};
}
Vec2 from_frame(Vec2 v, Vec2 direction) {
  return v.x * direction + v.y * left_normal(direction);
}

double sideways(LinkSample const& sample) {
  double sum = 0;
  for (Step const& step : sample.steps)
    sum += sideways(*motion::motion_of(step));
  return sum;
}

// The sample that shows most of what a link between these contours can be made of.
LinkSample const& fullest(std::vector<LinkSample> const& samples) {
  return *std::max_element(samples.begin(), samples.end(), [](LinkSample const& a, LinkSample const& b) {
    if (a.steps.size() != b.steps.size()) return a.steps.size() < b.steps.size();
    return sideways(a) < sideways(b);
  });
}

bool same_kind(motion::Motion const& a, motion::Motion const& b) {
  return a.path == b.path && (!motion::is_arc(a) || a.plane == b.plane);
}

// Same kind, and neither goes up where the other goes down or sideways where the other goes plumb.
bool same_way(motion::Motion const& a, motion::Motion const& b) {
  auto const rise = [](motion::Motion const& m) {
    return std::abs(m.to.z - m.from.z) <= same_height ? 0 : m.to.z > m.from.z ? 1 : -1;
  };
  auto const goes_sideways = [](motion::Motion const& m) { return sideways(m) > same_height; };
  return same_kind(a, b) && rise(a) == rise(b) && goes_sideways(a) == goes_sideways(b);
}

// Down a wall a program leaves out the move sideways that it makes from level to level elsewhere: it would go
// nowhere. A sample that lacks straight moves of the fullest one is given them where they go nowhere. False
// when the two differ in anything else.
bool complete(LinkSample& sample, LinkSample const& full) {
  if (sample.steps.size() == full.steps.size())
    return std::equal(
        sample.steps.begin(), sample.steps.end(), full.steps.begin(),
        [](Step const& a, Step const& b) { return same_kind(*motion::motion_of(a), *motion::motion_of(b)); });
  std::vector<Step> steps;
  Vec3 at = geometry::at_height(sample.previous.at, sample.previous.z);
  std::size_t taken = 0;
  for (std::size_t i = 0; i < full.steps.size(); ++i) {
    motion::Motion const& model = motion_at(full, i);
    if (taken < sample.steps.size() && same_way(motion_at(sample, taken), model)) {
      steps.push_back(sample.steps[taken]);
      at = motion_at(sample, taken++).to;
      continue;
    }
    if (motion::is_arc(model)) return false;
    steps.push_back(full.steps[i]);
    motion::Motion& still = *motion::motion_of(steps.back());
    still.from = still.to = at;
  }
  if (taken < sample.steps.size()) return false;
  sample.steps = std::move(steps);
  return true;
}

double radius_in_plane(motion::Motion const& m, Vec3 const& p) {
  switch (m.plane) {
  case motion::Plane::xy: return std::hypot(p.x - m.centre.x, p.y - m.centre.y);
  case motion::Plane::zx: return std::hypot(p.x - m.centre.x, p.z - m.centre.z);
  case motion::Plane::yz: return std::hypot(p.y - m.centre.y, p.z - m.centre.z);
  }
  return 0;
}

// Moves an arc's centre to where it is as far from both ends, which the digits of the places that it was
// learnt from may leave it a little beside.
void centre_between_ends(motion::Motion& m) {
  int const a = m.plane == motion::Plane::xy ? 0 : m.plane == motion::Plane::zx ? 2 : 1;
  int const b = m.plane == motion::Plane::xy ? 1 : m.plane == motion::Plane::zx ? 0 : 2;
  Vec2 const from{m.from[a], m.from[b]}, to{m.to[a], m.to[b]}, centre{m.centre[a], m.centre[b]};
  Vec2 const along = normalized(to - from);
  if (along == Vec2{}) return;
  Vec2 const moved = centre + dot(along, 0.5 * (from + to) - centre) * along;
  m.centre[a] = moved.x;
  m.centre[b] = moved.y;
}

} // namespace

template <class PointOf>
tl::expected<LinkLaw::PointRule, std::string> LinkLaw::rule_of(std::vector<LinkSample> const& samples,
                                                               PointOf const& point_of, bool belongs_to_next,
                                                               double tolerance) {
  std::vector<Vec2> place, from_previous, from_next, told_previous, told_next;
  std::vector<double> height, above_previous, above_next, d_previous, d_next;
  for (LinkSample const& s : samples) {
    Vec3 const p = point_of(s);
    place.push_back(geometry::xy(p));
    from_previous.push_back(place.back() - s.previous.at);
    from_next.push_back(place.back() - s.next.at);
    told_previous.push_back(in_frame(from_previous.back(), s.previous.direction));
    told_next.push_back(in_frame(from_next.back(), s.next.direction));
    d_previous.push_back(s.previous.d);
    d_next.push_back(s.next.d);
    height.push_back(p.z);
    above_previous.push_back(p.z - s.previous.z);
    above_next.push_back(p.z - s.next.z);
  }
  auto const all_zero = [&](std::vector<Vec2> const& v) {
    return std::all_of(v.begin(), v.end(), [&](Vec2 p) { return length(p) <= tolerance; });
  };
  PointRule rule;
  Scatter const still = scatter(place);
  Scatter const with_previous = scatter(from_previous);
  Scatter const with_next = scatter(from_next);
  auto const on_trend = [&](Anchor anchor, std::vector<double> const& d, std::vector<Vec2> const& v) {
    Trend const t = trend(d, v);
    rule.plan = {anchor, t.a, t.b, false, 0};
    return samples.size() >= 3 && t.worst <= tolerance;
  };
  auto const anchored = [&](Anchor anchor) {
    Scatter const& s = anchor == Anchor::previous ? with_previous : with_next;
    if (s.worst <= tolerance) {
      rule.plan = {anchor, s.mean, {}, false, 0};
      return true;
    }
    if (anchor == Anchor::previous ? on_trend(anchor, d_previous, from_previous)
                                   : on_trend(anchor, d_next, from_next))
      return true;
    Scatter const turning = scatter(anchor == Anchor::previous ? told_previous : told_next);
    // The direction of a course told in chords is known to a few thousandths only.
    if (turning.worst > std::max(tolerance, 0.005 * length(turning.mean))) return false;
    rule.plan = {anchor, turning.mean, {}, true, 0};
    return true;
  };
  Anchor const own = belongs_to_next ? Anchor::next : Anchor::previous;
  Anchor const other = belongs_to_next ? Anchor::previous : Anchor::next;
  if (all_zero(own == Anchor::next ? from_next : from_previous))
    rule.plan = {own, {}, {}, false, 0};
  else if (all_zero(own == Anchor::next ? from_previous : from_next))
    rule.plan = {other, {}, {}, false, 0};
  else if (still.worst <= tolerance)
    rule.plan = {Anchor::fixed, still.mean, {}, false, 0};
  else if (!anchored(own) && !anchored(other)) {
    // A share of the way: place = previous + share (next - previous) + offset, from the sample with the
    // longest way.
    double numerator = 0;
    double denominator = 0;
    for (std::size_t k = 0; k < samples.size(); ++k) {
      Vec2 const way = samples[k].next.at - samples[k].previous.at;
      numerator += dot(from_previous[k], way);
      denominator += dot(way, way);
    }
    double const share = denominator > 0 ? numerator / denominator : 0;
    std::vector<Vec2> rest;
    for (std::size_t k = 0; k < samples.size(); ++k)
      rest.push_back(from_previous[k] - share * (samples[k].next.at - samples[k].previous.at));
    Scatter const s = scatter(rest);
    if (s.worst > tolerance)
      return tl::unexpected(
          std::string("the moves from one level to the next are not alike from level to level"));
    rule.plan = {Anchor::between, s.mean, {}, false, share};
  }

  auto const range = [](std::vector<double> const& v) {
    auto const [low, high] = std::minmax_element(v.begin(), v.end());
    return *high - *low;
  };
  auto const mean = [](std::vector<double> const& v) {
    double sum = 0;
    for (double const x : v)
      sum += x;
    return sum / static_cast<double>(v.size());
  };
  auto const zero = [&](std::vector<double> const& v) {
    return std::all_of(v.begin(), v.end(), [&](double x) { return std::abs(x) <= tolerance / 4; });
  };
  if (zero(above_previous))
    rule.height = {Anchor::previous, 0, 0, 0, false};
  else if (zero(above_next))
    rule.height = {Anchor::next, 0, 0, 0, false};
  else if (range(height) <= tolerance)
    rule.height = {Anchor::fixed, mean(height), 0, 0, false};
  else if (range(own == Anchor::next ? above_next : above_previous) <= tolerance)
    rule.height = {own, mean(own == Anchor::next ? above_next : above_previous), 0, 0, false};
  else if (range(own == Anchor::next ? above_previous : above_next) <= tolerance)
    rule.height = {other, mean(own == Anchor::next ? above_previous : above_next), 0, 0, false};
  else {
    double numerator = 0;
    double denominator = 0;
    for (std::size_t k = 0; k < samples.size(); ++k) {
      double const way = samples[k].next.z - samples[k].previous.z;
      numerator += above_previous[k] * way;
      denominator += way * way;
    }
    double const share = denominator > 0 ? numerator / denominator : 0;
    for (std::size_t k = 0; k < samples.size(); ++k)
      if (std::abs(above_previous[k] - share * (samples[k].next.z - samples[k].previous.z)) > 2 * tolerance)
        return tl::unexpected(std::string(
            "the heights on the way from one level to the next are not alike from level to level"));
    rule.height = {Anchor::between, 0, share, 0, false};
  }
  rule.height.clear = *std::min_element(above_previous.begin(), above_previous.end());
  rule.height.above = rule.height.clear > tolerance;
  return rule;
}

tl::expected<LinkLaw, std::string> LinkLaw::fit(std::vector<LinkSample> samples, double tolerance) {
  LinkLaw law;
  LinkSample const& first = fullest(samples);
  for (LinkSample& s : samples) {
    for (Step const& step : s.steps)
      if (motion::Motion const& m = *motion::motion_of(step);
          !motion::is_known(m.from) || !motion::is_known(m.to) || m.compensated || m.rotary)
        return tl::unexpected(std::string("a move between its levels is not fully known"));
    if (!complete(s, first))
      return tl::unexpected(
          std::string("the moves from one level to the next are of different kinds from level to level"));
  }
  for (std::size_t i = 0; i < first.steps.size(); ++i) {
    bool const behind = i >= turning_point(first);
    auto to = rule_of(
        samples, [i](LinkSample const& s) { return motion_at(s, i).to; }, behind, tolerance);
    if (!to) return tl::unexpected(to.error());
    Rule rule{*to, {}};
    if (motion::is_arc(motion_at(first, i))) {
      auto centre = rule_of(
          samples, [i](LinkSample const& s) { return motion_at(s, i).centre; }, behind, tolerance);
      if (!centre) return tl::unexpected(centre.error());
      rule.centre = *centre;
    }
    law.rules_.push_back(rule);
  }
  law.samples_ = std::move(samples);
  law.tolerance_ = tolerance;
  return law;
}

motion::Vec3 LinkLaw::place(PointRule const& rule, Station const& previous, Station const& next) {
  Vec2 at{};
  auto const anchored = [&](Station const& station) {
    Vec2 const offset = rule.plan.offset + station.d * rule.plan.slope;
    return station.at + (rule.plan.turning ? from_frame(offset, station.direction) : offset);
  };
  switch (rule.plan.anchor) {
  case Anchor::previous: at = anchored(previous); break;
  case Anchor::next: at = anchored(next); break;
  case Anchor::fixed: at = rule.plan.offset; break;
  case Anchor::between:
    at = previous.at + rule.plan.share * (next.at - previous.at) + rule.plan.offset;
    break;
  }
  double z = 0;
  switch (rule.height.anchor) {
  case Anchor::previous: z = previous.z + rule.height.offset; break;
  case Anchor::next: z = next.z + rule.height.offset; break;
  case Anchor::fixed: z = rule.height.offset; break;
  case Anchor::between: z = previous.z + rule.height.share * (next.z - previous.z); break;
  }
  return geometry::at_height(at, z);
}

tl::expected<std::vector<motion::Step>, std::string> LinkLaw::make(Station const& previous,
                                                                   Station const& next) const {
  auto const nearest =
      std::min_element(samples_.begin(), samples_.end(), [&](LinkSample const& a, LinkSample const& b) {
        return std::abs(a.next.z - next.z) < std::abs(b.next.z - next.z);
      });
  std::vector<motion::Step> steps = nearest->steps;
  Vec3 at = geometry::at_height(previous.at, previous.z);
  for (std::size_t i = 0; i < steps.size(); ++i) {
    motion::Motion& m = *motion::motion_of(steps[i]);
    m.from = at;
    m.to = i + 1 == steps.size() ? geometry::at_height(next.at, next.z) : place(rules_[i].to, previous, next);
    // A rapid that stopped above the uncut material at the program's stepdown must not reach into it at a
    // larger one.
    // (At a height that is always the same it cannot.)
    HeightRule const& height = rules_[i].to.height;
    if (m.path == motion::PathKind::rapid && height.above && height.anchor != Anchor::fixed)
      m.to.z = std::max(m.to.z, previous.z + height.clear);
    if (motion::is_arc(m)) {
      m.centre = place(rules_[i].centre, previous, next);
      // A lead arc keeps its radius; beyond the standard's own tolerance (0.002 mm, NISTIR 6556 3.5.3.2), or
      // what the program's digits are worth, it is no arc any more.
      if (std::abs(radius_in_plane(m, m.from) - radius_in_plane(m, m.to)) > std::max(0.002, tolerance_))
        return tl::unexpected(
            std::string("an arc between its levels would lose its shape at another stepdown"));
      centre_between_ends(m);
    }
    at = m.to;
    steps[i].generated = true;
    steps[i].touched = true;
  }
  return steps;
}

} // namespace restep::finish
