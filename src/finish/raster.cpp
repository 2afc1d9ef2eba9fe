#include "finish/raster.hpp"

#include "finish/raster_lines.hpp"
#include "finish/raster_plan.hpp"
#include "geometry/constants.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

namespace restep::finish {

namespace {

using geometry::um;

// Lines as rows in rising v, in the pass's frame; `falling` when they are cut the other way. None when a line
// goes back on itself.
std::optional<std::vector<RasterRow>> rows_of(RasterPass const& pass, double digit, bool& falling) {
  std::vector<RasterRow> rows;
  for (RasterLine const& line : pass.lines) {
    auto row = row_of(line, pass.frame, digit);
    if (!row) return std::nullopt;
    rows.push_back(std::move(*row));
  }
  falling = rows.back().v < rows.front().v;
  if (falling) std::reverse(rows.begin(), rows.end());
  return rows;
}

class RasterWork {
public:
  RasterWork(std::span<motion::Step const> operation, RasterPass const& pass, cutter::Tool const* tool,
             int tool_number, PassRequest const& request, bool whole_strips)
      : operation_(operation)
      , pass_(pass)
      , tool_(tool)
      , request_(request)
      , whole_strips_(whole_strips) {
    PassReport& r = outcome_.report;
    r = begun_report(operation.subspan(pass.first_step(), pass.last_step() + 1 - pass.first_step()), tool,
                     tool_number);
    r.shape = parallel_pass;
    r.before.levels = pass.lines.size();
    r.after = r.before;
  }

  RasterOutcome run() {
    outcome_.report.reason = attempt();
    if (request_.extend && outcome_.report.status == PassStatus::restepped)
      outcome_.report.not_extended = "it is a parallel pass, and lines are not put beside its first and last";
    return std::move(outcome_);
  }

private:
  // A part of the pass whose strips are all known, from one row to another.
  struct Part {
    std::size_t first = 0, last = 0;
  };

  std::string attempt() {
    PassReport& report = outcome_.report;
    own_resolution_ =
        resolution_of(operation_.subspan(pass_.first_step(), pass_.last_step() + 1 - pass_.first_step()));
    auto rows = rows_of(pass_, own_resolution_, order_.falling);
    if (!rows) return "one of its lines goes back on itself or its pieces are not cut one after another";
    surface_.emplace(std::move(*rows), own_resolution_);
    RasterMeter const meter = measured(surface_->rows());
    report_raster(report, pass_.frame, meter);
    report.after = report.before;

    if (tool_ == nullptr)
      return fmt::format("tool T{} is not in the tool table: its diameter and corner radius are needed",
                         report.tool);
    if (!tool_->can_finish())
      return fmt::format("tool T{} ({}) is not a flat, ball or bull mill: its cusps are not known",
                         report.tool, cutter::describe(*tool_));
    if (!request_.finish) return "no finish was asked for";
    report.target_um = um * request_.finish->limit;
    if (std::string trouble = direction(meter); !trouble.empty()) return trouble;
    return restep();
  }

  RasterMeter measured(std::vector<RasterRow> const& rows) const {
    RasterMeter meter(tool_ != nullptr && tool_->can_finish() ? tool_ : nullptr);
    for (RasterRow const& row : rows)
      meter.add(row);
    meter.finish();
    return meter;
  }

  std::string direction(RasterMeter const& meter) {
    auto const& rows = surface_->rows();
    order_.alternating = !meter.one_way();
    for (std::size_t k = 1; order_.alternating && k < rows.size(); ++k)
      if (rows[k].pieces.front().backwards() == rows[k - 1].pieces.front().backwards())
        return "the direction of its cut changes between some of its lines and not between others";
    return {};
  }

  // An error of the surface between the lines counts like a cusp: a fifth of the finish at most, and the
  // digits.
  double allowed() const {
    double const cusp =
        request_.finish->kind == cutter::FinishKind::ra ? 4 * request_.finish->limit : request_.finish->limit;
    return 0.2 * cusp + 1.5 * own_resolution_;
  }

  std::vector<Part> parts() {
    outcome_.allowed = allowed();
    std::vector<Part> found;
    std::size_t const strips = surface_->rows().size() - 1;
    trusted_.resize(strips);
    double chords = 0;
    for (std::size_t k = 0; k < strips; ++k) {
      bool const known = surface_->matched(k) && trust(k) && !(whole_strips_ && cut_short(k));
      if (!known) {
        ++kept_strips_;
        continue;
      }
      for (std::size_t const row : {k, k + 1})
        for (RasterCourse const& piece : surface_->rows()[row].pieces)
          chords = std::max(chords, piece.chords());
      // A part keeps the number of its pieces. Where new lines would end short of the program's, both rows
      // stay and new lines are put between them only.
      bool const goes_on = !found.empty() && found.back().last == k && !cut_short(k) && !cut_short(k - 1) &&
                           surface_->rows()[k - 1].pieces.size() == surface_->rows()[k].pieces.size();
      if (goes_on)
        found.back().last = k + 1;
      else
        found.push_back({k, k + 1});
    }
    outcome_.report.raster->chords_um = um * chords;
    return found;
  }

  bool trust(std::size_t k) {
    double worst = 0;
    std::vector<Vec2> pieces;
    for (std::size_t p = 0; p < surface_->rows()[k].pieces.size(); ++p) {
      auto const range = surface_->trusted(k, p, outcome_.allowed, worst);
      if (!range) return false;
      pieces.push_back(*range);
    }
    trusted_[k] = std::move(pieces);
    told_within_ = std::max(told_within_, worst);
    return true;
  }

  // The places of one part, and whether they replace its own.
  std::optional<std::vector<double>> places(Part const& part, RasterRule const& rule) {
    cutter::FinishTarget const& wanted = *request_.finish;
    double const most = tool_->max_stepover > 0 ? tool_->max_stepover : tool_->diameter;
    RasterPlanner const planner(*surface_, part.first, part.last, rule, wanted, most);
    std::size_t const own_steps = part.last - part.first;
    std::vector<double> own;
    for (std::size_t k = part.first; k <= part.last; ++k)
      own.push_back(surface_->rows()[k].v);
    constexpr std::size_t most_steps = 100'000;
    double limit = wanted.limit;
    std::optional<std::vector<double>> best;
    double best_figure = std::numeric_limits<double>::infinity();
    for (int round = 0; round < 6 && best_figure > wanted.limit; ++round) {
      std::size_t steps = planner.march(limit, most_steps).size() - 1;
      if (order_.alternating && steps % 2 != own_steps % 2) ++steps;
      std::vector<double> fresh = on_digits(planner.spread(limit, steps));
      double const figure = planner.worst(fresh);
      if (figure < best_figure) {
        best_figure = figure;
        best = std::move(fresh);
      }
      limit *= std::clamp(wanted.limit / figure, 0.9, 0.999);
    }
    double const digits = 0.01 * wanted.limit + 0.3 * own_resolution_;
    double const spare = order_.alternating ? 3 : 2;
    if (planner.worst(own) <= wanted.limit + digits &&
        static_cast<double>(own_steps) <= static_cast<double>(best->size() - 1) + spare)
      return std::nullopt;
    constant(planner, best->size() - 1);
    for (RasterPair const& pair : planner.figures(*best)) {
      outcome_.promised = std::max(outcome_.promised, pair.most);
      pairs_.push_back(pair);
    }
    return best;
  }

  // Heights in a strip are not known up to the ends of its lines.
  bool cut_short(std::size_t k) const {
    double const digit = 4 * own_resolution_;
    for (std::size_t p = 0; p < trusted_[k].size(); ++p) {
      RasterCourse const& a = surface_->rows()[k].pieces[p];
      RasterCourse const& b = surface_->rows()[k + 1].pieces[p];
      if (trusted_[k][p].x > std::min(a.begin(), b.begin()) + digit ||
          trusted_[k][p].y < std::max(a.end(), b.end()) - digit)
        return true;
    }
    return false;
  }

  void constant(RasterPlanner const& planner, std::size_t steps) {
    if (!one_part_) return;
    std::size_t const equal = planner.equal_steps(request_.finish->limit, steps, 20 * steps);
    if (equal == 0) return;
    auto const& rows = surface_->rows();
    outcome_.report.constant_levels = equal + 1;
    outcome_.report.constant_stepdown_mm = (rows.back().v - rows.front().v) / static_cast<double>(equal);
  }

  // Lines along an axis lie on whole digits of the other.
  std::vector<double> on_digits(std::vector<double> places) const {
    bool const along_axis = pass_.frame.u.x == 0 || pass_.frame.u.y == 0;
    if (!along_axis) return places;
    for (std::size_t i = 1; i + 1 < places.size(); ++i)
      places[i] = std::round(places[i] / request_.resolution) * request_.resolution;
    for (std::size_t i = 1; i < places.size(); ++i)
      if (!(places[i] > places[i - 1])) places.erase(places.begin() + static_cast<std::ptrdiff_t>(i--));
    return places;
  }

  std::string restep() {
    PassReport& report = outcome_.report;
    std::vector<Part> const found = parts();
    report.raster->kept_strips = kept_strips_;
    report.raster->told_within_um = um * told_within_;
    if (found.empty())
      return fmt::format("the surface between its lines is not known within {:.2f} um anywhere",
                         um * outcome_.allowed);
    one_part_ = found.size() == 1 && kept_strips_ == 0;
    RasterRule const rule(*tool_);
    std::vector<PlannedLine> planned{std::size_t{0}};
    bool changed = false;
    std::size_t row = 0;
    auto const own_up_to = [&](std::size_t last) {
      count_own(row, last);
      while (row < last)
        planned.emplace_back(++row);
    };
    for (Part const& part : found) {
      own_up_to(part.first);
      auto const fresh = places(part, rule);
      if (fresh) {
        changed = true;
        if (cut_short(part.first)) keep_ends(part.first);
        for (std::size_t i = 1; i + 1 < fresh->size(); ++i)
          planned.emplace_back(new_line((*fresh)[i], part));
        row = part.last;
        planned.emplace_back(row);
      }
      own_up_to(part.last);
    }
    own_up_to(surface_->rows().size() - 1);
    if (!changed)
      return kept_strips_ > 0
                 ? fmt::format("where the surface between its lines is known within {:.2f} um it "
                               "already has the least number of lines that meets the target",
                               um * outcome_.allowed)
                 : "it already has the least number of lines that meets the target";
    auto steps = assemble_lines(operation_, pass_, *surface_, planned, order_, request_.resolution);
    if (!steps) return steps.error();
    outcome_.steps = std::move(*steps);
    if (std::string trouble = measure_new(planned.size()); !trouble.empty()) return trouble;
    report.status = PassStatus::restepped;
    return in_words();
  }

  NewLine new_line(double v, Part const& part) const {
    std::size_t strip = part.first;
    while (strip + 1 < part.last && surface_->rows()[strip + 1].v < v)
      ++strip;
    return {v, strip, trusted_[strip]};
  }

  // The new lines as they are written, found like any others. Their cusps are those between their places on
  // the surface of the program's lines: that of their own digits would be lost in them.
  std::string measure_new(std::size_t lines) {
    RasterLimits limits;
    limits.max_stepover = std::max(tool_->diameter, 1.0);
    auto const passes = find_rasters(outcome_.steps, limits);
    if (passes.size() != 1 || passes.front().lines.size() != lines)
      return "its new lines would not read back as one parallel pass";
    LevelFigures& after = outcome_.report.after;
    after.levels = lines;
    after.stepdown_min_mm = std::numeric_limits<double>::infinity();
    after.stepdown_max_mm = 0;
    for (std::size_t k = 1; k < lines; ++k) {
      double const step = std::abs(passes.front().lines[k].v - passes.front().lines[k - 1].v);
      after.stepdown_min_mm = std::min(after.stepdown_min_mm, step);
      after.stepdown_max_mm = std::max(after.stepdown_max_mm, step);
    }
    tell_pairs(pairs_, after);
    return {};
  }

  // Rows that stay, with what lies between them.
  void count_own(std::size_t first, std::size_t last) {
    if (last <= first) return;
    auto const& rows = surface_->rows();
    std::size_t const from = first > 0 ? first - 1 : 0;
    RasterMeter const meter =
        measured({rows.begin() + static_cast<std::ptrdiff_t>(from),
                  rows.begin() + static_cast<std::ptrdiff_t>(std::min(rows.size(), last + 2))});
    // The rows beside were measured for how the surface bends; their pairs are another's.
    for (RasterPair const& pair : meter.pairs())
      if (pair.from >= rows[first].v && pair.to <= rows[last].v) pairs_.push_back(pair);
    constexpr double far = 1e6;
    outcome_.kept.push_back({{-far, rows[first].v}, {far, rows[last].v}});
  }

  // The ends of a strip, as far as heights in it are not known.
  void keep_ends(std::size_t k) {
    constexpr double far = 1e6;
    auto const& rows = surface_->rows();
    for (std::size_t p = 0; p < trusted_[k].size(); ++p) {
      double const before = p > 0 ? rows[k].pieces[p - 1].end() : -far;
      double const behind = p + 1 < trusted_[k].size() ? rows[k].pieces[p + 1].begin() : far;
      outcome_.kept.push_back({{before, rows[k].v}, {trusted_[k][p].x, rows[k + 1].v}});
      outcome_.kept.push_back({{trusted_[k][p].y, rows[k].v}, {behind, rows[k + 1].v}});
    }
  }

  std::string in_words() const {
    PassReport const& report = outcome_.report;
    std::string text = fmt::format("{} lines instead of {}; the surface between the program's lines is known "
                                   "within {:.2f} um",
                                   report.after.levels, report.before.levels, um * told_within_);
    if (report.constant_levels > 0)
      text += fmt::format("; a constant stepover of {:.4f} mm would need {} lines",
                          report.constant_stepdown_mm, report.constant_levels);
    if (kept_strips_ > 0)
      text += fmt::format("; {} strips between two lines were left as they were, the surface in them is not "
                          "known within {:.2f} um",
                          kept_strips_, um * outcome_.allowed);
    return text;
  }

  std::span<motion::Step const> operation_;
  RasterPass const& pass_;
  cutter::Tool const* tool_;
  PassRequest const& request_;
  bool whole_strips_;
  double own_resolution_ = 0.001; ///< mm per last digit of the program
  std::optional<RasterSurface> surface_;
  RasterOrder order_;
  std::vector<std::vector<Vec2>> trusted_; ///< of each strip, by piece
  double told_within_ = 0;
  std::size_t kept_strips_ = 0;
  bool one_part_ = false;
  std::vector<RasterPair> pairs_; ///< of what the pass leaves now
  RasterOutcome outcome_;
};

} // namespace

bool is_parallel_pass(RasterMeter const& meter, cutter::Tool const* tool) {
  if (!meter.all_level()) return true;
  return meter.one_height() && tool != nullptr && tool->can_finish() && meter.figures().cusp_max_um > 0;
}

bool is_parallel_pass(RasterPass const& pass, cutter::Tool const* tool) {
  RasterMeter meter(tool != nullptr && tool->can_finish() ? tool : nullptr);
  for (RasterLine const& line : pass.lines) {
    auto row = row_of(line, pass.frame, 0);
    if (!row) return false;
    meter.add(std::move(*row));
  }
  meter.finish();
  return is_parallel_pass(meter, tool);
}

void report_raster(PassReport& report, RasterFrame const& frame, RasterMeter const& meter) {
  report.before = meter.figures();
  RasterReport raster;
  raster.direction_deg = geometry::degrees(frame.angle);
  raster.slope_min_deg = geometry::degrees(meter.slope_min());
  raster.slope_max_deg = geometry::degrees(meter.slope_max());
  raster.one_way = meter.one_way();
  report.raster = raster;
}

RasterOutcome restep_raster(std::span<motion::Step const> operation, RasterPass const& pass,
                            cutter::Tool const* tool, int tool_number, PassRequest const& request,
                            bool whole_strips) {
  return RasterWork(operation, pass, tool, tool_number, request, whole_strips).run();
}

} // namespace restep::finish
