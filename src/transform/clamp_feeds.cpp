// Limits the feed of each cutting move by its own direction.
//   in   G1 X10 Z-10 F1000     on a machine whose Z feeds 500 mm/min at most
//   out  G1 X10 Z-10 F707.106
//
// Down a 45 degree ramp Z moves at F / sqrt(2), so F may be sqrt(2) * 500. On an arc the worst point of its
// course counts, and F^2 / rho may not ask for more acceleration than the plane's axes have: the control
// would slow down by itself, each in its own way, and the surface shows it. Values are rounded down to what
// F can say, so that the written feed is never above the limit.
//
// From chord to chord of a curve the limit differs a little. A lowered feed therefore stays as long as it is
// hardly below what the next cut may have, and where it must follow a limit it keeps a little room: an F in
// every block says nothing more, and hides those that do (common practice, no source).

#include "transform/clamp_feeds.hpp"

#include "motion/arc.hpp"
#include "motion/stretch.hpp"
#include "transform/feed_limit.hpp"
#include "transform/record.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace restep::transform {

using motion::FeedMode;
using motion::Step;

namespace {

/// A feed above its limit by less than this share is at its limit.
constexpr double noise = 1e-9;

/// A lowered feed stays while it is at most this share below the limit.
constexpr double band = 0.01;

/// G74 and G84 thread with the spindle: the feed is the pitch times the speed.
bool is_tapping(motion::Cycle const& cycle) {
  return cycle.code == 740 || cycle.code == 840;
}

class ClampFeeds final : public motion::StepSource {
public:
  ClampFeeds(motion::StepSource& upstream, Context& context)
      : upstream_(upstream)
      , context_(context) {}

  bool next(Step& step) override {
    if (rest_.size > 0) {
      step = rest_.step(0);
      rest_ = rest_.behind(1);
    } else if (!upstream_.next(step)) {
      return false;
    }
    if (auto* motion = motion_of(step)) {
      if (is_cutting(*motion)) clamp_motion(step, *motion);
    } else if (auto* cycle = std::get_if<motion::Cycle>(&step.event)) {
      clamp_cycle(step, *cycle);
    } else if (auto* probe = std::get_if<motion::Probe>(&step.event)) {
      bool const incremental = step.modes.distance == motion::Distance::incremental;
      lower(step, probe->feed, FeedMode::per_minute, 1,
            straight_limit(context_.machine, probe->from, probe->to, incremental));
    } else if (auto* move = std::get_if<motion::MachineMove>(&step.event)) {
      // Where the axes stand in machine coordinates is not known: each one named may carry the whole feed.
      if (!move->rapid)
        lower(step, move->feed, FeedMode::per_minute, 1,
              straight_limit(context_.machine, motion::unknown_position, move->to, false));
    } else if (auto const* speed = std::get_if<motion::SpindleSpeed>(&step.event)) {
      rpm_ = speed->rpm;
    } else if (auto const* change = std::get_if<motion::ToolChange>(&step.event)) {
      auto const* tool = context_.tools.find(change->tool);
      tool_radius_ = tool ? tool->radius() : 0;
    }
    return true;
  }

  bool next_stretch(motion::Stretch& stretch) override {
    if (rest_.size == 0) {
      if (!upstream_.next_stretch(stretch)) return false;
      if (is_within_limits(stretch)) {
        held_ = 0;
        return true;
      }
      rest_ = stretch;
    }
    // As many as have one feed in common.
    double const own = rest_.like.feed;
    FeedLimit const limit = limit_in_rest(0);
    double const feed = lowered(own, 1, limit, FeedMode::per_minute, rest_.modes.units);
    std::size_t count = 1;
    follow(own, feed, limit, FeedMode::per_minute, rest_.modes.units, rest_.places()[0].line);
    while (count < rest_.size &&
           lowered(own, 1, limit_in_rest(count), FeedMode::per_minute, rest_.modes.units) == feed)
      ++count;
    if (feed != own) context_.feeds.clamped += count - 1;
    stretch = rest_.part(0, count);
    stretch.like.feed = feed;
    stretch.other_feed = stretch.other_feed || feed != own;
    rest_ = rest_.behind(count);
    return true;
  }

private:
  static constexpr std::string_view stage_name = "clamp-feeds";

  motion::StepSource& upstream_;
  Context& context_;
  motion::Stretch rest_; ///< of a stretch that is above a limit somewhere
  double held_ = 0;      ///< the feed of the last cut, where it was lowered; else 0
  FeedMode held_mode_ = FeedMode::per_minute;
  double rpm_ = 0;
  double tool_radius_ = 0;
  Repetition repetition_;

  /// Certainly: what is near a limit is judged cut by cut.
  bool is_within_limits(motion::Stretch const& cuts) const {
    motion::Machine const& machine = context_.machine;
    motion::Ways const ways = cuts.ways();
    std::array const along{ways.x, ways.y, ways.z};
    constexpr double nearly = 1 - 1e-6;
    bool within = true;
    for (int axis = 0; axis < 3; ++axis) {
      // The largest share of the feed that the axis may carry.
      double const limit = machine.max_feed[axis];
      double const most = limit > 0 ? nearly * limit / cuts.like.feed : 1;
      double const most_down = axis == 2 && machine.max_plunge > 0
                                   ? std::min(most, nearly * machine.max_plunge / cuts.like.feed)
                                   : most;
      if (most_down >= 1) continue;
      double const* const share = along[static_cast<std::size_t>(axis)];
      for (std::size_t i = 0; i < cuts.size; ++i)
        within = within && share[i] <= most && share[i] >= -most_down;
    }
    return within;
  }

  void clamp_motion(Step& step, motion::Motion& motion) {
    bool const incremental = step.modes.distance == motion::Distance::incremental;
    FeedLimit const limit = is_arc(motion)
                                ? arc_limit(context_.machine, motion, tool_radius_)
                                : straight_limit(context_.machine, motion.from, motion.to, incremental);
    auto const per_feed = limit.by == LimitedBy::nothing ? std::nullopt : per_feed_of(step, motion);
    if (!per_feed) {
      held_ = 0;
      return;
    }
    motion::Units const units = step.modes.units;
    double const own = motion.feed;
    motion.feed = lowered(own, *per_feed, limit, motion.feed_mode, units);
    step.other_feed = step.other_feed || motion.feed != own;
    follow(own, motion.feed, limit, motion.feed_mode, units, step.place.line);
  }

  /// v / F: 1, the length or the speed of the spindle. Nothing, and a warning, where that is not known.
  std::optional<double> per_feed_of(Step const& step, motion::Motion const& motion) {
    if (motion.feed_mode == FeedMode::per_minute) return 1;
    if (motion.feed_mode == FeedMode::per_revolution) {
      if (rpm_ > 0) return rpm_;
      unproven(step, "a feed per revolution without a spindle speed", "give S before the first G95 move");
      return std::nullopt;
    }
    double const length = motion::length(motion);
    if (motion::is_known(length)) return length;
    unproven(step, "an inverse-time feed from a place the program has not given",
             "give the start point before the first G93 move");
    return std::nullopt;
  }

  FeedLimit limit_in_rest(std::size_t i) const {
    return straight_limit(context_.machine, rest_.point(i), rest_.point(i + 1),
                          rest_.modes.distance == motion::Distance::incremental);
  }

  /// What becomes of the feed of a cut behind the one before it.
  double lowered(double feed, double per_feed, FeedLimit const& limit, FeedMode mode,
                 motion::Units units) const {
    if (!is_above(feed * per_feed, limit)) return feed;
    double const most = limit.speed / per_feed;
    double given = most;
    // An inverse-time feed is said in every block.
    if (held_ != 0 && held_mode_ == mode && mode != FeedMode::inverse_time) {
      if (held_ <= most * (1 + noise) && held_ >= (1 - band) * most) return held_;
      if (std::abs(held_ - most) <= 2 * band * most) given = (1 - band / 2) * most;
    }
    return rounded_down(given, mode, units, context_.resolution.feed);
  }

  static bool is_above(double speed, FeedLimit const& limit) {
    return limit.by != LimitedBy::nothing && speed > limit.speed * (1 + noise);
  }

  /// A cut's `own` feed became `feed`. One that goes on with the feed of the cut before is no edit of its
  /// own.
  void follow(double own, double feed, FeedLimit const& limit, FeedMode mode, motion::Units units,
              std::uint32_t line) {
    bool const is_lowered = feed != own;
    if (is_lowered && !(feed == held_ && mode == held_mode_))
      record_lowered(own, feed, limit, mode, units, line);
    if (is_lowered) note_lowered(own, feed);
    held_ = is_lowered ? feed : 0;
    held_mode_ = mode;
  }

  void clamp_cycle(Step& step, motion::Cycle& cycle) {
    held_ = 0;
    int const normal = motion::axes_of(cycle.plane).normal;
    FeedLimit const limit = axis_limit(context_.machine, normal, 0);
    if (limit.by == LimitedBy::nothing) return;
    double per_feed = 1;
    if (cycle.feed_mode == FeedMode::per_revolution) {
      per_feed = rpm_;
      if (rpm_ <= 0)
        return unproven(step, "a cycle with a feed per revolution without a spindle speed",
                        "give S before it");
    }
    if (!is_tapping(cycle)) return lower(step, cycle.feed, cycle.feed_mode, per_feed, limit);
    if (cycle.feed * per_feed <= limit.speed * (1 + noise)) return;
    context_.findings.add(
        text::Severity::error, "tapping-feed",
        fmt::format("a tapping cycle runs at {}, but {}",
                    speed_words(cycle.feed * per_feed, step.modes.units), words_for(limit, step.modes.units)),
        "lower S and F together in the source: the feed alone would break the tap", step.place);
  }

  void unproven(Step const& step, std::string const& what, std::string hint) {
    context_.findings.add(text::Severity::warning, "feed-unproven",
                          what + ": whether it is inside the machine's limits cannot be told",
                          std::move(hint), step.place);
  }

  void lower(Step& step, double& feed, FeedMode mode, double per_feed, FeedLimit const& limit) {
    held_ = 0;
    if (!is_above(feed * per_feed, limit)) return;
    motion::Units const units = step.modes.units;
    double const before = feed;
    feed = rounded_down(limit.speed / per_feed, mode, units, context_.resolution.feed);
    step.other_feed = true;
    note_lowered(before, feed);
    record_lowered(before, feed, limit, mode, units, step.place.line);
  }

  void note_lowered(double before, double after) {
    ++context_.feeds.clamped;
    context_.feeds.lowest_ratio = std::min(context_.feeds.lowest_ratio, after / before);
  }

  void record_lowered(double before, double after, FeedLimit const& limit, FeedMode mode, motion::Units units,
                      std::uint32_t line) {
    bool const again = repetition_.again(static_cast<int>(limit.by), line);
    record(context_, line, stage_name, [&] {
      return fmt::format("{} -> {}{}", feed_words(before, mode, units), feed_words(after, mode, units),
                         again ? ", as above" : ": " + words_for(limit, units));
    });
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_clamp_feeds(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ClampFeeds>(upstream, context);
}

} // namespace restep::transform
