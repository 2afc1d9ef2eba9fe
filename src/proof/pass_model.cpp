#include "proof/pass_model.hpp"

#include "cutter/cusp.hpp"
#include "motion/arc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace restep::proof {

namespace {

using finish::Segment;
using geometry::Vec2;
using geometry::Vec3;

constexpr double same_height = 1e-6;

// The straight line of a section in plan: where it stands on the intended contour at d = 0, and the way to
// the air.
struct SectionLine {
  Vec2 at{}, away{};
};

// The intended contours at one offset.
std::vector<Segment> elements_at(IntendedSurface const& surface, std::size_t contour, double d) {
  std::vector<Segment> elements = surface.stack.levels.front().contours[contour].segments;
  for (std::size_t j = 0; j < elements.size(); ++j) {
    elements[j].from = surface.offsets.points[contour][j].at(d);
    elements[j].to = surface.offsets.points[contour][j + 1].at(d);
    if (elements[j].arc) elements[j].centre = surface.offsets.centres[contour][j].at(d);
  }
  return elements;
}

double side(IntendedSurface const& surface) {
  return surface.offsets.away == 0 ? 1 : surface.offsets.away;
}

// Distances along the section line at which it crosses an element (the element taken a little longer than it
// is: digits move its ends).
void crossings(SectionLine const& line, Segment const& s, std::vector<double>& out) {
  constexpr double beyond = 0.002; // mm
  if (!s.arc) {
    Vec2 const along = s.to - s.from;
    double const sine = cross(line.away, along);
    double const length = geometry::length(along);
    if (std::abs(sine) < 1e-9 * length) return;
    double const share = cross(s.from - line.at, line.away) / sine;
    if (share * length < -beyond || (share - 1) * length > beyond) return;
    out.push_back(cross(s.from - line.at, along) / sine);
    return;
  }
  Vec2 const to_centre = s.centre - line.at;
  double const along = dot(to_centre, line.away);
  double const radius = 0.5 * (distance(s.from, s.centre) + distance(s.to, s.centre));
  double const half2 = radius * radius - (dot(to_centre, to_centre) - along * along);
  if (half2 < 0) return;
  for (double const u : {along - std::sqrt(half2), along + std::sqrt(half2)}) {
    Vec2 const p = line.at + u * line.away;
    // Within the arc's sweep: its angle from the start, in the arc's own sense, is no more than that of the
    // end.
    Vec2 const a = s.from - s.centre;
    Vec2 const b = p - s.centre;
    double angle = std::atan2(cross(a, b), dot(a, b)) * (s.ccw ? 1 : -1);
    double const slack = beyond / std::max(radius, beyond);
    if (angle < -slack) angle += 2 * std::numbers::pi;
    if (angle * radius <= s.length() + beyond) out.push_back(u);
  }
}

// The meridian section that a height belongs to; none between two sections.
finish::MeridianSection const* section_at(IntendedSurface const& surface, double z) {
  auto const height = [&](std::size_t k) {
    std::size_t const n = surface.stack.levels.size();
    return surface.stack.levels[surface.stack.downwards() ? k : n - 1 - k].z;
  };
  for (finish::MeridianSection const& s : surface.fit.sections)
    if (s.last > s.first && z <= height(s.first) + same_height && z >= height(s.last) - same_height)
      return &s;
  return nullptr;
}

std::optional<double> offset_at_height(cutter::Meridian const& meridian, double z) {
  double low = 0;
  double high = meridian.length();
  if (z > meridian.at(low).y) return meridian.at(low).x;
  if (z < meridian.at(high).y) return meridian.at(high).x;
  for (int round = 0; round < 50; ++round) {
    double const middle = 0.5 * (low + high);
    (meridian.at(middle).y > z ? low : high) = middle;
  }
  return meridian.at(0.5 * (low + high)).x;
}

class Model {
public:
  Model(std::span<motion::Step const> steps, IntendedSurface const& surface)
      : steps_(steps)
      , surface_(surface) {}

  tl::expected<PassMeasure, std::string> run() {
    if (std::string trouble = find_levels(); !trouble.empty()) return tl::unexpected(std::move(trouble));
    for (std::size_t c = 0; c < surface_.stack.levels.front().contours.size(); ++c)
      if (std::string trouble = cut_sections(c); !trouble.empty()) return tl::unexpected(std::move(trouble));
    follow_links();
    return measure_;
  }

private:
  std::string find_levels() {
    finish::StackLimits limits;
    limits.max_shift = std::max(surface_.tool.diameter, 1.0);
    auto stacks = finish::find_stacks(finish::find_contours(steps_), limits);
    if (stacks.size() != 1)
      return fmt::format("the pass reads back as {} passes instead of one", stacks.size());
    found_ = std::move(stacks.front());
    finish::Stack const& meant = surface_.stack;
    if (found_.levels.front().contours.size() != meant.levels.front().contours.size())
      return "the pass reads back with another number of contours per level";
    if (std::abs(found_.levels.front().z - meant.levels.front().z) > same_height ||
        std::abs(found_.levels.back().z - meant.levels.back().z) > same_height)
      return "the first or the last level of the pass is not where it was";
    if (!found_.downwards()) std::reverse(found_.levels.begin(), found_.levels.end());
    measure_.levels = found_.levels.size();
    return {};
  }

  // The sections of one contour: at both ends (just inside, where the normal is the element's own) and in the
  // middle of every element.
  std::string cut_sections(std::size_t c) {
    std::vector<Segment> const base = elements_at(surface_, c, 0);
    for (std::size_t j = 0; j < base.size(); ++j) {
      if (base[j].length() < 0.02) continue; // too short to have a normal of its own at the program's digits
      if (surface_.offsets.vanishes(c, j)) continue; // its normals lead into a corner
      for (double const share : {0.05, 0.5, 0.95}) {
        Vec2 const left = left_normal(base[j].direction_at_share(share));
        if (std::string trouble = cut_section(c, j, {base[j].point_at(share), side(surface_) * left});
            !trouble.empty())
          return trouble;
      }
    }
    return {};
  }

  std::string cut_section(std::size_t c, std::size_t element, SectionLine const& line) {
    ++measure_.sections;
    std::optional<Vec2> above;
    finish::MeridianSection const* section_above = nullptr;
    for (finish::Level const& level : found_.levels) {
      finish::MeridianSection const* section = section_at(surface_, level.z);
      if (section == nullptr) {
        above.reset();
        continue;
      }
      double const wanted = *offset_at_height(section->meridian, level.z);
      std::optional<double> const u = crossing_near(level.contours[c], element, line, wanted);
      if (!u)
        return fmt::format("the level at Z{:.4f} does not pass its section at X{:.3f} Y{:.3f}", level.z,
                           line.at.x, line.at.y);
      Vec2 const tip{*u, level.z};
      Vec3 const at = geometry::at_height(line.at + *u * line.away, level.z);
      std::uint32_t const source_line = steps_[level.contours[c].first_step].place.line;
      double const off = section->meridian.signed_distance(tip);
      keep(measure_.gouge, -off, at, source_line);
      if (above && section_above == section) {
        keep(measure_.peak, cutter::cusp_height(surface_.tool, section->meridian, *above, tip), at,
             source_line);
        keep(measure_.cusp, cutter::cusp_peak_to_valley(surface_.tool, section->meridian, *above, tip), at,
             source_line);
      }
      above = tip;
      section_above = section;
    }
    return {};
  }

  // Where the level's path crosses the section nearest to where it should: first among the elements beside
  // the expected one.
  static std::optional<double> crossing_near(finish::Contour const& contour, std::size_t element,
                                             SectionLine const& line, double wanted) {
    std::size_t const n = contour.segments.size();
    std::vector<double> found;
    auto const nearest = [&]() -> std::optional<double> {
      if (found.empty()) return std::nullopt;
      return *std::min_element(found.begin(), found.end(), [&](double a, double b) {
        return std::abs(a - wanted) < std::abs(b - wanted);
      });
    };
    for (std::size_t i = 0; i < std::min<std::size_t>(5, n); ++i)
      crossings(line, contour.segments[(element + n + i - 2) % n], found);
    constexpr double surely = 0.05; // mm; farther off, every other element is asked too
    if (auto const u = nearest(); u && std::abs(*u - wanted) <= surely) return u;
    found.clear();
    for (Segment const& s : contour.segments)
      crossings(line, s, found);
    return nearest();
  }

  void follow_links() {
    std::vector<bool> on_level(steps_.size(), false);
    for (finish::Level const& level : found_.levels)
      for (finish::Contour const& contour : level.contours)
        for (std::size_t i = contour.first_step; i <= contour.last_step; ++i)
          on_level[i] = true;
    double const top = found_.levels.front().z;
    for (std::size_t i = 0; i < steps_.size(); ++i) {
      motion::Motion const* m = motion::motion_of(steps_[i]);
      if (m == nullptr || on_level[i] || !motion::is_known(m->from) || !motion::is_known(m->to)) continue;
      if (std::min(m->from.z, m->to.z) >= top - same_height && !motion::is_arc(*m)) continue;
      double const length = motion::length(*m);
      auto const points = static_cast<int>(std::ceil(length / 0.1)) + 1;
      for (int k = 0; k <= points; ++k)
        check_tip(motion::point_at(*m, static_cast<double>(k) / points), steps_[i].place.line);
    }
  }

  void check_tip(Vec3 const& tip, std::uint32_t line) {
    if (tip.z >= found_.levels.front().z - same_height) return;
    finish::MeridianSection const* section = section_at(surface_, tip.z);
    if (section == nullptr) return;
    double const d = *offset_at_height(section->meridian, tip.z);
    for (std::size_t c = 0; c < surface_.stack.levels.front().contours.size(); ++c)
      if (double const depth = depth_inside(c, d, geometry::xy(tip)); depth > 0)
        // Along the surface's normal: where it is nearly flat a digit of height is worth many of the offset.
        keep(measure_.link_gouge, -section->meridian.signed_distance({d - depth, tip.z}), tip, line);
  }

  // How far a plan point lies on the material's side of the intended contour at offset d; 0 when it does not.
  double depth_inside(std::size_t c, double d, Vec2 p) {
    std::vector<Segment> const& elements = contour_at(c, d);
    double best = std::numeric_limits<double>::infinity();
    double depth = 0;
    for (std::size_t j = 0; j < elements.size(); ++j) {
      Segment const& s = elements[j];
      double share = 0;
      Vec2 foot{};
      if (!s.arc) {
        Vec2 const along = s.to - s.from;
        double const l2 = dot(along, along);
        share = l2 > 0 ? dot(p - s.from, along) / l2 : 0;
        if (share < 0 || share > 1) continue;
        foot = s.from + share * along;
      } else {
        Vec2 const a = s.from - s.centre;
        Vec2 const b = p - s.centre;
        double angle = std::atan2(cross(a, b), dot(a, b)) * (s.ccw ? 1 : -1);
        if (angle < 0) angle += 2 * std::numbers::pi;
        share = angle * s.radius() / s.length();
        if (share > 1) continue;
        foot = s.centre + s.radius() * normalized(b);
      }
      double const away = distance(p, foot);
      if (away >= best) continue;
      best = away;
      Vec2 const left = left_normal(s.direction_at_share(share));
      depth = -side(surface_) * dot(left, p - foot);
    }
    // A point more than a tool away belongs to another part of the contour's inside, which the levels
    // themselves have cleared or never touch.
    return best <= surface_.tool.diameter ? std::max(depth, 0.0) : 0.0;
  }

  std::vector<Segment> const& contour_at(std::size_t c, double d) {
    if (cached_contour_ != c || cached_d_ != d) {
      cached_ = elements_at(surface_, c, d);
      cached_contour_ = c;
      cached_d_ = d;
    }
    return cached_;
  }

  static void keep(Spot& spot, double value, Vec3 at, std::uint32_t line) {
    if (value > spot.value) spot = {value, at, line};
  }

  std::span<motion::Step const> steps_;
  IntendedSurface const& surface_;
  finish::Stack found_;
  PassMeasure measure_;
  std::vector<Segment> cached_;
  std::size_t cached_contour_ = ~std::size_t{0};
  double cached_d_ = -1e300;
};

} // namespace

tl::expected<PassMeasure, std::string> measure_pass(std::span<motion::Step const> steps,
                                                    IntendedSurface const& surface) {
  return Model(steps, surface).run();
}

} // namespace restep::proof
