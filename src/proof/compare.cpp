#include "proof/compare.hpp"

#include "proof/cut_stream.hpp"
#include "proof/event_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <utility>
#include <vector>

namespace restep::proof {

namespace {

/// "X5 Y-2" of the axes that are known, or `nothing`.
std::string known_axes(Vec3 const& values, std::string_view nothing) {
  std::string text;
  for (int axis = 0; axis < 3; ++axis) {
    if (!motion::is_known(values[axis])) continue;
    text += fmt::format("{}{}{}", text.empty() ? "" : " ", "XYZ"[axis], plain_number(values[axis], 4));
  }
  return text.empty() ? std::string(nothing) : text;
}

bool same_known(Vec3 const& a, Vec3 const& b, double tolerance) {
  for (int axis = 0; axis < 3; ++axis) {
    if (motion::is_known(a[axis]) != motion::is_known(b[axis])) return false;
    if (motion::is_known(a[axis]) && std::abs(a[axis] - b[axis]) > tolerance) return false;
  }
  return true;
}

/// Work offsets of two programs that stand for each other: any number may stand for any other, but always the
/// same.
class Pairs {
public:
  bool agree(int a, int b) const {
    auto const to = to_b_.find(a);
    auto const from = to_a_.find(b);
    return (to == to_b_.end() || to->second == b) && (from == to_a_.end() || from->second == a);
  }
  void note(int a, int b) {
    to_b_.emplace(a, b);
    to_a_.emplace(b, a);
  }

private:
  std::map<int, int> to_b_, to_a_;
};

/// A length that arithmetic leaves behind, mm.
constexpr double nothing = 1e-9;

class Walk {
public:
  Walk(CutStream& a, CutStream& b, CompareRules const& rules, Comparison& result)
      : a_(a)
      , b_(b)
      , rules_(rules)
      , tolerance_(rules.tolerance)
      , result_(result) {}

  void run() {
    while (!result_.path) {
      if (pass_alike()) continue;
      Cut* a = a_.current();
      Cut* b = b_.current();
      if (a == nullptr && b == nullptr) return;
      if (a == nullptr || b == nullptr) {
        one_is_longer(a, b);
        continue;
      }
      if (!known(*a) || !known(*b)) {
        differ(*a, *b, "the place of the tool is not known here");
        return;
      }
      if (a->rest() <= nothing) {
        a_.pass();
        continue;
      }
      if (b->rest() <= nothing) {
        b_.pass();
        continue;
      }
      if (step(*a, *b)) continue;
      // What is left of a piece once the other side's end was found a hair before its own.
      if (negligible(*a))
        a_.pass();
      else if (negligible(*b))
        b_.pass();
      else if (!pass_small(*a, a_, small_a_) && !pass_small(*b, b_, small_b_))
        differ(*a, *b, fmt::format("A: {}; B: {}", describe(a->motion), describe(b->motion)));
    }
  }

private:
  /// Cuts that one side has and the other has not, since they are too small for its digits: all within the
  /// tolerance of where the first of them begins, or they would crawl away.
  struct Small {
    Vec3 begin = motion::unknown_position, end = motion::unknown_position;
  };

  CutStream& a_;
  CutStream& b_;
  CompareRules const& rules_;
  double tolerance_;
  Comparison& result_;
  Pairs work_offsets_;
  Small small_a_, small_b_;
  double doubtful_ = 0; ///< mm: the way of hairs in a row under which something else holds

  struct Worst {
    double distance = 0; ///< mm
    Vec3 at = motion::unknown_position;
  };

  /// Plain cuts of both that lie end by end within the tolerance, and so do whole: what step() would do with
  /// each. Of hairs it is not clear which belong together. False when there is none.
  bool pass_alike() {
    for (CutStream* stream : {&a_, &b_})
      if (Cut const* cut = stream->begun(); cut != nullptr && known(*cut) && cut->rest() <= nothing)
        stream->pass();
    motion::Stretch const& a = a_.ahead();
    if (a.size == 0) return false;
    motion::Stretch const& b = b_.ahead();
    if (b.size == 0) return false;
    Vec3 const shift = b_.moved_by() - a_.moved_by();
    Vec3 from_a = a.point(0), from_b = b.point(0) + shift;
    if (!(geometry::distance(from_a, from_b) <= tolerance_)) return false;
    double const* const length_a = a.ways().length;
    double const* const length_b = b.ways().length;
    double const hair = std::max(4 * tolerance_, nothing);
    std::size_t const most = std::min(a.size, b.size);
    std::size_t count = 0;
    for (; count < most && length_a[count] > hair && length_b[count] > hair; ++count) {
      Vec3 const to_a = a.point(count + 1), to_b = b.point(count + 1) + shift;
      if (!(geometry::distance(to_a, to_b) <= tolerance_)) break;
      double const aside = std::max(aside_of(to_a, from_b, to_b), aside_of(to_b, from_a, to_a));
      if (aside > result_.largest_deviation) {
        result_.largest_deviation = aside;
        result_.largest_at = to_a + a_.moved_by();
        result_.largest_a = a.places()[count];
        result_.largest_b = b.places()[count];
      }
      from_a = to_a;
      from_b = to_b;
    }
    if (count == 0) return false;
    // One state and one feed: the first tells it of all.
    Cut first_a = a_.first_ahead(), first_b = b_.first_ahead();
    compare_states(first_a, first_b);
    a_.pass_ahead(count);
    b_.pass_ahead(count);
    return true;
  }

  /// How far a point is from a straight way that moves, mm.
  static double aside_of(Vec3 const& point, Vec3 const& from, Vec3 const& to) {
    Vec3 const way = to - from;
    return geometry::distance(point,
                              from + std::clamp(dot(point - from, way) / dot(way, way), 0.0, 1.0) * way);
  }

  static bool known(Cut const& cut) {
    return motion::is_known(cut.motion.from) && motion::is_known(cut.motion.to);
  }

  bool negligible(Cut const& cut) const {
    return cut.rest() <= nothing || (cut.at > 0 && cut.rest() <= 2 * tolerance_);
  }

  /// Walks on to the nearer of the two ends; false when the ways part.
  bool step(Cut& a, Cut& b) {
    bool const a_first = a.rest() <= b.rest();
    return a_first ? to_end_of(a, b, a, b) || to_end_of(b, a, a, b)
                   : to_end_of(b, a, a, b) || to_end_of(a, b, a, b);
  }

  /// Goes to the end of `first` and to the point of `other` that belongs to it.
  bool to_end_of(Cut& first, Cut& other, Cut& a, Cut& b) {
    double const reach = std::min(1.0, other.at + first.rest() / other.course.length());
    double const end = std::max(other.at, other.course.nearest(first.course.at(1), reach));
    Worst worst;
    if (!together(first, 1, other, end, worst) || !together(other, end, first, 1, worst)) return false;
    if (worst.distance > result_.largest_deviation) {
      result_.largest_deviation = worst.distance;
      result_.largest_at = worst.at;
      result_.largest_a = a.place;
      result_.largest_b = b.place;
    }
    if (at_a_border(first, other))
      compare_hair(a, b, first.rest());
    else
      compare_states(a, b);
    other.at = end;
    if (&first == &a)
      a_.pass();
    else
      b_.pass();
    return true;
  }

  /// Which cut of one side a hair of the other belongs to cannot be told near that side's own borders.
  bool at_a_border(Cut const& hair, Cut const& other) const {
    double const most = 2 * tolerance_;
    bool const inside = other.at * other.course.length() > most && other.rest() > hair.rest() + most;
    return hair.rest() <= most && !inside;
  }

  /// True when no point of `one` up to its parameter `one_end` leaves the way of `two`.
  bool together(Cut const& one, double one_end, Cut const& two, double two_end, Worst& worst) const {
    // Two straight lines part most at their ends; an arc is looked at every 15 degrees or so.
    double const turned = std::max(std::abs(one.course.sweep()) * (one_end - one.at),
                                   std::abs(two.course.sweep()) * (two_end - two.at));
    int const samples = 1 + (turned > 0 ? 3 + static_cast<int>(turned * 4) : 0);
    for (int i = 0; i <= samples; ++i) {
      double const share = static_cast<double>(i) / samples;
      Vec3 const point = one.course.at(one.at + share * (one_end - one.at));
      double const expected = two.at + share * (two_end - two.at);
      // What was walked before does not count: a way back over it is another cut.
      double const there = std::clamp(two.course.nearest(point, expected), two.at, two_end);
      double const distance = geometry::distance(point, two.course.at(there));
      if (!(distance <= tolerance_)) return false;
      if (distance > worst.distance) worst = {distance, point};
    }
    return true;
  }

  bool pass_small(Cut const& cut, CutStream& stream, Small& small) const {
    constexpr int samples = 8;
    Vec3 const from = cut.course.at(0);
    Vec3 const begin = from == small.end ? small.begin : from;
    for (int i = 0; i <= samples; ++i) {
      Vec3 const point = cut.course.at(static_cast<double>(i) / samples);
      if (!(geometry::distance(point, begin) <= tolerance_)) return false;
    }
    small = {begin, cut.course.at(1)};
    stream.pass();
    return true;
  }

  void one_is_longer(Cut* a, Cut* b) {
    Cut& left = a != nullptr ? *a : *b;
    if (known(left) && negligible(left)) {
      a != nullptr ? a_.pass() : b_.pass();
      return;
    }
    if (known(left) && (a != nullptr ? pass_small(left, a_, small_a_) : pass_small(left, b_, small_b_)))
      return;
    CutDifference difference;
    difference.a = a != nullptr ? a->place : a_.last();
    difference.b = b != nullptr ? b->place : b_.last();
    difference.what = fmt::format("only {} goes on: {}", a != nullptr ? "A" : "B", describe(left.motion));
    result_.path = difference;
  }

  void differ(Cut const& a, Cut const& b, std::string what) {
    result_.path =
        CutDifference{a.place, b.place, std::move(what), known(a) ? a.course.at(a.at) : a.motion.from};
  }

  void compare_states(Cut& a, Cut& b) {
    doubtful_ = 0;
    if (a.compared && b.compared) return;
    a.compared = b.compared = true;
    tell(differences(a, b));
    if (rules_.shift) work_offsets_.note(a.state.work_offset, b.state.work_offset);
  }

  /// Hairs near a border may belong to the cut before it or behind it. A way of nothing but hairs that is
  /// longer than that explains is another matter.
  void compare_hair(Cut const& a, Cut const& b, double length) {
    auto const found = differences(a, b);
    doubtful_ = found.empty() ? 0 : doubtful_ + length;
    if (doubtful_ > 4 * tolerance_) tell(found);
  }

  /// Each kind of difference once.
  void tell(std::vector<CutDifference> const& found) {
    for (CutDifference const& one : found) {
      auto const kind = std::string_view(one.what).substr(0, one.what.find(':') + 1);
      if (std::none_of(result_.states.begin(), result_.states.end(),
                       [&](auto const& earlier) { return earlier.what.starts_with(kind); }))
        result_.states.push_back(one);
    }
  }

  /// What holds otherwise at b than at a: "kind: A this, B that".
  std::vector<CutDifference> differences(Cut const& a, Cut const& b) const {
    std::vector<CutDifference> found;
    CutState const& x = a.state;
    CutState const& y = b.state;
    auto const compare = [&](bool same, std::string_view kind, auto const& say) {
      if (same) return;
      found.push_back(
          {a.place, b.place, fmt::format("{}: A {}, B {}", kind, say(a), say(b)), a.course.at(a.at)});
    };
    compare(!rules_.tools || x.tool == y.tool, "tool",
            [](Cut const& c) { return fmt::format("T{}", c.state.tool); });
    bool const turning = x.rotation != motion::Rotation::stop;
    compare(x.rotation == y.rotation, "spindle",
            [](Cut const& c) { return describe(motion::SpindleTurn{c.state.rotation}); });
    compare(!turning || std::abs(x.speed - y.speed) <= 0.5, "speed",
            [](Cut const& c) { return fmt::format("S{}", plain_number(c.state.speed, 3)); });
    compare(x.mist == y.mist && x.flood == y.flood, "coolant", [](Cut const& c) { return coolant(c.state); });
    // A program that stands elsewhere may well use another offset and set another origin.
    compare(rules_.shift ? work_offsets_.agree(x.work_offset, y.work_offset) : x.work_offset == y.work_offset,
            "work offset", [](Cut const& c) { return describe(motion::WorkOffset{c.state.work_offset}); });
    compare(rules_.shift.has_value() || same_known(x.origin, y.origin, tolerance_), "origin",
            [](Cut const& c) { return known_axes(c.state.origin, "the machine's"); });
    compare(unanchored_alike(x.shift, y.shift), "coordinate shift",
            [](Cut const& c) { return anchor(c.state.shift); });
    compare(!rules_.length_offsets || x.length_offset == y.length_offset, "tool length offset",
            [](Cut const& c) { return describe(c.state.length_offset); });
    bool const same_index =
        x.compensation.index == y.compensation.index || x.compensation.side == motion::Side::off;
    compare(x.compensation.side == y.compensation.side && same_index &&
                a.motion.compensated == b.motion.compensated,
            "compensation", [](Cut const& c) { return describe(c.state.compensation); });
    compare(a.motion.rotary == b.motion.rotary, "rotary axes",
            [](Cut const& c) { return c.motion.rotary ? "move" : "stay"; });
    compare(feeds_same(a, b), "feed",
            [](Cut const& c) { return fmt::format("F{}", plain_number(c.feed, 3)); });
    return found;
  }

  /// A shift by a G92 whose place the program does not know cannot be taken out: both or none.
  static bool unanchored_alike(Vec3 const& x, Vec3 const& y) {
    for (int axis = 0; axis < 3; ++axis)
      if (motion::is_known(x[axis]) != motion::is_known(y[axis])) return false;
    return true;
  }
  static std::string anchor(Vec3 const& shift) {
    return motion::is_known(shift) ? "from a known place" : "G92 at a place that is not known";
  }

  /// Controls round feeds to whole numbers at the worst, so half of one is no difference; under inverse time
  /// a feed follows from a length, which the tolerance may change at both ends.
  bool feeds_same(Cut const& a, Cut const& b) const {
    bool const per_turn_a = a.motion.feed_mode == motion::FeedMode::per_revolution;
    bool const per_turn_b = b.motion.feed_mode == motion::FeedMode::per_revolution;
    if (per_turn_a != per_turn_b) return false;
    double tolerance = std::max(per_turn_a ? 0.0005 : 0.5, 0.001 * a.feed);
    for (Cut const* cut : {&a, &b}) {
      if (cut->motion.feed_mode == motion::FeedMode::inverse_time)
        tolerance += 2 * tolerance_ * cut->motion.feed;
    }
    return std::abs(a.feed - b.feed) <= tolerance;
  }

  static std::string coolant(CutState const& state) {
    if (state.mist && state.flood) return "mist and flood";
    return state.mist ? "mist" : state.flood ? "flood" : "off";
  }
};

} // namespace

Comparison compare_cuts(motion::StepSource& a, motion::StepSource& b, CompareRules const& rules) {
  Comparison result;
  CutStream cuts_a(a, rules.shift.value_or(Vec3{}));
  CutStream cuts_b(b, {});
  Walk(cuts_a, cuts_b, rules, result).run();
  // The totals are those of the whole programs, wherever they part.
  for (CutStream* rest : {&cuts_a, &cuts_b}) {
    while (rest->current() != nullptr)
      rest->pass();
  }
  result.length_a = cuts_a.length();
  result.length_b = cuts_b.length();
  result.cuts_a = cuts_a.cuts();
  result.cuts_b = cuts_b.cuts();
  return result;
}

} // namespace restep::proof
