// Brings the spindle into the machine's range and keeps the chip load.
//   in   S16000 M3 / G1 X40 F1200     on a machine whose spindle reaches 8000 rpm
//   out  S8000 M3  / G1 X40 F600
//
// F = n z fz: with n lowered to n_max, F n_max / n keeps the feed per tooth fz. A feed per revolution keeps
// it by itself; an inverse-time feed is a speed and is scaled like one. A tapping feed is pitch times speed
// and scales exactly. Moves of a standing spindle are scaled too: whether it turns is decided elsewhere, and
// a slower approach does no harm.

#include "transform/clamp_spindle.hpp"

#include "motion/stretch.hpp"
#include "transform/record.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <cmath>

namespace restep::transform {

using motion::FeedMode;
using motion::Step;

namespace {

class ClampSpindle final : public motion::StepSource {
public:
  ClampSpindle(motion::StepSource& upstream, Context& context)
      : upstream_(upstream)
      , context_(context) {}

  bool next(Step& step) override {
    if (!upstream_.next(step)) return false;
    if (auto* motion = motion_of(step)) {
      if (is_cutting(*motion)) scale(step, motion->feed, motion->feed_mode);
    } else if (auto* cycle = std::get_if<motion::Cycle>(&step.event)) {
      scale(step, cycle->feed, cycle->feed_mode);
    } else if (auto* move = std::get_if<motion::MachineMove>(&step.event)) {
      if (!move->rapid) scale(step, move->feed, FeedMode::per_minute);
    } else if (auto* speed = std::get_if<motion::SpindleSpeed>(&step.event)) {
      take_speed(step, speed->rpm);
      plan_speed(step, speed->rpm);
    } else if (auto const* turn = std::get_if<motion::SpindleTurn>(&step.event)) {
      check_rotation(step, turn->rotation);
    }
    return true;
  }

  bool next_stretch(motion::Stretch& stretch) override {
    if (!upstream_.next_stretch(stretch)) return false;
    bool const changed =
        scale(stretch.places()[0].line, stretch.modes.units, stretch.like.feed, stretch.like.feed_mode);
    stretch.other_feed = stretch.other_feed || changed;
    return true;
  }

private:
  static constexpr std::string_view stage_name = "clamp-spindle";

  motion::StepSource& upstream_;
  Context& context_;
  double asked_ = 0; ///< the source's S while another is written
  double given_ = 0; ///< the S that is written instead
  double ratio_ = 1; ///< given / asked
  /// What the feed was and became, of the last one that was scaled.
  struct Scaled {
    double before = 0;
    double after = 0;
    FeedMode mode = FeedMode::per_minute;
    friend bool operator==(Scaled const&, Scaled const&) = default;
  };
  Scaled scaled_;

  void take_speed(Step& step, double& rpm) {
    motion::Machine const& machine = context_.machine;
    ratio_ = 1;
    scaled_ = {};
    if (machine.spindle_max > 0 && rpm > machine.spindle_max) {
      asked_ = rpm;
      ratio_ = machine.spindle_max / rpm;
      rpm = given_ = machine.spindle_max;
      step.touched = true;
      record(context_, step, stage_name, [&] {
        return fmt::format(
            "{} -> {}, the most the spindle does; feeds per minute go with it (x {:.4f}), the chip "
            "load stays",
            spindle_words(asked_), spindle_words(rpm), ratio_);
      });
    } else if (rpm > 0 && rpm < machine.spindle_min) {
      context_.findings.add(text::Severity::warning, "spindle-too-slow",
                            fmt::format("{} is below the {} that the spindle needs at least",
                                        spindle_words(rpm), spindle_words(machine.spindle_min)),
                            "choose a higher speed and the feed that belongs to it; nothing was changed",
                            step.place);
    }
  }

  /// The machine's feeds are so slow that the tool would rub at this speed: turn slower.
  void plan_speed(Step& step, double& rpm) {
    auto const planned = context_.planned_speeds.find(step.place.line);
    if (planned == context_.planned_speeds.end() || !(planned->second < rpm)) return;
    double const before = rpm;
    if (ratio_ == 1) asked_ = rpm;
    rpm = given_ = planned->second;
    ratio_ = given_ / asked_;
    step.touched = true;
    record(context_, step, stage_name, [&] {
      return fmt::format("{} -> {}: at the feeds this machine can do the tool would rub; so the chip stays "
                         "above the tool's least",
                         spindle_words(before), spindle_words(rpm));
    });
  }

  void check_rotation(Step const& step, motion::Rotation rotation) {
    if (rotation != motion::Rotation::counter_clockwise || context_.machine.spindle_counter_clockwise) return;
    context_.findings.add(text::Severity::error, "spindle-direction",
                          "M4 turns the spindle counter-clockwise, which this machine cannot",
                          "use a right-hand tool and M3, or another machine", step.place);
  }

  void scale(Step& step, double& feed, FeedMode mode) {
    if (scale(step.place.line, step.modes.units, feed, mode)) step.other_feed = true;
  }

  /// True when the feed was changed. Cuts that go on with the feed of the one before are no edit of their
  /// own.
  bool scale(std::uint32_t line, motion::Units units, double& feed, FeedMode mode) {
    if (ratio_ == 1 || mode == FeedMode::per_revolution || !(feed > 0)) return false;
    double const before = feed;
    feed = rounded_down(feed * ratio_, mode, units, context_.resolution.feed);
    Scaled const scaled{before, feed, mode};
    if (scaled == scaled_) return true;
    scaled_ = scaled;
    record(context_, line, stage_name, [&] {
      return fmt::format("{} -> {}: same chip load at {} as at {}", feed_words(before, mode, units),
                         feed_words(feed, mode, units), spindle_words(given_), spindle_words(asked_));
    });
    return true;
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_clamp_spindle(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ClampSpindle>(upstream, context);
}

} // namespace restep::transform
