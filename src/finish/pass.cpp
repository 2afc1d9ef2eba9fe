#include "finish/pass.hpp"

#include "cutter/cusp.hpp"
#include "cutter/tapered.hpp"
#include "finish/assemble.hpp"
#include "finish/common_elements.hpp"
#include "finish/extend.hpp"
#include "finish/figures.hpp"
#include "finish/fit_meridian.hpp"
#include "finish/groups.hpp"
#include "finish/offsets.hpp"
#include "finish/restep_rails.hpp"
#include "finish/rolled_edge.hpp"
#include "finish/section_levels.hpp"
#include "finish/way_in.hpp"
#include "geometry/constants.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace restep::finish {

namespace {

using cutter::Meridian;

using geometry::um;

bool cusps_possible(Meridian const& meridian, double corner_radius) {
  auto const surfaces = meridian.surfaces(corner_radius);
  return std::any_of(surfaces.begin(), surfaces.end(),
                     [](cutter::Surface const& s) { return s.kind != cutter::SurfaceKind::wall; });
}

class PassWork {
public:
  PassWork(std::span<motion::Step const> operation, Stack const& stack, cutter::Tool const* tool,
           int tool_number, PassRequest const& request)
      : operation_(operation)
      , stack_(stack)
      , tool_(tool)
      , request_(request) {
    PassReport& r = outcome_.report;
    r = begun_report(operation.subspan(stack.first_step(), stack.last_step() + 1 - stack.first_step()), tool,
                     tool_number);
    r.shape = stack.levels.front().contours.front().closed ? "closed contours" : "open contours";
    r.before.levels = stack.levels.size();
    r.after = r.before;
    outcome_.first_step = stack.first_step();
    outcome_.last_step = stack.last_step();
  }

  bool measured() const { return measured_; }

  PassOutcome run() {
    outcome_.report.reason = attempt();
    if (outcome_.report.status == PassStatus::restepped)
      outcome_.knowledge = {std::move(offsets_), std::move(fit_)};
    return std::move(outcome_);
  }

private:
  // Does what can be done; gives the reason why the pass was kept, or what was done.
  std::string attempt() {
    PassReport& report = outcome_.report;
    own_resolution_ =
        resolution_of(operation_.subspan(stack_.first_step(), stack_.last_step() + 1 - stack_.first_step()));
    auto offsets = measure_offsets(stack_, own_resolution_);
    if (!offsets) {
      measured_ = false;
      return offsets.error();
    }
    offsets_ = std::move(*offsets);
    for (std::size_t k = 0; k < stack_.levels.size(); ++k)
      tips_.push_back({offsets_.d[k], stack_.levels[k].z});
    if (!stack_.downwards()) std::reverse(tips_.begin(), tips_.end());
    report.before.positions = tips_;

    if (tool_ == nullptr)
      return fmt::format("tool T{} is not in the tool table: its diameter and corner radius are needed",
                         report.tool);
    if (!tool_->can_finish()) return cutter::why_not_finishing(*tool_, report.tool);

    // Both the height and the offset are rounded to the program's digits; the offset is a mean over many
    // elements; moved chords carry the digits of two levels.
    double const digits = (stack_.by_element ? 1 : 1.5) * own_resolution_;
    auto fit = fit_meridian(tips_, std::max(digits, 0.0003));
    if (!fit) return fit.error();
    fit_ = std::move(*fit);
    roll_over_edges(fit_, tips_, tool_->corner_radius, std::max(digits, 0.0003));
    describe_surface();
    for (MeridianSection const& section : fit_.sections)
      if (std::string trouble = cutter::beyond_side(*tool_, cutter::steepest_slope(section.meridian));
          !trouble.empty())
        return trouble;

    cutter::FinishTarget const measure = request_.finish.value_or(cutter::FinishTarget{});
    Figures before;
    for (MeridianSection const& section : fit_.sections)
      if (section.last > section.first) add_section(before, section, measure, own_tips(section));
    before.finish(tips_);
    report.before = before.out;
    report.after = before.out;

    if (!request_.finish && request_.limits.max_stepdown == 0) return "no finish was asked for";
    report.target_um = request_.finish ? um * request_.finish->limit : 0;
    bool const cusps = std::any_of(fit_.sections.begin(), fit_.sections.end(), [&](MeridianSection const& s) {
      return cusps_possible(s.meridian, tool_->corner_radius);
    });
    if (!cusps && (request_.limits.max_stepdown == 0 || (request_.finish && !request_.named)))
      return request_.limits.max_stepdown == 0 ? "a vertical wall: its stepdown leaves no cusp"
                                               : "a vertical wall: its stepdown leaves no cusp; name the "
                                                 "pass to give it the largest stepdown";
    if (!request_.extend || strip_.height <= negligible_strip()) return place(nullptr);
    std::string done = place_with_strip();
    if (report.status == PassStatus::restepped) return done;
    std::string without = place(nullptr);
    // What keeps the whole pass as it is needs to be said but once.
    if (report.status == PassStatus::restepped || without != done) report.not_extended = done;
    return without;
  }

  // What of a round may stay uncut above the first level: no more than a cusp, and what cannot be told.
  double negligible_strip() const {
    double const digit = std::max(own_resolution_, request_.resolution);
    return std::max({target().limit, 1.5 * digit, std::min(strip_.known_within, digit)});
  }

  void describe_surface() {
    PassReport& report = outcome_.report;
    // What the program's contours stand off exact offsets, its levels may stand off the surface.
    fit_.residual = std::max(fit_.residual, offsets_.form);
    report.fit_residual_um = um * fit_.residual;
    name_surfaces();
    strip_ = strip_above(fit_, tips_, tool_->corner_radius, own_resolution_);
    report.uncovered_mm = strip_.height;
  }

  void name_surfaces() {
    PassReport& report = outcome_.report;
    report.surface.clear();
    for (MeridianSection const& section : fit_.sections) {
      auto const surfaces = section.meridian.surfaces(tool_->corner_radius);
      report.surface.insert(report.surface.end(), surfaces.begin(), surfaces.end());
    }
    if (fit_.in_one_piece()) report.meridian = fit_.sections.front().meridian;
  }

  // Takes a section's levels into the figures. The smallest cusp is that of the pairs which the target rules:
  // where the stepdown limit rules, cusps are smaller and say nothing about the finish asked for.
  void add_section(Figures& figures, MeridianSection const& section, cutter::FinishTarget const& by,
                   std::vector<Vec2> const& tips) const {
    cutter::LevelFigures const f = cutter::measure_levels(section.meridian, *tool_, by, tips);
    double ruled = std::numeric_limits<double>::infinity();
    for (std::size_t k = 1; k < tips.size(); ++k)
      if (tips[k - 1].y - tips[k].y < 0.95 * f.stepdown_max)
        ruled = std::min(ruled, cutter::cusp_peak_to_valley(*tool_, section.meridian, tips[k - 1], tips[k]));
    figures.add(f, std::isfinite(ruled) && ruled > 0 ? std::min(ruled, f.cusp_max) : f.cusp_min);
  }

  std::vector<Vec2> own_tips(MeridianSection const& section) const {
    return {tips_.begin() + static_cast<std::ptrdiff_t>(section.first),
            tips_.begin() + static_cast<std::ptrdiff_t>(section.last) + 1};
  }

  // Index in cutting order of the k-th level from the top.
  std::size_t cutting_index(std::size_t k) const {
    return stack_.downwards() ? k : stack_.levels.size() - 1 - k;
  }

  cutter::StepLimits limits() const { return limits_of(request_, outcome_.report); }
  cutter::FinishTarget target() const { return target_of(request_, outcome_.report); }

  std::string place_with_strip() {
    auto strip = plan_strip(strip_, stack_, offsets_, *tool_,
                            {target(), limits(), own_resolution_, request_.resolution});
    return strip ? place(&*strip) : strip.error();
  }

  // Levels for all sections, below those of the strip where there is one. The first and the last level that
  // groups cut move with the others where the ways to them can.
  std::string place(StripLevels* strip) {
    why_ends_stay_.clear();
    std::string done = place(strip, stack_.grouped());
    return why_ends_stay_.empty() ? done : place(strip, false);
  }

  std::string place(StripLevels* strip, bool ends_move) {
    outcome_.digits_cusp = 0;
    PassReport& report = outcome_.report;
    std::vector<PlannedLevel> planned; // from the top down
    std::vector<Vec2> tips;
    Figures after;
    bool changed = strip != nullptr;
    bool missed = strip != nullptr && strip->target_missed;
    if (strip != nullptr) {
      add_section(after, {0, strip->levels.size(), strip->meridian}, target(), strip->tips);
      tips.assign(strip->tips.begin(), strip->tips.end() - 1);
      planned.assign(strip->levels.begin(), strip->levels.end());
    }
    if (std::string why = why_no_order(stack_); !why.empty()) return why;
    SectionRequest const asked{target(), limits(), own_resolution_, request_.resolution,
                               request_.levels_at_edges};
    double const digit = std::max(request_.resolution, own_resolution_);
    std::optional<std::size_t> above; // the level that the section before ended with
    for (MeridianSection const& section :
         ends_move ? fit_.sections : sections_between_fixed(fit_, stack_, tips_)) {
      std::vector<Vec2> const own = own_tips(section);
      SectionLevels fresh = solve_section({section.meridian, own, cutting_index(section.first),
                                           cutting_index(section.last), stack_, offsets_, *tool_},
                                          asked);
      missed = missed || fresh.target_missed;
      if (fresh.too_fine) {
        outcome_.too_fine = true;
        return fmt::format("the digits of its coordinates ({} mm) put levels for {:.2f} um at one height",
                           request_.resolution, um * target().limit);
      }
      if (fresh.unreached > 0)
        return fmt::format(
            "however many its levels are, {:.1f} um stay between two of them: the surface turns "
            "there as the tool cannot follow",
            um * fresh.unreached);
      std::vector<Vec2> const section_tips = fresh.replaced ? tips_between_ends(own, fresh.levels) : own;
      if (section.last > section.first) {
        add_section(after, section, target(), section_tips);
        outcome_.digits_cusp =
            std::max(outcome_.digits_cusp, digits_cusp(section.meridian, *tool_, section_tips, digit));
      }
      bool const joined = above == section.first;
      tips.insert(tips.end(), section_tips.begin() + (joined ? 1 : 0), section_tips.end());
      if (!joined) planned.emplace_back(cutting_index(section.first));
      above = section.last;
      if (fresh.replaced) {
        changed = true;
        for (ShapedLevel& level : fresh.levels)
          planned.emplace_back(std::move(level));
      } else {
        for (std::size_t k = section.first + 1; k < section.last; ++k)
          planned.emplace_back(cutting_index(k));
      }
      if (section.last > section.first) planned.emplace_back(cutting_index(section.last));
    }
    for (PlannedLevel const& level : planned)
      if (auto const* shaped = std::get_if<ShapedLevel>(&level); shaped != nullptr && shaped->failed)
        return fmt::format("its contours cannot be moved to Z{:.4f}: a part of them would vanish there",
                           shaped->tip.y);
    if (!changed) return "it already has the least number of levels that meets the target" + held_back();

    RapidRule const rule = strip != nullptr ? rapid_rule(*strip) : RapidRule{};
    auto const groups = ends_move ? in_moved_groups(stack_, std::move(planned))
                                  : std::optional(in_cutting_order(stack_, std::move(planned)));
    auto const cannot = [&](std::string why) { return ends_move ? why_ends_stay_ = std::move(why) : why; };
    if (!groups) return cannot("no new level stands where the pass could begin or end instead");
    auto steps = assemble(operation_, stack_, offsets_, *groups, request_.resolution,
                          strip != nullptr ? &rule : nullptr);
    if (!steps) return cannot(steps.error());
    bool const first_moved = !is_own(stack_, groups->front().front(), stack_.first_cut());
    bool const last_moved = !is_own(stack_, groups->back().back(), stack_.last_cut());
    if (strip != nullptr || first_moved || last_moved)
      if (std::string trouble = lead_to(*steps, first_moved, last_moved, tips.size()); !trouble.empty())
        return cannot(std::move(trouble));

    after.finish(std::move(tips));
    report.after = after.out;
    if (strip != nullptr) take_strip(*strip);
    report.status = PassStatus::restepped;
    constant_stepdown();
    outcome_.steps = std::move(*steps);
    return done_in_words(missed);
  }

  RapidRule rapid_rule(StripLevels const& strip) const {
    double const clear = clear_height(operation_, stack_, request_.free_from);
    double const top = strip.tips.front().y;
    return {tips_.front().y, clear > top ? clear : std::numeric_limits<double>::infinity(),
            tool_->diameter - (tips_.front().x - strip.tips.front().x)};
  }

  // The way to the first level and from the last one, where these stand above the program's own.
  std::string lead_to(std::vector<motion::Step>& steps, bool first_moved, bool last_moved,
                      std::size_t levels) {
    auto ways =
        ways_to(operation_, stack_, {request_.free_from, std::min(request_.free_to, operation_.size())},
                std::move(steps), first_moved, last_moved);
    if (!ways) return ways.error();
    outcome_.first_step = ways->first;
    outcome_.last_step = ways->last;
    steps = std::move(ways->steps);
    // A way that runs along at a level's height must not be taken for a part of it.
    StackLimits stack_limits;
    stack_limits.max_shift = std::max(tool_->diameter, 1.0);
    auto const found = find_stacks(find_contours(steps), stack_limits);
    if (found.size() == 1 && found.front().levels.size() == levels) return {};
    outcome_.first_step = stack_.first_step();
    outcome_.last_step = stack_.last_step();
    return "with the way to them its levels would not be read as one pass";
  }

  // The strip belongs to the surface now.
  void take_strip(StripLevels const& strip) {
    PassReport& report = outcome_.report;
    report.extended_levels = strip.levels.size();
    report.extended_mm = strip.tips.front().y - tips_.front().y;
    fit_.sections.front().meridian = extended(fit_.sections.front().meridian, strip_);
    fit_.extended_to = strip.tips.front().y;
    name_surfaces();
  }

  std::string held_back() const {
    if (!bound_by_own_stepdown(request_)) return {};
    std::size_t without_limit = 0;
    cutter::StepLimits const free{0, request_.limits.min_stepdown};
    for (MeridianSection const& section : fit_.sections)
      without_limit += section.last == section.first
                           ? 1
                           : cutter::plan_levels(section.meridian, *tool_, target(), free).s.size();
    return held_back_in_words(outcome_.report, tips_.size(), without_limit, "levels");
  }

  void constant_stepdown() {
    cutter::Meridian const* const meridian = &fit_.sections.front().meridian;
    if (fit_.in_one_piece()) find_constant(outcome_.report, {&meridian, 1}, *tool_, request_);
  }

  std::string done_in_words(bool missed) const {
    PassReport const& report = outcome_.report;
    std::string text = fmt::format("{} levels instead of {}", report.after.levels, report.before.levels);
    text += constant_in_words(report);
    if (std::size_t const unknown = fit_.sections.size() - 1; unknown == 1)
      text += "; one place whose surface is not known was left as it was";
    else if (unknown > 1)
      text += fmt::format("; {} places whose surface is not known were left as they were", unknown);
    if (missed) text += "; the least stepdown forbids the target in places";
    text += said_of_groups(stack_, why_ends_stay_, report.after.cusp_min_um, report.target_um);
    return text;
  }

  std::span<motion::Step const> operation_;
  Stack const& stack_;
  cutter::Tool const* tool_;
  PassRequest const& request_;
  bool measured_ = true;
  double own_resolution_ = 0.001; ///< mm per last digit of the program
  Offsets offsets_;
  std::vector<Vec2> tips_; // from the top down
  MeridianFit fit_;
  Strip strip_;               // above the first level
  std::string why_ends_stay_; // the first and the last cut of groups
  PassOutcome outcome_;
};

} // namespace

cutter::StepLimits limits_of(PassRequest const& request, PassReport const& report) {
  cutter::StepLimits limits = request.limits;
  if (limits.max_stepdown == 0) limits.max_stepdown = report.before.stepdown_max_mm;
  return limits;
}

bool bound_by_own_stepdown(PassRequest const& request) {
  return request.finish && request.limits.max_stepdown == 0;
}

std::string held_back_in_words(PassReport const& report, std::size_t own, std::size_t without_limit,
                               std::string_view levels) {
  if (without_limit >= own) return {};
  return fmt::format(" at a stepdown of no more than its own largest, {:.4f} mm; a larger --max-stepdown "
                     "lets {} go, down to {}",
                     report.before.stepdown_max_mm, levels, without_limit);
}

void find_constant(PassReport& report, std::span<cutter::Meridian const* const> meridians,
                   cutter::Tool const& tool, PassRequest const& request) {
  if (!request.finish) return;
  cutter::ConstantStep const constant =
      cutter::constant_stepdown(meridians, tool, *request.finish, limits_of(request, report));
  report.constant_stepdown_mm = constant.stepdown;
  report.constant_levels = constant.levels;
}

std::string constant_in_words(PassReport const& report) {
  if (report.constant_levels == 0) return {};
  // One level more than the least may be asked for by a direction that alternates; the rest by the digits.
  bool const exact_only = report.constant_levels + 1 < report.after.levels;
  return fmt::format("; a constant stepdown of {:.4f} mm would need {}{}", report.constant_stepdown_mm,
                     report.constant_levels, exact_only ? " on finer digits" : "");
}

cutter::FinishTarget target_of(PassRequest const& request, PassReport const& report) {
  if (request.finish) return *request.finish;
  cutter::FinishTarget target;
  target.limit = std::max(report.before.cusp_max_um / um, 1e-6);
  return target;
}

PassOutcome restep_pass(std::span<motion::Step const> operation, Stack const& stack, cutter::Tool const* tool,
                        int tool_number, PassRequest const& request) {
  PassWork by_element(operation, stack, tool, tool_number, request);
  PassOutcome outcome = by_element.run();
  if (by_element.measured()) return outcome;
  if (!stack.by_element) {
    auto const common = with_common_elements(stack);
    return common ? restep_by_rails(operation, stack, *common, tool, tool_number, request) : outcome;
  }
  // As many elements on every level need not be the same elements: chords may have gone from one arc to
  // another.
  Stack in_plan = stack;
  in_plan.by_element = false;
  PassWork by_geometry(operation, in_plan, tool, tool_number, request);
  PassOutcome second = by_geometry.run();
  if (by_geometry.measured()) return second;
  return restep_by_rails(operation, stack, stack, tool, tool_number, request);
}

} // namespace restep::finish
