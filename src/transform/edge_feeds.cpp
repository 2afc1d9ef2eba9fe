// Brings the feed on inside arcs from the tool's edge to its centre.
//   in   G3 X0 Y7 I-7 F600     a tool of 6 mm inside a wall of radius 10
//   out  G3 X0 Y7 I-7 F420
//
// F is the feed of the tool's centre. On an inside arc of the centre's radius Rc the edge runs along the wall
// of radius Rw = Rc + Rt in the same time, faster by Rw / Rc; with F Rc / Rw it keeps F there (formula (38)
// turned round). On an outside arc the centre would have to be faster than the program says, and the chip
// thicker than on a straight: the feed per tooth by Rc / Rw, the square of the sine of the engagement nearly
// by Rw / Rc, together sqrt(Rc / Rw). So the feed stays there.
//
// Rt is the tool's full radius, with which it cuts a wall. A ball or a rounded corner touches a surface of
// the slope t to the horizontal with (Rt - r) + r sin t, and its edge goes slower there than this says: the
// feed comes out on the slow side, on a ball's nearly flat surface by up to Rw / Rc. A pass has many slopes,
// and restep alone knows them; lowered too far is the error that breaks no tool, and a chip below the least
// is told.

#include "transform/edge_feeds.hpp"

#include "cutter/cutting_data.hpp"
#include "motion/arc.hpp"
#include "transform/block_stage.hpp"
#include "transform/record.hpp"
#include "transform/tool_in_use.hpp"
#include "transform/wording.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <optional>
#include <span>

namespace restep::transform {

using motion::Motion;
using motion::PathKind;
using motion::Side;
using motion::Step;
using motion::Vec3;

namespace {

/// The least turn that is a corner: neighbouring chords of an arc turn by less.
constexpr double corner = std::numbers::pi / 6;

/// The side to which a turn is an inside one is that of the wall.
bool is_inside_arc(Motion const& arc) {
  // Counter-clockwise the centre is to the left: a wall there is an outside one.
  return arc.wall == (arc.path == PathKind::arc_ccw ? Side::right : Side::left);
}

class EdgeFeeds final : public BlockStage {
public:
  EdgeFeeds(motion::StepSource& upstream, Context& context)
      : BlockStage(upstream)
      , context_(context)
      , in_use_(context.tools) {}

private:
  static constexpr std::string_view stage_name = "edge-feeds";

  /// How many, and where the first stands.
  struct Count {
    std::size_t count = 0;
    text::Place first{};

    void add(text::Place const& place) {
      if (count++ == 0) first = place;
    }
  };

  Context& context_;
  ToolInUse in_use_;
  Repetition repetition_;
  bool remarked_ = false;
  Count no_wall_, no_tool_, corners_;
  std::optional<Motion> before_; ///< the cut of a pass that the next one may meet at a corner

  void handle(std::span<Step> block) override {
    bool const done_before = context_.survey.centre_feeds;
    for (Step& step : block) {
      in_use_.see(step);
      if (Motion* m = motion_of(step); m != nullptr && !done_before) see(step, *m);
      keep(step, only_prepares(step.event));
    }
  }

  void see(Step& step, Motion& m) {
    if (m.wall != Side::off && before_ && meets_inside_corner(*before_, m)) corners_.add(step.place);
    before_ = m.wall != Side::off ? std::optional(m) : std::nullopt;
    if (!is_arc(m) || m.plane != motion::Plane::xy) return;
    if (m.wall == Side::off) return no_wall_.add(step.place);
    if (is_inside_arc(m)) slow_down(step, m);
  }

  static bool meets_inside_corner(Motion const& in, Motion const& out) {
    if (in.to != out.from || in.wall != out.wall) return false;
    Vec3 const a = motion::direction_at(in, 1), b = motion::direction_at(out, 0);
    double const turn = std::atan2(a.x * b.y - a.y * b.x, dot(a, b));
    return out.wall == Side::left ? turn > corner : -turn > corner;
  }

  void slow_down(Step& step, Motion& arc) {
    cutter::Tool const* tool = in_use_.tool();
    double const radius = motion::radius(arc);
    if (tool == nullptr || !(tool->radius() > 0)) return no_tool_.add(step.place);
    double const wall = radius + tool->radius();
    if (!(radius > 0) || !(arc.feed > 0)) return;
    motion::Units const units = step.modes.units;
    double const before = arc.feed;
    arc.feed = rounded_down(before * cutter::arc_feed_factor(wall, tool->radius(), true), arc.feed_mode,
                            units, context_.resolution.feed);
    step.other_feed = true;
    if (!std::exchange(remarked_, true)) insert(motion::Comment{motion::centre_feeds_remark}, step);
    bool const again = repetition_.again(0, step.place.line);
    record(context_, step, stage_name, [&] {
      return fmt::format(
          "{} -> {}{}", feed_words(before, arc.feed_mode, units), feed_words(arc.feed, arc.feed_mode, units),
          again ? ", as above"
                : fmt::format(": inside arc, radius {} at the tool's centre and {} at its edge",
                              length_words(radius, units), length_words(wall, units)));
    });
  }

  void finish() override {
    if (context_.survey.centre_feeds)
      note("centre-feeds", "a remark in the program says that its inside arcs have the centre's feed already",
           "take the remark out to have them lowered again", {});
    if (no_wall_.count > 0)
      note(std::string(stage_name),
           fmt::format("{} arcs keep their feed: on which side of them a wall stands is not known",
                       no_wall_.count),
           "it is known in passes that stand away from the wall as they go down, or that are led in or out "
           "beside a vertical one",
           no_wall_.first);
    if (no_tool_.count > 0)
      note(std::string(stage_name),
           fmt::format("{} inside arcs keep their feed: the tool's diameter is not known", no_tool_.count),
           "add the tool to the tool table", no_tool_.first);
    if (corners_.count > 0)
      note("inside-corners",
           fmt::format("{} sharp inside corners keep their feed: the cut is wider there at once",
                       corners_.count),
           "post the pass with its corners rounded by more than the tool's radius", corners_.first);
  }

  void note(std::string code, std::string what, std::string hint, text::Place const& place) {
    context_.findings.add(text::Severity::note, std::move(code), std::move(what), std::move(hint), place);
  }
};

} // namespace

std::unique_ptr<motion::StepSource> make_edge_feeds(motion::StepSource& upstream, Context& context) {
  return std::make_unique<EdgeFeeds>(upstream, context);
}

} // namespace restep::transform
