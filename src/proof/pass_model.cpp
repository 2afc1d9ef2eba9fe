#include "proof/pass_model.hpp"

#include "cutter/cusp.hpp"
#include "finish/course.hpp"
#include "geometry/in_parallel.hpp"
#include "motion/arc.hpp"
#include "proof/pass_section.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

namespace restep::proof {

namespace {

using finish::Segment;
using geometry::Vec2;
using geometry::Vec3;

// The meridian section that a height belongs to; none between two sections.
finish::MeridianSection const* section_at(IntendedSurface const& surface, double z) {
  auto const height = [&](std::size_t k) {
    std::size_t const n = surface.stack.levels.size();
    return surface.stack.levels[surface.stack.downwards() ? k : n - 1 - k].z;
  };
  for (finish::MeridianSection const& s : surface.fit.sections) {
    double const upper = s.first == 0 ? surface.fit.extended_to.value_or(height(0)) : height(s.first);
    if (s.last > s.first && z <= upper + finish::same_height && z >= height(s.last) - finish::same_height)
      return &s;
  }
  return nullptr;
}

double offset_at_height(cutter::Meridian const& meridian, double z) {
  return meridian.at(meridian.reach(0, meridian.at(0).y - z)).x;
}

// A level as it was found in the steps, with what every section asks of it.
struct FoundLevel {
  finish::Level const* level = nullptr;
  finish::MeridianSection const* section = nullptr; ///< none between two sections of the meridian
  double wanted = 0;                                ///< where it should cross a section line
  std::vector<std::vector<double>> bends;           ///< [contour][element]
  Spot sagitta;
};

class PassModel {
public:
  PassModel(std::span<motion::Step const> steps, IntendedSurface const& surface, std::size_t threads)
      : steps_(steps)
      , surface_(surface)
      , threads_(threads) {}

  tl::expected<PassMeasure, std::string> run() {
    if (std::string trouble = find_levels(); !trouble.empty()) return tl::unexpected(std::move(trouble));
    std::size_t const contours = surface_.stack.levels.front().contours.size();
    for (std::size_t c = 0; c < contours; ++c)
      bases_.push_back(base_of(surface_, c));
    if (std::string trouble = cut_sections(); !trouble.empty()) return tl::unexpected(std::move(trouble));
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
    if (found_.downwards() != meant.downwards()) return "the pass reads back as going the other way";
    if (!found_.downwards()) std::reverse(found_.levels.begin(), found_.levels.end());
    double const top = meant.levels[meant.downwards() ? 0 : meant.levels.size() - 1].z;
    double const bottom = meant.levels[meant.downwards() ? meant.levels.size() - 1 : 0].z;
    auto const has_level = [&](double z) {
      return std::any_of(found_.levels.begin(), found_.levels.end(), [&](finish::Level const& level) {
        return std::abs(level.z - z) <= finish::same_height;
      });
    };
    bool const to_top =
        std::abs(found_.levels.front().z - top) <= finish::same_height ||
        (surface_.fit.extended_to &&
         std::abs(found_.levels.front().z - *surface_.fit.extended_to) <= finish::same_height);
    if (!to_top || !has_level(top) || std::abs(found_.levels.back().z - bottom) > finish::same_height)
      return "the first or the last level of the pass is not where it was";
    measure_.levels = found_.levels.size();
    rows_.resize(found_.levels.size());
    geometry::in_parallel(
        rows_.size(), [&](std::size_t k) { rows_[k] = row_of(found_.levels[k]); }, threads_);
    for (FoundLevel const& row : rows_)
      keep(measure_.sagitta, row.sagitta);
    return {};
  }

  FoundLevel row_of(finish::Level const& level) const {
    FoundLevel row;
    row.level = &level;
    row.section = section_at(surface_, level.z);
    if (row.section != nullptr) row.wanted = offset_at_height(row.section->meridian, level.z);
    for (finish::Contour const& contour : level.contours) {
      row.bends.push_back(finish::bends_of(contour.segments, contour.closed));
      for (std::size_t j = 0; j < contour.segments.size(); ++j) {
        Segment const& s = contour.segments[j];
        // The sagitta of an arc of the angle alpha over a chord of length L is L alpha / 8, to second order.
        if (double const bend = std::abs(row.bends.back()[j]); bend > 0)
          keep(row.sagitta, s.length() * bend / 8, geometry::at_height(s.from, level.z),
               steps_[s.step].place.line);
      }
    }
    return row;
  }

  // Sections are cut in bundles, each bundle level by level, so that the levels' elements stay at hand.
  std::string cut_sections() {
    constexpr std::size_t bundle = 64;
    std::vector<Section> const all = sections_of(surface_, bases_);
    std::size_t const bundles = (all.size() + bundle - 1) / bundle;
    std::vector<PassMeasure> measures(bundles);
    std::vector<std::string> troubles(bundles);
    geometry::in_parallel(
        bundles,
        [&](std::size_t b) {
          std::size_t const first = b * bundle;
          std::span<Section const> const own{all.data() + first, std::min(bundle, all.size() - first)};
          troubles[b] = cut_bundle(own, measures[b]);
        },
        threads_);
    for (std::size_t b = 0; b < bundles; ++b) {
      if (!troubles[b].empty()) return troubles[b];
      keep(measure_.gouge, measures[b].gouge);
      keep(measure_.peak, measures[b].peak);
      keep(measure_.cusp, measures[b].cusp);
    }
    measure_.sections = all.size();
    return {};
  }

  // Where one section met the level above.
  struct Above {
    std::size_t hint = 0; ///< element
    std::optional<Vec2> tip{};
  };

  std::string cut_bundle(std::span<Section const> sections, PassMeasure& measure) const {
    std::vector<Above> above;
    for (Section const& section : sections)
      above.push_back({section.element, {}});
    finish::MeridianSection const* section_above = nullptr;
    std::vector<double> found;
    for (FoundLevel const& row : rows_) {
      for (std::size_t i = 0; row.section != nullptr && i < sections.size(); ++i) {
        SectionLine const& line = sections[i].line;
        if (!sections[i].everywhere && !passes_at(surface_, sections[i], row.wanted)) {
          above[i].tip.reset();
          continue;
        }
        finish::Contour const& contour = row.level->contours[sections[i].contour];
        std::optional<double> const u =
            crossing_near(contour, row.bends[sections[i].contour], above[i].hint, line, row.wanted, found);
        if (!u)
          return fmt::format("the level at Z{:.4f} does not pass its section at X{:.3f} Y{:.3f}",
                             row.level->z, line.at.x, line.at.y);
        Vec2 const tip{*u, row.level->z};
        Vec3 const at = geometry::at_height(line.at + *u * line.away, row.level->z);
        std::uint32_t const source_line = steps_[contour.first_step].place.line;
        cutter::Meridian const& meridian = row.section->meridian;
        keep(measure.gouge, -meridian.signed_distance(tip), at, source_line);
        if (above[i].tip && section_above == row.section) {
          keep(measure.peak, cutter::cusp_height(surface_.tool, meridian, *above[i].tip, tip), at,
               source_line);
          keep(measure.cusp, cutter::cusp_peak_to_valley(surface_.tool, meridian, *above[i].tip, tip), at,
               source_line);
        }
        above[i].tip = tip;
      }
      section_above = row.section;
    }
    return {};
  }

  // Where the level's path crosses the section nearest to where it should: first among the elements about
  // the one that crossed it on the level above, which `hint` remembers.
  static std::optional<double> crossing_near(finish::Contour const& contour, std::vector<double> const& bends,
                                             std::size_t& hint, SectionLine const& line, double wanted,
                                             std::vector<double>& found) {
    constexpr double surely = 0.05; // mm; farther off, more elements are asked
    std::size_t const n = contour.segments.size();
    std::optional<double> best;
    std::size_t const start = hint;
    auto const ask = [&](std::size_t j) {
      found.clear();
      crossings(line, contour.segments[j], bends[j], found);
      for (double const u : found)
        if (!best || std::abs(u - wanted) < std::abs(*best - wanted)) {
          best = u;
          hint = j;
        }
    };
    for (std::size_t const beside : {std::size_t{1}, std::size_t{8}, n}) {
      std::size_t const from = start % n + n - std::min(beside, n);
      for (std::size_t i = 0; i < std::min(2 * beside + 1, n); ++i)
        ask((from + i) % n);
      if (best && std::abs(*best - wanted) <= surely) return best;
    }
    return best;
  }

  void follow_links() {
    std::vector<bool> on_level(steps_.size(), false);
    for (finish::Level const& level : found_.levels)
      for (finish::Contour const& contour : level.contours)
        for (std::size_t i = contour.first_step; i <= contour.last_step; ++i)
          on_level[i] = true;
    double const top = found_.levels.front().z;
    std::vector<std::size_t> links;
    for (std::size_t i = 0; i < steps_.size(); ++i) {
      motion::Motion const* m = motion::motion_of(steps_[i]);
      if (m == nullptr || on_level[i] || !motion::is_known(m->from) || !motion::is_known(m->to)) continue;
      if (std::min(m->from.z, m->to.z) < top - finish::same_height || motion::is_arc(*m)) links.push_back(i);
    }
    lay_courses();
    constexpr std::size_t bundle = 256;
    std::vector<Spot> deepest((links.size() + bundle - 1) / bundle);
    geometry::in_parallel(
        deepest.size(),
        [&](std::size_t b) {
          for (std::size_t i = b * bundle; i < std::min((b + 1) * bundle, links.size()); ++i)
            follow_link(steps_[links[i]], deepest[b]);
        },
        threads_);
    for (Spot const& spot : deepest)
      keep(measure_.link_gouge, spot);
  }

  void lay_courses() {
    double farthest = 0;
    for (double const d : surface_.offsets.d)
      farthest = std::max(farthest, std::abs(d));
    for (std::size_t c = 0; c < bases_.size(); ++c)
      courses_
          .emplace_back(bases_[c], surface_.stack.levels.front().contours[c].closed,
                        surface_.tool.diameter + farthest)
          .prepare();
  }

  void follow_link(motion::Step const& step, Spot& deepest) const {
    motion::Motion const& m = *motion::motion_of(step);
    auto const points = static_cast<int>(std::ceil(motion::length(m) / 0.1)) + 1;
    // Straight up and down the place in plan is one and the same.
    std::vector<std::optional<double>> offsets;
    Vec2 asked{};
    for (int k = 0; k <= points; ++k) {
      Vec3 const tip = motion::point_at(m, static_cast<double>(k) / points);
      if (tip.z >= found_.levels.front().z - finish::same_height) continue;
      finish::MeridianSection const* section = section_at(surface_, tip.z);
      if (section == nullptr) continue;
      if (offsets.empty() || asked != geometry::xy(tip)) {
        asked = geometry::xy(tip);
        offsets = offsets_at(asked);
      }
      double const d = offset_at_height(section->meridian, tip.z);
      for (std::optional<double> const& offset : offsets)
        // A point more than a tool away belongs to another part of the contour's inside, which the levels
        // themselves have cleared or never touch.
        if (offset && *offset < d && d - *offset <= surface_.tool.diameter)
          // Along the surface's normal: where it is nearly flat a digit of height is worth many of the
          // offset.
          keep(deepest, -section->meridian.signed_distance({*offset, tip.z}), tip, step.place.line);
    }
  }

  // The offset at which a place in plan stands from each contour, growing to the air; none beyond the ends of
  // open contours and far from it.
  std::vector<std::optional<double>> offsets_at(Vec2 p) const {
    std::vector<std::optional<double>> offsets;
    for (finish::Course const& course : courses_) {
      auto const foot = course.nearest(p);
      offsets.push_back(foot && !foot->beyond ? std::optional(side(surface_) * foot->left) : std::nullopt);
    }
    return offsets;
  }

  std::span<motion::Step const> steps_;
  IntendedSurface const& surface_;
  std::size_t threads_;
  finish::Stack found_;
  std::vector<FoundLevel> rows_;            ///< from the top down
  std::vector<std::vector<Segment>> bases_; ///< per contour
  std::vector<finish::Course> courses_;     ///< of the bases
  PassMeasure measure_;
};

} // namespace

tl::expected<PassMeasure, std::string> measure_pass(std::span<motion::Step const> steps,
                                                    IntendedSurface const& surface, std::size_t threads) {
  return PassModel(steps, surface, threads).run();
}

} // namespace restep::proof
