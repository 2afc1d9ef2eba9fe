#include "report/toolpath.hpp"

#include "motion/arc.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace restep::report {

namespace {

/// Chords stay this near to their arc, mm: less than a figure of a hand-sized part can show.
constexpr double chord_tolerance = 0.02;

std::array<float, 3> small(geometry::Vec3 const& point) {
  return {static_cast<float>(point.x), static_cast<float>(point.y), static_cast<float>(point.z)};
}

geometry::Vec3 large(std::array<float, 3> const& point) {
  return {point[0], point[1], point[2]};
}

/// Distance of a point from the straight stretch between two others, mm.
double off_line(geometry::Vec3 const& point, geometry::Vec3 const& from, geometry::Vec3 const& to) {
  geometry::Vec3 const along = to - from;
  double const square = geometry::dot(along, along);
  double const share = square > 0 ? std::clamp(geometry::dot(point - from, along) / square, 0.0, 1.0) : 0;
  return geometry::distance(point, from + share * along);
}

bool alike(Stretch const& a, Stretch const& b) {
  return a.kind == b.kind && a.edited == b.edited && a.tool == b.tool && a.to == b.from;
}

std::size_t chords_of(motion::Motion const& motion) {
  if (!motion::is_arc(motion)) return 1;
  double const radius = motion::radius(motion);
  if (!(radius > chord_tolerance)) return 4;
  // sagitta e of a chord that spans the angle w: e = r (1 - cos(w / 2))
  double const span = 2 * std::acos(1 - chord_tolerance / radius);
  return std::clamp<std::size_t>(static_cast<std::size_t>(std::ceil(motion::sweep(motion) / span)), 4, 128);
}

StretchKind kind_of(motion::Motion const& motion) {
  if (motion::is_cutting(motion)) return StretchKind::cut;
  return motion.to.z > motion.from.z ? StretchKind::retract : StretchKind::rapid;
}

} // namespace

void Toolpath::append(motion::Motion const& motion, bool edited, float rpm, int tool) {
  Stretch stretch;
  stretch.feed = motion.feed_mode == motion::FeedMode::per_minute ? static_cast<float>(motion.feed) : 0.0F;
  stretch.rpm = rpm;
  stretch.tool = tool;
  stretch.block = static_cast<std::uint32_t>(blocks_.size() - 1);
  stretch.kind = kind_of(motion);
  stretch.edited = edited;
  stretch.from = small(motion.from);
  std::size_t const chords = chords_of(motion);
  for (std::size_t k = 1; k <= chords; ++k) {
    stretch.to = small(motion::point_at(motion, static_cast<double>(k) / static_cast<double>(chords)));
    push(stretch);
    stretch.from = stretch.to;
  }
  if (stretches_.size() > limit_) shrink();
}

void Toolpath::push(Stretch stretch) {
  if (tolerance_ > 0 && !stretches_.empty() && alike(stretches_.back(), stretch)) {
    // Leaving out the joint moves the line by at most the joint's distance from it; what earlier joints moved
    // adds up.
    Stretch& back = stretches_.back();
    double const moved = off_line(large(back.to), large(back.from), large(stretch.to)) +
                         static_cast<double>(std::max(back.off, stretch.off));
    if (moved <= tolerance_) {
      back.to = stretch.to;
      back.off = static_cast<float>(moved);
      return;
    }
  }
  stretches_.push_back(stretch);
}

double Toolpath::extent() const {
  std::array<float, 3> low{}, high{};
  for (Stretch const& stretch : stretches_) {
    for (std::size_t axis = 0; axis < 3; ++axis) {
      low[axis] = std::min({low[axis], stretch.from[axis], stretch.to[axis]});
      high[axis] = std::max({high[axis], stretch.from[axis], stretch.to[axis]});
    }
  }
  return std::max({high[0] - low[0], high[1] - low[1], high[2] - low[2]});
}

void Toolpath::shrink() {
  // Down to two thirds, so that the work is done seldom.
  std::size_t const goal = limit_ / 3 * 2;
  double const first = std::max(extent() / 50000, 1e-4);
  while (stretches_.size() > goal) {
    tolerance_ = tolerance_ > 0 ? tolerance_ * 1.5 : first;
    std::vector<Stretch> const before = std::move(stretches_);
    stretches_.clear();
    for (Stretch const& stretch : before)
      push(stretch);
    if (tolerance_ > 1e9) break; // kinds alternate at every stretch: nothing can be drawn as one
  }
  std::vector<PathBlock> kept;
  std::uint32_t last = 0;
  for (Stretch& stretch : stretches_) {
    if (kept.empty() || stretch.block != last) {
      last = stretch.block;
      kept.push_back(std::move(blocks_[last]));
    }
    stretch.block = static_cast<std::uint32_t>(kept.size() - 1);
  }
  blocks_ = std::move(kept);
}

Toolpath Toolpath::thinned(std::size_t limit) const {
  Toolpath copy = *this;
  copy.limit_ = limit;
  if (copy.stretches_.size() > limit) copy.shrink();
  return copy;
}

Toolpath Toolpath::moved(geometry::Vec3 const& by) const {
  Toolpath copy = *this;
  for (Stretch& stretch : copy.stretches_) {
    stretch.from = small(large(stretch.from) + by);
    stretch.to = small(large(stretch.to) + by);
  }
  return copy;
}

} // namespace restep::report
