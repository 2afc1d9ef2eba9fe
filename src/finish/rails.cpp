#include "finish/rails.hpp"

#include "cutter/tapered.hpp"
#include "finish/course.hpp"
#include "finish/rail_meridian.hpp"
#include "geometry/in_parallel.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

// Elements longer than this are looked at along their length; shorter ones in their middle.
constexpr double long_element = 1; // mm

std::string spot(Vec2 at) {
  return fmt::format("X{:.3f} Y{:.3f}", at.x, at.y);
}

double sine_at(cutter::Meridian const& meridian, double z) {
  return -meridian.tangent(meridian.down_to(z)).y;
}

} // namespace

RailPlace place_on(Contour const& contour, std::size_t element, double share) {
  std::vector<Segment> const& s = contour.segments;
  std::size_t const n = s.size();
  Segment const& own = s[element];
  if (own.arc) return {own.point_at(share), left_normal(own.direction_at_share(share))};
  // The direction of a short chord at the program's digits is known to a hundredth only: its neighbours' far
  // ends tell it better.
  Vec2 from = own.from;
  Vec2 to = own.to;
  Segment const& before = s[(element + n - 1) % n];
  Segment const& after = s[(element + 1) % n];
  if (own.length() <= long_element && (contour.closed || element > 0) && on_curve(before, own) &&
      (contour.closed || element + 1 < n) && on_curve(own, after)) {
    from = before.from;
    to = after.to;
  }
  return {own.from + share * (own.to - own.from), left_normal(normalized(to - from))};
}

tl::expected<RailSurface, std::string> RailSurface::fit(Stack const& stack, double resolution) {
  RailSurface surface;
  surface.levels_ = stack.levels;
  if (!stack.downwards()) std::reverse(surface.levels_.begin(), surface.levels_.end());
  for (Level const& level : surface.levels_)
    surface.z_.push_back(level.z);
  std::vector<std::size_t> all(surface.levels_.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  // A point carries half a digit in each coordinate, along a normal up to 0.7, and its level's height.
  double const tolerance = std::max(1.5 * resolution, 0.0003);
  surface.laws_ = surface.laws_of(all, tolerance);
  surface.lay_rails();
  if (surface.rails_.empty())
    return tl::unexpected(std::string("its contours are too short to tell their normals"));
  if (std::string trouble = surface.find_sides(2 * tolerance); !trouble.empty())
    return tl::unexpected(std::move(trouble));
  if (std::string trouble = surface.fit_meridians(tolerance); !trouble.empty())
    return tl::unexpected(std::move(trouble));
  surface.measure_bound(tolerance);
  return surface;
}

RailSurface::Laws RailSurface::laws_of(std::vector<std::size_t> const& levels, double tolerance) const {
  std::vector<double> z;
  z.reserve(levels.size());
  for (std::size_t const k : levels)
    z.push_back(z_[k]);
  Laws laws;
  std::size_t const contours = levels_.front().contours.size();
  laws.points.resize(contours);
  laws.centres.resize(contours);
  for (std::size_t c = 0; c < contours; ++c) {
    std::size_t const n = levels_.front().contours[c].segments.size();
    auto const law_of = [&](auto const& point_of) {
      std::vector<Vec2> places;
      places.reserve(levels.size());
      for (std::size_t const k : levels)
        places.push_back(point_of(levels_[k].contours[c].segments));
      return RailLaw::fit(std::move(places), z, tolerance);
    };
    laws.points[c].resize(n + 1);
    laws.centres[c].resize(n);
    geometry::in_parallel(n + 1, [&](std::size_t i) {
      laws.points[c][i] =
          law_of([i](std::vector<Segment> const& s) { return i < s.size() ? s[i].from : s.back().to; });
      if (i < n && levels_.front().contours[c].segments[i].arc)
        laws.centres[c][i] = law_of([i](std::vector<Segment> const& s) { return s[i].centre; });
    });
  }
  return laws;
}

std::vector<Contour> RailSurface::shaped(Laws const& laws, double z) const {
  Level const& nearest =
      *std::min_element(levels_.begin(), levels_.end(), [z](Level const& a, Level const& b) {
        return std::abs(a.z - z) < std::abs(b.z - z);
      });
  std::vector<Contour> contours = nearest.contours;
  for (std::size_t c = 0; c < contours.size(); ++c) {
    std::vector<Segment>& s = contours[c].segments;
    contours[c].z = z;
    std::size_t const n = s.size();
    for (std::size_t j = 0; j < n; ++j) {
      s[j].from = laws.points[c][j].at(z);
      if (j > 0) s[j - 1].to = s[j].from;
    }
    s.back().to = contours[c].closed ? s.front().from : laws.points[c][n].at(z);
    for (std::size_t j = 0; j < n; ++j) {
      if (!s[j].arc) continue;
      Vec2 const centre = laws.centres[c][j].at(z);
      s[j].centre = centre;
      if (distance(s[j].from, s[j].to) < 1e-6) continue; // a full circle
      // As far from the one end as from the other.
      Vec2 const middle = 0.5 * (s[j].from + s[j].to);
      Vec2 const across = left_normal(normalized(s[j].to - s[j].from));
      s[j].centre = middle + dot(centre - middle, across) * across;
    }
  }
  return contours;
}

std::vector<Contour> RailSurface::contours_at(double z) const {
  return shaped(laws_, z);
}

void RailSurface::lay_rails() {
  std::size_t const contours = levels_.front().contours.size();
  for (std::size_t c = 0; c < contours; ++c) {
    std::size_t const n = levels_.front().contours[c].segments.size();
    for (std::size_t j = 0; j < n; ++j) {
      double length = 0;
      bool arc = false;
      for (Level const& level : levels_) {
        length += level.contours[c].segments[j].length() / static_cast<double>(levels_.size());
        arc = level.contours[c].segments[j].arc;
      }
      if (length < 0.02) continue; // no normal of its own at the program's digits
      if (length <= long_element && !arc)
        rails_.push_back({c, j, 0.5, {}});
      else if (!arc)
        for (double const share : {0.0, 0.5, 1.0})
          rails_.push_back({c, j, share, {}});
      else
        for (double const share : {0.0, 0.25, 0.5, 0.75, 1.0})
          rails_.push_back({c, j, share, {}});
    }
  }
}

// To the left of the elements; from level to level along the mean of the two normals.
std::vector<Vec2> RailSurface::ways_of(Rail const& rail) const {
  std::vector<Vec2> ways;
  RailPlace before{};
  for (std::size_t k = 0; k < levels_.size(); ++k) {
    RailPlace const here = place_on(levels_[k].contours[rail.contour], rail.element, rail.share);
    double const u =
        k == 0 ? 0 : ways.back().x + dot(here.at - before.at, normalized(here.away + before.away));
    ways.push_back({u, levels_[k].z});
    before = here;
  }
  return ways;
}

std::string RailSurface::find_sides(double tolerance) {
  ways_.resize(rails_.size());
  geometry::in_parallel(rails_.size(), [&](std::size_t i) { ways_[i] = ways_of(rails_[i]); });
  away_.assign(levels_.front().contours.size(), 0);
  for (std::size_t i = 0; i < rails_.size(); ++i)
    away_[rails_[i].contour] += ways_[i].back().x;
  for (double& side : away_)
    side = side < 0 ? -1 : 1;
  for (std::size_t i = 0; i < rails_.size(); ++i) {
    double farthest = 0;
    for (std::size_t k = 0; k < ways_[i].size(); ++k) {
      Vec2& way = ways_[i][k];
      way.x *= away_[rails_[i].contour];
      farthest = std::max(farthest, way.x);
      if (farthest - way.x <= tolerance) continue;
      Vec2 const at = place_on(levels_[k].contours[rails_[i].contour], rails_[i].element, rails_[i].share).at;
      return fmt::format("at {} its level at Z{:.4f} stands {:.1f} um nearer to the material than a level "
                         "above it: an undercut, or two surfaces in one stack",
                         spot(at), way.y, 1000 * (farthest - way.x));
    }
  }
  return {};
}

std::string RailSurface::fit_meridians(double tolerance) {
  std::vector<double> residuals(rails_.size(), 0);
  std::vector<double> turns(rails_.size(), 0);
  std::vector<unsigned char> known(rails_.size(), 0);
  geometry::in_parallel(rails_.size(), [&](std::size_t i) {
    Rail& rail = rails_[i];
    auto fit = fit_rail_meridian(ways_[i], tolerance);
    if (!fit) return;
    known[i] = 1;
    residuals[i] = fit->residual;
    rail.meridian = std::move(fit->curve);
    std::optional<Vec2> before;
    for (Level const& level : levels_) {
      Vec2 const normal = place_on(level.contours[rail.contour], rail.element, rail.share).away;
      if (before)
        turns[i] = std::max(turns[i], std::abs(std::asin(std::clamp(cross(*before, normal), -1.0, 1.0))));
      before = normal;
    }
  });
  if (auto const first = std::find(known.begin(), known.end(), 0); first != known.end()) {
    Rail const& rail = rails_[static_cast<std::size_t>(first - known.begin())];
    return fmt::format("no smooth curve explains its levels within {:.1f} um at {}: the surface between them "
                       "is not known",
                       1000 * tolerance,
                       spot(place_on(levels_.front().contours[rail.contour], rail.element, rail.share).at));
  }
  residual_ = *std::max_element(residuals.begin(), residuals.end());
  turn_ = *std::max_element(turns.begin(), turns.end());
  return {};
}

double RailSurface::farthest_off(Laws const& laws, std::vector<std::size_t> const& levels) const {
  std::vector<double> worst(levels.size(), 0);
  geometry::in_parallel(levels.size(), [&](std::size_t i) {
    Level const& level = levels_[levels[i]];
    std::vector<Contour> const made = shaped(laws, level.z);
    for (Rail const& rail : rails_) {
      RailPlace const is = place_on(level.contours[rail.contour], rail.element, rail.share);
      RailPlace const told = place_on(made[rail.contour], rail.element, rail.share);
      double const off = std::abs(dot(told.at - is.at, is.away)) * sine_at(rail.meridian, level.z);
      worst[i] = std::max(worst[i], off);
    }
  });
  return worst.empty() ? 0 : *std::max_element(worst.begin(), worst.end());
}

void RailSurface::measure_bound(double tolerance) {
  std::vector<std::size_t> taken, left_out, all;
  for (std::size_t k = 0; k < levels_.size(); ++k) {
    all.push_back(k);
    (k % 2 == 0 || k + 1 == levels_.size() ? taken : left_out).push_back(k);
  }
  residual_ = std::max(residual_, farthest_off(laws_, all));
  bound_ = std::max(residual_, farthest_off(laws_of(taken, tolerance), left_out));
}

RailPlace RailSurface::place(Rail const& rail, std::vector<Contour> const& at_z) const {
  RailPlace place = place_on(at_z[rail.contour], rail.element, rail.share);
  place.away = away_[rail.contour] * place.away;
  return place;
}

double RailSurface::mean_way(double z) const {
  double sum = 0;
  for (Rail const& rail : rails_)
    sum += way_at_height(rail.meridian, z);
  return sum / static_cast<double>(rails_.size());
}

double RailSurface::steepest() const {
  double slope = 0;
  for (Rail const& rail : rails_)
    slope = std::max(slope, cutter::steepest_slope(rail.meridian));
  return slope;
}

} // namespace restep::finish
