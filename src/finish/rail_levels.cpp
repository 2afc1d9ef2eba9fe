#include "finish/rail_levels.hpp"

#include "cutter/cusp_row.hpp"
#include "finish/rail_march.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace restep::finish {

namespace {

using cutter::CuspRow;

// Where every rail falls at 45 degrees or more, a height on the digits moves the contours by less than that.
bool steep_at(RailSurface const& surface, double z) {
  return std::all_of(surface.rails().begin(), surface.rails().end(), [z](Rail const& rail) {
    cutter::Meridian const& m = rail.meridian;
    return -m.tangent(m.down_to(z)).y >= std::sqrt(0.5);
  });
}

// The levels between two that stay.
class Part {
public:
  Part(RailSurface const& surface, cutter::Tool const& tool, RailRequest const& request, RailMarch& march,
       RailLevel const& top, RailLevel const& bottom)
      : surface_(surface)
      , tool_(tool)
      , request_(request)
      , march_(march)
      , top_(top)
      , bottom_(bottom) {}

  tl::expected<std::vector<RailLevel>, std::string> run() {
    Marched found = march({});
    std::size_t number = found.levels.size();
    // Both levels that stay count as well.
    if (request_.even && (number % 2 == 0) != *request_.even) ++number;
    // What does not hold the target on the digits is not worth the work.
    if (request_.even || found.between_new <= request_.target.limit) spread(found, number);
    if (!trouble_.empty()) return tl::unexpected(trouble_);
    least_forbids_ = found.least_forbids;
    return std::move(found.levels);
  }

  bool least_forbids() const { return least_forbids_; }

private:
  struct Marched {
    std::vector<RailLevel> levels;
    double steps = 0;       ///< how many of the largest steps they are worth
    double limited = 0;     ///< how many of them the stepdown limit rules
    double worst = 0;       ///< figure
    double between_new = 0; ///< the same without what the levels that stay and the last new one leave
    double remainder = 1;   ///< share of the step before that is left for the last one but one
    bool least_forbids = false;
  };

  struct Candidate {
    RailLevel level;
    double figure = 0;
    double ideal = 0; ///< the height that it was to have, before it went to the digits
  };

  // What a march keeps.
  struct Rule {
    double share = 1;           ///< of the target
    double drop = 1;            ///< share of the largest stepdown
    std::size_t lower_from = 0; ///< number of levels before these shares hold
  };

  // As many levels whose figures are alike: first in the steps that the stepdown limit rules, which have no
  // cusp to spoil, then all lower by the same share, or, where the digits are too coarse for that, from one
  // of the levels on.
  void spread(Marched& found, std::size_t number) {
    auto const gaps = static_cast<double>(number + 1);
    auto const lower_drop = [gaps](Marched const& m) {
      return m.limited > 0 ? 1 - 0.998 * (gaps - m.steps) / m.limited : 0;
    };
    if (lower_drop(found) > 0.5)
      lower(found, number, lower_drop, [](double share) { return Rule{1, share, 0}; });
    auto const lower_all = [gaps](Marched const& m) {
      return 1.001 * std::pow(std::min(m.steps / gaps, 1.0), 2);
    };
    auto const all = [](double share) { return Rule{share, std::sqrt(share), 0}; };
    double const lowest = std::min(lower_all(found), 0.93);
    lower(found, number, lower_all, all);
    std::size_t from = 0;
    std::size_t to = number;
    while (trouble_.empty() && from < to && !even(found, number)) {
      std::size_t const middle = (from + to) / 2;
      Rule rule = all(lowest);
      rule.lower_from = middle;
      Marched again = march(rule);
      if (again.levels.size() > number)
        from = middle + 1;
      else
        to = middle;
      if (better(again, found, number)) found = std::move(again);
    }
  }

  // Looks for the lowest share that still has the number. `next`: a share that a march asks for.
  template <class Next, class MakeRule>
  void lower(Marched& found, std::size_t number, Next const& next, MakeRule const& rule) {
    constexpr int rounds = 4;
    constexpr double close = 0.998;
    double high = 1;
    double low = 0;
    double share = next(found);
    for (int round = 0; round < rounds && !even(found, number) && share < close * high; ++round) {
      Marched again = march(rule(share));
      if (!trouble_.empty()) return;
      (again.levels.size() > number ? low : high) = share;
      double const asked = next(again);
      if (better(again, found, number)) found = std::move(again);
      share = low == 0 && asked < share ? asked : 0.5 * (low + high);
    }
  }

  bool even(Marched const& m, std::size_t number) const {
    constexpr double nearly = 0.95; // of the step before: nine tenths of its cusp
    return m.levels.size() == number && m.remainder >= nearly && m.worst <= request_.target.limit;
  }

  // More of what counts: the number, the target, the last gap.
  bool better(Marched const& a, Marched const& b, std::size_t number) const {
    bool const right = a.levels.size() == number;
    if (right != (b.levels.size() == number)) return right;
    double const limit = request_.target.limit;
    if (std::max(a.worst, limit) != std::max(b.worst, limit)) return a.worst < b.worst;
    return a.remainder > b.remainder;
  }

  // From the top down to the last new level.
  Marched march(Rule const& rule) {
    Marched out;
    double const target = request_.target.limit;
    above_ = no_levels();
    add(top_.row);
    written_ = top_.z;
    ruled_ = 1;
    if (bottom_in_reach()) return out;
    // The levels that stay have the program's digits and chords: what leads to the lower one is laid first.
    limit_ = rule.share * target;
    std::optional<Candidate> const end = last_level(rule);
    if (!end) return out;
    out.worst = end->figure;
    out.steps = worth(end->figure, end->level.z - bottom_.z);
    double from = top_.exact;
    double drop = 0; // of the last step
    while (out.levels.size() < cutter::max_levels) {
      Rule const here = out.levels.size() < rule.lower_from ? Rule{} : rule;
      if (out.levels.empty() || out.levels.size() == rule.lower_from)
        ruled_ = std::min(ruled_, std::sqrt(here.share));
      limit_ = here.share * target;
      RailMarch::Step const step = march_.deepest(from, end->level.exact);
      bool const near = step.to <= end->level.exact && within_drop(end->level.z, here.drop);
      bool const room = step.from - end->level.exact >= 2 * march_.least_step();
      double const alone = near && room ? figure_with(end->level.row) : 0;
      std::optional<Candidate> next = !near            ? next_level(step, here.drop, end->level.z)
                                      : alone > target ? last_but_one(step, end->level, alone)
                                                       : std::nullopt;
      if (!trouble_.empty()) return out;
      if (next) {
        out.least_forbids = out.least_forbids || (step.least && next->figure > limit_);
        out.worst = std::max(out.worst, next->figure);
        if (!out.levels.empty()) out.between_new = std::max(out.between_new, next->figure);
        out.limited += step.rail ? 0 : 1;
        drop = written_ - next->level.z;
        out.steps += worth(next->figure, drop);
        bool const carried = std::abs(next->ideal - next->level.exact) <= request_.resolution;
        from = carried ? next->ideal : next->level.exact;
        written_ = next->level.z;
        add(next->level.row);
        out.levels.push_back(std::move(next->level));
      }
      if (!next || near) break;
    }
    double const last = figure_with(end->level.row);
    out.worst = std::max(out.worst, last);
    double const remainder = written_ - end->level.z;
    out.remainder = drop > 0 ? std::min(remainder / drop, 1.0) : 1;
    out.steps += std::min(worth(last, remainder), out.remainder);
    out.levels.push_back(end->level);
    return out;
  }

  std::vector<CuspRow> no_levels() const {
    std::vector<CuspRow> rows;
    rows.reserve(surface_.rails().size());
    for (Rail const& rail : surface_.rails())
      rows.emplace_back(tool_, rail.meridian);
    return rows;
  }

  bool bottom_in_reach() {
    return march_.deepest(top_.exact, bottom_.exact).to <= bottom_.exact && within_drop(bottom_.z, 1) &&
           figure_with(bottom_.row) <= request_.target.limit;
  }

  // The highest level from which one step leads to the bottom; where the digits allow none, the one that
  // leaves least.
  std::optional<Candidate> last_level(Rule const& rule) {
    RailMarch::Step const step = march_.ending_at(bottom_.exact, top_.exact);
    double const digit = request_.resolution;
    double const most = request_.limits.max_stepdown;
    std::optional<Candidate> best;
    double share = step.least ? 1 : step.rail ? std::sqrt(rule.share) : rule.drop;
    while (share > 0.1) {
      double const tried = share;
      share *= 0.95;
      double z = settled(std::max(march_.part_of(step, 1 - tried), step.to + march_.least_step()));
      if (most > 0 && written(z) - bottom_.z > most + 1e-9) z = written(z) - digit;
      if (written(z) < bottom_.z + 0.9 * digit) break;
      if (written(z) > top_.z - 0.9 * digit) continue;
      auto candidate = shaped_at(z);
      if (!candidate) break;
      std::vector<CuspRow> rows = no_levels();
      candidate->figure = 0;
      for (std::size_t i = 0; i < rows.size(); ++i) {
        rows[i].add(candidate->level.row.tips[i]);
        candidate->figure = std::max(candidate->figure, figure_of(i, rows[i].with(bottom_.row.tips[i])));
      }
      if (!best || candidate->figure < best->figure) best = std::move(candidate);
      if (best->figure <= limit_ || step.least) break;
    }
    return best;
  }

  // One more level before the last, where both leave less than that would alone.
  std::optional<Candidate> last_but_one(RailMarch::Step const& step, RailLevel const& last, double alone) {
    std::optional<Candidate> best;
    double least = 0.97 * alone;
    for (double const share : {0.5, 0.4, 0.6, 0.3, 0.7}) {
      auto candidate = candidate_at(march_.part_of(step, share), last.z);
      if (!candidate || candidate->figure >= least) continue;
      std::vector<CuspRow> const before = above_;
      add(candidate->level.row);
      double const worst = std::max(candidate->figure, figure_with(last.row));
      above_ = before;
      if (worst >= least) continue;
      least = worst;
      best = std::move(candidate);
    }
    return best;
  }

  bool within_drop(double z, double share) const {
    double const most = request_.limits.max_stepdown;
    return most <= 0 || written_ - z <= share * most + 1e-9;
  }

  // A step's share of the largest that the target and the stepdown limit allow.
  double worth(double figure, double drop) const {
    double const most = request_.limits.max_stepdown;
    return std::min(std::max(std::sqrt(figure / request_.target.limit), most > 0 ? drop / most : 0), 1.0);
  }

  // The deepest level that keeps the limit, as far as a few trials find it; where none does, the one that
  // comes nearest. Nothing where no digit is left above the bottom.
  std::optional<Candidate> next_level(RailMarch::Step const& step, double share_of_drop, double end) {
    constexpr int trials = 6;
    constexpr int most_worse = 4;
    constexpr double well = 0.993; // of the limit
    double const most = step.least || step.rail ? 1 : share_of_drop;
    double share = step.least ? 1 : step.rail ? ruled_ : share_of_drop;
    double good_share = 0;
    double too_deep = std::numeric_limits<double>::infinity();
    double tried = std::numeric_limits<double>::infinity();
    std::optional<Candidate> good, best;
    int worse = 0;
    for (int trial = 0; share > 0.05; ++trial) {
      double ideal = std::min(march_.part_of(step, share), step.from - march_.least_step());
      auto exact = height_at(ideal, end);
      if (exact && *exact == tried && !good) {
        // On the digits the next one up.
        ideal = *exact + request_.resolution;
        exact = height_at(ideal, end);
      }
      if (!exact || *exact == tried) break;
      tried = *exact;
      auto candidate = candidate_at(ideal, end);
      if (!candidate) break;
      double const figure = candidate->figure;
      bool const keeps = figure <= limit_;
      worse = best && figure >= best->figure ? worse + 1 : 0;
      if (keeps && (!good || candidate->level.z < good->level.z)) {
        good = candidate;
        good_share = share;
      }
      if (!best || figure < best->figure) best = std::move(candidate);
      if (step.least || (good && trial + 1 >= trials) || (!good && worse > most_worse)) break;
      if (!keeps) too_deep = std::min(too_deep, share);
      if (keeps && (figure > well * limit_ || share >= most || figure <= 0)) break;
      if (keeps)
        share = std::min({share * std::sqrt(0.998 * limit_ / figure), 0.5 * (share + too_deep), most});
      else if (good)
        share = 0.5 * (good_share + share);
      else
        share *= std::clamp(std::sqrt(0.996 * limit_ / figure), 0.85, 0.998);
      if (good && share < 1.001 * good_share) break;
    }
    if (!good) return best;
    if (step.rail) ruled_ = good_share;
    return good;
  }

  // The height that contours shall have near the one given: on the digits where that moves them by less than
  // the height. Elsewhere they stay where they belong and only the written height is rounded, which is worth
  // half a digit times the cosine of the slope.
  double settled(double z) const { return steep_at(surface_, z) ? on_digits(z, request_.resolution) : z; }
  double written(double z) const { return on_digits(z, request_.resolution); }

  // The next level's height, between the one before and that of `end`.
  std::optional<double> height_at(double z, double end) const {
    double const digit = request_.resolution;
    double const most = request_.limits.max_stepdown;
    z = settled(z);
    if (most > 0 && written_ - written(z) > most + 1e-9) z = written(z) + digit;
    if (written(z) > written_ - 0.9 * digit) z = written(written_) - digit;
    if (written(z) < end + 0.9 * digit) return std::nullopt;
    return z;
  }

  std::optional<Candidate> candidate_at(double ideal, double end) {
    auto const exact = height_at(ideal, end);
    if (!exact) return std::nullopt;
    auto candidate = shaped_at(*exact);
    if (!candidate) return std::nullopt;
    candidate->ideal = ideal;
    candidate->figure = figure_with(candidate->level.row);
    return candidate;
  }

  std::optional<Candidate> shaped_at(double exact) {
    Candidate candidate;
    RailLevel& level = candidate.level;
    level.exact = exact;
    level.z = written(exact);
    level.shaped = shape_contours(surface_.contours_at(exact), surface_.away(),
                                  {surface_.mean_way(exact), level.z}, request_.resolution);
    auto row = row_across(surface_, contours_as_cut(level.shaped), level.z);
    if (!row) {
      trouble_ = std::move(row.error());
      return std::nullopt;
    }
    level.row = std::move(*row);
    return candidate;
  }

  double figure_with(RailRow const& row) const {
    double worst = 0;
    for (std::size_t i = 0; i < above_.size(); ++i)
      worst = std::max(worst, figure_of(i, above_[i].with(row.tips[i])));
    return worst;
  }

  double figure_of(std::size_t rail, CuspRow::Peak const& peak) const {
    return rail_figure(request_.target.kind, tool_, surface_.rails()[rail], peak);
  }

  void add(RailRow const& row) {
    for (std::size_t i = 0; i < above_.size(); ++i)
      above_[i].add(row.tips[i]);
  }

  RailSurface const& surface_;
  cutter::Tool const& tool_;
  RailRequest const& request_;
  RailMarch& march_;
  RailLevel const& top_;
  RailLevel const& bottom_;
  std::vector<CuspRow> above_; ///< of the levels so far, per rail
  double limit_ = 0;           ///< of the march that goes on
  double written_ = 0;         ///< height of its last level
  double ruled_ = 1;           ///< share of the exact step that the last level came out with
  bool least_forbids_ = false;
  std::string trouble_;
};

} // namespace

tl::expected<RailPlan, std::string> plan_rail_levels(RailSurface const& surface, cutter::Tool const& tool,
                                                     RailRequest const& request,
                                                     std::vector<RailLevel> const& stay) {
  RailMarch march(surface, tool, request.target, request.limits);
  RailPlan plan;
  plan.levels.push_back(stay.front());
  for (std::size_t i = 1; i < stay.size(); ++i) {
    Part part(surface, tool, request, march, stay[i - 1], stay[i]);
    auto levels = part.run();
    if (!levels) return tl::unexpected(levels.error());
    for (RailLevel& level : *levels)
      plan.levels.push_back(std::move(level));
    plan.levels.push_back(stay[i]);
    plan.least_forbids = plan.least_forbids || part.least_forbids();
  }
  if (request.even && (plan.levels.size() % 2 == 0) != *request.even)
    return tl::unexpected(fmt::format("the direction of the cut alternates, and no {} number of levels was "
                                      "found that keeps it so",
                                      *request.even ? "even" : "odd"));
  plan.figures = measure_rail_levels(surface, tool, request.target, plan.levels);
  return plan;
}

} // namespace restep::finish
