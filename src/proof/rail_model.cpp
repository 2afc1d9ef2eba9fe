#include "proof/rail_model.hpp"

#include "cutter/cusp.hpp"
#include "finish/course.hpp"
#include "finish/stack.hpp"
#include "geometry/in_parallel.hpp"
#include "motion/arc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <utility>
#include <vector>

namespace restep::proof {

namespace {

using finish::Segment;
using geometry::Vec2;
using geometry::Vec3;

constexpr double same_height = 1e-6;

// Of the places at which an element crosses the section's line, the one nearest to where the surface has it;
// the element is taken a little longer than it is, since digits move its ends.
std::optional<double> crossing(finish::RailPlace const& section, Segment const& s) {
  constexpr double beyond = 0.003; // mm
  if (!s.arc) {
    Vec2 const along = s.to - s.from;
    double const sine = cross(section.away, along);
    double const l2 = dot(along, along);
    if (sine * sine < 0.01 * l2) return std::nullopt; // runs along the section
    double const share = cross(s.from - section.at, section.away) / sine;
    double const over = std::max(-share, share - 1);
    if (over > 0 && over * over * l2 > beyond * beyond) return std::nullopt;
    return cross(s.from - section.at, along) / sine;
  }
  Vec2 const to_centre = s.centre - section.at;
  double const along = dot(to_centre, section.away);
  double const radius = 0.5 * (distance(s.from, s.centre) + distance(s.to, s.centre));
  double const half2 = radius * radius - (dot(to_centre, to_centre) - along * along);
  if (half2 < 0) return std::nullopt;
  std::optional<double> best;
  for (double const u : {along - std::sqrt(half2), along + std::sqrt(half2)}) {
    Vec2 const a = s.from - s.centre;
    Vec2 const b = section.at + u * section.away - s.centre;
    double angle = std::atan2(cross(a, b), dot(a, b)) * (s.ccw ? 1 : -1);
    if (angle < -beyond / std::max(radius, beyond)) angle += 2 * std::numbers::pi;
    if (angle * radius > s.length() + beyond) continue;
    if (!best || std::abs(u) < std::abs(*best)) best = u;
  }
  return best;
}

std::optional<double> crossing_of(finish::Contour const& contour, std::size_t hint,
                                  finish::RailPlace const& section) {
  constexpr double surely = 0.05; // mm; farther off, more elements are asked
  std::size_t const n = contour.segments.size();
  std::optional<double> best;
  for (std::size_t const beside : {std::size_t{1}, std::size_t{8}, n}) {
    std::size_t const from = hint % n + n - std::min(beside, n);
    for (std::size_t i = 0; i < std::min(2 * beside + 1, n); ++i)
      if (auto const u = crossing(section, contour.segments[(from + i) % n]);
          u && (!best || std::abs(*u) < std::abs(*best)))
        best = u;
    if (best && std::abs(*best) <= surely) return best;
  }
  return best;
}

class Model {
public:
  Model(std::span<motion::Step const> steps, finish::RailSurface const& surface, cutter::Tool const& tool,
        std::size_t threads)
      : steps_(steps)
      , surface_(surface)
      , tool_(tool)
      , threads_(threads) {}

  tl::expected<RailMeasure, std::string> run() {
    if (std::string trouble = find_levels(); !trouble.empty()) return tl::unexpected(std::move(trouble));
    if (std::string trouble = cut_sections(); !trouble.empty()) return tl::unexpected(std::move(trouble));
    follow_links();
    return measure_;
  }

private:
  std::string find_levels() {
    finish::StackLimits limits;
    limits.max_shift = std::max(tool_.diameter, 1.0);
    auto stacks = finish::find_stacks(finish::find_contours(steps_), limits);
    if (stacks.size() != 1)
      return fmt::format("the pass reads back as {} passes instead of one", stacks.size());
    found_ = std::move(stacks.front());
    if (!found_.downwards()) std::reverse(found_.levels.begin(), found_.levels.end());
    if (found_.levels.front().contours.size() != surface_.away().size())
      return "the pass reads back with another number of contours per level";
    if (std::abs(found_.levels.front().z - surface_.top()) > same_height ||
        std::abs(found_.levels.back().z - surface_.bottom()) > same_height)
      return "the first or the last level of the pass is not where it was";
    measure_.pass.levels = found_.levels.size();
    measure_.pass.sections = surface_.rails().size();
    return {};
  }

  // One level's tip in every section, and the normal of the section.
  struct Row {
    std::vector<Vec2> tips, normals;
    std::vector<Vec3> at;
    std::string trouble;
  };

  Row row_of(finish::Level const& level) const {
    Row row;
    std::vector<finish::Contour> const meant = surface_.contours_at(level.z);
    for (finish::Rail const& rail : surface_.rails()) {
      finish::RailPlace const section = surface_.place(rail, meant);
      auto const u = crossing_of(level.contours[rail.contour], rail.element, section);
      if (!u) {
        row.trouble = fmt::format("the level at Z{:.4f} does not pass its section at X{:.3f} Y{:.3f}",
                                  level.z, section.at.x, section.at.y);
        return row;
      }
      row.tips.push_back({finish::way_at_height(rail.meridian, level.z) + *u, level.z});
      row.normals.push_back(section.away);
      row.at.push_back(geometry::at_height(section.at + *u * section.away, level.z));
    }
    return row;
  }

  std::string cut_sections() {
    std::size_t const levels = found_.levels.size();
    std::vector<Row> rows(levels);
    geometry::in_parallel(
        levels, [&](std::size_t k) { rows[k] = row_of(found_.levels[k]); }, threads_);
    for (Row const& row : rows)
      if (!row.trouble.empty()) return row.trouble;
    std::vector<RailMeasure> parts(levels);
    geometry::in_parallel(
        levels, [&](std::size_t k) { measure_row(rows[k], k > 0 ? &rows[k - 1] : nullptr, k, parts[k]); },
        threads_);
    for (RailMeasure const& part : parts) {
      keep(measure_.pass.gouge, part.pass.gouge);
      keep(measure_.pass.peak, part.pass.peak);
      keep(measure_.pass.cusp, part.pass.cusp);
      measure_.section_error = std::max(measure_.section_error, part.section_error);
    }
    return {};
  }

  void measure_row(Row const& row, Row const* above, std::size_t k, RailMeasure& out) const {
    for (std::size_t i = 0; i < row.tips.size(); ++i) {
      finish::Rail const& rail = surface_.rails()[i];
      std::uint32_t const line = steps_[found_.levels[k].contours[rail.contour].first_step].place.line;
      double const off =
          rail.meridian.signed_distance(row.tips[i]) -
          rail.meridian.signed_distance({finish::way_at_height(rail.meridian, row.tips[i].y), row.tips[i].y});
      keep(out.pass.gouge, -off, row.at[i], line);
      keep(out.pass.peak, off, row.at[i], line);
      if (above == nullptr) continue;
      keep(out.pass.peak, cutter::cusp_height(tool_, rail.meridian, above->tips[i], row.tips[i]), row.at[i],
           line);
      keep(out.pass.cusp, cutter::cusp_peak_to_valley(tool_, rail.meridian, above->tips[i], row.tips[i]),
           row.at[i], line);
      double const cosine = std::clamp(dot(above->normals[i], row.normals[i]), 0.1, 1.0);
      out.section_error = std::max(out.section_error, tool_.radius() * (1 / cosine - 1));
    }
  }

  void follow_links() {
    std::vector<bool> on_level(steps_.size(), false);
    for (finish::Level const& level : found_.levels)
      for (finish::Contour const& contour : level.contours)
        for (std::size_t i = contour.first_step; i <= contour.last_step; ++i)
          on_level[i] = true;
    rail_of_.resize(surface_.away().size());
    for (std::size_t i = 0; i < surface_.rails().size(); ++i)
      rail_of_[surface_.rails()[i].contour].emplace(surface_.rails()[i].element, i);
    std::vector<std::size_t> links;
    for (std::size_t i = 0; i < steps_.size(); ++i) {
      motion::Motion const* m = motion::motion_of(steps_[i]);
      if (m == nullptr || on_level[i] || !motion::is_known(m->from) || !motion::is_known(m->to)) continue;
      if (std::min(m->from.z, m->to.z) < surface_.top() - same_height || motion::is_arc(*m))
        links.push_back(i);
    }
    std::vector<Spot> deepest(links.size());
    geometry::in_parallel(
        links.size(), [&](std::size_t i) { follow_link(steps_[links[i]], deepest[i]); }, threads_);
    for (Spot const& spot : deepest)
      keep(measure_.pass.link_gouge, spot);
  }

  void follow_link(motion::Step const& step, Spot& deepest) const {
    motion::Motion const& m = *motion::motion_of(step);
    auto const points = static_cast<int>(std::ceil(motion::length(m) / 0.1)) + 1;
    std::vector<finish::Contour> contours;
    for (int i = 0; i <= points; ++i) {
      Vec3 const tip = motion::point_at(m, static_cast<double>(i) / points);
      if (tip.z >= surface_.top() - same_height) continue;
      if (contours.empty() || contours.front().z != tip.z) contours = surface_.contours_at(tip.z);
      for (std::size_t c = 0; c < contours.size(); ++c) {
        double const depth = depth_at(contours[c], c, tip);
        keep(deepest, depth, tip, step.place.line);
      }
    }
  }

  // How deep a tip stands in the surface, along its normal; 0 outside and farther off than a tool: that is
  // another part of the contour's inside, which the levels have cleared or never touch.
  double depth_at(finish::Contour const& contour, std::size_t c, Vec3 tip) const {
    finish::Course const course(contour.segments, contour.closed, tool_.diameter);
    auto const foot = course.nearest(geometry::xy(tip));
    if (!foot || foot->beyond) return 0;
    double const inside = -surface_.away()[c] * foot->left;
    if (inside <= 0 || inside > tool_.diameter) return 0;
    auto const near = rail_of_[c].lower_bound(foot->element);
    std::size_t const i = near != rail_of_[c].end() ? near->second : rail_of_[c].rbegin()->second;
    cutter::Meridian const& meridian = surface_.rails()[i].meridian;
    double const way = finish::way_at_height(meridian, tip.z);
    return -meridian.signed_distance({way - inside, tip.z});
  }

  std::span<motion::Step const> steps_;
  finish::RailSurface const& surface_;
  cutter::Tool const& tool_;
  std::size_t threads_;
  finish::Stack found_;
  std::vector<std::map<std::size_t, std::size_t>> rail_of_; ///< per contour: a rail on or after an element
  RailMeasure measure_;
};

} // namespace

tl::expected<RailMeasure, std::string> measure_rail_pass(std::span<motion::Step const> steps,
                                                         finish::RailSurface const& surface,
                                                         cutter::Tool const& tool, std::size_t threads) {
  return Model(steps, surface, tool, threads).run();
}

} // namespace restep::proof
