// Tells low rapids through air from low rapids through material.
//   in   G1 X0 ... X40 (a pocket) / G0 Z-2.5 / G0 X5 Y5 / G1 Z-3      inside the pocket: left as it is
//   in   G0 Z5 / G0 Z-3 / G1 X10                                      into stock that stands up to Z0
//   out  G0 Z5 / G0 Z1 / G1 Z-3 F250 / G1 X10
//
// The model knows the cuts of this program alone, in one place on the machine: another work offset or a shift
// starts it afresh. Where nothing was cut something may stand up to the safe height, because clamps do. Only
// the job's stock is certain enough to call a rapid into it a mistake: without one a tool may well go down
// beside the part.

#include "transform/trace_rapids.hpp"

#include "motion/arc.hpp"
#include "transform/block_stage.hpp"
#include "transform/feed_limit.hpp"
#include "transform/record.hpp"
#include "transform/route.hpp"
#include "transform/standing_stock.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

namespace restep::transform {

using geometry::Vec2;
using motion::is_known;
using motion::Step;
using motion::Vec3;

namespace {

/// A rapid this far above what may stand does not touch it, mm. Aside it keeps Machine::rapid_clearance.
constexpr double least_above = 0.1;
/// Cells in the radius of the smallest tool.
constexpr double cells_in_a_radius = 4;

/// A tool whose shape is known; drills, taps and probes neither clear an area nor are led through one.
bool has_shape(cutter::Tool const& tool) {
  using enum cutter::ToolKind;
  return tool.diameter > 0 && (tool.kind == flat || tool.kind == ball || tool.kind == bull);
}

class TraceRapids final : public BlockStage {
public:
  TraceRapids(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context)
      , clearance_(clearance_of(context))
      , length_in_force_(!uses_length()) {
    build();
  }

private:
  static constexpr std::string_view stage_name = "trace-rapids";

  Context& context_;
  Clearance const clearance_;
  std::optional<StandingStock> standing_;
  std::optional<cutter::Underside> tool_;
  bool length_in_force_; ///< Z is where the tip is
  int system_ = 0;
  std::uint64_t left_ = 0;
  std::uint32_t first_left_ = 0;

  bool uses_length() const { return context_.survey.length_offset && context_.abilities.length_offset; }

  void build() {
    motion::Survey const& survey = context_.survey;
    auto const& stock = context_.setting.stock;
    bool const low = survey.lowest_sideways_rapid < clearance_.height - clearance_.tolerance;
    bool const into_stock = stock && survey.rapids.low.z < stock->high.z - clearance_.tolerance;
    if (!clearance_.known() || !(low || into_stock)) return;
    double smallest = 0, largest = 0;
    for (int number : survey.tools) {
      cutter::Tool const* tool = context_.tools.find(number);
      if (!tool || !has_shape(*tool)) continue;
      smallest = smallest > 0 ? std::min(smallest, tool->radius()) : tool->radius();
      largest = std::max(largest, tool->radius());
    }
    if (smallest == 0) return;
    Region region{geometry::xy(survey.cutting.low), geometry::xy(survey.cutting.high)};
    if (stock) {
      region.low = {std::min(region.low.x, stock->low.x), std::min(region.low.y, stock->low.y)};
      region.high = {std::max(region.high.x, stock->high.x), std::max(region.high.y, stock->high.y)};
    }
    region.low = region.low - Vec2{largest, largest};
    region.high = region.high + Vec2{largest, largest};
    double const width = std::max(region.high.x - region.low.x, region.high.y - region.low.y);
    if (!std::isfinite(width)) return;
    standing_.emplace(region, smallest / cells_in_a_radius, clearance_.height);
  }

  bool passes(motion::Stretch const& cuts) override {
    for (std::size_t i = 0; standing_ && i < cuts.size; ++i)
      cut(cuts.cut(i));
    return true;
  }

  void handle(std::span<Step> block) override {
    for (Step& step : block) {
      if (standing_) take(step);
      keep(step, !only_prepares(step.event));
    }
  }

  void finish() override {
    if (left_ == 0) return;
    text::Place place;
    place.line = first_left_;
    context_.findings.add(
        text::Severity::note, "rapids-clear",
        fmt::format("{} below the safe height left as {}: on the whole way the material had been cut away",
                    left_ == 1 ? std::string("one rapid") : fmt::format("{} rapids", left_),
                    left_ == 1 ? "it was" : "they were"),
        fmt::format("the model has cells of {:.3g} mm and sees no clamps; --skip {} lifts these as well",
                    standing_->cell(), stage_name),
        place);
  }

  void take(Step& step) {
    if (auto* move = motion_of(step)) {
      if (is_cutting(*move))
        cut(*move);
      else
        rapid(step, *move);
    } else if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
      cutter::Tool const* tool = context_.tools.find(change->tool);
      tool_.reset();
      if (tool && has_shape(*tool)) tool_.emplace(*tool);
      length_in_force_ = !uses_length();
    } else if (auto const* length = std::get_if<motion::LengthOffset>(&step.event)) {
      length_in_force_ = length->active || !uses_length();
    } else if (auto const* work = std::get_if<motion::WorkOffset>(&step.event)) {
      if (system_ != 0 && work->system != system_) standing_->restore();
      system_ = work->system;
    } else if (std::holds_alternative<motion::OffsetChange>(step.event) ||
               std::holds_alternative<motion::SetOrigin>(step.event)) {
      standing_->restore();
    }
  }

  void cut(motion::Motion const& move) {
    if (tool_ && length_in_force_ && !move.compensated && !move.rotary) standing_->cut(move, *tool_);
  }

  void rapid(Step& step, motion::Motion& move) {
    move.clear = false;
    if (!tool_ || !length_in_force_ || move.compensated || move.rotary || !is_known(move.to)) return;
    if (context_.setting.stock && ends_in_stock(step, move)) return;
    if (!is_known(move.from) || !moves_sideways(move.from, move.to)) return;
    double const low = std::min(move.from.z, move.to.z);
    if (clearance_.at_or_above(low)) return;
    move.clear =
        standing_->clear(geometry::xy(move.from), geometry::xy(move.to), context_.machine.straight_rapids,
                         low, *tool_, context_.machine.rapid_clearance, least_above);
    if (!move.clear) return;
    if (left_++ == 0) first_left_ = step.place.line;
  }

  /// Rapid to above the stock, the rest by feed. False when nothing stands there.
  bool ends_in_stock(Step& step, motion::Motion& move) {
    if (is_known(move.from) && !moves_sideways(move.from, move.to) && !(move.to.z < move.from.z))
      return false;
    Block const& stock = *context_.setting.stock;
    double const stands = standing_->standing_below(geometry::xy(move.to), *tool_, stock);
    if (!(stands > move.to.z + least_above)) return false;
    double const digit = context_.resolution.length;
    double above = std::ceil((stands + context_.machine.rapid_clearance) / digit) * digit;
    above = std::min(above, clearance_.height);
    motion::Motion down = move;
    down.path = motion::PathKind::line;
    down.feed = feed_for(step);
    if (!(down.feed > 0)) {
      context_.findings.add(text::Severity::error, "rapid-into-stock",
                            fmt::format("a rapid to Z{} runs into the stock, which stands up to Z{} here",
                                        length_words(move.to.z, step.modes.units),
                                        length_words(stands, step.modes.units)),
                            "give F before it, or correct the job's stock", step.place);
      return true;
    }
    bool const from_above = !(move.from.z <= above) || moves_sideways(move.from, move.to);
    if (from_above) {
      motion::Motion first = move;
      first.to.z = above;
      insert(first, step);
      down.from = first.to;
    }
    move = down;
    step.touched = true;
    cut(down);
    record(context_, step, stage_name, [&] {
      return fmt::format("rapid to Z{} where stock stands up to Z{}: the last of it by feed, {}",
                         length_words(down.to.z, step.modes.units), length_words(stands, step.modes.units),
                         feed_words(down.feed, motion::FeedMode::per_minute, step.modes.units));
    });
    return true;
  }

  /// The feed in force, inside the limits of going straight down; without one the machine's feed downwards;
  /// 0 when that is not known either.
  double feed_for(Step const& step) const {
    bool const in_force = step.modes.feed_mode == motion::FeedMode::per_minute && step.modes.feed > 0;
    double const limit = axis_limit(context_.machine, 2, -1).speed;
    if (in_force) return std::min(step.modes.feed, limit);
    return std::isfinite(limit) ? limit : 0;
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_trace_rapids(motion::StepSource& upstream, Context& context) {
  return std::make_unique<TraceRapids>(upstream, context);
}

} // namespace restep::transform
