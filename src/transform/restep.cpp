// Gives the finishing passes of the program the levels that their finish asks for.
//
//   in   levels at Z-0.1 -0.2 -0.3 ... -1.5, whatever the surface between them looks like
//   out  levels at Z-0.1 -0.102 -0.108 ... -1.5, every cusp between them as high as the target allows
//
// A constant stepdown is far too coarse where the surface is nearly flat and needlessly fine where it is
// steep. The stage keeps what may belong to a pass (from its first cut at constant height, or on a way that
// falls or rises, on; with a finish to meet from its first cut on) until something ends the operation, looks
// for stacks, spirals and parallel passes in it and lets finish/ re-step them; everything else goes through
// as it came. Parallel passes that nothing is asked of are measured as they go through.

#include "transform/restep.hpp"

#include "finish/spiral_find.hpp"
#include "transform/found_passes.hpp"
#include "transform/held_cuts.hpp"
#include "transform/held_way.hpp"
#include "transform/interrupted_levels.hpp"
#include "transform/outgoing_steps.hpp"
#include "transform/pass_notes.hpp"
#include "transform/pass_request.hpp"
#include "transform/raster_description.hpp"
#include "transform/raster_watch.hpp"
#include "transform/spiral_watch.hpp"
#include "transform/tool_in_use.hpp"
#include "transform/unread_levels.hpp"
#include "transform/written_pass.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <limits>
#include <optional>
#include <span>
#include <utility>
#include <variant>
#include <vector>

namespace restep::transform {

namespace {

using motion::Step;

// Feed motions away from constant height after which what is being cut is no stack of levels: longer than any
// link (a helical lead-in cut into chords), shorter than memory cares about.
constexpr std::size_t longest_link = 512;
// From this many kept steps on (and at each doubling) the stage checks whether a stack is growing at all.
constexpr std::size_t first_check = 1 << 16;
// As many cuts without a change of height are no contour of a level (2.6 m in chords of 40 um), but material
// that is cleared.
constexpr std::size_t longest_contour = 1 << 16;
// A parallel pass of more steps is not held to be re-stepped.
constexpr std::size_t longest_held = 1'500'000;

class Restep final : public motion::StepSource {
public:
  Restep(motion::StepSource& upstream, Context& context)
      : upstream_(upstream)
      , context_(context)
      , moves_ends_(may_move_ends(context.target))
      , in_use_(context.tools)
      , unread_(context)
      , interrupted_(context)
      , rasters_(context.machine) {
    if (!asks_of_passes(context.target)) description_.emplace(context.machine, context.tools);
  }

  bool next(Step& step) override {
    for (;;) {
      if (loose_at_ < loose_.size) {
        step = loose_.step(loose_at_++);
        return true;
      }
      if (!out_.empty()) {
        out_.pop_to(step);
        return true;
      }
      // What the lane of stretches has in hand comes before anything else.
      loose_ = {};
      loose_at_ = 0;
      if ((rest_.size > 0 || !held_.empty()) && (next_stretch(loose_) || !out_.empty())) continue;
      if (ended_) return false;
      if (pull(step)) return true;
    }
  }

  /// Plain cuts that are no pass go through as they come. Those that may be the beginning of one are held,
  /// and become steps when they are found to be, or when anything but plain cuts follows.
  bool next_stretch(motion::Stretch& cuts) override {
    if (!out_.empty() || loose_at_ < loose_.size || ended_) return false;
    for (;;) {
      if (!holding_ && held_.give(cuts)) return true;
      if (!goes_by_stretches() || (rest_.size == 0 && !upstream_.next_stretch(rest_))) return false;
      if (!holding_ && pass_on(cuts)) return true;
      if (holding_ && !hold_on()) return false;
    }
  }

private:
  // Nothing is kept as steps, and nothing asks for them.
  bool goes_by_stretches() const { return kept_.empty() && !moves_ends_ && way_in_.empty(); }

  // The cuts in hand up to the one that may begin a pass; with that one the holding begins. False when it is
  // the first.
  bool pass_on(motion::Stretch& cuts) {
    std::size_t count = 0;
    while (count < rest_.size && !may_begin_pass(rest_.point(count), rest_.point(count + 1))) {
      cut_before_ = rest_.moves_sideways(count);
      ++count;
    }
    holding_ = count < rest_.size;
    if (holding_) held_.clear();
    watch_passing(rest_.part(0, count + (holding_ ? 1 : 0)));
    watched_ = holding_ ? 1 : 0;
    report_described();
    cuts = rest_.part(0, count);
    rest_ = rest_.behind(count);
    return count > 0;
  }

  // As may_begin_pass() of its motion: the way is known, and neither compensated nor rotary.
  bool may_begin_pass(motion::Vec3 const& from, motion::Vec3 const& to) {
    if (finish::is_level_way(from, to)) return !is_cleared(to.z);
    cleared_.reset();
    return !cut_before_ && (finish::is_falling_way(from, to) || finish::is_rising_way(from, to));
  }

  // At this height no contour was found to begin in very many cuts, and none has been left since.
  bool is_cleared(double z) {
    if (cleared_ && std::abs(*cleared_ - z) > finish::same_height) cleared_.reset();
    return cleared_.has_value();
  }

  // Holds cuts of those in hand until it is clear that they are no pass, or that they must be looked into:
  // false then.
  bool hold_on() {
    std::size_t count = 0;
    bool done = false;
    while (count < rest_.size && !done && held_.size() + count < first_check) {
      watch_held(rest_.point(count), rest_.point(count + 1));
      ++count;
      done =
          (!level_seen_ && !watch_.goes_on()) || since_level_ > longest_link || clears(rest_.step(count - 1));
    }
    watch_passing(rest_.part(watched_, count - watched_));
    watched_ = 0;
    held_.hold(rest_.part(0, count));
    rest_ = rest_.behind(count);
    bool const many = held_.size() >= first_check;
    if (!done && !many) return true;
    holding_ = false;
    bool const none = !spiral_seen_ && !held_.may_hold_levels(finish::StackLimits{}.min_levels);
    if (!(done && none)) held_.append_to(kept_);
    if (done || !pass_is_growing()) {
      std::vector<FoundPass> const found = found_passes();
      if (found.empty()) {
        kept_.clear();
        forget_operation();
        return true; // they go on as they came
      }
      held_.clear();
      write_out(found);
      return false;
    }
    held_.clear();
    return false;
  }

  // From here on the held cuts are kept as steps.
  void keep_held() {
    held_.append_to(kept_);
    held_.clear();
    holding_ = false;
  }

  template <class Passing>
  void watch_rasters(Passing const& passing) {
    if (description_)
      description_->add(passing);
    else
      rasters_.add(passing, tool(), tool_number());
  }

  void watch_passing(motion::Stretch const& cuts) {
    watch_rasters(cuts);
    unread_.see(cuts);
  }

  // Takes one step from upstream. True when it goes straight through; it is then in `step`.
  bool pull(Step& step) {
    if (holding_) keep_held();
    if (rest_.size > 0) upstream_.take_apart(std::exchange(rest_, {}));
    if (!upstream_.next(step)) {
      ended_ = true;
      unread_.end();
      rasters_.end();
      finish_operation();
      interrupted_.end();
      way_in_.release(out_);
      report_described();
      if (description_) put_in_description();
      return false;
    }
    unread_.see(step);
    bool const through = take(step);
    if (through) note_tool(step);
    return through;
  }

  bool take(Step& step) {
    motion::Motion const* m = motion::motion_of(step);
    watch_rasters(step);
    if (kept_.empty()) {
      if (!rasters_.goes_on()) too_long_ = false;
      report_described();
      if (m == nullptr || !(may_begin_pass(*m) || (holds_rasters() && rasters_.goes_on()))) {
        if (m != nullptr) cut_before_ = cuts_sideways(*m);
        return goes_through(step, m);
      }
      way_in_.release(kept_);
      keep(step, m);
      return false;
    }
    if (ends_operation(step)) {
      finish_operation();
      note_tool(step);
      out_.push_back(step);
      return false;
    }
    keep(step, m);
    bool const holds = holds_rasters();
    if (holds && rasters_.established()) {
      raster_seen_ = true;
      too_long_ = kept_.size() >= longest_held;
      if (too_long_) finish_operation();
      return false;
    }
    // The first lines of a pass are kept until it is one; a program of other lines must not be kept whole.
    if (holds && rasters_.goes_on() && kept_.size() < first_check) return false;
    // Without a contour at constant height only a spiral can be in the making.
    bool const nothing_yet = !level_seen_ && !watch_.goes_on() && !raster_seen_;
    if (nothing_yet || since_level_ > longest_link || clears(step) ||
        (kept_.size() >= next_check_ && !pass_is_growing()))
      finish_operation();
    return false;
  }

  // True when a step that belongs to no pass goes straight through; it may lead into one.
  bool goes_through(Step const& step, motion::Motion const* m) {
    if (!moves_ends_) return true;
    bool const may_lead = !ends_operation(step) && (m == nullptr || !cuts_sideways(*m));
    if (!may_lead && way_in_.empty()) return true;
    if (may_lead) {
      way_in_.hold(step, out_);
      return false;
    }
    way_in_.release(out_);
    note_tool(step);
    out_.push_back(step);
    return false;
  }

  // Lines over a surface are kept to be re-stepped only where a finish is asked for.
  bool holds_rasters() const { return !too_long_ && asks_for_finish(context_.target); }

  // Passes that went through, as far as they begin before a line of the program.
  void report_described(std::uint32_t before = std::numeric_limits<std::uint32_t>::max()) {
    for (finish::PassReport& report : rasters_.take())
      described_.push_back(std::move(report));
    std::size_t done = 0;
    for (; done < described_.size() && described_[done].first_line < before; ++done) {
      finish::PassReport& report = described_[done];
      report.index = context_.passes.size() + 1;
      report.reason =
          context_.target.finish
              ? fmt::format("it is longer than the {} blocks that are held to be re-stepped", longest_held)
              : "no finish was asked for";
      if (context_.target.finish) note_kept(context_, report, {.line = report.first_line});
      context_.passes.push_back(std::move(report));
    }
    described_.erase(described_.begin(), described_.begin() + static_cast<std::ptrdiff_t>(done));
  }

  // The parallel passes that were described aside, each before the found pass in front of which it begins.
  void put_in_description() {
    std::vector<finish::PassReport> const found = std::exchange(context_.passes, {});
    described_ = description_->finish();
    for (finish::PassReport const& pass : found) {
      report_described(pass.first_line);
      context_.passes.push_back(pass);
      context_.passes.back().index = context_.passes.size();
    }
    report_described();
  }

  static bool cuts_sideways(motion::Motion const& m) {
    return motion::is_cutting(m) && (motion::is_arc(m) || m.from.x != m.to.x || m.from.y != m.to.y);
  }

  // A cut at constant height, or one that falls or rises where the tool has just come in: downhill in the
  // middle of a freely formed surface (half of all its motions) begins no spiral.
  bool may_begin_pass(motion::Motion const& m) {
    if (finish::is_level_cut(m)) return !is_cleared(m.to.z);
    cleared_.reset();
    return !cut_before_ && (finish::is_falling_cut(m) || finish::is_rising_cut(m));
  }

  // So many cuts have come at the height of this one that they are no contour.
  bool clears(Step const& cut) {
    if (level_run_ < longest_contour) return false;
    cleared_ = motion_of(cut)->to.z;
    note_cleared(context_, longest_contour, cut.place);
    return true;
  }

  void keep(Step const& step, motion::Motion const* m) {
    kept_.push_back(step);
    if (m != nullptr) watch_kept(*m);
  }

  void watch_kept(motion::Motion const& m) {
    cut_before_ = cuts_sideways(m);
    if (!motion::is_cutting(m)) {
      level_run_ = 0;
      cleared_.reset();
      return watch_.reset();
    }
    watch_.add(m);
    note_watched(finish::is_level_cut(m));
  }
  void watch_held(motion::Vec3 const& from, motion::Vec3 const& to) {
    cut_before_ = from.x != to.x || from.y != to.y;
    watch_.add(from, to);
    note_watched(finish::is_level_way(from, to));
  }
  void note_watched(bool level) {
    spiral_seen_ = spiral_seen_ || watch_.turned_once();
    level_seen_ = level_seen_ || level;
    level_run_ = level ? level_run_ + 1 : 0;
    if (!level) cleared_.reset();
    since_level_ = level || watch_.goes_on_turning() ? 0 : since_level_ + 1;
  }

  static bool ends_operation(Step const& step) {
    return !std::holds_alternative<motion::Motion>(step.event) &&
           !std::holds_alternative<motion::Comment>(step.event) &&
           !std::holds_alternative<motion::Layout>(step.event);
  }

  void note_tool(Step const& step) {
    if (std::holds_alternative<motion::SpindleSpeed>(step.event)) speed_ = step;
    if (std::holds_alternative<motion::ToolChange>(step.event)) {
      above_.reset();
      interrupted_.end();
    }
    in_use_.see(step);
  }

  cutter::Tool const* tool() const { return in_use_.tool(); }
  int tool_number() const { return in_use_.number(); }

  bool pass_is_growing() {
    next_check_ = 2 * kept_.size();
    if (watch_.goes_on() && watch_.turned_once()) return true;
    // What has come since the last look tells it as well, unless its levels are very long.
    std::span<Step const> const all{kept_};
    return stack_goes_on(all.subspan(all.size() / 2), tool()) || stack_goes_on(all, tool());
  }

  void finish_operation() {
    if (kept_.empty()) return;
    // What was measured on the way is found again among the steps that were kept.
    if (holds_rasters()) rasters_.take();
    write_out(found_passes());
  }

  std::vector<FoundPass> found_passes() {
    FoundPasses found = find_passes(kept_, tool(), level_seen_ || spiral_seen_, raster_seen_);
    if (!found.passes.empty()) interrupted_.end();
    for (UnreadLoops const& unread : found.unread)
      interrupted_.add(unread, kept_[unread.first].place, kept_[unread.last].place);
    return std::move(found.passes);
  }

  // The kept steps, with what is written in place of the passes that were found among them.
  void write_out(std::vector<FoundPass> const& all) {
    std::size_t done = 0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      FoundPass const& found = all[i];
      report_described(kept_[found.first].place.line);
      std::size_t const free_to = i + 1 < all.size() ? all[i + 1].first : kept_.size();
      WrittenPass written = write_pass(context_, {kept_, done, free_to, in_use_, speed_}, found);
      for (; done < written.first; ++done)
        out_.push_back(kept_[done]);
      for (Step& s : written.steps)
        if (s.generated) s.first_in_block = s.last_in_block = true;
      out_.append(std::move(written.steps));
      done = written.last + 1;
      note_change_of_contours(found);
    }
    for (; done < kept_.size(); ++done)
      out_.push_back(kept_[done]);
    kept_.clear();
    forget_operation();
  }

  void forget_operation() {
    watch_.reset();
    next_check_ = first_check;
    since_level_ = level_run_ = 0;
    level_seen_ = spiral_seen_ = raster_seen_ = false;
  }

  void note_change_of_contours(FoundPass const& found) {
    auto const* stack = std::get_if<finish::Stack>(&found.pass);
    std::optional<StackEnds> ends = stack != nullptr ? ends_of(*stack) : std::nullopt;
    if (ends && above_)
      note_junction(context_, *above_, *ends, context_.passes[pass_above_], context_.passes.back(), tool(),
                    kept_[found.first].place);
    above_ = std::move(ends);
    pass_above_ = context_.passes.size() - 1;
  }

  motion::Unravelled upstream_;
  Context& context_;
  bool const moves_ends_; ///< passes may begin or end above where they did
  ToolInUse in_use_;
  std::vector<Step> kept_; ///< from the first contour at constant height on, and the way into it
  HeldWay way_in_;         ///< steps that may lead into a pass
  OutgoingSteps out_;
  SpiralWatch watch_;
  UnreadLevels unread_;
  InterruptedLevels interrupted_;
  RasterWatch rasters_;
  std::optional<RasterDescription> description_; ///< instead of them, where nothing is asked of passes
  std::vector<finish::PassReport> described_;    ///< parallel passes that went through, not reported yet
  bool raster_seen_ = false;                     ///< among the steps that are kept
  bool too_long_ = false;                        ///< the parallel pass that goes on is not held
  bool level_seen_ = false;
  bool spiral_seen_ = false; ///< what goes round and falls is among them
  bool cut_before_ = false;  ///< the last motion cut sideways
  std::size_t since_level_ = 0;
  std::size_t level_run_ = 0;     ///< cuts at one height without a way to another
  std::optional<double> cleared_; ///< the height at which such a run was too long for a contour, and goes on
  std::size_t next_check_ = first_check;
  std::optional<Step> speed_;      ///< the S in force
  std::optional<StackEnds> above_; ///< of the pass before, where this tool may go on below it
  std::size_t pass_above_ = 0;     ///< its place among the reports
  motion::Stretch rest_;           ///< plain cuts in hand
  std::size_t watched_ = 0;        ///< of them those that were told to whoever watches
  HeldCuts held_;                  ///< plain cuts that are held, or were and are on their way out
  bool holding_ = false;
  motion::Stretch loose_; ///< plain cuts that go out as steps
  std::size_t loose_at_ = 0;
  bool ended_ = false;
};

} // namespace

std::unique_ptr<motion::StepSource> make_restep(motion::StepSource& upstream, Context& context) {
  return std::make_unique<Restep>(upstream, context);
}

} // namespace restep::transform
