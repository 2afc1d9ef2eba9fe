#include "proof/rail_model.hpp"

#include "cutter/cusp_row.hpp"
#include "finish/course.hpp"
#include "finish/rail_rows.hpp"
#include "finish/stack.hpp"
#include "geometry/in_parallel.hpp"
#include "motion/arc.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

namespace restep::proof {

namespace {

using geometry::Vec2;
using geometry::Vec3;

std::vector<motion::Step> on_digits(std::span<motion::Step const> steps, double resolution) {
  std::vector<motion::Step> out(steps.begin(), steps.end());
  for (motion::Step& step : out)
    if (motion::Motion* m = motion::motion_of(step))
      for (Vec3* end : {&m->from, &m->to})
        *end = {finish::on_digits(end->x, resolution), finish::on_digits(end->y, resolution),
                finish::on_digits(end->z, resolution)};
  return out;
}

class RailModel {
public:
  RailModel(std::span<motion::Step const> steps, finish::RailSurface const& surface, cutter::Tool const& tool,
            double resolution, std::size_t threads)
      : steps_(on_digits(steps, resolution))
      , surface_(surface)
      , tool_(tool)
      , half_digit_(resolution / 2)
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
    if (std::abs(found_.levels.front().z - surface_.top()) > half_digit_ + finish::same_height ||
        std::abs(found_.levels.back().z - surface_.bottom()) > half_digit_ + finish::same_height)
      return "the first or the last level of the pass is not where it was";
    measure_.pass.levels = found_.levels.size();
    measure_.pass.sections = surface_.rails().size();
    return {};
  }

  std::string cut_sections() {
    std::size_t const levels = found_.levels.size();
    std::vector<tl::expected<finish::RailRow, std::string>> rows(levels);
    geometry::in_parallel(
        levels,
        [&](std::size_t k) {
          rows[k] = finish::row_across(surface_, found_.levels[k].contours, found_.levels[k].z);
        },
        threads_);
    rows_.reserve(levels);
    for (auto& row : rows) {
      if (!row) return row.error();
      rows_.push_back(std::move(*row));
    }
    std::size_t const sections = surface_.rails().size();
    std::vector<RailMeasure> parts(sections);
    geometry::in_parallel(
        sections, [&](std::size_t i) { parts[i] = measure_section(i); }, threads_);
    for (RailMeasure const& part : parts) {
      keep(measure_.pass.gouge, part.pass.gouge);
      keep(measure_.pass.peak, part.pass.peak);
      keep(measure_.pass.cusp, part.pass.cusp);
      measure_.section_error = std::max(measure_.section_error, part.section_error);
    }
    return {};
  }

  RailMeasure measure_section(std::size_t i) const {
    RailMeasure out;
    finish::Rail const& rail = surface_.rails()[i];
    cutter::CuspRow left(tool_, rail.meridian);
    auto const at = [&](std::size_t k) {
      return geometry::at_height(rows_[k].places[i].at, rows_[k].tips[i].y);
    };
    auto const line = [&](std::size_t k) {
      return steps_[found_.levels[k].contours[rail.contour].first_step].place.line;
    };
    for (std::size_t k = 0; k < rows_.size(); ++k) {
      Vec2 const tip = rows_[k].tips[i];
      left.add(tip);
      double const off = rail.meridian.signed_distance(tip) -
                         rail.meridian.signed_distance({finish::way_at_height(rail.meridian, tip.y), tip.y});
      keep(out.pass.gouge, -off, at(k), line(k));
      keep(out.pass.peak, off, at(k), line(k));
      if (k == 0) continue;
      double const cosine = std::clamp(dot(rows_[k - 1].places[i].away, rows_[k].places[i].away), 0.1, 1.0);
      out.section_error = std::max(out.section_error, tool_.radius() * (1 / cosine - 1));
    }
    for (cutter::CuspRow::Peak const& peak : left.peaks()) {
      keep(out.pass.peak, peak.height, at(peak.lower), line(peak.lower));
      keep(out.pass.cusp, peak.cusp, at(peak.lower), line(peak.lower));
    }
    return out;
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
      if (std::min(m->from.z, m->to.z) < surface_.top() - finish::same_height || motion::is_arc(*m))
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
      if (tip.z >= surface_.top() - finish::same_height) continue;
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

  std::vector<motion::Step> steps_;
  finish::RailSurface const& surface_;
  cutter::Tool const& tool_;
  double half_digit_;
  std::size_t threads_;
  finish::Stack found_;
  std::vector<finish::RailRow> rows_;                       ///< of its levels
  std::vector<std::map<std::size_t, std::size_t>> rail_of_; ///< per contour: a rail on or after an element
  RailMeasure measure_;
};

} // namespace

tl::expected<RailMeasure, std::string> measure_rail_pass(std::span<motion::Step const> steps,
                                                         finish::RailSurface const& surface,
                                                         cutter::Tool const& tool, double resolution,
                                                         std::size_t threads) {
  return RailModel(steps, surface, tool, resolution, threads).run();
}

} // namespace restep::proof
