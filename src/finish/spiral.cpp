#include "finish/spiral.hpp"

#include "cutter/cusp.hpp"
#include "cutter/step_solver.hpp"
#include "cutter/tapered.hpp"
#include "finish/spiral_fit.hpp"
#include "finish/spiral_open.hpp"
#include "finish/spiral_roll.hpp"
#include "finish/spiral_way.hpp"
#include "geometry/constants.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

namespace restep::finish {

namespace {

using geometry::um;
// Places round the contour at which cusps are measured.
constexpr int rails = 48;

class SpiralWork {
public:
  SpiralWork(std::span<motion::Step const> operation, SpiralPass const& pass, cutter::Tool const* tool,
             int tool_number, PassRequest const& request)
      : operation_(operation)
      , pass_(pass)
      , tool_(tool)
      , request_(request) {
    PassReport& r = outcome_.report;
    r = begun_report(operation.subspan(pass.first_step, pass.last_step + 1 - pass.first_step), tool,
                     tool_number);
    r.shape = "spiral";
  }

  SpiralOutcome run() {
    outcome_.report.reason = attempt();
    if (outcome_.report.status == PassStatus::restepped) outcome_.meridian = std::move(meridian_);
    return std::move(outcome_);
  }

private:
  using TipAt = std::function<Vec2(double)>; ///< of turns

  std::string attempt() {
    PassReport& report = outcome_.report;
    if (!pass_.spiral) return pass_.spiral.error();
    spiral_ = &*pass_.spiral;
    auto const own = [this](double turn) { return spiral_->at(turn); };
    report.before.positions = whole_turns(own, spiral_->turns);
    report.before.levels = report.before.positions.size();
    report.after = report.before;
    if (tool_ == nullptr)
      return fmt::format("tool T{} is not in the tool table: its diameter and corner radius are needed",
                         report.tool);
    if (!tool_->can_finish()) return cutter::why_not_finishing(*tool_, report.tool);
    if (std::string trouble = fit(); !trouble.empty()) return trouble;
    if (std::string trouble = cutter::beyond_side(*tool_, cutter::steepest_slope(meridian_));
        !trouble.empty())
      return trouble;
    describe_surface();
    measure(
        report.before, [this](double turn) { return on_surface(turn); }, spiral_->turns, spiral_->turns);
    report.after = report.before;

    if (!request_.finish && request_.limits.max_stepdown == 0) return "no finish was asked for";
    report.target_um = request_.finish ? um * request_.finish->limit : 0;
    bool const cusps =
        std::any_of(report.surface.begin(), report.surface.end(),
                    [](cutter::Surface const& s) { return s.kind != cutter::SurfaceKind::wall; });
    if (!cusps && request_.limits.max_stepdown == 0) return "a vertical wall: its stepdown leaves no cusp";
    if (!cusps && request_.finish && !request_.named)
      return "a vertical wall: its stepdown leaves no cusp; name the pass to give it the largest stepdown";
    return restep();
  }

  // One tip for every turn that the pass makes, the closing turn included.
  static std::vector<Vec2> whole_turns(TipAt const& tip, double turns) {
    std::vector<Vec2> tips;
    double t = 0;
    while (t < turns - 1e-6) {
      tips.push_back(tip(t));
      t += 1;
    }
    tips.push_back(tip(turns));
    return tips;
  }

  std::string fit() {
    own_resolution_ =
        resolution_of(operation_.subspan(pass_.first_step, pass_.last_step + 1 - pass_.first_step));
    auto found = fit_spiral(*spiral_, own_resolution_);
    if (!found) return found.error();
    meridian_ = std::move(found->meridian);
    residual_ = found->residual;
    return {};
  }

  void describe_surface() {
    PassReport& report = outcome_.report;
    report.fit_residual_um = um * residual_;
    report.surface = meridian_.surfaces(tool_->corner_radius);
    report.meridian = meridian_;
    cutter::Piece const& top = meridian_.pieces().front();
    if (top.shape == cutter::Piece::Shape::arc && top.convex)
      report.uncovered_mm = std::max(0.0, top.centre.y + top.rho - top.from.y);
    if (request_.extend && report.uncovered_mm > 0)
      report.not_extended = "it is a spiral, and turns are not put above its first";
  }

  // The place on the meridian of the program's own spiral.
  Vec2 on_surface(double turn) const { return meridian_.at(meridian_.nearest(spiral_->at(turn))); }

  // Figures of a spiral whose positions at whole turns are known, over places all round the contour. The
  // smallest cusp is that of the pairs which the target rules: not of those that the stepdown limit rules,
  // and not of turns with those behind the course, which run together.
  void measure(LevelFigures& figures, TipAt const& tip, double turns, double course_end) const {
    std::vector<Vec2> const& whole = figures.positions;
    figures.levels = whole.size();
    figures.stepdown_min_mm = std::numeric_limits<double>::infinity();
    figures.stepdown_max_mm = 0;
    for (std::size_t k = 1; k < whole.size(); ++k) {
      double const drop = whole[k - 1].y - whole[k].y;
      figures.stepdown_min_mm = std::min(figures.stepdown_min_mm, drop);
      figures.stepdown_max_mm = std::max(figures.stepdown_max_mm, drop);
    }
    double least = std::numeric_limits<double>::infinity();
    figures.cusp_max_um = figures.ra_um = 0;
    for_pairs(tip, turns, [&](Vec2 upper, Vec2 lower, double to) {
      double const cusp = um * cutter::cusp_peak_to_valley(*tool_, meridian_, upper, lower);
      figures.cusp_max_um = std::max(figures.cusp_max_um, cusp);
      figures.ra_um = std::max(figures.ra_um, um * cutter::ra_between(*tool_, meridian_, upper, lower));
      bool const limited = upper.y - lower.y >= 0.95 * figures.stepdown_max_mm;
      if (to <= course_end && !limited && cusp > 0) least = std::min(least, cusp);
    });
    figures.cusp_min_um = std::isfinite(least) ? least : figures.cusp_max_um;
  }

  // With each turn nearer to the one above by so much of the surface's length.
  double largest_figure(TipAt const& tip, double turns, double nearer = 0) const {
    double largest = 0;
    for_pairs(tip, turns, [&](Vec2 upper, Vec2 lower, double) {
      if (nearer > 0) {
        double const s = std::max(meridian_.nearest(lower) - nearer, meridian_.nearest(upper));
        lower = meridian_.at(s);
      }
      largest = std::max(largest, cutter::finish_figure(target(), *tool_, meridian_, upper, lower));
    });
    return largest;
  }

  // Neighbouring turns at places all round the contour, between those the course was planned at, and after
  // how many turns the lower one stands there; for the closing turn infinitely many.
  template <class Take>
  void for_pairs(TipAt const& tip, double turns, Take const& take) const {
    Vec2 const closing = tip(turns);
    for (int i = 0; i < rails; ++i) {
      double t = (i + 0.5 * (i % 2)) / rails;
      for (; t + 1 < turns; t += 1)
        take(tip(t), tip(t + 1), t + 1);
      if (t < turns && !spiral_->open) take(tip(t), closing, std::numeric_limits<double>::infinity());
    }
  }

  cutter::StepLimits limits() const { return limits_of(request_, outcome_.report); }
  cutter::FinishTarget target() const { return target_of(request_, outcome_.report); }

  // The course is planned for some places of the contour; between them the cusp may stand out a little:
  // `planned` becomes what the way is planned for.
  SpiralWay way_for(cutter::FinishTarget& planned, cutter::StepLimits const& allowed,
                    OwnSpiral const& own) const {
    double const wanted = planned.limit;
    SpiralWay way;
    for (int round = 0; round < 6; ++round) {
      way = SpiralWay::plan(meridian_, *tool_, planned, allowed, own);
      double const got = largest_figure([&](double turn) { return meridian_.at(way.s(turn)); }, way.turns());
      if (got <= 1.001 * wanted || way.target_missed()) break;
      planned.limit *= std::clamp(wanted / got, 0.9, 0.998);
    }
    return way;
  }

  std::string held_back(OwnSpiral const& own) const {
    if (!bound_by_own_stepdown(request_)) return {};
    cutter::FinishTarget planned = target();
    SpiralWay const free = way_for(planned, {0, request_.limits.min_stepdown}, own);
    std::size_t const turns =
        whole_turns([&](double turn) { return meridian_.at(free.s(turn)); }, free.turns()).size();
    return held_back_in_words(outcome_.report, outcome_.report.before.levels, turns, "turns");
  }

  std::string restep() {
    PassReport& report = outcome_.report;
    cutter::FinishTarget const wanted = target();
    cutter::FinishTarget planned = wanted;
    // Above a first turn on a wall the side of the tool leaves nothing.
    bool const level = spiral_->begins_level || spiral_->away == 0;
    OwnSpiral const own{[this](double turn) { return meridian_.nearest(spiral_->at(turn)); }, spiral_->turns,
                        level, spiral_->open};
    SpiralWay const way = way_for(planned, limits(), own);
    auto const on_way = [&](double turn) { return meridian_.at(way.s(turn)); };

    // Half a digit in height and in plan moves each of two turns along the surface.
    double const digits = std::numbers::sqrt2 * own_resolution_;
    double const now =
        largest_figure([this](double turn) { return on_surface(turn); }, spiral_->turns, digits);
    bool const meets = now <= 1.01 * wanted.limit &&
                       report.before.stepdown_max_mm <= limits().max_stepdown + own_resolution_ + 1e-6;
    if (meets && spiral_->turns <= way.turns() + 1 + 1e-6)
      return "it already has the least number of turns that meets the target" + held_back(own);

    UnrolledSpiral parted = *spiral_;
    double const near = 4 * own_resolution_;
    if (way.first_kept() > 0) parted.part_at(1, near);
    if (parted.open) parted.part_at(parted.turns - 1, near);
    auto steps = roll_up(operation_, parted, meridian_, way, request_.resolution);
    if (!steps) return steps.error();
    if (rises(*steps))
      return fmt::format(
          "on the digits of its coordinates ({} mm) its path would rise where it falls slowest",
          request_.resolution);
    report.after.positions = whole_turns(on_way, way.turns());
    measure(report.after, on_way, way.turns(), way.course_end());
    report.status = PassStatus::restepped;
    outcome_.steps = std::move(*steps);
    for (std::size_t i = spiral_->last + 1; i <= pass_.last_step; ++i)
      outcome_.steps.push_back(operation_[i]);
    return in_words(way);
  }

  // Other than straight up, from a turn back to where the next one begins.
  static bool rises(std::vector<motion::Step> const& steps) {
    return std::any_of(steps.begin(), steps.end(), [](motion::Step const& step) {
      motion::Motion const* m = motion::motion_of(step);
      return m != nullptr && m->to.z > m->from.z + 1e-6 && geometry::xy(m->to) != geometry::xy(m->from);
    });
  }

  std::string in_words(SpiralWay const& way) {
    PassReport& report = outcome_.report;
    std::string text = fmt::format("{} turns instead of {}", report.after.levels, report.before.levels);
    cutter::Meridian const* const meridian = &meridian_;
    find_constant(report, {&meridian, 1}, *tool_, request_);
    if (report.constant_levels > 0)
      text += fmt::format("; a constant {:.4f} mm per turn would need {}", report.constant_stepdown_mm,
                          report.constant_levels);
    if (way.target_missed()) text += "; the least stepdown forbids the target in places";
    return text;
  }

  std::span<motion::Step const> operation_;
  SpiralPass const& pass_;
  cutter::Tool const* tool_;
  PassRequest const& request_;
  UnrolledSpiral const* spiral_ = nullptr;
  double own_resolution_ = 0.001; ///< mm per last digit of the program
  cutter::Meridian meridian_;
  double residual_ = 0;
  SpiralOutcome outcome_;
};

} // namespace

namespace {

// What follows the last turn may lead out and go on falling: a run that is not understood may be one without
// its last motions.
std::optional<UnrolledSpiral> without_lead_out(std::span<motion::Step const> operation, SpiralRun run,
                                               UnrollLimits const& limits) {
  constexpr int most = 4; // motions
  for (int left_out = 0; left_out < most; ++left_out) {
    do {
      if (run.last <= run.first) return std::nullopt;
      --run.last;
    } while (motion::motion_of(operation[run.last]) == nullptr);
    run.loop_last = run.last;
    if (auto spiral = unroll_open(operation, run, limits)) return *std::move(spiral);
  }
  return std::nullopt;
}

} // namespace

std::vector<SpiralPass> find_spirals(std::span<motion::Step const> operation, double max_shift) {
  std::vector<SpiralPass> passes;
  for (SpiralRun const& run : find_spiral_runs(operation, max_shift)) {
    UnrollLimits limits;
    limits.max_shift = max_shift;
    limits.resolution = resolution_of(operation.subspan(run.first, run.last + 1 - run.first));
    std::size_t last = run.loop_last;
    auto spiral = run.loop.empty() ? std::optional(unroll_open(operation, run, limits))
                                   : unroll(operation, run, limits);
    if (run.loop.empty() && !*spiral)
      if (auto without = without_lead_out(operation, run, limits)) {
        last = without->last;
        spiral = *std::move(without);
      }
    if (!spiral && !run.goes_round) continue;
    if (!spiral)
      spiral = tl::unexpected(std::string("its turns cannot be followed as offsets of its last one"));
    if (*spiral) (*spiral)->begins_level = begins_level(operation, (*spiral)->first);
    std::size_t const first = *spiral ? (*spiral)->first : run.first;
    passes.push_back({first, last, std::move(*spiral)});
  }
  return passes;
}

SpiralOutcome restep_spiral(std::span<motion::Step const> operation, SpiralPass const& pass,
                            cutter::Tool const* tool, int tool_number, PassRequest const& request) {
  return SpiralWork(operation, pass, tool, tool_number, request).run();
}

} // namespace restep::finish
