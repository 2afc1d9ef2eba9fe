// Limits the feed of each cutting move by its own direction.
//   in   G1 X10 Z-10 F1000     on a machine whose Z feeds 500 mm/min at most
//   out  G1 X10 Z-10 F707.106
//
// Down a 45 degree ramp Z moves at F / sqrt(2), so F may be sqrt(2) * 500. On an arc the worst point of its
// course counts, and F^2 / rho may not ask for more acceleration than the plane's axes have: the control
// would slow down by itself, each in its own way, and the surface shows it. Values are rounded down to what
// F can say, so that the written feed is never above the limit.

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

namespace restep::transform {

using motion::FeedMode;
using motion::Step;

namespace {

/// A feed above its limit by less than this share is at its limit.
constexpr double noise = 1e-9;

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
    if (!upstream_.next(step)) return false;
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
    if (!upstream_.next_stretch(stretch)) return false;
    if (is_within_limits(stretch)) return true;
    upstream_.take_apart(stretch);
    return false;
  }

private:
  static constexpr std::string_view stage_name = "clamp-feeds";

  motion::Unravelled upstream_;
  Context& context_;
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
    if (limit.by == LimitedBy::nothing) return;
    // v = F, F * length or F * rpm
    double per_feed = 1;
    if (motion.feed_mode == FeedMode::inverse_time) {
      per_feed = motion::length(motion);
      if (!motion::is_known(per_feed))
        return unproven(step, "an inverse-time feed from a place the program has not given",
                        "give the start point before the first G93 move");
    } else if (motion.feed_mode == FeedMode::per_revolution) {
      per_feed = rpm_;
      if (rpm_ <= 0)
        return unproven(step, "a feed per revolution without a spindle speed",
                        "give S before the first G95 move");
    }
    lower(step, motion.feed, motion.feed_mode, per_feed, limit);
  }

  void clamp_cycle(Step& step, motion::Cycle& cycle) {
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
    if (limit.by == LimitedBy::nothing || !(feed * per_feed > limit.speed * (1 + noise))) return;
    motion::Units const units = step.modes.units;
    double const before = feed;
    feed = rounded_down(limit.speed / per_feed, mode, units, context_.resolution.feed);
    step.other_feed = true;
    ++context_.feeds.clamped;
    context_.feeds.lowest_ratio = std::min(context_.feeds.lowest_ratio, feed / before);
    bool const again = repetition_.again(static_cast<int>(limit.by), step.place.line);
    record(context_, step, stage_name, [&] {
      return fmt::format("{} -> {}{}", feed_words(before, mode, units), feed_words(feed, mode, units),
                         again ? ", as above" : ": " + words_for(limit, units));
    });
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_clamp_feeds(motion::StepSource& upstream, Context& context) {
  return std::make_unique<ClampFeeds>(upstream, context);
}

} // namespace restep::transform
