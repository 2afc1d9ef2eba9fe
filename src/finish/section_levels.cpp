#include "finish/section_levels.hpp"

#include "cutter/cusp.hpp"
#include "finish/place_levels.hpp"
#include "finish/rolled_edge.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace restep::finish {

namespace {

// The plan; where the direction of the cut alternates, one level more than the least if the last level's own
// direction asks for it.
cutter::LevelPlan plan_in_turn(Section const& section, SectionRequest const& request,
                               cutter::FinishTarget target) {
  cutter::StepLimits step = request.limits;
  auto const planned = [&] {
    return request.levels_at_edges ? plan_between_edges(section.meridian, section.tool, target, step)
                                   : cutter::plan_levels(section.meridian, section.tool, target, step);
  };
  cutter::LevelPlan plan = planned();
  if (!section.stack.alternates()) return plan;
  bool const ends_differ =
      section.stack.levels[section.first_cut].turned() != section.stack.levels[section.last_cut].turned();
  for (int round = 0; round < 200 && (plan.s.size() % 2 == 0) != ends_differ; ++round) {
    target.limit *= 0.98;
    step.max_stepdown *= 0.99;
    plan = planned();
  }
  return plan;
}

// True when every level stands below the one before it.
bool apart(std::vector<Vec2> const& tips, double resolution) {
  for (std::size_t k = 1; k < tips.size(); ++k)
    if (tips[k - 1].y - tips[k].y < 0.3 * resolution) return false;
  return true;
}

// True when the program's own levels meet the target, or would if the offsets of a pair were a digit nearer
// together or farther apart, as they may have been before they were written; and step down no further than
// they may.
bool meets_but_for_digits(Section const& section, SectionRequest const& request) {
  constexpr double fit = 1.01; // the surface is known from the levels' digits as well
  for (std::size_t k = 1; k < section.own.size(); ++k) {
    Vec2 const upper = section.own[k - 1];
    Vec2 const lower = section.own[k];
    if (std::abs(upper.y - lower.y) > request.limits.max_stepdown + 1e-6) return false;
    auto const within = [&](double apart) {
      Vec2 const half{apart / 2, 0};
      return cutter::finish_figure(request.target, section.tool, section.meridian, upper - half,
                                   lower + half) <= fit * request.target.limit;
    };
    if (!within(0) && !within(request.own_resolution) && !within(-request.own_resolution)) return false;
  }
  return true;
}

// The tips of a section whose levels between its ends stand where `place` says.
template <class Place>
std::vector<Vec2> between_ends(std::vector<Vec2> const& own, std::vector<ShapedLevel> const& inner,
                               Place const& place) {
  std::vector<Vec2> tips{own.front()};
  for (ShapedLevel const& level : inner)
    tips.push_back(place(level));
  tips.push_back(own.back());
  return tips;
}

} // namespace

std::vector<Vec2> tips_between_ends(std::vector<Vec2> const& own, std::vector<ShapedLevel> const& inner) {
  return between_ends(own, inner, [](ShapedLevel const& level) { return level.tip; });
}

SectionLevels solve_section(Section const& section, SectionRequest const& request) {
  SectionLevels result;
  if (section.own.size() < 2) return result;
  cutter::FinishTarget const& wanted = request.target;
  cutter::FinishTarget planned = wanted;
  // The written levels decide: when the digits push a pair over the target, plan a little below it.
  auto const figure = [&](std::vector<Vec2> const& tips) {
    return cutter::measure_levels(section.meridian, section.tool, wanted, tips).figure_max;
  };
  double best = std::numeric_limits<double>::infinity();
  for (int round = 0; round < 8 && best > wanted.limit; ++round) {
    cutter::LevelPlan const plan = plan_in_turn(section, request, planned);
    result.target_missed = plan.target_missed;
    auto levels = place_levels(section.meridian, plan.s, section.stack, section.offsets,
                               {section.tool, wanted, request.resolution, request.limits.max_stepdown,
                                section.own.front(), section.own.back()});
    double const got = std::max(
        figure(tips_between_ends(section.own, levels)),
        figure(between_ends(section.own, levels, [](ShapedLevel const& level) { return level.written(); })) /
            (1 + written_slack));
    if (got < best) {
      best = got;
      result.levels = std::move(levels);
    }
    if (plan.target_missed) break;
    // Below the plan's own figure, which may already be lower than the target.
    planned.limit = std::min(planned.limit, plan.figure_max) * std::clamp(wanted.limit / got, 0.9, 0.999);
  }
  if (!apart(tips_between_ends(section.own, result.levels), request.resolution)) {
    result.too_fine = true;
    return result;
  }
  constexpr double by_digits = 1.2;
  if (!result.target_missed && best > by_digits * wanted.limit + 2 * request.resolution) {
    result.unreached = best;
    return result;
  }
  // A pass that meets the target with the least number of levels, or one more, is left alone.
  bool const meets = meets_but_for_digits(section, request);
  // Where the direction alternates, one more of its kind is two more.
  if (meets && section.own.size() <= result.levels.size() + (section.stack.alternates() ? 4 : 3)) return {};
  result.replaced = true;
  return result;
}

double digits_cusp(cutter::Meridian const& meridian, cutter::Tool const& tool, std::vector<Vec2> const& tips,
                   double digit) {
  double const of_two_levels = std::sqrt(2.0) * digit;
  double worst = 0;
  auto const cusp = [&](Vec2 upper, Vec2 lower) {
    worst = std::max(worst, cutter::cusp_peak_to_valley(tool, meridian, upper, lower));
  };
  for (std::size_t k = 1; k < tips.size(); ++k) {
    Vec2 const upper = tips[k - 1];
    Vec2 const lower = tips[k];
    cusp(upper + Vec2{of_two_levels, 0}, lower);
    cusp(upper - Vec2{of_two_levels, 0}, lower);
    // Next to a wall both may come to stand at the same offset.
    if (lower.x - upper.x < of_two_levels) cusp({lower.x - 1e-9, upper.y}, lower);
  }
  return worst;
}

} // namespace restep::finish
