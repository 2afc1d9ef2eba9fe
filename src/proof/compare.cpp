#include "proof/compare.hpp"

#include "motion/cycle.hpp"
#include "proof/course.hpp"
#include "proof/event_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>

namespace restep::proof {

namespace {

/// What holds while a cut is made, besides the way.
struct CutState {
  int tool = 0;
  double speed = 0;
  motion::Rotation rotation = motion::Rotation::stop;
  bool mist = false, flood = false;
  int work_offset = 1;
  motion::Side side = motion::Side::off;
};

struct Cut {
  motion::Motion motion;
  Course course;
  text::Place place;
  CutState state;
  double feed = 0;       ///< mm/min, or mm/rev
  double at = 0;         ///< parameter up to which it has been compared
  bool compared = false; ///< its state was compared

  double rest() const { return (1 - at) * course.length(); }
};

/// The cuts of a program, one at a time.
class CutStream {
public:
  CutStream(motion::StepSource& source, double& length, std::uint64_t& cuts)
      : source_(source)
      , length_(length)
      , cuts_(cuts) {}

  /// The cut that is compared now, or null at the end.
  Cut* current() {
    while (!cut_ && fetch()) {
    }
    return cut_ ? &*cut_ : nullptr;
  }

  void pass() {
    last_ = cut_->place;
    cut_.reset();
  }

  /// Where the last cut that was passed stands; line 0 before the first.
  text::Place last() const { return last_; }

private:
  motion::StepSource& source_;
  double& length_;
  std::uint64_t& cuts_;
  CutState state_;
  std::optional<Cut> cut_;
  std::vector<motion::Event> parts_;
  std::size_t part_ = 0;
  text::Place place_, last_;

  bool fetch() {
    if (part_ < parts_.size()) {
      take(parts_[part_++]);
      return true;
    }
    motion::Step step;
    if (!source_.next(step)) return false;
    place_ = step.place;
    if (auto const* cycle = std::get_if<motion::Cycle>(&step.event)) {
      motion::expand(*cycle, state_.rotation, parts_);
      part_ = 0;
    } else {
      take(step.event);
    }
    return true;
  }

  void take(motion::Event const& event) {
    if (auto const* move = std::get_if<motion::Motion>(&event)) {
      if (motion::is_cutting(*move)) begin(*move);
    } else if (auto const* speed = std::get_if<motion::SpindleSpeed>(&event)) {
      state_.speed = speed->rpm;
    } else if (auto const* turn = std::get_if<motion::SpindleTurn>(&event)) {
      state_.rotation = turn->rotation;
    } else if (auto const* change = std::get_if<motion::ToolChange>(&event)) {
      state_.tool = change->tool;
    } else if (auto const* coolant = std::get_if<motion::Coolant>(&event)) {
      state_.mist = coolant->kind == motion::CoolantKind::mist ||
                    (state_.mist && coolant->kind != motion::CoolantKind::off);
      state_.flood = coolant->kind == motion::CoolantKind::flood ||
                     (state_.flood && coolant->kind != motion::CoolantKind::off);
    } else if (auto const* work = std::get_if<motion::WorkOffset>(&event)) {
      state_.work_offset = work->system;
    } else if (auto const* compensation = std::get_if<motion::Compensation>(&event)) {
      state_.side = compensation->side;
    }
  }

  void begin(motion::Motion const& move) {
    bool const known = motion::is_known(move.from) && motion::is_known(move.to);
    cut_.emplace(Cut{move, Course(move), place_, state_, move.feed});
    ++cuts_;
    if (!known) return;
    length_ += cut_->course.length();
    // Inverse time says F such moves a minute.
    if (move.feed_mode == motion::FeedMode::inverse_time) cut_->feed = move.feed * cut_->course.length();
  }
};

class Walk {
public:
  Walk(CutStream& a, CutStream& b, double tolerance, Comparison& result)
      : a_(a)
      , b_(b)
      , tolerance_(tolerance)
      , result_(result) {}

  void run() {
    while (!result_.path) {
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
      // What is left of a piece once the other side's end was found a hair before its own.
      if (negligible(*a)) {
        a_.pass();
      } else if (negligible(*b)) {
        b_.pass();
      } else if (!step(*a, *b)) {
        differ(*a, *b, fmt::format("A: {}; B: {}", describe(a->motion), describe(b->motion)));
      }
    }
  }

private:
  CutStream& a_;
  CutStream& b_;
  double tolerance_;
  Comparison& result_;

  static bool known(Cut const& cut) {
    return motion::is_known(cut.motion.from) && motion::is_known(cut.motion.to);
  }

  bool negligible(Cut const& cut) const {
    return cut.rest() <= 1e-9 || (cut.at > 0 && cut.rest() <= 2 * tolerance_);
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
    double worst = 0;
    if (!together(first, 1, other, end, worst) || !together(other, end, first, 1, worst)) return false;
    result_.largest_deviation = std::max(result_.largest_deviation, worst);
    bool const hair = first.rest() <= 2 * tolerance_ && !first.compared;
    if (!hair) compare_states(a, b);
    other.at = end;
    if (&first == &a)
      a_.pass();
    else
      b_.pass();
    return true;
  }

  /// True when no point of `one` up to its parameter `one_end` leaves the way of `two`.
  bool together(Cut const& one, double one_end, Cut const& two, double two_end, double& worst) const {
    // Two straight lines part most at their ends; an arc is looked at every 15 degrees or so.
    double const turned = std::max(std::abs(one.course.sweep()) * (one_end - one.at),
                                   std::abs(two.course.sweep()) * (two_end - two.at));
    int const samples = 1 + (turned > 0 ? 3 + static_cast<int>(turned * 4) : 0);
    for (int i = 0; i <= samples; ++i) {
      double const share = static_cast<double>(i) / samples;
      Vec3 const point = one.course.at(one.at + share * (one_end - one.at));
      double const expected = two.at + share * (two_end - two.at);
      double const distance = geometry::distance(point, two.course.at(two.course.nearest(point, expected)));
      if (!(distance <= tolerance_)) return false;
      worst = std::max(worst, distance);
    }
    return true;
  }

  void one_is_longer(Cut* a, Cut* b) {
    Cut& left = a != nullptr ? *a : *b;
    if (known(left) && negligible(left)) {
      a != nullptr ? a_.pass() : b_.pass();
      return;
    }
    CutDifference difference;
    difference.a = a != nullptr ? a->place : a_.last();
    difference.b = b != nullptr ? b->place : b_.last();
    difference.what = fmt::format("only {} goes on: {}", a != nullptr ? "A" : "B", describe(left.motion));
    result_.path = difference;
  }

  void differ(Cut const& a, Cut const& b, std::string what) {
    result_.path = CutDifference{a.place, b.place, std::move(what)};
  }

  void compare_states(Cut& a, Cut& b) {
    if (a.compared && b.compared) return;
    a.compared = b.compared = true;
    auto const report = [&](bool same, std::string_view kind, std::string const& in_a,
                            std::string const& in_b) {
      if (same) return;
      std::string const begin = fmt::format("{}: ", kind);
      for (CutDifference const& earlier : result_.states) {
        if (earlier.what.starts_with(begin)) return;
      }
      result_.states.push_back({a.place, b.place, fmt::format("{}A {}, B {}", begin, in_a, in_b)});
    };
    CutState const& x = a.state;
    CutState const& y = b.state;
    report(x.tool == y.tool, "tool", fmt::format("T{}", x.tool), fmt::format("T{}", y.tool));
    bool const turning = x.rotation != motion::Rotation::stop;
    report(x.rotation == y.rotation, "spindle", describe(motion::SpindleTurn{x.rotation}),
           describe(motion::SpindleTurn{y.rotation}));
    report(!turning || std::abs(x.speed - y.speed) <= 0.5, "speed",
           fmt::format("S{}", plain_number(x.speed, 3)), fmt::format("S{}", plain_number(y.speed, 3)));
    report(x.mist == y.mist && x.flood == y.flood, "coolant", coolant(x), coolant(y));
    report(x.work_offset == y.work_offset, "work offset", describe(motion::WorkOffset{x.work_offset}),
           describe(motion::WorkOffset{y.work_offset}));
    report(x.side == y.side && a.motion.compensated == b.motion.compensated, "compensation",
           describe(motion::Compensation{x.side, -1}), describe(motion::Compensation{y.side, -1}));
    report(a.motion.rotary == b.motion.rotary, "rotary axes", a.motion.rotary ? "move" : "stay",
           b.motion.rotary ? "move" : "stay");
    report(feeds_same(a, b), "feed", fmt::format("F{}", plain_number(a.feed, 3)),
           fmt::format("F{}", plain_number(b.feed, 3)));
  }

  /// Controls round feeds to whole numbers at the worst, so half of one is no difference.
  static bool feeds_same(Cut const& a, Cut const& b) {
    bool const per_turn_a = a.motion.feed_mode == motion::FeedMode::per_revolution;
    bool const per_turn_b = b.motion.feed_mode == motion::FeedMode::per_revolution;
    if (per_turn_a != per_turn_b) return false;
    double const tolerance = per_turn_a ? 0.0005 : 0.5;
    return std::abs(a.feed - b.feed) <= std::max(tolerance, 0.001 * a.feed);
  }

  static std::string coolant(CutState const& state) {
    if (state.mist && state.flood) return "mist and flood";
    return state.mist ? "mist" : state.flood ? "flood" : "off";
  }
};

} // namespace

Comparison compare_cuts(motion::StepSource& a, motion::StepSource& b, double tolerance) {
  Comparison result;
  CutStream cuts_a(a, result.length_a, result.cuts_a);
  CutStream cuts_b(b, result.length_b, result.cuts_b);
  Walk(cuts_a, cuts_b, tolerance, result).run();
  // The totals are those of the whole programs, wherever they part.
  for (CutStream* rest : {&cuts_a, &cuts_b}) {
    while (rest->current() != nullptr)
      rest->pass();
  }
  return result;
}

} // namespace restep::proof
