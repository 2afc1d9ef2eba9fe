#include "proof/deviation.hpp"

#include "geometry/constants.hpp"
#include "proof/course.hpp"

#include <algorithm>
#include <array>

namespace restep::proof {

namespace {

using geometry::infinite;

/// Between a line and an arc the distance is largest at an end or where the line lies square to the spoke;
/// a helix, whose rise is not quite that of its chord, is looked at in between as well.
class Shares {
public:
  Shares(motion::Motion const& link, motion::Motion const& one) {
    if (!motion::is_arc(one)) {
      shares_ = {0, 1, 1, 1, 1, 1};
      return;
    }
    motion::PlaneAxes const axes = motion::axes_of(one.plane);
    double along = 0, square = 0;
    for (int const axis : {axes.first, axes.second}) {
      double const way = link.to[axis] - link.from[axis];
      along += way * (one.centre[axis] - link.from[axis]);
      square += way * way;
    }
    shares_ = {0, 0.25, 0.5, 0.75, 1, square > 0 ? std::clamp(along / square, 0.0, 1.0) : 0};
  }
  auto begin() const { return shares_.begin(); }
  auto end() const { return shares_.end(); }

private:
  std::array<double, 6> shares_{};
};

double from_course(Vec3 const& point, Course const& course, double expected) {
  return geometry::distance(point, course.at(course.nearest(point, expected)));
}

} // namespace

double deviation(std::span<motion::Motion const> chain, motion::Motion const& one) {
  if (chain.empty() || chain.front().from != one.from || chain.back().to != one.to) return infinite;
  Course const whole(one);
  double worst = 0, reached = 0;
  double chain_length = 0, walked = 0;
  for (motion::Motion const& link : chain)
    chain_length += motion::length(link);
  for (std::size_t i = 0; i < chain.size(); ++i) {
    Course const part(chain[i]);
    walked += part.length();
    double const end = i + 1 == chain.size() ? 1 : whole.nearest(chain[i].to, walked / chain_length);
    if (!(end > reached)) return infinite;
    for (double const share : Shares(chain[i], one)) {
      double const t = reached + share * (end - reached);
      worst = std::max({worst, from_course(part.at(share), whole, t), from_course(whole.at(t), part, share)});
    }
    reached = end;
  }
  return worst;
}

} // namespace restep::proof
